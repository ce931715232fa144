package plan

import (
	"context"
	"encoding/json"
	"errors"
	"math"

	"gainwright/sim"
)

// Limits say what is acceptable.
type Limits struct {
	// Risk is the largest acceptable chance, 0 to 1, that anything goes over in the
	// session.
	Risk float64 `json:"risk" yaml:"risk"`
	// NoiseLUFS is the largest acceptable K-weighted noise after delivery.
	NoiseLUFS float64 `json:"noise_lufs" yaml:"noise_lufs"`
	// DeliveryLUFS is the loudness that speech is brought to.
	DeliveryLUFS float64 `json:"delivery_lufs" yaml:"delivery_lufs"`
}

// DefaultLimits: one session in twenty may go over; noise 41 LU below speech at
// the loudness of a mono interview (both assumed; yours to set).
func DefaultLimits() Limits {
	return Limits{Risk: 0.05, NoiseLUFS: -60, DeliveryLUFS: sim.DeliveryLUFS}
}

// Params lists the limits like assumptions.
func (l Limits) Params() []Param { return list(limitParams, &l) }

// Set changes one limit by its key; an unknown key or a value out of range is an
// error and changes nothing.
func (l *Limits) Set(key string, v float64) error { return set(limitParams, l, key, v) }

// Validate returns every fault, joined.
func (l Limits) Validate() error {
	var errs []error
	for _, p := range l.Params() {
		errs = append(errs, p.check(p.Value))
	}
	return errors.Join(errs...)
}

// speechKOffset is what the loudness of speech-shaped sound reads above its rms
// in dB re full scale (rms of 1 = 0 dB), from the K filter of ITU-R BS.1770 and the
// ANSI S3.5-1997 spectrum of normal effort: −0.36 LU.
const speechKOffset = -0.36

// A Point is one gain.
type Point struct {
	GainDB         float64 `json:"gain_db"`
	Risk           float64 `json:"risk"`
	RiskLow        float64 `json:"risk_low"` // 95 % interval for the number of sessions
	RiskHigh       float64 `json:"risk_high"`
	NoiseFloorDBFS float64 `json:"noise_floor_dbfs"`     // AES17 rms, 20 Hz to 20 kHz
	NoiseLUFS      float64 `json:"delivered_noise_lufs"` // after delivery
	// TalkPeakDBFS is what a meter shows for ordinary talk in the sound check, before
	// it rises: the peak of a typical second, as sim.Readings have it.
	TalkPeakDBFS float64 `json:"talk_peak_dbfs"`
}

// A Setup is a chain and the conversation before it. The bass rise of a close
// microphone, the breath of plosives and a limiter after the converter play no
// part: the first two are a matter of windscreens and of speaking past the
// microphone, the last cannot bring back what the converter lost.
type Setup struct {
	Chain  sim.Chain
	Model  Model
	Limits Limits

	relief relief
}

// relief is how much louder an event may get with a limiter before the converter.
type relief struct {
	limiter sim.InputLimiter
	rangeDB float64
	db      float64
}

// Prepare validates the set-up and, if a limiter sits before the converter,
// measures through the engine how much louder an event may get before it goes
// over. It must be called before anything else, and again when the limiter or the
// second range has changed.
func (s *Setup) Prepare(ctx context.Context) error {
	if err := errors.Join(s.Chain.Validate(), s.Model.Validate(), s.Limits.Validate()); err != nil {
		return err
	}
	if !s.Chain.InputLimiter.On {
		s.relief = relief{}
		return nil
	}
	key := relief{limiter: s.Chain.InputLimiter, rangeDB: s.Chain.Converter.DualRangeDB}
	if key.limiter == s.relief.limiter && key.rangeDB == s.relief.rangeDB {
		return nil
	}
	db, err := limiterRelief(ctx, key.limiter, key.rangeDB)
	if err != nil {
		return err
	}
	key.db = db
	s.relief = key
	return nil
}

// ReliefDB is what Prepare measured: 0 without a limiter before the converter.
func (s *Setup) ReliefDB() float64 { return s.relief.db }

// Ceiling returns the peak level at 1 m, 20·log10(peak/20 µPa), beyond which
// something goes over at gainDB, and the station that gives way first: the
// microphone (at the peak of a sine of its maximum SPL), the preamp's rail, the
// converter, or an integer file behind a converter with two ranges.
func (s *Setup) Ceiling(gainDB float64) (db float64, first sim.Station) {
	c := s.Chain
	ceil := sim.Ceilings(c)
	c.Preamp.GainDB = gainDB
	to := sim.ToFullScale(c)
	pa := func(at sim.Station) float64 { return ceil[at] * to[at] / to[sim.AtTalker] }
	relief := sim.DB(s.relief.db).Lin()
	least := math.Inf(1)
	for _, l := range []struct {
		at sim.Station
		pa float64
	}{
		{sim.AtMicrophone, pa(sim.AtMicrophone)},
		{sim.AtPreamp, pa(sim.AtPreamp)},
		{sim.AtConverter, pa(sim.AtConverter) * relief},
		{sim.AtFile, pa(sim.AtFile) * relief},
	} {
		if l.pa < least {
			least, first = l.pa, l.at
		}
	}
	return 20 * math.Log10(least/sim.PressureRef), first
}

// CeilingDB is the level that Ceiling returns.
func (s *Setup) CeilingDB(gainDB float64) float64 {
	db, _ := s.Ceiling(gainDB)
	return db
}

// talkRMS is the rms of talk of a level at 1 m, full scale = 1.
func (s *Setup) talkRMS(gainDB, level float64) float64 {
	c := s.Chain
	c.Preamp.GainDB = gainDB
	return float64(sim.DBSPL(level).Pascal()) * sim.ToFullScale(c)[sim.AtTalker]
}

// At returns the two curves' values at one gain.
func (s *Setup) At(gainDB float64, r *Result) Point {
	c := s.Chain
	c.Preamp.GainDB = gainDB
	p := Point{GainDB: gainDB}
	p.Risk, p.RiskLow, p.RiskHigh = r.Over(s.CeilingDB(gainDB))
	var u, k float64
	for _, n := range sim.NoiseParts(c) {
		u += n.RMS * n.RMS
		k += n.KRMS * n.KRMS
	}
	p.NoiseFloorDBFS = float64(sim.RMSToDBFS(math.Sqrt(u)))
	m := &s.Model
	// What is delivered is the whole session: talk half way through its rise.
	speech := 20*math.Log10(s.talkRMS(gainDB, m.TalkLevelDB+m.DriftDB/2)) + speechKOffset
	p.NoiseLUFS = -0.691 + 10*math.Log10(k) + s.Limits.DeliveryLUFS - speech
	p.TalkPeakDBFS = 20*math.Log10(s.talkRMS(gainDB, m.TalkLevelDB)) + m.TalkMeterDB
	return p
}

// Curve returns At for gains from lo to hi in steps.
func (s *Setup) Curve(r *Result, lo, hi, step float64) []Point {
	var ps []Point
	for i := 0; ; i++ {
		g := lo + float64(i)*step
		if g > hi+1e-9 {
			return ps
		}
		ps = append(ps, s.At(g, r))
	}
}

// A Window is the range of gains that keep both limits. LowDB above HighDB means
// that there is none, by so many dB. LowDB is +Inf if no gain is quiet enough,
// HighDB −Inf if no gain is safe enough (the microphone itself gives way), +Inf if
// nothing can go over.
type Window struct {
	LowDB  float64 // below, the noise is too high
	HighDB float64 // above, the risk is too high
	// The 95 % interval of HighDB for the number of sessions simulated.
	HighFromDB, HighToDB float64
}

// MarshalJSON writes null for what is not finite.
func (w Window) MarshalJSON() ([]byte, error) {
	return json.Marshal(struct {
		Low   sim.Level `json:"low_db"`
		High  sim.Level `json:"high_db"`
		From  sim.Level `json:"high_from_db"`
		To    sim.Level `json:"high_to_db"`
		Mid   sim.Level `json:"middle_db"`
		Width sim.Level `json:"width_db"`
		Empty bool      `json:"empty"`
	}{sim.Level(w.LowDB), sim.Level(w.HighDB), sim.Level(w.HighFromDB), sim.Level(w.HighToDB), sim.Level(w.MiddleDB()), sim.Level(w.WidthDB()), w.Empty()})
}

// WidthDB is the room between the two; negative if there is none.
func (w Window) WidthDB() float64 { return w.HighDB - w.LowDB }

// Empty tells that no gain keeps both limits.
func (w Window) Empty() bool { return !(w.WidthDB() >= 0) }

// MiddleDB is the gain half way between.
func (w Window) MiddleDB() float64 { return (w.LowDB + w.HighDB) / 2 }

// SuggestDB is a gain to begin with: 3 dB below the upper end, because what decides
// that end is mostly assumed, but not below the middle, for the sake of the noise.
func (w Window) SuggestDB() float64 { return max(w.HighDB-3, w.MiddleDB()) }

// Gains between which a window is looked for: far beyond any preamp.
const lowestDB, highestDB = -80.0, 140.0

// Window finds the gain window to 0.01 dB. Both ends may lie beyond what a preamp
// offers.
func (s *Setup) Window(r *Result) Window {
	w := Window{LowDB: math.Inf(1)}
	quiet := func(g float64) bool { return s.At(g, r).NoiseLUFS <= s.Limits.NoiseLUFS }
	if quiet(highestDB) {
		w.LowDB = bisect(lowestDB, highestDB, quiet)
	}
	w.HighDB, w.HighFromDB, w.HighToDB = s.highest(r, 0)
	return w
}

// highest is the highest gain whose risk is small enough, with its interval, for a
// recorder whose ceiling is that of a gain lower by lessDB.
func (s *Setup) highest(r *Result, lessDB float64) (high, from, to float64) {
	at := func(pick func(p, lo, hi float64) float64) float64 {
		risky := func(g float64) bool { return pick(r.Over(s.CeilingDB(g-lessDB))) > s.Limits.Risk }
		switch {
		case risky(lowestDB):
			return math.Inf(-1)
		case !risky(highestDB):
			return math.Inf(1)
		}
		// One step before the first that is too risky.
		return bisect(lowestDB, highestDB, risky) - 0.01
	}
	return at(func(p, _, _ float64) float64 { return p }),
		at(func(_, _, hi float64) float64 { return hi }),
		at(func(_, lo, _ float64) float64 { return lo })
}

// bisect returns the lowest x to 0.01 at which ok, which is monotonic, holds.
func bisect(lo, hi float64, ok func(float64) bool) float64 {
	for hi-lo > 0.005 {
		mid := (lo + hi) / 2
		if ok(mid) {
			hi = mid
		} else {
			lo = mid
		}
	}
	return hi
}
