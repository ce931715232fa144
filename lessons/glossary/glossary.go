// Package glossary says what the words and units of gain staging mean, for somebody who
// has never met them: once, for the command explain, the scene, lessons and handouts.
package glossary

import (
	"cmp"
	"slices"
	"strings"
	"unicode"

	"gainwright/sounds/scenario/plain"
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
	w := letters(word)
	for _, t := range terms {
		for _, s := range t.names() {
			if w != "" && letters(s) == w {
				return t, true
			}
		}
	}
	return Term{}, false
}

// Near lists the names of up to three terms that word may be meant for, the nearest
// first.
func Near(word string) []string {
	bare := letters(word)
	w := []rune(bare)
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
			other := letters(s)
			p := []rune(other)
			d := plain.EditDistance(bare, other, len(w))
			if len(w) >= 3 && strings.Contains(other, bare) || len(p) >= 4 && strings.Contains(bare, other) {
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

// Paragraphs are what is told of a term: what it is, where it is met, who defines it, and
// what helps.
func (t Term) Paragraphs() []string {
	out := []string{t.Say, "Seen: " + t.Seen + ".", "Source: " + t.Source + "."}
	var see []string
	for _, id := range t.See {
		if o, ok := ByID(id); ok {
			see = append(see, o.Name)
		}
	}
	if len(see) > 0 {
		out = append(out, "See also: "+strings.Join(see, ", ")+".")
	}
	return out
}

func (t *Term) names() []string { return append([]string{t.ID, t.Name}, t.Also...) }

// letters is a word without what people write in different ways: case, blanks, hyphens.
func letters(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return unicode.ToLower(r)
		}
		return -1
	}, s)
}
