// Package plan checks the planner against talkers that are synthesised and
// recorded through the real engine. The tests are under the tag full: they take
// minutes.
package plan
