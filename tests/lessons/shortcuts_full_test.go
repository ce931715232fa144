//go:build full

package lessons

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"math"
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"gainwright/lessons/builtin"
	"gainwright/lessons/grade"
	"gainwright/lessons/model"
	"gainwright/lessons/names"
	"gainwright/lessons/run"
	"gainwright/lessons/take"
)

// shortcut is a way through a lesson without listening or measuring.
type shortcut struct {
	name string
	// choose gives a choice's place.
	choose func(s *model.Step) int
	// number gives what is answered where a number is asked for.
	number func(s *model.Step) string
	// knobs gives the settings of a task; nil leaves them as they stand.
	knobs func(s *model.Step) []model.Setting
	// What a neighbour had: all settings, all numbers, and everything that was answered.
	settings, numbers, answers bool
	most                       float64 // share of the benches on which it may pass
}

func choiceAt(i int) func(*model.Step) int {
	return func(s *model.Step) int { return min(i, len(s.Question.Choices)-1) }
}

// byLength picks among the choices in the order of their lengths, the share of the way up.
func byLength(share float64) func(*model.Step) int {
	return func(s *model.Step) int {
		at := make([]int, len(s.Question.Choices))
		for i := range at {
			at[i] = i
		}
		length := func(i int) int { return utf8.RuneCountInString(s.Question.Choices[i].Text) }
		slices.SortStableFunc(at, func(a, b int) int { return cmp.Compare(length(a), length(b)) })
		return at[int(share*float64(len(at)-1)+0.5)]
	}
}

// rightOf is what the lesson's file says is right on every bench, else the first choice.
func rightOf(s *model.Step) int {
	return max(0, slices.IndexFunc(s.Question.Choices, func(c model.Choice) bool { return c.Right }))
}

// byEcho is the choice that has most words of the question in it, over its own.
func byEcho(s *model.Step) int {
	asked := strings.Fields(strings.ToLower(s.Text.Raw()))
	best, at := -1.0, 0
	for i, c := range s.Question.Choices {
		own := strings.Fields(strings.ToLower(c.Text))
		hits := 0
		for _, w := range own {
			if slices.Contains(asked, w) {
				hits++
			}
		}
		if x := float64(hits) / float64(len(own)); x > best {
			best, at = x, i
		}
	}
	return at
}

// byDice throws dice that fall alike for a step.
func byDice(s *model.Step) int {
	return model.Pick(7, len(s.Question.Choices), "choice", s.ID)
}

func always(x string) func(*model.Step) string { return func(*model.Step) string { return x } }

var numeral = regexp.MustCompile(`[-−]?\d+(\.\d+)?`)

// quoted is the number that stands last, or first, in the question's own text.
func quoted(last bool) func(*model.Step) string {
	return func(s *model.Step) string {
		all := numeral.FindAllString(s.Text.Raw(), -1)
		switch {
		case len(all) == 0:
			return "10"
		case last:
			return strings.ReplaceAll(all[len(all)-1], "−", "-")
		}
		return strings.ReplaceAll(all[0], "−", "-")
	}
}

// knobsAt turns every knob to a share of its range, and every switch to the word there.
func knobsAt(share float64) func(*model.Step) []model.Setting {
	return func(s *model.Step) []model.Setting {
		var out []model.Setting
		for _, c := range s.Controls {
			var v any
			switch {
			case c.Switch:
				v = share >= 0.5
			case c.Choices != nil:
				v = c.Choices[int(share*float64(len(c.Choices)-1)+0.5)]
			default:
				hi := c.Max
				if math.IsInf(hi, 0) {
					hi = c.Min + 20
				}
				x := c.Min + share*(hi-c.Min)
				if c.Step > 0 {
					x = names.Round(math.Round(x/c.Step)*c.Step, 6)
				}
				v = x
			}
			out = append(out, model.Setting{Key: c.Key, Value: v})
		}
		return out
	}
}

var shortcuts = []shortcut{
	{name: "first choice, 0, nothing set", choose: choiceAt(0), number: always("0"), most: 0.25},
	{name: "last choice, 0, nothing set", choose: choiceAt(99), number: always("0"), most: 0.25},
	{name: "longest choice, 6, nothing set", choose: byLength(1), number: always("6"), most: 0.25},
	{name: "shortest choice, −20, nothing set", choose: byLength(0), number: always("-20"), most: 0.25},
	{name: "the book's choices, 12, nothing set", choose: rightOf, number: always("12"), most: 0.25},
	{name: "first choice, 0, a neighbour's settings", choose: choiceAt(0), number: always("0"), settings: true, most: 0.5},
	{name: "shortest choice, 0, a neighbour's settings", choose: byLength(0), number: always("0"), settings: true, most: 0.5},
	{name: "the book's choices, 0, a neighbour's settings", choose: rightOf, number: always("0"), settings: true, most: 0.5},
	{name: "a neighbour's answers, nothing set", choose: choiceAt(0), number: always("0"), answers: true, most: 0.5},
	{name: "a neighbour's answers and settings", choose: choiceAt(0), number: always("0"), answers: true, settings: true, most: 1},
	// Ten further ones.
	{name: "second choice, 3, knobs in the middle", choose: choiceAt(1), number: always("3"), knobs: knobsAt(0.5), most: 0.34},
	{name: "third choice, −3, knobs down", choose: choiceAt(2), number: always("-3"), knobs: knobsAt(0), most: 0.34},
	{name: "last choice, 20, knobs up", choose: choiceAt(99), number: always("20"), knobs: knobsAt(1), most: 0.34},
	{name: "choice of middle length, last number in the text, knobs in the middle", choose: byLength(0.5), number: quoted(true), knobs: knobsAt(0.5), most: 0.34},
	{name: "choice that echoes the question, first number in the text, knobs a third up", choose: byEcho, number: quoted(false), knobs: knobsAt(1.0 / 3), most: 0.34},
	{name: "dice, first number in the text, knobs two thirds up", choose: byDice, number: quoted(false), knobs: knobsAt(2.0 / 3), most: 0.34},
	{name: "the book's choices, last number in the text, knobs in the middle", choose: rightOf, number: quoted(true), knobs: knobsAt(0.5), most: 0.5},
	{name: "the book's choices, last number in the text, knobs two fifths up", choose: rightOf, number: quoted(true), knobs: knobsAt(0.4), most: 0.5},
	{name: "the book's choices, a neighbour's numbers, knobs in the middle", choose: rightOf, number: always("0"), numbers: true, knobs: knobsAt(0.5), most: 0.5},
	{name: "a neighbour's answers, knobs two fifths up", choose: choiceAt(0), number: always("0"), answers: true, knobs: knobsAt(0.4), most: 0.5},
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
		had := of.Steps[s.ID]
		switch {
		case s.Kind == model.Explain:
			a.Texts = []string{strings.Repeat("Because of the gain. ", 1+s.Least/20)}
		case s.Trials > 0:
			a.Texts = slices.Repeat([]string{s.Strips[0]}, s.Trials)
		case s.Question != nil && s.Question.Choices != nil:
			a.Texts = []string{model.Letter(c.choose(s))}
		case s.Question != nil && c.numbers && len(had.Texts) > 0:
			a.Texts = had.Texts
		case s.Question != nil:
			a.Texts = []string{c.number(s)}
		}
		if c.answers && len(had.Texts) > 0 {
			a.Texts = had.Texts
		}
		switch {
		case c.settings:
			a.Settings = had.Settings
		case c.knobs != nil && s.Kind == model.Do:
			a.Settings = c.knobs(s)
		}
		out.Steps[s.ID] = a
	}
	return out
}

// known are lessons that a neighbour may help through: blind-listening has nothing to set.
var known = []string{"blind-listening"}

// Twenty ways through every built-in lesson without listening or measuring: on how many benches
// each passes. None does on more than a quarter of them, or with the knobs somewhere on more than a third, as is
// asked of one setting; with a neighbour's settings or
// answers, or with all that is in the book and the knobs somewhere, on no more than half: of
// seven benches that are tried two or three may be of the kind that this place suits, which on
// all is a third at most (TestNoSettingForEverybody).
func TestShortcuts(t *testing.T) {
	for _, name := range builtin.Names() {
		t.Run(name, func(t *testing.T) { tryShortcuts(within(t), t, name) })
	}
}

func tryShortcuts(ctx context.Context, t *testing.T, name string) {
	l, a := withAnswers(t, name)
	of := neighbour(t, l, a, take.NewBench(), 1)
	own := model.DrawnText(l.Drawn(1))
	var row []string
	r, err := grade.Rehearse(ctx, l, a, 7, nil) // takes that the shortcuts have in common
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range shortcuts {
		if r, err = r.Again(ctx, l, c.answersTo(l, of), nil); err != nil {
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
		if float64(passed) > c.most*float64(played) && (c.most < 0.5 || !slices.Contains(known, name)) {
			t.Errorf("%q passes on %d of %d benches", c.name, passed, played)
		}
	}
	t.Logf("%-22s %s", name, strings.Join(row, "  "))
}
