package plan

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"sort"

	"gainwright/sim"
)

// A Remedy is a change of the set-up and what it does to the window.
type Remedy struct {
	Name   string
	Window Window
	GainDB float64 // how much wider the window gets, dB; ±Inf where it had or gets no finite width
	// NoiseLUFS is the noise after delivery at the window's upper end, the quietest
	// that is safe enough: what a change is worth where no gain is quiet. NaN if no
	// gain is safe.
	NoiseLUFS float64
}

// MarshalJSON writes null for a gain that is not finite.
func (r Remedy) MarshalJSON() ([]byte, error) {
	return json.Marshal(struct {
		Name   string    `json:"name"`
		Window Window    `json:"window"`
		Gain   sim.Level `json:"wider_by_db"`
		Noise  sim.Level `json:"quietest_safe_lufs"`
	}{r.Name, r.Window, sim.Level(r.GainDB), sim.Level(r.NoiseLUFS)})
}

// closest is the shortest distance a remedy proposes: nearer, breath and bass grow
// faster than the voice.
const closest = 0.03

// SafetyDB is how much lower a safety track is usually set (common practice, no
// source).
const SafetyDB = 12

// QuietestLUFS is the noise after delivery at the window's upper end, the quietest
// that is safe enough; NaN if no gain is safe.
func (s *Setup) QuietestLUFS(w Window, r *Result) float64 {
	if math.IsInf(w.HighDB, -1) {
		return math.NaN()
	}
	return s.At(min(w.HighDB, highestDB), r).NoiseLUFS
}

// Rerun simulates another conversation.
type Rerun func(Conversation) (*Result, error)

// of returns the Result of t, which is prepared: r, that of s, if it is the same
// conversation.
func (s *Setup) of(t *Setup, r *Result, rerun Rerun) (*Result, error) {
	if t.conv == s.conv {
		return r, nil
	}
	return rerun(t.conv)
}

// Remedies tries the usual changes one at a time and returns them with the most
// helpful first: by how much wider the window gets, then by how quiet it gets. A change
// that the set-up already has, or that no chain can have, is left out. rerun may be
// called several times.
func (s *Setup) Remedies(ctx context.Context, r *Result, rerun Rerun) ([]Remedy, error) {
	base := s.Window(r).WidthDB()
	var out []Remedy
	add := func(t *Setup, res *Result, name string, w Window) {
		d := w.WidthDB() - base
		if math.IsNaN(d) { // both infinite alike
			d = 0
		}
		out = append(out, Remedy{name, w, d, t.QuietestLUFS(w, res)})
	}
	try := func(name string, change func(*Setup)) error {
		t := *s
		change(&t)
		if t.same(s) || t.Chain.Validate() != nil || t.Model.Validate() != nil {
			return nil
		}
		if err := t.Prepare(ctx); err != nil {
			return err
		}
		res, err := s.of(&t, r, rerun)
		if err != nil {
			return err
		}
		add(&t, res, name, t.Window(res))
		return nil
	}
	for _, c := range s.changes() {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		if err := try(c.name, c.do); err != nil {
			return nil, err
		}
	}
	if !s.Chain.InputLimiter.On {
		if db, err := s.bestThreshold(ctx, r); err != nil {
			return nil, err
		} else if err := try(fmt.Sprintf("an analogue limiter before the converter (−%g dBFS, attack %g ms)", -db, s.Chain.InputLimiter.AttackMS), func(t *Setup) {
			t.Chain.InputLimiter.On, t.Chain.InputLimiter.ThresholdDBFS = true, db
		}); err != nil {
			return nil, err
		}
	}
	// A second track from a preamp of its own loses something only where the lower
	// one does, while everywhere else the noise is that of the higher one.
	w := s.Window(r)
	w.HighDB, w.HighFromDB, w.HighToDB = s.highest(r, SafetyDB)
	w.HighHeldDBFS = w.HighDB + s.HeldDBFS(0)
	add(s, r, fmt.Sprintf("a safety track %d dB lower", SafetyDB), w)
	slices.SortStableFunc(out, func(a, b Remedy) int {
		// A hundredth of a decibel is how finely a window is known.
		if d := cmp.Compare(math.Round(100*b.GainDB), math.Round(100*a.GainDB)); d != 0 {
			return d
		}
		return cmp.Compare(math.Round(100*a.NoiseLUFS), math.Round(100*b.NoiseLUFS))
	})
	return out, nil
}

// same tells that nothing but what Prepare finds differs.
func (s *Setup) same(t *Setup) bool {
	return s.Chain == t.Chain && s.Model == t.Model && s.Check == t.Check && s.Takes == t.Takes && s.ByKnob == t.ByKnob
}

// bestThreshold returns where an analogue limiter helps most, of where such limiters
// begin: a lower one lets more through, but must still leave ordinary talk alone, the
// held peak of which it must not reach.
func (s *Setup) bestThreshold(ctx context.Context, r *Result) (float64, error) {
	best, most := 0.0, math.Inf(-1)
	for _, db := range []float64{-6, -10, -12, -14, -16} {
		t := *s
		t.Chain.InputLimiter.On, t.Chain.InputLimiter.ThresholdDBFS = true, db
		if err := t.Prepare(ctx); err != nil {
			return 0, err
		}
		high, _, _ := t.highest(r, 0)
		if high = min(high, t.HeldGain(db)); high > most {
			best, most = db, high
		}
	}
	return best, nil
}

// change is one thing that could be done otherwise.
type change struct {
	name string
	do   func(*Setup)
}

// checkLaughs is how many open laughs a sound check would have to hold for what Remedies
// says of it.
const checkLaughs = 3

// changes are those that this set-up leaves open, dearer ones last.
func (s *Setup) changes() []change {
	cm := func(m float64) string { return fmt.Sprintf("%.3g cm", 100*m) }
	near, far := max(s.Chain.DistanceM/2, closest), s.Chain.DistanceM*2
	all := []change{
		{"twice the distance (" + cm(far) + ")", func(t *Setup) { t.Chain.DistanceM = far }},
		{"a room 10 dB quieter", func(t *Setup) { t.Chain.Room.NoiseDBA -= 10 }},
		{"a fast limiter before the converter (attack 0.1 ms)", func(t *Setup) {
			t.Chain.InputLimiter.On = true
			t.Chain.InputLimiter.AttackMS = min(t.Chain.InputLimiter.AttackMS, 0.1)
		}},
		{"a limiter after the converter", func(t *Setup) { t.Chain.Limiter.On = true }},
		{"a float file, the same converter", func(t *Setup) { t.Chain.File.Format = sim.Float32 }},
		{"half the session", func(t *Setup) { *t = t.ForMinutes(t.Model.Minutes / 2) }},
		{"no sound check: the knob set without listening", func(t *Setup) { t.ByKnob = !t.Check.Any() && !t.Takes.Any() }},
	}
	if !s.Check.Any() && !s.ByKnob {
		all = append(all, change{fmt.Sprintf("a sound check in which the guest laughs %d times, as loud as most do", checkLaughs), func(t *Setup) { t.Check = t.expected(checkLaughs) }})
	}
	if near < s.Chain.DistanceM {
		name := "half the distance"
		if near > s.Chain.DistanceM/2 {
			name = "nearer"
		}
		all = append(all, change{name + " (" + cm(near) + ")", func(t *Setup) { t.Chain.DistanceM = near }})
	}
	for _, m := range Microphones() {
		if m.WornM > 0 && m.WornM != s.Chain.DistanceM {
			all = append(all, change{fmt.Sprintf("%s %s from the mouth", m.Title, cm(m.WornM)), func(t *Setup) { t.Chain = m.On(t.Chain); t.Chain.DistanceM = m.WornM }})
			continue
		}
		all = append(all, change{m.Title + " at the same distance", func(t *Setup) { t.Chain = m.On(t.Chain) }})
	}
	for _, rec := range Recorders() {
		if rec.InputLimiter {
			continue // the limiter itself is in the list
		}
		all = append(all, change{rec.Title, func(t *Setup) {
			on := t.Chain.InputLimiter.On
			t.Chain = rec.On(t.Chain)
			t.Chain.InputLimiter.On = on
		}})
	}
	return all
}

// expected is a sound check of the guest that the model expects, with so many laughs.
func (s *Setup) expected(laughs int) Heard {
	m := &s.Model
	talk := m.TalkLevelDB
	return Heard{HeldDB: talk + s.held.mean, Laughs: laughs, LaughPeakDB: talk + m.Open.LevelDB + m.LaughCrest.MeanDB - m.LaughAwayDB}
}

// A Need is one change that alone would just open an empty window.
type Need struct {
	Key  string  `json:"key"` // path of the setting or the assumption
	Name string  `json:"name"`
	From float64 `json:"from"`
	To   float64 `json:"to"`
	Unit string  `json:"unit"`
}

// Needs tells, for an empty window, which single changes would open it and by how
// much: what cannot within reason is left out. For a window that is not empty it
// returns nil.
func (s *Setup) Needs(ctx context.Context, r *Result, rerun Rerun) ([]Need, error) {
	w := s.Window(r)
	if !w.Empty() {
		return nil, nil
	}
	var out []Need
	// The limits first: they cost nothing but a decision.
	if p := s.At(w.HighDB, r); !math.IsInf(w.HighDB, 0) && p.NoiseLUFS <= -20 {
		out = append(out, Need{"plan.noise_lufs", "accept more noise after delivery", s.Limits.NoiseLUFS, math.Ceil(p.NoiseLUFS*10) / 10, "LUFS"})
	}
	if p := s.At(w.LowDB, r); !math.IsInf(w.LowDB, 0) && p.Risk < 0.9 {
		out = append(out, Need{"plan.risk", "accept a higher chance of an over", s.Limits.Risk, math.Ceil(p.Risk*1000) / 1000, ""})
	}
	walk := func(key, name, unit string, from float64, steps int, next func(i int) float64, set func(*Setup, float64)) error {
		var failed error
		open := func(i int) bool {
			t := *s
			set(&t, next(i))
			if failed != nil || t.Chain.Validate() != nil {
				return false
			}
			if failed = t.Prepare(ctx); failed != nil {
				return false
			}
			var res *Result
			if res, failed = s.of(&t, r, rerun); failed != nil {
				return false
			}
			return !t.Window(res).Empty()
		}
		// Each step does more than the one before.
		if i := 1 + sort.Search(steps, func(i int) bool { return open(i + 1) }); failed == nil && i <= steps {
			out = append(out, Need{key, name, from, next(i), unit})
		}
		return failed
	}
	d, n, e := s.Chain.DistanceM, s.Chain.Room.NoiseDBA, s.Chain.Preamp.EINDBu
	steps := int(math.Floor(math.Log(d/closest) / math.Log(1.05)))
	if err := walk("distance_m", "come nearer", "m", d, steps,
		func(i int) float64 { return math.Round(d/math.Pow(1.05, float64(i))*1000) / 1000 },
		func(t *Setup, v float64) { t.Chain.DistanceM = v }); err != nil {
		return nil, err
	}
	if err := walk("room.noise_dba", "find a quieter room", "dBA", n, 40,
		func(i int) float64 { return n - float64(i) },
		func(t *Setup, v float64) { t.Chain.Room.NoiseDBA = v }); err != nil {
		return nil, err
	}
	// Thermal noise of 150 Ω stands at −130.9 dBu: no preamp is quieter.
	if err := walk("preamp.ein_dbu", "use a quieter preamp", "dBu", e, int(max(0, e+130)),
		func(i int) float64 { return e - float64(i) },
		func(t *Setup, v float64) { t.Chain.Preamp.EINDBu = v }); err != nil {
		return nil, err
	}
	return out, nil
}

// A Swing is what becomes of the reading when one assumption goes from its low to its
// high value: of the peak that the meter should hold in a minute of talk. What moves
// the knob alone, such as how loud the guest talks, does not move it.
type Swing struct {
	Param    Param
	LowDBFS  float64 // what the meter should hold with the low value
	HighDBFS float64 // and with the high one
	LowRisk  float64 // the risk of the setting asked about
	HighRisk float64
}

// MarshalJSON writes null for what is not finite.
func (s Swing) MarshalJSON() ([]byte, error) {
	return json.Marshal(struct {
		Key      string    `json:"key"`
		Low      float64   `json:"low"`
		High     float64   `json:"high"`
		LowDBFS  sim.Level `json:"held_peak_dbfs_at_low"`
		HighDBFS sim.Level `json:"held_peak_dbfs_at_high"`
		LowRisk  float64   `json:"risk_at_low"`
		HighRisk float64   `json:"risk_at_high"`
	}{s.Param.Key, s.Param.Low, s.Param.High, sim.Level(s.LowDBFS), sim.Level(s.HighDBFS), s.LowRisk, s.HighRisk})
}

// SpanDB is how much the assumption matters.
func (s Swing) SpanDB() float64 {
	if s.HighDBFS == s.LowDBFS { // also both infinite
		return 0
	}
	return math.Abs(s.HighDBFS - s.LowDBFS)
}

// Sensitivity varies every assumption over its plausible range, the others held,
// and returns the swings, the largest first; what is not an assumption about the
// risk is left out. gainDB is the setting for which the risks are told: the reading
// that it has now. sessions is how many rerun simulates for each.
func (s *Setup) Sensitivity(ctx context.Context, gainDB float64, rerun Rerun, progress func(share float64)) ([]Swing, error) {
	ps := s.Model.Params()
	reading := s.HeldDBFS(gainDB)
	var out []Swing
	for i, p := range ps {
		if p.Low == p.High {
			continue
		}
		sw := Swing{Param: p}
		for k, v := range []float64{p.Low, p.High} {
			t := *s
			if err := t.Model.Set(p.Key, v); err != nil {
				return nil, err
			}
			if err := t.Prepare(ctx); err != nil {
				return nil, err
			}
			r, err := rerun(t.conv)
			if err != nil {
				return nil, err
			}
			risk, _, _ := t.over(r, t.ceilings(t.HeldGain(reading)), 0)
			high, _, _ := t.highest(r, 0)
			if dbfs := high + t.HeldDBFS(0); k == 0 {
				sw.LowDBFS, sw.LowRisk = dbfs, risk
			} else {
				sw.HighDBFS, sw.HighRisk = dbfs, risk
			}
		}
		out = append(out, sw)
		if progress != nil {
			progress(float64(i+1) / float64(len(ps)))
		}
	}
	slices.SortStableFunc(out, func(a, b Swing) int { return cmp.Compare(b.SpanDB(), a.SpanDB()) })
	return out, nil
}
