// Package recorder is the scene "Your recorder": the test series for one's own recorder,
// its recordings as they come, and what they tell.
package recorder
