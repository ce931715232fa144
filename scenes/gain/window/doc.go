// Package window is the ruler of gain over the bench: the planner's window for what stands
// there and for the guest as heard so far, worked out beside the screen.
package window
