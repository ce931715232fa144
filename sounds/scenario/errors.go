package scenario

import (
	"fmt"
	"strings"
)

// A Fault is one thing that is wrong in a scenario.
type Fault struct {
	Name         string // the file, as the caller named it, or "--set"
	Line, Column int    // from 1; 0 if there is no place
	Key          string // path of the setting, "" if it is not about one
	Msg          string
}

func (f Fault) Error() string {
	var b strings.Builder
	b.WriteString(f.Name)
	if f.Line > 0 {
		fmt.Fprintf(&b, ":%d:%d", f.Line, f.Column)
	}
	if b.Len() > 0 {
		b.WriteString(": ")
	}
	if f.Key != "" {
		b.WriteString(f.Key + ": ")
	}
	b.WriteString(f.Msg)
	return b.String()
}

// An Error holds every fault of a scenario, in the order of the file: at least
// one. Its text has one line for each.
type Error struct{ Faults []Fault }

func (e *Error) Error() string {
	lines := make([]string, len(e.Faults))
	for i, f := range e.Faults {
		lines[i] = f.Error()
	}
	return strings.Join(lines, "\n")
}

// nearest returns the candidate that a slip of the keyboard is likely to have
// meant, or "".
func nearest(s string, candidates []string) string {
	s = strings.ToLower(s)
	// A word that was cut short: the one candidate that begins with it.
	if len(s) >= 3 {
		var longer []string
		for _, c := range candidates {
			if strings.HasPrefix(strings.ToLower(c), s) {
				longer = append(longer, c)
			}
		}
		if len(longer) == 1 {
			return longer[0]
		}
	}
	best, at := 1+len(s)/3, ""
	for _, c := range candidates {
		if d := editDistance(s, strings.ToLower(c), best); d < best || d == best && at == "" {
			best, at = d, c
		}
	}
	return at
}

// editDistance counts the insertions, deletions, substitutions and swaps of
// neighbours that turn a into b (the restricted Damerau–Levenshtein distance);
// anything above limit may be returned as limit+1.
func editDistance(a, b string, limit int) int {
	x, y := []rune(a), []rune(b)
	if d := len(x) - len(y); d > limit || -d > limit || len(x) > 64 {
		return limit + 1
	}
	before, prev, cur := make([]int, len(y)+1), make([]int, len(y)+1), make([]int, len(y)+1)
	for j := range prev {
		prev[j] = j
	}
	for i := 1; i <= len(x); i++ {
		cur[0] = i
		for j := 1; j <= len(y); j++ {
			cost := 1
			if x[i-1] == y[j-1] {
				cost = 0
			}
			cur[j] = min(prev[j]+1, cur[j-1]+1, prev[j-1]+cost)
			if i > 1 && j > 1 && x[i-1] == y[j-2] && x[i-2] == y[j-1] {
				cur[j] = min(cur[j], before[j-2]+1)
			}
		}
		before, prev, cur = prev, cur, before
	}
	return prev[len(y)]
}

// listed joins names for a sentence: "a, b and c".
func listed(names []string, and string) string {
	switch len(names) {
	case 0:
		return ""
	case 1:
		return names[0]
	}
	return strings.Join(names[:len(names)-1], ", ") + " " + and + " " + names[len(names)-1]
}
