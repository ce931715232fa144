// Package gain is the scene "Set the gain".
package gain
