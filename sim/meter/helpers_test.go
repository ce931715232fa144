package meter

import (
	"math"
	"math/rand/v2"
	"testing"

	"gainwright/tests/trust"
)

const rate48 = 48000

// segment is a stretch of a test signal: a sine at a peak level in dBFS, or
// silence at −Inf.
type segment struct{ db, seconds float64 }

var silent = math.Inf(-1)

// tones joins segments of a sine of one frequency and phase.
func tones(rate int, hz float64, segs ...segment) []float64 {
	var x []float64
	for _, s := range segs {
		a := FromDB(s.db)
		for range int(math.Round(s.seconds * float64(rate))) {
			x = append(x, a*math.Sin(2*math.Pi*hz*float64(len(x))/float64(rate)))
		}
	}
	return x
}

// sine returns n samples of a·sin(2πft + phase).
func sine(rate int, hz, a, phase float64, n int) []float64 {
	x := make([]float64, n)
	for i := range x {
		x[i] = a * math.Sin(2*math.Pi*hz*float64(i)/float64(rate)+phase)
	}
	return x
}

// noise returns Gaussian white noise of a given rms.
func noise(seed uint64, rms float64, n int) []float64 {
	r := rand.New(rand.NewPCG(seed, 77))
	x := make([]float64, n)
	for i := range x {
		x[i] = rms * r.NormFloat64()
	}
	return x
}

// babble is a rough stand-in for speech: low-passed noise under a syllable
// rhythm, with pauses.
func babble(seed uint64, rate, n int) []float64 {
	x := noise(seed, 1, n)
	lp := 0.0
	for i := range x {
		t := float64(i) / float64(rate)
		lp += (x[i] - lp) * 0.1
		env := math.Max(0, math.Sin(2*math.Pi*3.7*t)) * math.Max(0, math.Sin(2*math.Pi*0.31*t))
		x[i] = 0.8*lp*env*env + 1e-4*x[i]
	}
	return x
}

func repeat(x []float64, channels int) [][]float64 {
	p := make([][]float64, channels)
	for c := range p {
		p[c] = x
	}
	return p
}

// check records a check and asserts it.
func check(t *testing.T, area, what, source string, expected, got, tol float64, unit string) {
	t.Helper()
	trust.Record(t, trust.Check{Area: area, What: what, Source: source, Expected: expected, Got: got, Tolerance: tol, Unit: unit})
}

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(got == want || math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %v, want %v ± %v", what, got, want, tol)
	}
}

// blockSizes are the lengths a stream is cut into.
var blockSizes = []int{0, 1, 7, 511, 512, 513, 4096}

// streamed is a meter under test: how to feed it and everything it reads.
type streamed struct {
	name  string
	make  func() any
	write func(m any, x []float64)
	read  func(m any) []float64
	reset func(m any)
	bad   func(m any) int
}

func stream[M interface {
	Write([]float64)
	Reset()
	Invalid() int
}](name string, mk func() M, read func(M) []float64) streamed {
	return streamed{
		name:  name,
		make:  func() any { return mk() },
		write: func(m any, x []float64) { m.(M).Write(x) },
		read:  func(m any) []float64 { return read(m.(M)) },
		reset: func(m any) { m.(M).Reset() },
		bad:   func(m any) int { return m.(M).Invalid() },
	}
}

type processor interface {
	Process(dst, src []float64)
	Reset()
	Invalid() int
}

// filtered wraps a filter as a meter that remembers a digest of its output.
type filtered struct {
	processor
	out    [4096]float64
	digest float64
	last   float64
}

func (f *filtered) Write(x []float64) {
	for len(x) > 0 {
		n := min(len(x), len(f.out))
		f.Process(f.out[:n], x[:n])
		for _, v := range f.out[:n] {
			f.digest = 0.999*f.digest + v
			f.last = v
		}
		x = x[n:]
	}
}

func (f *filtered) Reset() { f.processor.Reset(); f.digest, f.last = 0, 0 }

// stereo feeds a two-channel loudness meter with a signal and its reverse
// polarity at half the level.
type stereo struct {
	*Loudness
	other  [4096]float64
	planar [2][]float64
}

func (s *stereo) Write(x []float64) {
	for len(x) > 0 {
		n := min(len(x), len(s.other))
		for i, v := range x[:n] {
			s.other[i] = -v / 2
		}
		s.planar = [2][]float64{x[:n], s.other[:n]}
		s.Loudness.Write(s.planar[:])
		x = x[n:]
	}
}

type monoLoudness struct{ *Loudness }

func (m monoLoudness) Write(x []float64) { m.WriteMono(x) }

func loudnessReadings(l *Loudness) []float64 {
	return []float64{l.Momentary(), l.ShortTerm(), l.Integrated(), l.Range(), l.MaxMomentary(), l.MaxShortTerm(), float64(l.Frames())}
}

// allStreamed lists every streaming meter at a rate.
func allStreamed(t testing.TB, rate int) []streamed {
	loud := func(ch int) *Loudness {
		l, err := NewLoudness(rate, ch)
		if err != nil {
			t.Fatal(err)
		}
		return l
	}
	spectrum := func(s Scale) func() *Spectrum {
		return func() *Spectrum {
			a, err := NewSpectrum(rate, 1024, s)
			if err != nil {
				t.Fatal(err)
			}
			return a
		}
	}
	bins := func() func(s *Spectrum) []float64 {
		v := make([]float64, 513)
		return func(s *Spectrum) []float64 { return append([]float64(nil), s.Values(v)...) }
	}
	return []streamed{
		stream("loudness mono", func() monoLoudness { return monoLoudness{loud(1)} }, func(m monoLoudness) []float64 { return loudnessReadings(m.Loudness) }),
		stream("loudness stereo", func() *stereo { return &stereo{Loudness: loud(2)} }, func(m *stereo) []float64 { return loudnessReadings(m.Loudness) }),
		stream("K-weighting", func() *filtered { return &filtered{processor: NewKWeight(rate)} }, func(m *filtered) []float64 { return []float64{m.digest, m.last} }),
		stream("A-weighting", func() *filtered { return &filtered{processor: NewAWeighting(rate)} }, func(m *filtered) []float64 { return []float64{m.digest, m.last} }),
		stream("CCIR-RMS weighting", func() *filtered { return &filtered{processor: NewCCIRRMSWeighting(rate)} }, func(m *filtered) []float64 { return []float64{m.digest, m.last} }),
		stream("true peak", func() *TruePeak { return NewTruePeak(rate) }, func(m *TruePeak) []float64 { return []float64{m.Peak(), m.DB()} }),
		stream("sample peak", func() *SamplePeak { return NewSamplePeak(rate, 0.5) }, func(m *SamplePeak) []float64 {
			return []float64{m.Bar(), m.Held(), m.Peak(), m.BarDB(), m.HeldDB(), m.DB()}
		}),
		stream("PPM I", func() *PPM { return NewPPM(rate, TypeI) }, func(m *PPM) []float64 { return []float64{m.Level(), m.DB(), m.MaxDB(), m.Mark(-18)} }),
		stream("PPM IIa", func() *PPM { return NewPPM(rate, TypeIIa) }, func(m *PPM) []float64 { return []float64{m.Level(), m.DB(), m.MaxDB(), m.Mark(-18)} }),
		stream("VU", func() *VU { return NewVU(rate) }, func(m *VU) []float64 { return []float64{m.Level(), m.DB(), m.MaxDB()} }),
		stream("overs", func() *Overs { return NewOvers(rate, 0.3) }, oversReadings),
		stream("meter overs", func() *Overs { return NewMeterOvers(rate, 3, 0.3) }, oversReadings),
		stream("stats", func() *Stats { return NewStats(rate) }, func(s *Stats) []float64 {
			return []float64{float64(s.Frames()), s.RMS(), s.DC(), s.Peak(), s.CrestDB(), s.NoiseRMS(), s.Silent(), s.ActiveDB(), s.Activity(), s.SNRDB()}
		}),
		stream("active level", func() *ActiveLevel { return NewActiveLevel(rate) }, func(a *ActiveLevel) []float64 { return []float64{a.Level(), a.Activity()} }),
		stream("spectrum", spectrum(Amplitude), bins()),
		stream("spectral density", spectrum(Density), bins()),
	}
}

func oversReadings(o *Overs) []float64 {
	v := []float64{float64(o.Count()), float64(o.Samples()), float64(o.Longest()), o.LongestMS(), o.Fraction(), o.Demand(), float64(o.First()), float64(o.Unlisted()), float64(o.Frames())}
	for _, r := range o.Runs() {
		v = append(v, float64(r.Start), float64(r.Frames), r.Peak)
	}
	return v
}

func equal(a, b []float64) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if math.Float64bits(a[i]) != math.Float64bits(b[i]) {
			return false
		}
	}
	return true
}
