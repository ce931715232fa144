// Package browser drives the scene in headless Chromium, by the controls that a
// keyboard or a screen reader reaches. The tests need the tag "full", Chromium
// and a few minutes.
package browser
