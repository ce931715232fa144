package builtin

import (
	"testing"
	"unicode/utf8"

	"gainwright/lessons/model"
)

// Whoever takes the longest choice, the first or the last, is right about as often as by
// guessing, over all questions that are the same for everybody.
func TestNoChoiceGivesItselfAway(t *testing.T) {
	var questions, longest, first, last int
	guessing := 0.0
	for _, l := range All() {
		for _, s := range l.Steps {
			if s.Question == nil || s.Kind != model.Ask || len(s.Question.Choices) == 0 || len(s.Question.Names()) > 0 {
				continue
			}
			long, n := 0, 0
			for i, c := range s.Question.Choices {
				if k := utf8.RuneCountInString(c.Text); k > n {
					long, n = i, k
				}
			}
			questions++
			guessing += 1 / float64(len(s.Question.Choices))
			for _, x := range []struct {
				at int
				n  *int
			}{{long, &longest}, {0, &first}, {len(s.Question.Choices) - 1, &last}} {
				if s.Question.Choices[x.at].Right {
					*x.n++
				}
			}
		}
	}
	t.Logf("of %d questions the longest choice is right in %d, the first in %d, the last in %d; guessing: %.1f", questions, longest, first, last, guessing)
	for what, n := range map[string]int{"longest": longest, "first": first, "last": last} {
		if float64(n) > 1.35*guessing {
			t.Errorf("the %s choice is right in %d of %d questions, where guessing gives %.1f", what, n, questions, guessing)
		}
	}
}
