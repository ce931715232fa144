package grade

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"sync"

	"gainwright/lessons/model"
	"gainwright/lessons/names"
	"gainwright/lessons/rules"
	"gainwright/lessons/run"
	"gainwright/lessons/take"
	"gainwright/sounds/scenario/plain"
)

// A Shared is the one answer to a step that does on more benches than any other: who
// learns it from a neighbour needs no ears and no meter there.
type Shared struct {
	Step string     `json:"step"`
	Kind model.Kind `json:"kind"`
	What string     `json:"what"` // "A.preamp.gain_db 34", "b (no)"; "" if none does anywhere
	Fits int        `json:"fits"` // benches on which it does
	Of   int        `json:"of"`   // that were tried
}

// Everywhere tells that the answer does on every bench, of two or more.
func (s Shared) Everywhere() bool { return s.Of > 1 && s.Fits == s.Of }

// Note says so.
func (s Shared) Note() string {
	what := map[model.Kind]string{model.Do: "one setting", model.Predict: "one prediction"}[s.Kind]
	if what == "" {
		what = "one choice"
	}
	return fmt.Sprintf("step %s: %s fits every bench, %s, on all %d tried: a neighbour can pass it on; vary more of what it depends on", s.Step, what, s.What, s.Of)
}

// Notes say which answers do on every bench.
func Notes(all []Shared) []string {
	var out []string
	for _, s := range all {
		if s.Everywhere() {
			out = append(out, s.Note())
		}
	}
	return out
}

// asksBench tells whether what is right at a step is a choice or a prediction that could
// differ from bench to bench: all predictions but those of one's own blind hits, and
// questions decided by a rule.
func asksBench(s *model.Step) bool {
	q := s.Question
	if q != nil && slices.ContainsFunc(q.Names(), func(n string) bool { return strings.HasSuffix(n, "."+rules.Hits) }) {
		return false
	}
	if q == nil || !q.Gradable() || s.Kind != model.Predict && (q.Choices == nil || len(q.Names()) == 0) {
		return false
	}
	return q.Choices != nil || q.Number != nil
}

// sets tells whether a step is a task with something to set.
func sets(s *model.Step) bool { return s.Kind == model.Do && len(s.Controls) > 0 }

// Share finds, for every task, prediction and question that the bench decides, the answer
// that does on most of the benches. With answers a it tries the settings that these give
// and what lies in their middle; a nil a stands for any student, and settings from all
// over the controls' ranges are tried. Unless full, a setting is given up on the first bench
// where it misses, so that Fits is exact only where it is Of. At most so many
// benches are tried, on all processors. progress may be nil.
func Share(ctx context.Context, l *model.Lesson, a *model.Answers, most int, full bool, progress func(done, of int)) ([]Shared, error) {
	return share(ctx, l, a, take.NewBench(), most, full, progress)
}

// Share looks, after a rehearsal, which answers do on how many of its benches.
func (r *Rehearsal) Share(ctx context.Context, l *model.Lesson, a *model.Answers, full bool, progress func(done, of int)) (err error) {
	r.Shared, err = share(ctx, l, a, r.bench, len(r.Played), full, progress)
	return err
}

func share(ctx context.Context, l *model.Lesson, a *model.Answers, bench *take.Bench, most int, full bool, progress func(done, of int)) ([]Shared, error) {
	h := &sharing{l: l, bench: bench, answers: a, full: full, right: map[string][]outcome{}, tried: map[string][]*candidate{}}
	seeds := l.Seeds(most)
	keys := make([]string, len(seeds))
	for i, seed := range seeds {
		keys[i] = performanceKey(l.Drawn(seed))
	}
	of := len(seeds)
	if a == nil {
		h.answers = anyAnswers(l)
		for _, s := range l.Steps {
			if sets(s) {
				h.tried[s.ID] = spread(s)
			}
		}
	} else {
		of = 2 * len(seeds)
		if err := h.used(ctx, seeds, keys, func(n int) {
			if progress != nil {
				progress(n, of)
			}
		}); err != nil {
			return nil, err
		}
	}
	err := eachOf(ctx, keys, func(ctx context.Context, i int) error { return h.play(ctx, seeds[i], a == nil) }, func(n, _ int) {
		if progress != nil {
			progress(of-len(seeds)+n, of)
		}
	})
	if err != nil {
		return nil, err
	}
	return h.shared(len(seeds)), nil
}

// sharing gathers over the benches of a lesson what does where.
type sharing struct {
	l       *model.Lesson
	bench   *take.Bench
	answers *model.Answers
	full    bool

	mu    sync.Mutex
	right map[string][]outcome    // of questions, by step
	tried map[string][]*candidate // settings, by step
}

// outcome is what was right of a question on one bench.
type outcome struct {
	letters []string
	number  float64
}

// candidate is a way to set a task, and on how many benches it does.
type candidate struct {
	settings []model.Setting
	fits     int
	missed   bool
}

func (c *candidate) String() string {
	var out []string
	for _, s := range c.settings {
		out = append(out, s.Key+" "+names.ValueText(s.Value))
	}
	return strings.Join(out, ", ")
}

// used plays the answers on every bench and takes down the settings they come to.
func (h *sharing) used(ctx context.Context, seeds []uint64, keys []string, progress func(n int)) error {
	by := map[string]map[string]*candidate{}
	err := eachOf(ctx, keys, func(ctx context.Context, i int) error {
		return h.through(ctx, seeds[i], h.answers, func(r *run.Runner, s *model.Step) error {
			if !sets(s) || len(h.answers.Steps[s.ID].Changes) > 0 {
				return nil
			}
			set, err := r.Worked(h.answers.Steps[s.ID].Settings)
			if err != nil || len(set) == 0 {
				return err
			}
			c := &candidate{settings: set}
			h.mu.Lock()
			defer h.mu.Unlock()
			if by[s.ID] == nil {
				by[s.ID] = map[string]*candidate{}
			}
			by[s.ID][c.String()] = c
			return nil
		}, nil)
	}, func(n, _ int) { progress(n) })
	for _, s := range h.l.Steps {
		var all []*candidate
		for _, c := range by[s.ID] {
			all = append(all, c)
		}
		slices.SortFunc(all, inOrder)
		if len(all) > 1 {
			all = append(thinned(s, all), middle(s, all))
		}
		h.tried[s.ID] = all
	}
	return err
}

// maxTried is how many settings of a task are tried on every bench.
const maxTried = 12

// thinned leaves maxTried of many, evenly; of a single number they are spread evenly
// between the extremes, so that none that several benches share is missed by much.
func thinned(s *model.Step, all []*candidate) []*candidate {
	first := all[0].settings
	if c, one := soleNumber(s, first); one {
		lo, _ := first[0].Value.(float64)
		hi, _ := all[len(all)-1].settings[0].Value.(float64)
		c.Min, c.Max = lo, hi
		var out []*candidate
		for _, v := range valuesOf(c, maxTried) {
			out = append(out, &candidate{settings: []model.Setting{{Key: c.Key, Value: v}}})
		}
		return out
	}
	if len(all) <= maxTried {
		return all
	}
	out := make([]*candidate, maxTried)
	for i := range out {
		out[i] = all[i*(len(all)-1)/(maxTried-1)]
	}
	return out
}

// soleNumber is the control that a setting turns, if it turns one and that is a number.
func soleNumber(s *model.Step, settings []model.Setting) (model.Control, bool) {
	for _, c := range s.Controls {
		if len(settings) == 1 && c.Key == settings[0].Key {
			return c, c.Choices == nil && !c.Switch
		}
	}
	return model.Control{}, false
}

// inOrder sorts settings by their numbers.
func inOrder(a, b *candidate) int {
	for i := range min(len(a.settings), len(b.settings)) {
		x, isX := a.settings[i].Value.(float64)
		y, isY := b.settings[i].Value.(float64)
		if isX && isY && x != y {
			return cmp.Compare(x, y)
		}
	}
	return strings.Compare(a.String(), b.String())
}

// middle is halfway between the extremes of numbers; words are as in the first.
func middle(s *model.Step, all []*candidate) *candidate {
	out := &candidate{settings: slices.Clone(all[0].settings)}
	for i, set := range out.settings {
		lo, hi := math.Inf(1), math.Inf(-1)
		for _, c := range all {
			if x, ok := c.settings[i].Value.(float64); ok {
				lo, hi = min(lo, x), max(hi, x)
			}
		}
		if lo > hi {
			continue
		}
		out.settings[i].Value = (lo + hi) / 2
		for _, c := range s.Controls {
			if c.Key == set.Key && c.Step > 0 {
				out.settings[i].Value = names.Round(math.Round((lo+hi)/2/c.Step)*c.Step, 6)
			}
		}
	}
	return out
}

// spreadOver is how many values of each number are tried, by how many controls there are.
var spreadOver = []int{0, 25, 6, 3}

// spread are settings from all over what a step unlocks.
func spread(s *model.Step) []*candidate {
	out := []*candidate{{}}
	for k, c := range s.Controls {
		if k >= len(spreadOver)-1 {
			break // the rest stays as it is
		}
		var next []*candidate
		for _, v := range valuesOf(c, spreadOver[min(len(s.Controls), len(spreadOver)-1)]) {
			for _, o := range out {
				next = append(next, &candidate{settings: append(slices.Clone(o.settings), model.Setting{Key: c.Key, Value: v})})
			}
		}
		out = next
	}
	return out
}

// valuesOf are n numbers from a control's range, or all its words.
func valuesOf(c model.Control, n int) []any {
	var out []any
	switch {
	case c.Switch:
		return []any{false, true}
	case c.Choices != nil:
		for _, w := range c.Choices {
			out = append(out, w)
		}
		return out
	}
	hi := c.Max
	if math.IsInf(hi, 0) {
		hi = c.Min + 20
	}
	for i := range n {
		v := c.Min + (hi-c.Min)*float64(i)/float64(n-1)
		if c.Step > 0 {
			v = names.Round(math.Round(v/c.Step)*c.Step, 6)
		}
		if v = min(max(v, c.Min), hi); !slices.Contains(out, any(v)) {
			out = append(out, v)
		}
	}
	return out
}

// anyAnswers get a student past every question, right or wrong.
func anyAnswers(l *model.Lesson) *model.Answers {
	a := &model.Answers{Lesson: l.ID, Steps: map[string]model.Answer{}}
	for _, s := range l.Steps {
		text := "a"
		switch {
		case s.Question == nil && s.Kind != model.Explain && s.Trials == 0:
			continue
		case s.Kind == model.Explain:
			text = strings.Repeat("x", s.Least)
		case s.Question != nil && s.Question.Number != nil:
			text = "0"
		case s.Trials > 0:
			text = s.Strips[0]
		}
		a.Steps[s.ID] = model.Answer{Texts: slices.Repeat([]string{text}, max(s.Trials, 1))}
	}
	return a
}

// through plays a lesson on one bench; before is called ahead of every step, after (may
// be nil) behind it, and with a finished runner and nil at the end.
func (h *sharing) through(ctx context.Context, seed uint64, a *model.Answers, before, after func(r *run.Runner, s *model.Step) error) error {
	r, err := run.NewRunner(h.l, run.Options{Seed: seed, Student: "rehearsal", Bench: h.bench})
	if err != nil {
		return err
	}
	for _, s := range h.l.Steps {
		if err := before(r, s); err != nil {
			return fmt.Errorf("step %s: %w", s.ID, err)
		}
		if err := r.PlayStep(ctx, a); err != nil {
			return fmt.Errorf("step %s: %w", s.ID, err)
		}
		if after != nil {
			if err := after(r, s); err != nil {
				return err
			}
		}
		if err := r.Advance(); err != nil {
			return fmt.Errorf("step %s: %w", s.ID, err)
		}
	}
	if after != nil {
		return after(r, nil)
	}
	return nil
}

// play tries every setting that is left on one bench, and notes what is right of its
// questions. Where anybody plays, the task is then met as it can be.
func (h *sharing) play(ctx context.Context, seed uint64, anybody bool) error {
	a := h.answers
	if anybody {
		a = &model.Answers{Lesson: a.Lesson, Steps: map[string]model.Answer{}}
		for k, v := range h.answers.Steps {
			a.Steps[k] = v
		}
	}
	return h.through(ctx, seed, a, func(r *run.Runner, s *model.Step) error {
		good, err := h.try(ctx, r, s)
		if anybody && sets(s) {
			a.Steps[s.ID] = model.Answer{Settings: good}
		}
		return err
	}, h.note)
}

// try holds the candidates of a step against one bench and gives one that does, or nil.
func (h *sharing) try(ctx context.Context, r *run.Runner, s *model.Step) (good []model.Setting, err error) {
	h.mu.Lock()
	all := h.tried[s.ID]
	h.mu.Unlock()
	for _, c := range all {
		h.mu.Lock()
		skip := c.missed && !h.full
		h.mu.Unlock()
		if skip {
			continue
		}
		met, err := r.Try(ctx, c.settings)
		if err != nil {
			return nil, err
		}
		h.mu.Lock()
		if met {
			c.fits++
			good = c.settings
		} else {
			c.missed = true
		}
		h.mu.Unlock()
	}
	return good, nil
}

// note takes down what is right of a question: of one that is answered at once behind its
// step, of a prediction at the end.
func (h *sharing) note(r *run.Runner, s *model.Step) error {
	if s != nil {
		if s.Asks() && asksBench(s) {
			h.add(s, outcome{letters: s.Question.Right(r.Known())})
		}
		return nil
	}
	for _, s := range h.l.Steps {
		if s.Kind != model.Predict || !asksBench(s) {
			continue
		}
		v := r.DecidedBy(s.ID)
		switch q := s.Question; {
		case v == nil:
			h.add(s, outcome{number: math.NaN()})
		case q.Choices != nil:
			h.add(s, outcome{letters: q.Right(v)})
		default:
			h.add(s, outcome{number: q.Number.Answer.Number(v)})
		}
	}
	return nil
}

func (h *sharing) add(s *model.Step, o outcome) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.right[s.ID] = append(h.right[s.ID], o)
}

// shared sums up, in the order of the steps.
func (h *sharing) shared(benches int) []Shared {
	var out []Shared
	for _, s := range h.l.Steps {
		sh := Shared{Step: s.ID, Kind: s.Kind, Of: benches}
		switch {
		case sets(s):
			for _, c := range h.tried[s.ID] {
				if c.fits > sh.Fits && (h.full || !c.missed) {
					sh.What, sh.Fits = c.String(), c.fits
				}
			}
		case !asksBench(s):
			continue
		case s.Question.Choices != nil:
			sh.What, sh.Fits = commonChoice(s.Question, h.right[s.ID])
		default:
			sh.What, sh.Fits = commonNumber(s.Question.Number, h.right[s.ID])
		}
		out = append(out, sh)
	}
	return out
}

func commonChoice(q *model.Question, all []outcome) (what string, fits int) {
	for i, c := range q.Choices {
		n := 0
		for _, o := range all {
			if slices.Contains(o.letters, model.Letter(i)) {
				n++
			}
		}
		if n > fits {
			what, fits = fmt.Sprintf("%s (%s)", model.Letter(i), plain.Shorten(c.Text)), n
		}
	}
	return what, fits
}

// commonNumber is the number that lies within the tolerance of most.
func commonNumber(q *model.NumberAnswer, all []outcome) (what string, fits int) {
	var truths []float64
	for _, o := range all {
		if !math.IsNaN(o.number) {
			truths = append(truths, o.number)
		}
	}
	slices.Sort(truths)
	for i, lo := range truths {
		n := 0
		for _, x := range truths[i:] {
			if x <= lo+2*q.Tolerance+1e-9 {
				n++
			}
		}
		if n > fits {
			what, fits = names.Format(lo+q.Tolerance, q.Unit), n
		}
	}
	return what, fits
}
