// Package scenes is what a learner sees and touches, as plain data: a scene
// takes an input value and gives intents back, lays itself out in
// device-independent pixels, draws by appending to a draw list and tells its
// semantics. No screen, no sound card, no clock.
package scenes
