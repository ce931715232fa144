// Package display ends the desktop program with a clear line where there is no
// display to show it on.
//
// ebiten panics in its own initialisation there, before main. Packages that are
// ready are initialised in the order of their import paths (The Go Programming
// Language Specification, "Program initialization"), and this one's comes before
// ebiten's; a test of the built program holds that.
package display
