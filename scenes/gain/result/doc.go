// Package result says in plain words what became of a take, and what would have been better.
package result
