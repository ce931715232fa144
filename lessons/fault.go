package lessons

import (
	"fmt"

	"gainwright/sounds/scenario/plain"
)

// A Fault is one thing that is wrong in a lesson, with its place.
type Fault = plain.Fault

// An Error holds every fault of a lesson, in the order of the file; its text has
// one line for each.
type Error = plain.Error

func didYouMean(s string, candidates []string) string {
	if near := plain.Nearest(s, candidates); near != "" {
		return ": did you mean " + near + "?"
	}
	if len(candidates) > 12 {
		return ""
	}
	return ": there are " + plain.Listed(candidates, "and")
}

func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
