// Package glossary says what the words and units of gain staging mean, for somebody who
// has never met them: once, for the command explain, the scene, lessons and handouts.
package glossary

import (
	"cmp"
	"slices"
	"strings"
	"unicode"
)

// What a standard defines is named with it; which one was written down from memory.

// A Term is one word or unit.
type Term struct {
	ID     string   `json:"id"`               // what a link names: small letters, digits and hyphens
	Name   string   `json:"name"`             // as it is written
	Also   []string `json:"also,omitempty"`   // other ways to write or call it
	Say    string   `json:"says"`             // what it is, in a sentence or a few
	Seen   string   `json:"seen"`             // where it is met in this program
	Source string   `json:"source,omitempty"` // a standard or a book that defines it; "common practice, no source" for words of the trade
	See    []string `json:"see,omitempty"`    // IDs of terms that help
}

// Terms lists all terms by their names.
func Terms() []Term {
	out := slices.Clone(terms)
	slices.SortFunc(out, func(a, b Term) int { return cmp.Compare(strings.ToLower(a.Name), strings.ToLower(b.Name)) })
	return out
}

// ByID gives the term that a link names.
func ByID(id string) (Term, bool) {
	for _, t := range terms {
		if t.ID == id {
			return t, true
		}
	}
	return Term{}, false
}

// Find gives the term that a person names, however they write it.
func Find(word string) (Term, bool) {
	w := plain(word)
	for _, t := range terms {
		for _, s := range t.names() {
			if w != "" && plain(s) == w {
				return t, true
			}
		}
	}
	return Term{}, false
}

// Near lists the names of up to three terms that word may be meant for, the nearest
// first.
func Near(word string) []string {
	w := []rune(plain(word))
	if len(w) == 0 || len(w) > 60 {
		return nil
	}
	type near struct {
		name string
		far  int
	}
	var all []near
	for _, t := range terms {
		best := len(w) + 1
		for _, s := range t.names() {
			p := []rune(plain(s))
			d := distance(w, p)
			if len(w) >= 3 && strings.Contains(string(p), string(w)) || len(p) >= 4 && strings.Contains(string(w), string(p)) {
				d = min(d, 1)
			}
			// A slip in a short word makes another word of it.
			if d <= max(1, min(len(w), len(p))/3) {
				best = min(best, d)
			}
		}
		if best <= len(w) {
			all = append(all, near{t.Name, best})
		}
	}
	slices.SortStableFunc(all, func(a, b near) int { return a.far - b.far })
	var out []string
	for _, n := range all[:min(len(all), 3)] {
		out = append(out, n.name)
	}
	return out
}

func (t *Term) names() []string { return append([]string{t.ID, t.Name}, t.Also...) }

// plain is a word without what people write in different ways: case, blanks, hyphens.
func plain(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return unicode.ToLower(r)
		}
		return -1
	}, s)
}

// distance is the least number of letters to insert, leave out, change or swap with
// their neighbour, between two words (Damerau and Levenshtein, neighbours swapped once).
func distance(a, b []rune) int {
	row := func() []int { return make([]int, len(b)+1) }
	before, last, now := row(), row(), row()
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(a); i++ {
		now[0] = i
		for j := 1; j <= len(b); j++ {
			c := 1
			if a[i-1] == b[j-1] {
				c = 0
			}
			now[j] = min(last[j]+1, now[j-1]+1, last[j-1]+c)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				now[j] = min(now[j], before[j-2]+1)
			}
		}
		before, last, now = last, now, before
	}
	return last[len(b)]
}
