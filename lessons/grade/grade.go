// Package grade does what a trainer does with lessons and results: verifies results by
// running everything in them again, rehearses a lesson for every student there can be,
// and writes results as xAPI statements.
package grade

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"sync"

	"gainwright/lessons/keys"
	"gainwright/lessons/model"
	"gainwright/lessons/names"
	"gainwright/lessons/run"
	"gainwright/lessons/take"
	"gainwright/sounds/own"
	"gainwright/sounds/scenario/plain"
)

// A Grade is what grading found out about one result.
type Grade struct {
	Path     string  `json:"path"`
	Student  string  `json:"student"`
	Lesson   string  `json:"lesson"`
	Seed     uint64  `json:"seed"`
	Points   float64 `json:"points"` // as computed here, not as the file says
	Of       float64 `json:"of"`
	Passed   bool    `json:"passed"`
	FailedAt string  `json:"failed_at,omitempty"`
	Why      string  `json:"why,omitempty"` // it is not passed, in words
	Minutes  float64 `json:"minutes"`
	Flags    []Flag  `json:"flags,omitempty"` // what does not fit; none: the result reproduces
	Notes    []Flag  `json:"notes,omitempty"` // worth a look, proves nothing
	// OwnVoice is the student's own that gave the takes in place of the talker.
	OwnVoice *run.VoiceRef `json:"own_voice,omitempty"`
	Result   *run.Result   `json:"-"`

	lesson *model.Lesson // that it belongs to; nil: not known
	again  *run.Result   // as it came out here; nil: it could not be played again
}

// A Flag is one thing that does not fit.
type Flag struct {
	Step string `json:"step,omitempty"`
	What string `json:"what"`
}

func (f Flag) String() string {
	if f.Step == "" {
		return f.What
	}
	return f.Step + ": " + f.What
}

// OK tells that the result reproduces.
func (g *Grade) OK() bool { return len(g.Flags) == 0 }

// A Grader verifies results: the signature, the quantities drawn, every take run
// again, every answer graded again. Takes that are alike are run once. Fields are
// set before the first Grade; it is safe for several goroutines.
type Grader struct {
	Key   *keys.Key // of the class; nil: results have a plain hash
	Bench *take.Bench
	// Voices are students' own that results may have been taken with.
	Voices []Voice

	mu      sync.Mutex
	lessons map[string]*model.Lesson // by hash
	byID    map[string]*model.Lesson
}

// NewGrader knows the lessons given.
func NewGrader(ls ...*model.Lesson) *Grader {
	g := &Grader{Bench: take.NewBench(), lessons: map[string]*model.Lesson{}, byID: map[string]*model.Lesson{}}
	for _, l := range ls {
		g.lessons[l.Hash], g.byID[l.ID] = l, l
	}
	return g
}

// Grade verifies one result. An error means that it could not be done (ctx was
// cancelled); everything that is wrong with the result is a flag.
func (g *Grader) Grade(ctx context.Context, path string, res *run.Result) (*Grade, error) {
	out := &Grade{Path: path, Student: res.Student, Lesson: res.Lesson.ID, Seed: res.Seed, OwnVoice: res.Voice, Result: res}
	flag := func(step, format string, args ...any) {
		out.Flags = append(out.Flags, Flag{step, fmt.Sprintf(format, args...)})
	}
	if why := res.Verify(g.Key); why != "" {
		flag("", "%s", why)
	}
	l := g.lessons[res.Lesson.Hash]
	if l == nil {
		if known := g.byID[res.Lesson.ID]; known != nil {
			flag("", "the lesson %s is not the one at hand: its text was different", plain.Quote(res.Lesson.ID))
		} else {
			flag("", "the lesson %s is not known here: give its file with --lesson", plain.Quote(res.Lesson.ID))
		}
		return out, nil
	}
	if l.ID != res.Lesson.ID || l.Title != res.Lesson.Title {
		flag("", "the lesson's name is %s, not %s", plain.Quote(l.ID), plain.Quote(res.Lesson.ID))
	}
	if res.Ended == nil || res.At != len(l.Steps) || len(res.Steps) != len(l.Steps) {
		flag("", "the lesson was not finished")
		return out, nil
	}
	g.times(res, out)
	drawn := l.Drawn(res.Seed)
	for _, k := range slices.Sorted(maps.Keys(merge(res.Drawn, drawn))) {
		if fmt.Sprint(res.Drawn[k]) != fmt.Sprint(drawn[k]) {
			flag("", "%s is %v in the file; seed %d draws %v", plain.Shorten(k), res.Drawn[k], res.Seed, drawn[k])
		}
	}
	guest, ok := g.ownVoice(l, res, out, flag)
	if !ok {
		return out, nil
	}
	again, err := g.replay(ctx, l, res, guest, out, flag)
	if err != nil {
		return nil, err
	}
	if again == nil {
		return out, nil
	}
	g.compare(res, again, flag)
	out.Points, out.Of, out.Passed, out.FailedAt = again.Points, again.Of, again.Passed, again.FailedAt
	out.Why, out.lesson, out.again = again.Why(l), l, again
	return out, nil
}

// ownVoice finds the voice of the student's own that a result was taken with, nil for none; ok
// is false where without it the result cannot be played again.
func (g *Grader) ownVoice(l *model.Lesson, res *run.Result, out *Grade, flag func(step, format string, args ...any)) (guest *own.Guest, ok bool) {
	ref := res.Voice
	if ref == nil {
		return nil, true
	}
	if !l.OwnVoice {
		flag("", "says that the takes are of the student's own voice, which this lesson does not allow")
		return nil, false
	}
	v, why := g.voiceOf(ref)
	if v == nil {
		flag("", "%s", why)
		return nil, false
	}
	out.Notes = append(out.Notes, Flag{"", fmt.Sprintf("taken with the student's own voice %s", plain.Quote(ref.Name))})
	if name := v.Guest.Perf.Name; name != ref.Name {
		out.Notes = append(out.Notes, Flag{"", fmt.Sprintf("the voice is called %s in its file", plain.Quote(name))})
	}
	return v.Guest, true
}

// times looks at what clocks say: never proof, clocks can be set.
func (g *Grader) times(res *run.Result, out *Grade) {
	note := func(format string, args ...any) {
		out.Notes = append(out.Notes, Flag{"", fmt.Sprintf(format, args...)})
	}
	sum := 0.0
	for _, s := range res.Steps {
		sum += s.Seconds
	}
	out.Minutes = names.Round(sum/60, 1)
	took := res.Ended.Sub(res.Started).Seconds()
	switch {
	case took < 0:
		note("ended before it started")
	case sum > took+float64(len(res.Steps))+2:
		note("the steps took %.0f s, longer than from start to end (%.0f s)", sum, took)
	}
	if sum < 2*float64(len(res.Steps)) {
		note("%.0f s for %d steps: faster than one can read", sum, len(res.Steps))
	}
}

// replay does what the result says was done and returns what comes of it.
func (g *Grader) replay(ctx context.Context, l *model.Lesson, res *run.Result, guest *own.Guest, out *Grade, flag func(step, format string, args ...any)) (*run.Result, error) {
	r, err := run.NewRunner(l, run.Options{Seed: min(res.Seed, 1<<53-1), Student: res.Student, Bench: g.Bench})
	if err != nil {
		flag("", "the bench cannot be set up: %v", err)
		return nil, nil
	}
	if guest != nil {
		if err := r.Lend(guest); err != nil {
			flag("", "the voice could not have been chosen: %v", err)
			return nil, nil
		}
	}
	for i, s := range l.Steps {
		sp := &res.Steps[i]
		if sp.ID != s.ID || sp.Kind != s.Kind {
			flag(sp.ID, "is not step %d of the lesson", i+1)
			return nil, nil
		}
		err := replayStep(ctx, r, s, sp)
		if ctx.Err() != nil && err != nil {
			return nil, ctx.Err()
		}
		if err != nil {
			flag(s.ID, "%v", err)
			return nil, nil
		}
		if s.IsTake() {
			takes(s, sp, out, flag)
		}
		if err := r.Advance(); err != nil {
			flag(s.ID, "could not have been left: %v", err)
			return nil, nil
		}
	}
	return r.Result(nil)
}

// takes holds the takes of a step, recorded and given up, against what the lesson allows.
func takes(s *model.Step, sp *run.StepProgress, out *Grade, flag func(step, format string, args ...any)) {
	n := sp.Takes + len(sp.Dropped)
	if sp.Takes == 1 && n == s.Attempts+1 {
		n-- // all were given up, and the last was recorded to its end
	}
	if sp.Take != nil && sp.Takes < 1 || s.Attempts > 0 && n > s.Attempts {
		flag(s.ID, "%s, the lesson allows %d", plain.Count(n, "take", "takes"), s.Attempts)
	}
	if len(sp.Dropped) == 0 {
		return
	}
	var at []string
	for _, x := range sp.Dropped {
		at = append(at, names.Format(x, "s"))
	}
	out.Notes = append(out.Notes, Flag{s.ID, fmt.Sprintf("%s given up, after %s", plain.Count(len(at), "take", "takes"), plain.Listed(at, "and"))})
}

// replayStep gives the answers or makes the take that one step's result holds.
func replayStep(ctx context.Context, r *run.Runner, s *model.Step, sp *run.StepProgress) error {
	if err := r.Work(ctx); err != nil {
		return err
	}
	switch {
	case s.Question != nil || s.Kind == model.Explain || s.Trials > 0:
		for _, a := range sp.Answers {
			if _, err := r.Answer(a); err != nil {
				return fmt.Errorf("an answer that could not have been given: %w", err)
			}
		}
	case s.IsTake() && sp.Take != nil:
		for _, k := range slices.Sorted(maps.Keys(sp.Take.Settings)) {
			if err := r.Apply(k, sp.Take.Settings[k]); err != nil {
				return fmt.Errorf("a setting that could not have been made: %w", err)
			}
		}
		if err := r.Record(ctx, nil, sp.Take.Changes...); err != nil {
			return fmt.Errorf("a take that could not have been recorded: %w", err)
		}
		r.Retook(sp.Takes, sp.Dropped)
	}
	return nil
}
