package plan

import (
	"context"
	"encoding/json"
	"errors"
	"math"

	"gainwright/sim"
)

// speechKOffset is what the loudness of speech-shaped sound reads above its rms
// in dB re full scale (rms of 1 = 0 dB), from the K filter of ITU-R BS.1770 and the
// ANSI S3.5-1997 spectrum of normal effort: −0.36 LU.
const speechKOffset = -0.36

// MuchDB is how far over an over is heard, and mending leaves something of it.
const MuchDB = 3

// A Point is one gain.
type Point struct {
	GainDB   float64 `json:"gain_db"`
	Risk     float64 `json:"risk"`     // that anything goes over
	RiskLow  float64 `json:"risk_low"` // 95 % interval for the number of sessions
	RiskHigh float64 `json:"risk_high"`
	// RiskMuch is the chance of an over by more than MuchDB.
	RiskMuch float64 `json:"risk_over_3db"`
	// KnockRisk is the chance that a knock, pop or click goes over; it has no part in
	// Risk. Beyond KnockDistanceM nothing is known of it: 0.
	KnockRisk      float64 `json:"knock_risk"`
	NoiseFloorDBFS float64 `json:"noise_floor_dbfs"`     // AES17 rms, 20 Hz to 20 kHz
	NoiseLUFS      float64 `json:"delivered_noise_lufs"` // after delivery
	// HeldPeakDBFS is the highest peak that a meter holds in a minute of the guest's
	// talk in the sound check.
	HeldPeakDBFS float64 `json:"held_peak_dbfs"`
	// TalkPeakDBFS is where ordinary moments hover: the peak of a typical second of
	// talk, as sim.Readings have it.
	TalkPeakDBFS float64 `json:"talk_peak_dbfs"`
}

// KnockDistanceM is how far from the mouth knocks and pops are known of.
const KnockDistanceM = 0.1

// A Setup is a chain, the conversation before it, and what was heard of the guest. The
// bass rise of a close microphone, the breath of plosives and a limiter after the
// converter play no part: the first two are a matter of windscreens and of speaking
// past the microphone, the last cannot bring back what the converter lost.
type Setup struct {
	Chain  sim.Chain
	Model  Model
	Limits Limits
	// Check is what was heard of the guest before the session, Takes what in it. ByKnob
	// says that the knob is set without listening, which counts only if Check is nothing.
	Check  Heard
	Takes  Heard
	ByKnob bool
	// Knob is what the recorder's own knob offers, in gain of the chain; the zero value
	// stands for one from KnobLowDB to KnobHighDB.
	Knob Knob

	relief reliefs
	conv   Conversation
	held   held
}

// Prepare validates the set-up, works out what the meter holds of talk, and, if a
// limiter sits before the converter, measures through the engine how much louder each
// kind of event may get before it goes over. It must be called before anything else,
// and again when anything but the gain and the limits has changed. It is cheap but for
// the first time of a limiter.
func (s *Setup) Prepare(ctx context.Context) error {
	if err := errors.Join(s.Chain.Validate(), s.Model.Validate(), s.Limits.Validate()); err != nil {
		return err
	}
	if c := s.Conversation(); c != s.conv {
		s.conv, s.held = c, c.heldOver()
	}
	if !s.Chain.InputLimiter.On {
		s.relief = reliefs{}
		return nil
	}
	r, err := limiterReliefs(ctx, s.Chain.InputLimiter, s.Chain.Converter.DualRangeDB)
	if err != nil {
		return err
	}
	s.relief = r
	return nil
}

// Conversation is what Simulate needs of the set-up.
func (s *Setup) Conversation() Conversation {
	c := Conversation{Model: s.Model, DistanceM: s.Chain.DistanceM}
	c.Guest = s.Model.Prior()
	if s.ByKnob {
		c.Guest.How = ByKnob
	}
	c.Guest = c.Learn(s.Check)
	c.Guest = c.LearnInTake(s.Takes)
	return c
}

// Guest is what is known of the guest.
func (s *Setup) Guest() Guest { return s.conv.Guest }

// Relief is by how many dB an event of a kind may be louder before it goes over, as
// Prepare measured it: 0 without a limiter before the converter.
func (s *Setup) Relief(k Kind) float64 {
	if k >= numVoiced {
		return 0
	}
	return s.relief[k]
}

// ReliefDB weighs Relief by how often each kind made the loudest moment of a session.
func (s *Setup) ReliefDB(r *Result) float64 {
	sum, n := 0.0, 0
	for k, c := range r.By {
		sum += float64(c) * s.relief[k]
		n += c
	}
	return sum / float64(max(n, 1))
}

// ForMinutes returns the set-up for a session, or one take, of another length in which
// the same is going on. It has to be prepared.
func (s Setup) ForMinutes(minutes float64) Setup {
	if s.Model.Minutes > 0 {
		s.Model.RiseDB *= min(1, minutes/s.Model.Minutes)
	}
	s.Model.Minutes = minutes
	return s
}

// ceilings are the peak levels, dB SPL at 1 m, beyond which something gives way.
type ceilings struct {
	microphone, preamp, converter float64 // the last with the file behind it
	file                          bool    // the file gives way before the converter
}

func (s *Setup) ceilings(gainDB float64) ceilings {
	c := s.Chain
	ceil := sim.Ceilings(c)
	c.Preamp.GainDB = gainDB
	to := sim.ToFullScale(c)
	db := func(at sim.Station) float64 {
		return 20 * math.Log10(ceil[at]*to[at]/to[sim.AtTalker]/sim.PressureRef)
	}
	out := ceilings{microphone: db(sim.AtMicrophone), preamp: db(sim.AtPreamp), converter: db(sim.AtConverter)}
	if f := db(sim.AtFile); f < out.converter {
		out.converter, out.file = f, true
	}
	return out
}

// Ceiling returns the peak level at 1 m, 20·log10(peak/20 µPa), beyond which
// something goes over at gainDB, and the station that gives way first: the
// microphone (at the peak of a sine of its maximum SPL), the preamp's rail, the
// converter, or an integer file behind a converter with two ranges. A limiter before
// the converter is counted for an open laugh.
func (s *Setup) Ceiling(gainDB float64) (db float64, first sim.Station) {
	c := s.ceilings(gainDB)
	db, first = c.microphone, sim.AtMicrophone
	if c.preamp < db {
		db, first = c.preamp, sim.AtPreamp
	}
	if v := c.converter + s.relief[OpenLaugh]; v < db {
		db, first = v, sim.AtConverter
		if c.file {
			first = sim.AtFile
		}
	}
	return db, first
}

// CeilingDB is the level that Ceiling returns.
func (s *Setup) CeilingDB(gainDB float64) float64 {
	db, _ := s.Ceiling(gainDB)
	return db
}

// over returns the share of sessions with anything moreDB or further beyond a ceiling.
func (s *Setup) over(r *Result, c ceilings, moreDB float64) (p, lo, hi float64) {
	// What the rail does not let through, no limiter behind it gives back.
	relief := s.relief
	room := c.preamp - c.converter
	for k := range relief {
		relief[k] = min(relief[k], room)
	}
	ceiling := c.converter + moreDB
	if room < 0 {
		relief, ceiling = reliefs{}, c.preamp+moreDB
	}
	top := r.with(relief)
	n := above(top, ceiling)
	if c.microphone+moreDB < ceiling {
		if relief == (reliefs{}) {
			n = above(r.PeakDB, c.microphone+moreDB)
		} else {
			n = r.either(relief, ceiling, c.microphone+moreDB)
		}
	} else if relief != (reliefs{}) && len(r.PeakDB) > 0 && r.PeakDB[len(r.PeakDB)-1] > c.microphone+moreDB {
		n = r.either(relief, ceiling, c.microphone+moreDB)
	}
	return wilson(n, len(r.PeakDB))
}

// either counts the sessions that pass a ceiling with relief, or another without.
func (r *Result) either(relief reliefs, with, without float64) int {
	n := 0
	for i := range r.kinds {
		for k, v := range r.kinds[i] {
			if p := float64(v); p-relief[k] > with || p > without {
				n++
				break
			}
		}
	}
	return n
}

// dbfs is the level re full scale, peak of a sine = 0, that a peak or rms level at 1 m
// has at a gain.
func (s *Setup) dbfs(gainDB, level float64) float64 {
	c := s.Chain
	c.Preamp.GainDB = gainDB
	return 20 * math.Log10(float64(sim.DBSPL(level).Pascal())*sim.ToFullScale(c)[sim.AtTalker])
}

// AtMouth returns the peak level at 1 m, dB SPL, that reads dbfs on a meter at a gain:
// what Heard is told in.
func (s *Setup) AtMouth(gainDB, dbfs float64) float64 { return dbfs - s.dbfs(gainDB, 0) }

// HeldDBFS returns the highest peak that a meter holds in a minute of talk at a gain:
// of the guest that was heard, else of an ordinary one.
func (s *Setup) HeldDBFS(gainDB float64) float64 {
	if s.Check.HeldDB != 0 && s.Check.Utterances == 0 {
		return s.dbfs(gainDB, s.Check.HeldDB) // what was read at one gain reads as much more at another
	}
	return s.dbfs(gainDB, s.conv.Guest.TalkDB+s.held.mean)
}

// HeldGain returns the gain at which the meter holds dbfs.
func (s *Setup) HeldGain(dbfs float64) float64 { return dbfs - s.HeldDBFS(0) }

// At returns what is known of one gain.
func (s *Setup) At(gainDB float64, r *Result) Point {
	c := s.Chain
	c.Preamp.GainDB = gainDB
	p := Point{GainDB: gainDB}
	ceil := s.ceilings(gainDB)
	p.Risk, p.RiskLow, p.RiskHigh = s.over(r, ceil, 0)
	p.RiskMuch, _, _ = s.over(r, ceil, MuchDB)
	if s.Chain.DistanceM <= KnockDistanceM {
		p.KnockRisk = r.KnockOver(min(ceil.microphone, ceil.preamp, ceil.converter))
	}
	u := 0.0
	for _, n := range sim.NoiseParts(c) {
		u += n.RMS * n.RMS
	}
	p.NoiseFloorDBFS = float64(sim.RMSToDBFS(math.Sqrt(u)))
	p.NoiseLUFS = s.noise(gainDB)
	p.HeldPeakDBFS = s.HeldDBFS(gainDB)
	p.TalkPeakDBFS = p.HeldPeakDBFS - s.held.mean + s.Model.TalkMeterDB
	return p
}

// noise is the K-weighted noise after delivery at a gain, LUFS.
func (s *Setup) noise(gainDB float64) float64 {
	c := s.Chain
	c.Preamp.GainDB = gainDB
	k := 0.0
	for _, n := range sim.NoiseParts(c) {
		k += n.KRMS * n.KRMS
	}
	// What is delivered is the whole session: talk half way through its rise.
	speech := s.dbfs(gainDB, s.conv.Guest.TalkDB+s.Model.RiseDB/2) + speechKOffset
	return -0.691 + 10*math.Log10(k) + s.Limits.DeliveryLUFS - speech
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
	// What the meter holds in a minute of talk at both ends.
	LowHeldDBFS, HighHeldDBFS float64
}

// MarshalJSON writes null for what is not finite.
func (w Window) MarshalJSON() ([]byte, error) {
	return json.Marshal(struct {
		Low      sim.Level `json:"low_db"`
		High     sim.Level `json:"high_db"`
		From     sim.Level `json:"high_from_db"`
		To       sim.Level `json:"high_to_db"`
		Mid      sim.Level `json:"middle_db"`
		Width    sim.Level `json:"width_db"`
		LowHeld  sim.Level `json:"held_peak_dbfs_at_low"`
		HighHeld sim.Level `json:"held_peak_dbfs_at_high"`
		Empty    bool      `json:"empty"`
	}{sim.Level(w.LowDB), sim.Level(w.HighDB), sim.Level(w.HighFromDB), sim.Level(w.HighToDB), sim.Level(w.MiddleDB()), sim.Level(w.WidthDB()),
		sim.Level(w.LowHeldDBFS), sim.Level(w.HighHeldDBFS), w.Empty()})
}

// WidthDB is the room between the two; negative if there is none.
func (w Window) WidthDB() float64 { return w.HighDB - w.LowDB }

// Empty tells that no gain keeps both limits.
func (w Window) Empty() bool { return !(w.WidthDB() >= 0) }

// MiddleDB is the gain half way between.
func (w Window) MiddleDB() float64 { return (w.LowDB + w.HighDB) / 2 }

// Gains between which a window is looked for: far beyond any preamp.
const lowestDB, highestDB = -80.0, 140.0

// Window finds the gain window to 0.01 dB. Both ends may lie beyond what a preamp
// offers.
func (s *Setup) Window(r *Result) Window {
	w := Window{LowDB: math.Inf(1)}
	quiet := func(g float64) bool { return s.noise(g) <= s.Limits.NoiseLUFS }
	if quiet(highestDB) {
		w.LowDB = bisect(lowestDB, highestDB, quiet)
	}
	w.HighDB, w.HighFromDB, w.HighToDB = s.highest(r, 0)
	w.LowHeldDBFS, w.HighHeldDBFS = w.LowDB+s.HeldDBFS(0), w.HighDB+s.HeldDBFS(0)
	return w
}

// highest is the highest gain whose risk is small enough, with its interval, for a
// recorder whose ceiling is that of a gain lower by lessDB.
func (s *Setup) highest(r *Result, lessDB float64) (high, from, to float64) {
	at := func(pick func(p, lo, hi float64) float64) float64 {
		risky := func(g float64) bool { return pick(s.over(r, s.ceilings(g-lessDB), 0)) > s.Limits.Risk }
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
