package run

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"gainwright/lessons/model"
	"gainwright/lessons/names"
	"gainwright/lessons/take"
	"gainwright/sounds/scenario"
	"gainwright/sounds/scenario/plain"
	"gainwright/sounds/voice"
)

// Speech makes what the present step's take will have been given: the same samples
// that Record then runs through the strips.
func (r *Runner) Speech(ctx context.Context) (*take.Speech, error) {
	s := r.step()
	if s == nil || !s.IsTake() {
		return nil, errors.New("nothing is recorded in this step")
	}
	return r.bench.Speech(ctx, r.performed(s, slices.Clone(r.s.Strips), nil))
}

// Locked tells whether a setting cannot be changed now, and why.
func (r *Runner) Locked(key string) (why string, locked bool) {
	s := r.step()
	if s == nil {
		return "the lesson is finished", true
	}
	if slices.ContainsFunc(s.Controls, func(c model.Control) bool { return c.Key == key }) {
		if r.over(s) {
			return "all takes of this step are recorded", true
		}
		if r.owed(s) {
			return "the take was given up, and it was the last: " + OwedWords, true
		}
		return "", false
	}
	switch {
	case s.Locked != "":
		return s.Locked, true
	case r.l.Locked != "":
		return r.l.Locked, true
	case !s.IsTake():
		return "in this step nothing is set", true
	case len(s.Controls) == 0:
		return "this take is the same for everybody", true
	}
	var names []string
	for _, c := range s.Controls {
		names = append(names, c.Label)
	}
	return "only " + plain.Listed(names, "and") + " may change here, so that whatever you hear comes from that", true
}

// Apply changes a setting: a float64, a bool or a string, by the control's key.
// Errors are *LockedError, or say what is wrong with the value.
func (r *Runner) Apply(key string, v any) error {
	v, err := r.Allowed(key, v)
	if err != nil {
		return err
	}
	if err := names.Put(r.s, key, v); err != nil {
		return &model.AnswerError{Msg: key + ": " + names.FaultText(err)}
	}
	sp := r.here()
	if sp.Settings == nil {
		sp.Settings = map[string]any{}
	}
	sp.Settings[key] = v
	return nil
}

// Allowed checks a value against its control and gives it as Apply would set it.
func (r *Runner) Allowed(key string, v any) (any, error) {
	if why, locked := r.Locked(key); locked {
		s := r.step()
		var have []string
		if s != nil {
			for _, c := range s.Controls {
				have = append(have, c.Key)
			}
		}
		if hint, is := names.IsSetting(key, r.s, have); !is {
			return nil, &model.AnswerError{Msg: fmt.Sprintf("there is no setting %s%s", plain.Shorten(key), hint)}
		}
		return nil, &model.LockedError{Key: key, Why: why}
	}
	var c model.Control
	for _, x := range r.step().Controls {
		if x.Key == key {
			c = x
		}
	}
	v, why := c.Read(v)
	if why != "" {
		return nil, &model.AnswerError{Msg: key + ": " + why}
	}
	return v, nil
}

// performed is a take of step s with the settings of strips.
func (r *Runner) performed(s *model.Step, strips []scenario.Strip, changes []model.Change) *take.Performed {
	p := &take.Performed{Talker: r.s.Source.Talker, Script: r.s.Source.Script, Seed: r.s.Seed, Strips: strips, Changes: changes, Knob: r.s.Knob(), Own: r.own}
	if r.p.Voice != nil {
		p.OwnSum = r.p.Voice.Sum
	}
	if s.Take != "" {
		p.Script = r.takes[s.Take]
	}
	return p
}

// Marks tells what happens when in the present step's take.
func (r *Runner) Marks() ([]voice.Mark, error) {
	s := r.step()
	if s == nil || !s.IsTake() {
		return nil, nil
	}
	p := r.performed(s, nil, nil)
	if p.OwnSum != "" {
		if p.Own == nil {
			return nil, take.ErrNoVoice
		}
		out, err := p.Own.Perform(context.Background(), p.Script, p.Seed)
		if err != nil {
			return nil, err
		}
		return out.Marks, nil
	}
	v, err := voice.New(p.Script, p.Talker, p.Seed)
	if err != nil {
		return nil, err
	}
	return v.Marks(), nil
}

// Record records a take with the settings as they stand; the last take is the one
// that counts. Changes are settings turned while it rolls, where the step allows
// it. The view then holds readings, checks and hints.
func (r *Runner) Record(ctx context.Context, progress func(share float64), changes ...model.Change) error {
	return r.Performed(ctx, nil, progress, changes...)
}

// Performed is Record of a take that was performed live, of what Speech gives, with the
// settings as they stand here and the changes at the moments at which they took hold;
// live are the readings of the strips that it ran through. Strips that are not among
// them are run here.
func (r *Runner) Performed(ctx context.Context, live map[string]names.Measured, progress func(share float64), changes ...model.Change) error {
	s := r.step()
	if s == nil || !s.IsTake() {
		return errors.New("nothing is recorded in this step")
	}
	if r.over(s) {
		return fmt.Errorf("all %s of this step are recorded", plain.Count(s.Attempts, "take", "takes"))
	}
	if len(changes) > 0 && !s.Riding {
		return errors.New("in this step the settings stay as they are while the take rolls")
	}
	changes = slices.Clone(changes)
	slices.SortStableFunc(changes, func(a, b model.Change) int {
		switch {
		case a.AtS < b.AtS:
			return -1
		case a.AtS > b.AtS:
			return 1
		}
		return 0
	})
	for i := range changes {
		v, err := r.Allowed(changes[i].Key, changes[i].Value)
		if err != nil {
			return err
		}
		if !(changes[i].AtS >= 0 && changes[i].AtS <= model.MaxTakeSeconds) {
			return &model.AnswerError{Msg: fmt.Sprintf("a change at %v s: a take lasts 0 to %d s", changes[i].AtS, model.MaxTakeSeconds)}
		}
		changes[i].Value = v
	}
	strips := slices.Clone(r.s.Strips)
	p := r.performed(s, strips, changes)
	p.Live = live
	m, err := r.bench.Record(ctx, p, progress)
	if err != nil {
		return err
	}
	t := &TakeProgress{Settings: map[string]any{}, Changes: changes, Readings: m}
	for _, c := range s.Controls {
		t.Settings[c.Key] = r.valueOf(c.Key)
	}
	sp := r.here()
	if r.rolling { // it was not given up
		sp.Dropped, r.rolling = sp.Dropped[:len(sp.Dropped)-1], false
	}
	sp.Take, sp.Takes = t, sp.Takes+1
	r.chains[s.ID] = strips
	for _, k := range r.judge(s) {
		if sp.Hints == nil {
			sp.Hints = make([]int, len(s.Hints))
		}
		sp.Hints[k]++
	}
	return nil
}

// Try tells whether the present task would be met with these settings; the take is
// recorded and kept nowhere, however many takes the step allows.
func (r *Runner) Try(ctx context.Context, settings []model.Setting) (met bool, err error) {
	s := r.step()
	if s == nil || s.Kind != model.Do {
		return false, errors.New("there is no task here")
	}
	bench := r.s.Clone()
	for _, set := range settings {
		if err := names.Put(bench, set.Key, set.Value); err != nil {
			return false, fmt.Errorf("%s: %s", set.Key, names.FaultText(err))
		}
	}
	m, err := r.bench.Record(ctx, r.performed(s, bench.Strips, nil), nil)
	if err != nil {
		return false, err
	}
	v := r.values(r.p.At)
	takeValues(v, s.ID, bench.Strips, m)
	met, _ = s.Rule.Holds(v)
	return met, nil
}

// OwedWords tell what is to be done when all takes of a step were given up.
const OwedWords = "record it to its end, as it was set"

// HeardSeconds is from when on a take that has begun counts.
const HeardSeconds = 1.0

// Heard tells that so many seconds of a take have sounded, and are kept. From the first
// on it counts as given up, until Record or Performed has it recorded: neither stopping
// nor leaving nor going on from what Save gave makes it not heard. It reports whether
// that has begun by this call, which is a reason to save.
func (r *Runner) Heard(seconds float64) (counts bool) {
	s := r.step()
	if s == nil || !s.IsTake() || seconds < HeardSeconds {
		return false
	}
	sp := r.here()
	if !r.rolling {
		if r.spent(s) { // one that counts already
			return false
		}
		sp.Dropped, r.rolling, counts = append(slices.Clone(sp.Dropped), 0), true, true
	}
	sp.Dropped[len(sp.Dropped)-1] = names.Round(seconds, 1)
	return counts
}

// Drop gives up the take that is under way, and reports whether it counts.
func (r *Runner) Drop() (counts bool) {
	counts, r.rolling = r.rolling || r.step() != nil && r.owed(r.step()), false
	return counts
}

// valueOf reads a setting of the bench by its control key.
func (r *Runner) valueOf(key string) any {
	strip, rest, ok := strings.Cut(key, ".")
	if ok {
		if st := r.s.Strip(strip); st != nil {
			return finite(names.Get(&st.Chain, rest))
		}
	}
	return finite(names.Get(&r.s.Strips[0].Chain, key))
}

// finite writes infinity as the text that scenarios have for it: JSON has no
// number for it.
func finite(v any) any {
	if x, ok := v.(float64); ok && math.IsInf(x, 1) {
		return "inf"
	}
	return v
}

// Setting tells how a setting stands, with its unit: "34.0 dB", "before".
func (r *Runner) Setting(key string) string {
	if _, known := names.Setting(names.Stripless(key, r.s)); !known {
		return ""
	}
	return names.Show(names.Stripless(key, r.s), r.valueOf(key))
}

// judge holds the last take against the rule, and lists which hints that gives.
func (r *Runner) judge(s *model.Step) (hints []int) {
	sp := r.here()
	r.said = nil
	if s.Kind != model.Do {
		sp.Verdict = Done
		return nil
	}
	v := r.values(r.p.At)
	var met bool
	met, r.checks = s.Rule.Holds(v)
	sp.Points = 0
	if met {
		sp.Verdict, sp.Points = Right, s.Points
		return nil
	}
	sp.Verdict = Wrong
	for i, h := range s.Hints {
		if sp.Takes < h.After {
			continue
		}
		if h.When != nil {
			if ok, _ := h.When.Holds(v); !ok {
				continue
			}
		}
		r.said = append(r.said, h.Text.Fill(v))
		hints = append(hints, i)
	}
	return hints
}

// GiveUp goes on from a task that is not met; it counts as missed.
func (r *Runner) GiveUp() error {
	s := r.step()
	if s == nil || s.Kind != model.Do {
		return errors.New("there is no task to give up here")
	}
	if r.here().Verdict == Right {
		return r.Next()
	}
	if r.here().Verdict == Open {
		r.here().Verdict = Skipped
	}
	return r.forward()
}
