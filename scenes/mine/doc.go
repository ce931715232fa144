// Package mine is the scene "Your voice": a learner's own talk and laugh, recorded step by step,
// as a guest for the bench.
package mine
