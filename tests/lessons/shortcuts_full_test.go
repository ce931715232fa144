//go:build full

package lessons

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"gainwright/lessons/builtin"
	"gainwright/lessons/grade"
	"gainwright/lessons/model"
	"gainwright/lessons/run"
	"gainwright/lessons/take"
)

// shortcut is a way through a lesson without listening or measuring.
type shortcut struct {
	name string
	// choose gives a choice's place.
	choose func(q *model.Question) int
	// What somebody else had: settings, and everything else that was answered.
	settings, answers bool
	number            string
}

func firstOf(*model.Question) int  { return 0 }
func lastOf(q *model.Question) int { return len(q.Choices) - 1 }

func longestOf(q *model.Question) int {
	at := 0
	for i, c := range q.Choices {
		if utf8.RuneCountInString(c.Text) > utf8.RuneCountInString(q.Choices[at].Text) {
			at = i
		}
	}
	return at
}

func shortestOf(q *model.Question) int {
	at := 0
	for i, c := range q.Choices {
		if utf8.RuneCountInString(c.Text) < utf8.RuneCountInString(q.Choices[at].Text) {
			at = i
		}
	}
	return at
}

func rightOf(q *model.Question) int {
	return max(0, slices.IndexFunc(q.Choices, func(c model.Choice) bool { return c.Right }))
}

var shortcuts = []shortcut{
	{name: "first choice, 0, nothing set", choose: firstOf, number: "0"},
	{name: "last choice, 0, nothing set", choose: lastOf, number: "0"},
	{name: "longest choice, 6, nothing set", choose: longestOf, number: "6"},
	{name: "shortest choice, −20, nothing set", choose: shortestOf, number: "-20"},
	{name: "the book's choices, 12, nothing set", choose: rightOf, number: "12"},
	{name: "first choice, 0, a neighbour's settings", choose: firstOf, number: "0", settings: true},
	{name: "shortest choice, 0, a neighbour's settings", choose: shortestOf, number: "0", settings: true},
	{name: "the book's choices, 0, a neighbour's settings", choose: rightOf, number: "0", settings: true},
	{name: "a neighbour's answers, nothing set", choose: firstOf, number: "0", answers: true},
	{name: "a neighbour's answers and settings", choose: firstOf, number: "0", answers: true, settings: true},
}

// neighbour is what the model answers come to on one bench, written out.
func neighbour(t *testing.T, l *model.Lesson, a *model.Answers, bench *take.Bench, seed uint64) *model.Answers {
	t.Helper()
	r, err := run.NewRunner(l, run.Options{Seed: seed, Bench: bench})
	if err != nil {
		t.Fatal(err)
	}
	if err := run.Play(context.Background(), r, a, nil); err != nil {
		t.Fatal(err)
	}
	out := &model.Answers{Lesson: l.ID, Steps: map[string]model.Answer{}}
	for i, sp := range r.Progress().Steps {
		x := model.Answer{Texts: sp.Answers}
		if sp.Take != nil && l.Steps[i].Kind == model.Do {
			for _, k := range slices.Sorted(maps.Keys(sp.Take.Settings)) {
				x.Settings = append(x.Settings, model.Setting{Key: k, Value: sp.Take.Settings[k]})
			}
		}
		out.Steps[sp.ID] = x
	}
	return out
}

func (c shortcut) answersTo(l *model.Lesson, of *model.Answers) *model.Answers {
	out := &model.Answers{Lesson: l.ID, Steps: map[string]model.Answer{}}
	for _, s := range l.Steps {
		var a model.Answer
		switch {
		case s.Kind == model.Explain:
			a.Texts = []string{strings.Repeat("Because of the gain. ", 1+s.Least/20)}
		case s.Trials > 0:
			a.Texts = slices.Repeat([]string{s.Strips[0]}, s.Trials)
		case s.Question != nil && s.Question.Choices != nil:
			a.Texts = []string{model.Letter(c.choose(s.Question))}
		case s.Question != nil:
			a.Texts = []string{c.number}
		}
		if c.answers && len(of.Steps[s.ID].Texts) > 0 {
			a.Texts = of.Steps[s.ID].Texts
		}
		if c.settings {
			a.Settings = of.Steps[s.ID].Settings
		}
		out.Steps[s.ID] = a
	}
	return out
}

// known are lessons that a neighbour may help through: blind-listening has nothing to set.
var known = []string{"blind-listening"}

// Ten ways through every built-in lesson without listening or measuring: on how many benches
// each passes. None of the first five does on more than a quarter of them, and a neighbour's
// settings, or answers, on no more than half.
func TestShortcuts(t *testing.T) {
	for _, name := range builtin.Names() {
		t.Run(name, func(t *testing.T) { tryShortcuts(t, name) })
	}
}

func tryShortcuts(t *testing.T, name string) {
	l, a := withAnswers(t, name)
	of := neighbour(t, l, a, take.NewBench(), 1)
	own := model.DrawnText(l.Drawn(1))
	var row []string
	for k, c := range shortcuts {
		r, err := grade.Rehearse(context.Background(), l, c.answersTo(l, of), 7, nil)
		if err != nil {
			t.Fatal(err)
		}
		passed, played := 0, 0
		for _, p := range r.Played {
			if model.DrawnText(p.Drawn) == own {
				continue // nobody is a neighbour's neighbour on the same bench
			}
			played++
			if p.Passed {
				passed++
			}
		}
		row = append(row, fmt.Sprintf("%d/%d", passed, played))
		most := played / 2
		if k < 5 {
			most = played / 4
		}
		if k < 9 && passed > most && (k < 5 || !slices.Contains(known, name)) {
			t.Errorf("%q passes on %d of %d benches", c.name, passed, played)
		}
	}
	t.Logf("%-22s %s", name, strings.Join(row, "  "))
}
