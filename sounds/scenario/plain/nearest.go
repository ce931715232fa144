package plain

import "strings"

// Nearest returns the candidate that a slip of the keyboard is likely to have
// meant, or "".
func Nearest(s string, candidates []string) string {
	s = strings.ToLower(s)
	best, at := max(1, len(s)/3), ""
	if len(s) < 3 {
		best = 0 // of one or two letters everything is near
	}
	for _, c := range candidates {
		low := strings.ToLower(c)
		d := EditDistance(s, low, best)
		// A word that was cut short, or went on.
		if len(s) >= 3 && strings.HasPrefix(low, s) || len(low) >= 4 && strings.HasPrefix(s, low) {
			d = min(d, 1)
		}
		if d < best || d == best && at == "" {
			best, at = d, c
		}
	}
	return at
}

// EditDistance counts the insertions, deletions, substitutions and swaps of
// neighbours that turn a into b (the restricted Damerau–Levenshtein distance);
// anything above limit may be returned as limit+1.
func EditDistance(a, b string, limit int) int {
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

// DidYouMean ends a message about a word that is not known: with the candidate that
// is nearest, else with all of them unless they are many.
func DidYouMean(s string, candidates []string) string {
	if near := Nearest(s, candidates); near != "" {
		return ": did you mean " + near + "?"
	}
	if len(candidates) > 12 {
		return ""
	}
	return ": there are " + Listed(candidates, "and")
}
