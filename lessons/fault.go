package lessons

import (
	"fmt"
	"strconv"
	"strings"
	"unicode"

	"gainwright/sounds/scenario"
)

// A Fault is one thing that is wrong in a lesson, with its place.
type Fault = scenario.Fault

// An Error holds every fault of a lesson, in the order of the file; its text has
// one line for each.
type Error = scenario.Error

// nearest returns the candidate that a slip of the keyboard is likely to have
// meant, or "".
func nearest(s string, candidates []string) string {
	s = strings.ToLower(s)
	best, at := max(1, len(s)/3), ""
	if len(s) < 3 {
		best = 0 // of one or two letters everything is near
	}
	for _, c := range candidates {
		low := strings.ToLower(c)
		d := distance(s, low, best)
		if len(s) >= 4 && (strings.HasPrefix(low, s) || strings.HasPrefix(s, low) && len(low) >= 4) {
			d = min(d, 1)
		}
		if d < best || d == best && at == "" {
			best, at = d, c
		}
	}
	return at
}

// distance counts the insertions, deletions and substitutions from a to b
// (Levenshtein); above limit it may return anything larger than limit.
func distance(a, b string, limit int) int {
	x, y := []rune(a), []rune(b)
	if d := len(x) - len(y); d > limit || -d > limit || len(x) > 64 {
		return limit + 1
	}
	row := make([]int, len(y)+1)
	for j := range row {
		row[j] = j
	}
	for i := 1; i <= len(x); i++ {
		diagonal := row[0]
		row[0] = i
		for j := 1; j <= len(y); j++ {
			cost := diagonal
			if x[i-1] != y[j-1] {
				cost++
			}
			diagonal = row[j]
			row[j] = min(cost, row[j]+1, row[j-1]+1)
		}
	}
	return row[len(y)]
}

// listed joins names for a sentence: "a, b and c".
func listed(names []string, and string) string {
	switch len(names) {
	case 0:
		return "none"
	case 1:
		return names[0]
	}
	return strings.Join(names[:len(names)-1], ", ") + " " + and + " " + names[len(names)-1]
}

func didYouMean(s string, candidates []string) string {
	if near := nearest(s, candidates); near != "" {
		return ": did you mean " + near + "?"
	}
	if len(candidates) > 12 {
		return ""
	}
	return ": there are " + listed(candidates, "and")
}

func quote(s string) string {
	if r := []rune(s); len(r) > 40 {
		s = string(r[:40]) + "…"
	}
	return strconv.Quote(s)
}

func shorten(s string) string {
	if r := []rune(s); len(r) > 40 {
		s = string(r[:40]) + "…"
	}
	if s == "" || strings.IndexFunc(s, func(r rune) bool { return !unicode.IsPrint(r) || unicode.IsSpace(r) }) >= 0 {
		return strconv.Quote(s)
	}
	return s
}

func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }

func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
