// Package window runs the desktop program as a user does and looks at its window
// from outside, over the X protocol. The tests need the tag "window" and a
// display (xvfb-run).
package window
