// Package ui is a small set of controls for scenes: plain data in, intents
// out, drawn into a draw list.
//
// A Control knows where it is and what it shows; the scene sets both before
// each frame. What is going on (which control has the focus, which press
// belongs to which control, what is being typed) is kept by one Router, not in
// the controls, and nothing changes but by an Intent that the scene carries
// out. So a control is tested with queued events and no window, and an
// accessible mirror, a lesson and a finger all come in by the same door.
//
// Drawing allocates nothing once a picture has been drawn the same before.
package ui
