// Package stage lends the bench to a lesson or to practice, and gives it back as it was.
package stage
