package sim_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"gainwright/sim"
	"gainwright/sim/simtest"
)

// TestStationsAreWhole: every station has a name of its own, heads for its column,
// a ceiling above 0 and a floor, whatever the settings.
func TestStationsAreWhole(t *testing.T) {
	names := map[string]bool{}
	for s := range sim.NumStations {
		if names[s.String()] || s.String() == "" || len(s.Columns()) == 0 {
			t.Errorf("station %d is called %q, its column %q", s, s, s.Columns())
		}
		names[s.String()] = true
	}
	if names["unknown station"] || sim.NumStations.String() != "unknown station" {
		t.Error("a name beyond the last station")
	}
	r := rand.New(rand.NewPCG(9, 10))
	for range 300 {
		c, err := simtest.Random(r)
		if err != nil {
			t.Fatal(err)
		}
		to, ceil, noise := sim.ToFullScale(c), sim.Ceilings(c), sim.NoiseLevels(c)
		for s := range sim.NumStations {
			if !(ceil[s] > 0) || !(to[s] > 0) || math.IsInf(to[s], 1) || !(noise[s] > 0) && s != sim.AtTalker {
				t.Fatalf("%v of %+v: ceiling %v, floor %v, %v to full scale", s, c, ceil[s], noise[s], to[s])
			}
		}
		if to[sim.AtFile] != 1 || noise[sim.AtTalker] != 0 || !math.IsInf(ceil[sim.AtTalker], 1) {
			t.Fatalf("file %v to full scale, a talker of %v and %v", to[sim.AtFile], noise[sim.AtTalker], ceil[sim.AtTalker])
		}
	}
	for s, v := range sim.Ceilings(sim.Chain{}) {
		if !math.IsInf(v, 1) {
			t.Errorf("no chain at all has a ceiling of %v at %v", v, sim.Station(s))
		}
	}
}

// TestQuantities: units of waves and levels, against their definitions.
func TestQuantities(t *testing.T) {
	for s, want := range map[sim.Station]struct {
		unit, level string
		rms, db     float64
	}{
		sim.AtTalker:     {"Pa", "dB SPL", 1, 93.9794},   // 20·log10(1 Pa/20 µPa)
		sim.AtMicrophone: {"Pa", "dB SPL", 20e-6, 0},     // the reference itself
		sim.AtMicOut:     {"V", "dBu", 1, 2.2185},        // 20·log10(1 V/0.7746 V)
		sim.AtPreamp:     {"V", "dBu", 0.774597, 0},      // √0.6 V
		sim.AtConverter:  {"FS", "dBFS", 0.70710678, 0},  // AES17: a full-scale sine
		sim.AtFile:       {"FS", "dBFS", 0.5, -3.010300}, // a sine of peak 0.7071
	} {
		q := s.Quantity()
		if q.Unit() != want.unit || q.LevelUnit() != want.level || math.Abs(q.Level(want.rms)-want.db) > 1e-4 {
			t.Errorf("%v: %v %s are %v %s, not %v %s", s, want.rms, q.Unit(), q.Level(want.rms), q.LevelUnit(), want.db, want.level)
		}
	}
}

// TestStationsAgainstTheStrip: what the table says of gains and ceilings is what
// the strip does: without noise, a wave that meets nothing has one level at all
// stations, counted by the table's gains; a wave far too loud leaves each station
// with a hard ceiling exactly there, and no station above its own.
func TestStationsAgainstTheStrip(t *testing.T) {
	c := quiet()
	c.DistanceM = 0.25
	c.Microphone.SensitivityMVPerPa = 4
	c.Preamp.GainDB, c.Preamp.PadDB, c.Converter.FullScaleDBu = 33, 10, 6
	to := sim.ToFullScale(c)
	// −23 dBFS, rms: nothing is near a ceiling.
	want := 0.05
	taps, _ := collect(t, rate, c, 1, sine(1000, want/to[sim.AtTalker], 0.5, rate))
	for s := range sim.NumStations {
		if got := rms(taps.Wave[s][rate/4:]) * to[s]; math.Abs(20*math.Log10(got/want)) > 0.02 {
			t.Errorf("%v: %.3f dB off by the table's gains", s, 20*math.Log10(got/want))
		}
	}
	c.Preamp.RailDBu = 12
	c.Converter.DualRangeDB = 3
	c.File.Format = sim.PCM24
	for name, l := range map[string]sim.Limiter{
		"off":           {LookAheadMS: 2},
		"look-ahead":    {On: true, LookAheadMS: 2},
		"feed-forward":  {On: true}, // its attack lets a fast peak through
		"of ratio 4 :1": {On: true, LookAheadMS: 2, Ratio: 4},
	} {
		c.Limiter = l
		c.Limiter.ThresholdDBFS, c.Limiter.AttackMS, c.Limiter.ReleaseMS = -8, 20, 150
		if l.Ratio == 0 {
			c.Limiter.Ratio = sim.Ratio(math.Inf(1))
		}
		ceil := sim.Ceilings(c)
		taps, _ = collect(t, rate, c, 1, sine(1000, 40/sim.ToFullScale(c)[sim.AtTalker], 0.3, rate))
		for s := sim.AtPreamp; s < sim.NumStations; s++ {
			top := peak(taps.Wave[s])
			if top > ceil[s]*1.0001 {
				t.Errorf("limiter %s: %v passes %v, its ceiling is %v", name, s, top, ceil[s])
			}
			// Nothing but a limiter keeps the wave below the ceiling.
			free := s >= sim.AtLimiter && l.On && (l.LookAheadMS == 0 || l.Ratio > 0) || s == sim.AtFile && l.On
			if !free && top < ceil[s]*0.999 {
				t.Errorf("limiter %s: %v stops at %v below its ceiling of %v", name, s, top, ceil[s])
			}
		}
	}
}

// TestFloorsAgainstTheStrip: while nobody speaks, every station of the strip has
// the noise that the table says. Room noise is made to dominate at the microphone,
// the converter's and the words' further on.
func TestFloorsAgainstTheStrip(t *testing.T) {
	loudRoom := quiet()
	loudRoom.Room.NoiseDBA = 40
	amp := quiet()
	amp.Preamp.EINDBu, amp.Preamp.OutputNoiseDBu, amp.Preamp.PadDB = -110, -70, 10
	amp.Microphone.SelfNoiseDBA = 30
	codes := quiet()
	codes.Converter.DynamicRangeDBA, codes.Converter.Bits, codes.Converter.Dither = 90, 12, sim.TPDF
	words := quiet()
	words.File = sim.File{Format: sim.PCM16, Dither: sim.TPDF}
	// As many bits as the converter's: at rest a limiter changes none of them. Two
	// ranges are put together in finer steps, and dithered again.
	again := words
	again.Converter.Bits, again.Converter.Dither, again.Limiter.On, again.Limiter.ThresholdDBFS = 16, sim.TPDF, true, 0
	two := again
	two.Limiter.On, two.Converter.DualRangeDB = false, 12
	for name, c := range map[string]sim.Chain{"again": again, "two ranges": two, "room": loudRoom, "preamp": amp, "converter": codes, "file": words} {
		taps, _ := collect(t, rate, c, 1, make([]float64, 4*rate))
		for s, want := range sim.NoiseLevels(c) {
			got := bandRMS(taps.Wave[s][rate:], rate, 20, sim.NoiseBandHz)
			if want < 1e-9 { // rms, unit of the station
				continue // below all that is looked at here
			}
			least := -0.2
			if sim.Station(s).Quantity() == sim.Codes {
				least = -0.99 // rounding is counted whole, up to half the rate: 0.79 dB more
			}
			if off := 20 * math.Log10(got/want); off < least || off > 0.2 {
				t.Errorf("%s, at %v: %.2f dB off the table's floor of %g", name, sim.Station(s), off, want)
			}
		}
	}
}
