package processing_test

import (
	"errors"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"slices"
	"testing"

	"gainwright/sim/processing"
)

const rate = 48000

// A person made of harmonics and hisses, in a room made of noise: what is done to them is done
// sample by sample here, by what the name of a processing means. Real people and programs
// from outside are in tests/microphone.
type session struct {
	x     []float64
	parts [4][2]int // quiet, talk, again, loud
}

func (s *session) take() processing.Take {
	p := func(k int) []float64 { return s.x[s.parts[k][0]:s.parts[k][1]] }
	return processing.Take{Rate: rate, Quiet: p(0), Talk: p(1), Again: p(2), Loud: p(3)}
}

// syllables adds n of them, each 160 ms of a voiced sound and 60 ms of a hiss, with a
// pause after every fourth.
func (s *session) syllables(n int, amp, f0 float64, rng *rand.Rand) {
	for k := range n {
		pitch := f0 * (1 + .1*math.Sin(float64(k)))
		loud := amp * (.7 + .3*math.Cos(1.7*float64(k)))
		voiced := make([]float64, rate*16/100)
		for h := 1; h <= 40; h++ {
			// A turning phasor for each harmonic.
			turn := cmplx.Rect(1, 2*math.Pi*pitch*float64(h)/rate)
			at := cmplx.Rect(1/(1+math.Pow(pitch*float64(h)/700, 1.5)), 2*math.Pi*rng.Float64())
			for i := range voiced {
				voiced[i] += real(at)
				at *= turn
			}
		}
		for i, v := range voiced {
			s.x = append(s.x, loud/4*v*math.Sin(math.Pi*float64(i)/(rate*.16)))
		}
		for i := range rate * 6 / 100 {
			s.x = append(s.x, .08*loud*math.Sin(math.Pi*float64(i)/(rate*.06))*rng.NormFloat64())
		}
		if k%4 == 3 {
			s.rest(.25)
		}
	}
}

func (s *session) rest(seconds float64) { s.x = append(s.x, make([]float64, int(seconds*rate))...) }

func (s *session) part(k int, do func()) {
	from := len(s.x)
	do()
	s.parts[k] = [2]int{from, len(s.x)}
}

func perform(seed uint64) *session {
	rng := rand.New(rand.NewPCG(seed, 5))
	s := &session{}
	f0 := 110 + 110*rng.Float64()
	s.rest(.3)
	s.part(0, func() { s.rest(1.7) })
	s.part(1, func() { s.rest(.3); s.syllables(10, .05, f0, rng); s.rest(.3) })
	s.part(2, func() { s.rest(.4); s.syllables(10, .052, f0, rng); s.rest(.3) })
	s.part(3, func() { s.rest(.4); s.syllables(3, .2, 1.5*f0, rng); s.rest(.3) })
	// Rumble below 60 Hz and hiss.
	var a, b float64
	k := 1 - math.Exp(-2*math.Pi*60/rate)
	for i := range s.x {
		a += k * (rng.NormFloat64() - a)
		b += k * (a - b)
		s.x[i] += 3e-3*b + 1e-4*rng.NormFloat64()
	}
	return s
}

// follow is the level of x as a detector sees it, with times in seconds.
func follow(x []float64, up, down float64, each func(i int, level float64)) {
	l := 0.0
	for i, v := range x {
		k := 1 - math.Exp(-1/(rate*down))
		if math.Abs(v) > l {
			k = 1 - math.Exp(-1/(rate*up))
		}
		l += k * (math.Abs(v) - l)
		each(i, l)
	}
}

func kinds(t *testing.T, s *session) (*processing.Card, []processing.Kind) {
	t.Helper()
	c, err := processing.Look(s.take())
	if err != nil {
		t.Fatal(err)
	}
	var k []processing.Kind
	for _, f := range c.Findings {
		if f.Says == "" || f.Means == "" {
			t.Errorf("%s says nothing", f.Kind)
		}
		k = append(k, f.Kind)
	}
	return c, k
}

func TestSorts(t *testing.T) {
	whole := perform(1)
	for name, c := range map[string]struct {
		do   func(s *session)
		want processing.Kind // "" for none
	}{
		"untouched": {func(s *session) {}, ""},
		// What rumbles comes and goes and is no gain that moves.
		"a lorry passes": {func(s *session) {
			low := slices.Clone(s.x)
			rng := rand.New(rand.NewPCG(8, 8))
			for i := range low {
				low[i] = .05 * rng.NormFloat64()
			}
			for range 3 {
				lowPass(low, 40)
			}
			for i, v := range low {
				s.x[i] += v * min(1, float64(i)/(2*rate))
			}
		}, ""},
		"turned down 20 dB": {func(s *session) { scale(s.x, .1) }, ""},
		"muted between words": {func(s *session) {
			follow(s.x, .001, .1, func(i int, l float64) {
				if l < .002 {
					s.x[i] = 0
				}
			})
		}, processing.Gated},
		"26 dB down between words": {func(s *session) {
			g := 1.0
			follow(s.x, .001, .05, func(i int, l float64) {
				to := 1.0
				if l < .002 {
					to = .05
				}
				g += (to - g) / (rate * .01)
				s.x[i] *= g
			})
		}, processing.Gated},
		// A gain that brings everything towards one level, slowly up and fast down.
		"levelled": {func(s *session) {
			g := .5
			follow(s.x, .01, .2, func(i int, l float64) {
				to := min(20, .1/(l+1e-4))
				k := 1 / (rate * 1.5)
				if to < g {
					k = 1 / (rate * .05)
				}
				g += (to - g) * k
				s.x[i] *= g
			})
			fit(s.x)
		}, processing.GainMoves},
		"no more than 4 kHz": {func(s *session) {
			steep(s.x, 4000)
		}, processing.BandLimits},
		// A voice with hardly any treble, in a room that has some.
		"a dull voice": {func(s *session) {
			rng := rand.New(rand.NewPCG(2, 2))
			steep(s.x, 7000)
			for i := range s.x {
				s.x[i] += 1e-4 * rng.NormFloat64()
			}
		}, ""},
		"nothing below 350 Hz": {func(s *session) {
			for range 3 {
				low := slices.Clone(s.x)
				lowPass(low, 350)
				for i := range s.x {
					s.x[i] -= low[i]
				}
			}
		}, processing.BandLimits},
		"cut at full scale": {func(s *session) { scale(s.x, 2/top(s.x)); cut(s.x, 1) }, processing.Clipped},
		"cut, then turned down": {func(s *session) {
			scale(s.x, 2/top(s.x))
			cut(s.x, 1)
			scale(s.x, .3)
		}, processing.Clipped},
		"a polite laugh": {func(s *session) {
			a, z := s.parts[3][0], s.parts[3][1]
			scale(s.x[a:z], .28)
		}, processing.Alike},
	} {
		s := &session{x: slices.Clone(whole.x), parts: whole.parts}
		c.do(s)
		card, k := kinds(t, s)
		if c.want == "" && len(k) != 0 || c.want != "" && !slices.Contains(k, c.want) || len(k) > 1 {
			t.Errorf("%s: %v, not %q: %+v", name, k, c.want, card.Features)
		}
	}
}

// Figures of the card are those of the parts.
func TestFigures(t *testing.T) {
	s := perform(3)
	a, _ := kinds(t, s)
	scale(s.x, .25)
	b, _ := kinds(t, s)
	for name, d := range map[string]float64{"noise": a.NoiseDBFS - b.NoiseDBFS, "talk": a.TalkDBFS - b.TalkDBFS, "peak": a.PeakDBFS - b.PeakDBFS} {
		if math.Abs(d-12.04) > .05 {
			t.Errorf("a quarter has %s %.2f dB less", name, d)
		}
	}
	if d := a.LoudDB - b.LoudDB; math.Abs(d) > .05 || a.LoudDB < 9 || a.LoudDB > 15 {
		t.Errorf("four times the amplitude is %.2f and %.2f dB louder", a.LoudDB, b.LoudDB)
	}
	p := 0.0
	for _, part := range s.parts {
		p = max(p, top(s.x[part[0]:part[1]]))
	}
	if want := 20 * math.Log10(p); math.Abs(b.PeakDBFS-want) > 1e-9 {
		t.Errorf("peak %.3f, not %.3f dBFS", b.PeakDBFS, want)
	}
}

func TestFaults(t *testing.T) {
	s := perform(4)
	short := s.take()
	short.Again = short.Again[:rate/2]
	if _, err := processing.Look(short); !errors.Is(err, processing.ErrShort) {
		t.Errorf("half a second of a sentence: %v", err)
	}
	none := s.take()
	none.Talk, none.Again = none.Quiet, none.Quiet
	if _, err := processing.Look(none); !errors.Is(err, processing.ErrSilent) {
		t.Errorf("nobody speaks: %v", err)
	}
	wrong := s.take()
	wrong.Rate = 0
	if _, err := processing.Look(wrong); err == nil {
		t.Error("no rate is no fault")
	}
	// A microphone that is off brings zeros.
	off := processing.Take{Rate: rate, Quiet: make([]float64, 2*rate), Talk: make([]float64, 2*rate), Again: make([]float64, 2*rate), Loud: make([]float64, rate)}
	if _, err := processing.Look(off); !errors.Is(err, processing.ErrSilent) {
		t.Errorf("a microphone that is off: %v", err)
	}
}

func scale(x []float64, by float64) {
	for i := range x {
		x[i] *= by
	}
}

func cut(x []float64, at float64) {
	for i, v := range x {
		x[i] = max(-at, min(at, v))
	}
}

func top(x []float64) float64 {
	m := 0.0
	for _, v := range x {
		m = max(m, math.Abs(v))
	}
	return m
}

func fit(x []float64) {
	if m := top(x); m > .8 {
		scale(x, .8/m)
	}
}

func lowPass(x []float64, f float64) {
	k, y := 1-math.Exp(-2*math.Pi*f/rate), 0.0
	for i, v := range x {
		y += k * (v - y)
		x[i] = y
	}
}

// steep leaves nothing above f: a windowed sinc.
func steep(x []float64, f float64) {
	const half = 100
	var h [2*half + 1]float64
	for i := range h {
		t := float64(i - half)
		h[i] = 2 * f / rate
		if t != 0 {
			h[i] = math.Sin(2*math.Pi*f/rate*t) / (math.Pi * t)
		}
		h[i] *= .5 + .5*math.Cos(math.Pi*t/half)
	}
	y := make([]float64, len(x))
	for i := half; i+half < len(x); i++ {
		for k, v := range h {
			y[i] += v * x[i+k-half]
		}
	}
	copy(x, y)
}

// Whatever comes in, there is a card without NaN where figures are, or an error.
func FuzzLook(f *testing.F) {
	f.Add([]byte{1, 2, 250, 7}, 8000, uint16(9000))
	f.Add([]byte{0}, 8000, uint16(20000))
	f.Add([]byte{127, 129}, 48000, uint16(60000))
	f.Fuzz(func(t *testing.T, b []byte, rate int, n uint16) {
		if len(b) == 0 || rate > 96000 {
			return
		}
		x := make([]float64, n)
		for i := range x {
			// Bursts, so that something stands over something.
			x[i] = float64(int8(b[i%len(b)])) / 128 * math.Pow(.3, float64(i*7/len(x)%3))
		}
		c, err := processing.Look(processing.Take{Rate: rate, Quiet: x[:n/4], Talk: x[n/4:], Again: x[n/8:], Loud: x[n/2:]})
		if err != nil {
			return
		}
		for _, v := range []float64{c.NoiseDBFS, c.TalkDBFS, c.LoudDB, c.PeakDBFS, c.TopHz} {
			if math.IsNaN(v) {
				t.Fatalf("%+v", c)
			}
		}
	})
}
