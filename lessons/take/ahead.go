package take

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"gainwright/lessons/model"
	"gainwright/lessons/names"
	"gainwright/sim/plan"
	"gainwright/sim/plan/ear"
	"gainwright/sim/proof"
	"gainwright/sounds/scenario"
	"gainwright/sounds/voice"
)

// How many hours a plan simulates, and with what chance: as practice does.
const (
	planSessions = 20_000
	planSeed     = 1
)

// Planned works out of a take, as of a sound check, what an hour with its guest asks of a
// strip's gain: the window between too noisy and too risky (low_gain_db, high_gain_db), the
// gain advised in whole dB and the peak that a meter holds in a minute of talk at it, the
// share of hours that go over at it (risk_percent), and at the gain of the take. Where no
// gain keeps both limits, the highest safe one is advised, as practice does: noise can be turned
// down a little, an over not. On a user's own recorder the gains are those of its knob. The result
// is by the strip's name.
func (b *Bench) Planned(ctx context.Context, p *Performed, strip string) (map[string]names.Measured, error) {
	st, err := p.strip(strip)
	if err != nil {
		return nil, err
	}
	knob := plan.Knob{LowDB: plan.KnobLowDB, HighDB: plan.KnobHighDB}
	if p.Knob != nil {
		knob.LowDB, knob.HighDB = p.Knob.Range(st.Chain)
	}
	return b.figured(p, strip, []any{"plan", knob}, func() (names.Measured, error) {
		s, err := b.perform(ctx, p)
		if err != nil {
			return nil, err
		}
		heard := ear.Coarse(ear.Recording(s.x, voice.Rate, nil).Heard(true))
		set := plan.Setup{Chain: st.Chain, Model: plan.Default(), Limits: plan.DefaultLimits(), Knob: knob, Check: heard}
		ctx := yielding{ctx, b.Yield}
		if err := set.Prepare(ctx); err != nil {
			return nil, err
		}
		res, err := plan.InSlices(ctx, set.Conversation(), planSessions, planSeed, nil)
		if err != nil {
			return nil, err
		}
		w := set.Window(res)
		gain := min(max(math.Floor(w.HighDB), knob.LowDB), knob.HighDB)
		held := math.Round(set.HeldDBFS(gain))
		if a, ok := set.Advise(res); ok && a.PadDB == 0 { // a lesson switches no pad in
			gain, held = a.GainDB, a.HeldDBFS
		}
		return names.Measured{
			"low_gain_db": names.Number(w.LowDB), "high_gain_db": names.Number(w.HighDB), "advised_gain_db": names.Number(gain),
			"held_peak_dbfs": names.Number(held), "risk_percent": names.Number(100 * set.At(gain, res).Risk),
			"take_risk_percent": names.Number(100 * set.At(st.Chain.Preamp.GainDB, res).Risk),
		}, nil
	})
}

// Twin looks for a second performance that leaves the same file as the take through a strip
// (package proof), and tells of it by the strip's name: how many samples the converter had
// left free, in how many the two files differ (0), and where the converter had run out the
// level of the second over the first, that of what they differ by over the first, and their
// correlation. The wave is pressure at 1 m, as that of Spoken; nil and free_percent 0 where
// the file leaves no freedom.
func (b *Bench) Twin(ctx context.Context, p *Performed, strip string) (*Wave, map[string]names.Measured, error) {
	at := key(p.who(), p.Script, p.Seed, p.Strips, p.Changes, strip, "second")
	b.mu.Lock()
	kept := b.twin
	b.mu.Unlock()
	if kept != nil && kept.at == at {
		return kept.wave, kept.told, nil
	}
	t := &twin{at: at}
	m, err := b.figured(p, strip, "twin", func() (m names.Measured, err error) {
		t.wave, m, err = b.second(ctx, p, strip)
		return m, err
	})
	if err == nil && t.wave == nil && m[strip]["free_percent"] > 0 { // the figures were known, its sound was not
		t.wave, _, err = b.second(ctx, p, strip)
	}
	if err != nil {
		return nil, nil, err
	}
	t.told = m
	b.mu.Lock()
	b.twin = t
	b.mu.Unlock()
	return t.wave, m, nil
}

// twin is the second performance made last.
type twin struct {
	at   string
	wave *Wave
	told map[string]names.Measured
}

func (b *Bench) second(ctx context.Context, p *Performed, strip string) (*Wave, names.Measured, error) {
	st, err := p.strip(strip)
	if err != nil {
		return nil, nil, err
	}
	if len(own(p.Changes, strip, p.Strips)) > 0 {
		return nil, nil, errors.New("the settings changed while the take rolled: of such a take no twin is made")
	}
	s, err := b.perform(ctx, p)
	if err != nil {
		return nil, nil, err
	}
	pair, err := proof.Construct(yielding{ctx, b.Yield}, voice.Rate, st.Chain, p.Seed, s.x, proof.Options{Moves: s.moves, Progress: func(int, int) {
		if b.Yield != nil {
			b.Yield()
		}
	}})
	none := names.Number(math.NaN())
	switch {
	case errors.Is(err, proof.ErrKept), errors.Is(err, proof.ErrBefore), errors.Is(err, proof.ErrBent):
		return nil, names.Measured{"free_percent": 0, "differing_samples": none, "apart_db": none, "difference_db": none, "correlation": none}, nil
	case err != nil:
		return nil, nil, err
	}
	w := &Wave{Name: model.Other, Rate: voice.Rate, File: make([]float32, len(pair.Second))}
	for i, v := range pair.Second {
		w.File[i] = float32(v)
	}
	return w, names.Measured{
		"free_percent": names.Number(100 * float64(pair.Free) / float64(pair.Total)), "differing_samples": names.Number(pair.Differing),
		"apart_db": names.Number(pair.LevelDB), "difference_db": names.Number(pair.DifferenceDB), "correlation": names.Number(pair.Correlation),
	}, nil
}

func (p *Performed) strip(name string) (*scenario.Strip, error) {
	i := slices.IndexFunc(p.Strips, func(s scenario.Strip) bool { return s.Name == name })
	if i < 0 {
		return nil, fmt.Errorf("there is no strip %s", name)
	}
	return &p.Strips[i], nil
}

// figured keeps what was worked out of a strip of a take: it is worked out once.
func (b *Bench) figured(p *Performed, strip string, what any, work func() (names.Measured, error)) (map[string]names.Measured, error) {
	return b.once(p, strip, what, func() (map[string]names.Measured, error) {
		one, err := work()
		if err != nil {
			return nil, err
		}
		return map[string]names.Measured{strip: one}, nil
	})
}

// once does what is to be done with a strip of a take, what, unless it was done before.
func (b *Bench) once(p *Performed, strip string, what any, work func() (map[string]names.Measured, error)) (map[string]names.Measured, error) {
	at := key(p.who(), p.Script, p.Seed, p.Strips, p.Changes, strip, what)
	b.mu.Lock()
	m := b.mended[at]
	b.mu.Unlock()
	if m != nil {
		return m, nil
	}
	m, err := work()
	if err != nil {
		return nil, err
	}
	b.keep(at, m)
	return m, nil
}

func (b *Bench) keep(at string, m map[string]names.Measured) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.mended == nil || len(b.mended) > 1<<12 {
		b.mended = map[string]map[string]names.Measured{}
	}
	b.mended[at] = m
}
