// Package handout prints a lesson as one HTML page. A browser prints none, and would
// download the library for it, so there the package is empty.
package handout
