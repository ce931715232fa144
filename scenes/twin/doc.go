// Package twin is the scene "One file, two talkers".
package twin
