// Package practice is the scene "Practice".
package practice
