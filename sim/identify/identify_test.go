package identify

import (
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"testing"
)

// What is emulated here knows nothing of package sim.

// mem is a recording in memory.
type mem struct {
	x  []float64
	at int
}

func (m *mem) Rewind() error { m.at = 0; return nil }

func (m *mem) Read(dst []float64) (int, error) {
	n := copy(dst, m.x[m.at:])
	m.at += n
	if m.at == len(m.x) {
		return n, io.EOF
	}
	return n, nil
}

const testRate = 16000

// talk is a voice-like sound: pulses through resonances, in syllables of differing
// loudness, with pauses; the loudest near 1.
func talk(seconds float64, r *rand.Rand) []float64 {
	n := int(seconds * testRate)
	x := make([]float64, n)
	type res struct{ a, b, y1, y2 float64 }
	var f [4]res
	set := func() {
		for i, hz := range [4]float64{350 + 450*r.Float64(), 900 + 1200*r.Float64(), 2500, 3500} {
			d := math.Exp(-math.Pi * (60 + 40*float64(i)) / testRate)
			f[i].a, f[i].b = 2*d*math.Cos(2*math.Pi*hz/testRate), -d*d
		}
	}
	pitch, phase, level, want, left := 120.0, 0.0, 0.0, 0.0, 0
	for i := range x {
		if left--; left <= 0 {
			left = int((0.08 + 0.2*r.Float64()) * testRate)
			want = math.Pow(10, -1.6*r.Float64())
			if r.Float64() < 0.25 {
				want = 0
			}
			pitch = 90 + 120*r.Float64()
			set()
		}
		level += (want - level) * 0.002
		if phase += pitch / testRate; phase >= 1 {
			phase--
		}
		v := 0.0
		if phase < 0.4 {
			v = math.Sin(math.Pi*phase/0.4) * math.Sin(math.Pi*phase/0.4)
		}
		v = level * (v - 0.2 + 0.02*r.NormFloat64())
		for k := range f {
			y := v + f[k].a*f[k].y1 + f[k].b*f[k].y2
			f[k].y2, f[k].y1 = f[k].y1, y
			v += 0.3 * (y - v) * (1 - f[k].a - f[k].b)
		}
		x[i] = v
	}
	top := 0.0
	for _, v := range x {
		top = max(top, math.Abs(v))
	}
	for i := range x {
		x[i] /= top
	}
	return x
}

// limited is x through a limiter: levels in dB of full scale, times in ms.
func limited(x []float64, threshold, ratio, attack, release float64) []float64 {
	down, up := math.Exp(-1000/attack/testRate), math.Exp(-1000/release/testRate)
	y := make([]float64, len(x))
	state := 0.0
	for i, v := range x {
		want := max(0, (20*math.Log10(math.Abs(v)+1e-9)-threshold)*(1-1/ratio))
		k := up
		if want > state {
			k = down
		}
		state = want + (state-want)*k
		y[i] = v * math.Pow(10, -state/20)
	}
	return y
}

func times(x []float64, g float64) []float64 {
	y := make([]float64, len(x))
	for i := range x {
		y[i] = g * x[i]
	}
	return y
}

// converted is what a converter makes of x: noise, the ceiling, codes.
func converted(x []float64, bits int, noiseDB float64, r *rand.Rand) []float64 {
	step := math.Pow(2, float64(1-bits))
	y := make([]float64, len(x))
	for i, v := range x {
		v += math.Pow(10, noiseDB/20) * r.NormFloat64()
		y[i] = min(max(math.Round(v/step)*step, -1), 1-step)
	}
	return y
}

// moved is x later by so many frames and by another clock, with a window of its own.
func moved(x []float64, delay, drift float64) []float64 {
	y := make([]float64, len(x))
	for i := range y {
		t := float64(i)*(1+drift) - delay
		k := int(math.Floor(t))
		for j := k - 15; j <= k+16; j++ {
			if j < 0 || j >= len(x) {
				continue
			}
			d := t - float64(j)
			w := 0.5 + 0.5*math.Cos(math.Pi*d/16.5)
			s := 1.0
			if d != 0 {
				s = math.Sin(math.Pi*d) / (math.Pi * d)
			}
			y[i] += x[j] * s * w
		}
	}
	return y
}

func survey(t testing.TB, x []float64, bits int) *Survey {
	t.Helper()
	step := math.Pow(2, float64(1-bits))
	s, err := Look(&mem{x: x}, Format{Rate: testRate, Full: 1 - step, Step: step})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func identify(t testing.TB, off, on []float64, bits int) *Limiter {
	t.Helper()
	l, err := Identify(&mem{x: off}, &mem{x: on}, survey(t, off, bits), survey(t, on, bits))
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// TestPlaceOfTheLimiter: emulated recorders, the limiter before the converter, after it,
// on both sides, nowhere; on two channels and twice, by two clocks, inverted.
func TestPlaceOfTheLimiter(t *testing.T) {
	for k := range 5 {
		r := rand.New(rand.NewPCG(uint64(k), 5))
		bits := 16 + 8*(k%2)
		threshold, ratio := -4-8*r.Float64(), []float64{4, 1000}[r.IntN(2)]
		attack, release := 0.5*math.Pow(20, r.Float64()), 50*math.Pow(8, r.Float64())
		over := 1.6 + 1.6*r.Float64()
		delay, drift, sign := 0.0, 0.0, 1.0
		if k%3 > 0 {
			delay, drift = 3000*r.Float64(), 1e-4*(2*r.Float64()-1)
		}
		if k%4 == 3 {
			sign = -1
		}
		x := times(talk(8, r), over)
		twice := times(x, sign)
		if delay != 0 {
			twice = moved(twice, delay, drift)
		}
		noise := -75 - 15*r.Float64()
		off := converted(x, bits, noise, r)
		for _, c := range []struct {
			place Place
			on    []float64
		}{
			{Before, converted(limited(twice, threshold, ratio, attack, release), bits, noise, r)},
			{After, converted(limited(converted(twice, bits, noise, r), threshold, ratio, attack, release), bits, -150, r)},
			{None, converted(twice, bits, noise, r)},
		} {
			l := identify(t, off, c.on, bits)
			what := fmt.Sprintf("device %d, %s: threshold %.1f ratio %.0f attack %.1f release %.0f", k, c.place, threshold, ratio, attack, release)
			if l.Place != c.place {
				t.Errorf("%s: told %s (%s)", what, l.Place, l.Why)
			}
			if l.Alignment.Inverted != (sign < 0) {
				t.Errorf("%s: polarity", what)
			}
			if d := l.Alignment.Delay - delay; drift == 0 && math.Abs(d) > 0.1 || math.Abs(l.Alignment.Drift+drift) > 3e-6 {
				t.Errorf("%s: late by %.2f, %.1f ppm, not %.2f, %.1f", what, l.Alignment.Delay, 1e6*l.Alignment.Drift, delay, -1e6*drift)
			}
			if c.place == None {
				if l.Threshold.Known() || math.Abs(l.GainDB) > 0.1 {
					t.Errorf("%s: %+v", what, l)
				}
				continue
			}
			if e := l.Threshold; math.Abs(e.Value-threshold) > 1.5 {
				t.Errorf("%s: threshold %+v", what, e)
			}
			if e := l.Ratio.Value; (e > 10) != (ratio > 10) {
				t.Errorf("%s: ratio %+v", what, l.Ratio)
			}
			if e := l.AttackMS; e.Value < attack/1.5 || e.Value > attack*1.5+0.25 {
				t.Errorf("%s: attack %+v", what, e)
			}
			if e := l.ReleaseMS; e.Value < release/1.5 || e.Value > release*1.5 {
				t.Errorf("%s: release %+v", what, e)
			}
		}
	}
}

// TestOtherPlaces: a limiter on either side; a level control; a stage that clips before
// the converter; too little that is clipped; all told as what they are.
func TestOtherPlaces(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 7))
	x := times(talk(10, r), 2.5)
	quiet := times(x, 0.3)
	off := converted(x, 24, -85, r)
	stop := func(x []float64, low, high float64) []float64 {
		y := make([]float64, len(x))
		for i, v := range x {
			y[i] = min(max(v, -low), high)
		}
		return y
	}
	rail := func(x []float64) []float64 { return stop(x, 0.7, 0.7) }
	bend := func(x []float64) []float64 {
		y := make([]float64, len(x))
		for i, v := range x {
			y[i] = v / math.Sqrt(1+4*v*v)
		}
		return y
	}
	level := make([]float64, len(x))
	g := 0.0
	for i, v := range x { // drifts towards an even level, 12 dB a second at the most
		d := -18 - 20*math.Log10(math.Abs(v)+1e-3) - g
		g += min(max(d, -12), 12) / testRate
		level[i] = v * math.Pow(10, g/20)
	}
	last := func(x []float64) []float64 { return limited(converted(x, 24, -85, r), -9, 1000, 1, 60) }
	for _, c := range []struct {
		what    string
		off, on []float64
		place   Place
	}{
		{"both sides", off, last(limited(x, -6, 3, 40, 100)), Both},
		{"level control", off, converted(level, 24, -85, r), Automatic},
		{"a rail, then a limiter", converted(rail(x), 24, -85, r), last(rail(x)), Undecided},
		// Nothing reaches its threshold. Was told as none.
		{"a rail, then a limiter above it", converted(rail(x), 24, -85, r), limited(converted(rail(x), 24, -85, r), -1, 1000, 1, 60), Undecided},
		{"swapped", converted(limited(x, -9, 1000, 1, 60), 24, -85, r), off, Undecided},
		// Were told as after the converter, and as on both sides of it, at odds of a million.
		{"a rail little above full scale, then a limiter before the converter", off, converted(limited(stop(x, 1.06, 1.06), -9, 1000, 1, 60), 24, -85, r), Undecided},
		{"a rail above full scale, then a limiter before the converter", off, converted(limited(stop(x, 1.15, 1.15), -9, 1000, 1, 60), 24, -85, r), Undecided},
		{"a rail above full scale, then a limiter after the converter", off, last(stop(x, 1.15, 1.15)), After},
		// Half of the wave passes the rail, and the limiter acts on it; was told as none.
		{"a rail on one side, then a limiter that acts on the other alone", converted(stop(x, 9, 0.42), 24, -85, r), limited(converted(stop(x, 9, 0.42), 24, -85, r), -6, 15, 0.8, 185), Undecided},
		{"a rail on one side, and no limiter", converted(stop(x, 9, 0.42), 24, -85, r), converted(stop(x, 9, 0.42), 24, -85, r), Undecided},
		{"a round stage, then a limiter", converted(bend(x), 24, -85, r), last(bend(x)), Undecided},
		{"nothing clipped", converted(quiet, 24, -85, r), last(quiet), Undecided},
	} {
		l := identify(t, c.off, c.on, 24)
		if l.Place != c.place || l.Why == "" {
			t.Errorf("%s: %s, odds %.0f, %s", c.what, l.Place, l.Odds, l.Why)
		}
		if l.Odds > 0 && (l.Place == Undecided || l.Place == None || l.Place == Automatic) {
			t.Errorf("%s: %s, with the odds of a place: %.0f", c.what, l.Place, l.Odds)
		}
	}
}

// TestLimitsAllTheTime: a limiter that never rests is no level control if it is quick and
// follows its law. Was told as one.
func TestLimitsAllTheTime(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 77))
	x := times(talk(6, r), 2.2)
	off := converted(x, 24, -85, r)
	l := identify(t, off, converted(limited(x, -28, 4, 3, 150), 24, -85, r), 24)
	if l.Place != Before || math.Abs(l.Threshold.Value+28) > 1 || math.Abs(l.Ratio.Value-4) > 0.4 {
		t.Errorf("%s, %+v, %+v: %s", l.Place, l.Threshold, l.Ratio, l.Why)
	}
}

// TestNoPair: what cannot be compared is a fault in one line.
func TestNoPair(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	a, b := talk(4, r), talk(4, rand.New(rand.NewPCG(8, 8)))
	if _, err := Identify(&mem{x: a}, &mem{x: b}, survey(t, a, 24), survey(t, b, 24)); !AsFault(err) {
		t.Error("two talkers pass for one:", err)
	}
	for _, x := range [][]float64{nil, make([]float64, 100), make([]float64, testRate*2), {math.NaN()}} {
		if _, err := Look(&mem{x: x}, Format{Rate: testRate}); !AsFault(err) {
			t.Error(len(x), err)
		}
	}
	if _, err := Look(&mem{x: a}, Format{Rate: 100}); !AsFault(err) {
		t.Error(err)
	}
}

// enveloped is x through a limiter that smooths an envelope of a power of the magnitude, or
// its gain, by what it gives out or with peaks held (the smooth decoupled detector of
// Giannoulis, Massberg and Reiss, 2012).
func enveloped(x []float64, kind Smoothed, threshold, ratio, attack, release float64) []float64 {
	down, up := 1-math.Exp(-1000/attack/testRate), 1-math.Exp(-1000/release/testRate)
	y := make([]float64, len(x))
	state, peak, p := 0.0, 0.0, 2.0
	if kind == SmoothsAmplitude {
		p = 1
	}
	for i, v := range x {
		want, red := math.Pow(math.Abs(v), p), 0.0
		if kind == SmoothsFedBack {
			want = max(0, (20*math.Log10(math.Abs(v)+1e-9)-state-threshold)*(ratio-1))
		}
		if kind == SmoothsHeld {
			want = max(0, (20*math.Log10(math.Abs(v)+1e-9)-threshold)*(1-1/ratio))
			peak = max(want, peak+up*(want-peak))
			want = peak
		}
		k := up
		if want > state || kind == SmoothsHeld {
			k = down
		}
		state += k * (want - state)
		if red = state; kind != SmoothsFedBack && kind != SmoothsHeld {
			red = max(0, (20/p*math.Log10(state+1e-12)-threshold)*(1-1/ratio))
		}
		y[i] = v * math.Pow(10, -red/20)
	}
	return y
}

// TestLaws: what a limiter smooths is told, and its figures are right by that law. Where all
// limiters were taken to smooth their gain, a ratio of 4 was told as 11 and more, and
// releases as 0.4 to 0.9 of the true ones; one that holds peaks had a sixteenth of its attack.
func TestLaws(t *testing.T) {
	for k, c := range []struct {
		kind            Smoothed
		ratio           float64
		attack, release float64
	}{{SmoothsAmplitude, 4, 1, 250}, {SmoothsPower, 4, 6, 120}, {SmoothsFedBack, 3, 9, 200}, {SmoothsFedBack, 15, 225, 210}, {SmoothsHeld, 20, 1, 150}} {
		r := rand.New(rand.NewPCG(uint64(k), 8))
		x := times(talk(10, r), 2.2)
		off := converted(x, 24, -85, r)
		l := identify(t, off, converted(enveloped(x, c.kind, -9, c.ratio, c.attack, c.release), 24, -85, r), 24)
		attack := c.attack // a slow filter in a tight loop acts quickly, and is no level control
		if c.kind == SmoothsFedBack {
			attack /= c.ratio
		}
		// Fed back or not, a smoothed gain moves alike, but for its way back.
		named := l.Smooths == c.kind || c.kind == SmoothsFedBack && l.Smooths == SmoothsGain
		if l.Place != Before || !named || math.Abs(l.Threshold.Value+9) > 1 || math.Abs(1/l.Ratio.Value-1/c.ratio) > 0.05 ||
			math.Abs(math.Log(l.AttackMS.Value/attack)) > math.Log(1.5) || math.Abs(math.Log(l.ReleaseMS.Value/c.release)) > math.Log(1.5) {
			t.Errorf("%+v: %s, %s, %+v %+v %+v %+v", c, l.Place, l.Smooths, l.Threshold, l.Ratio, l.AttackMS, l.ReleaseMS)
		}
	}
}

// TestQuieterChannel: where the second channel is quieter before the converter, a top that the
// first cuts off is left to it in part or whole; that is no sign of a limiter before the
// converter. Was told as one on both sides.
func TestQuieterChannel(t *testing.T) {
	r := rand.New(rand.NewPCG(0, 2079))
	x := times(talk(5, r), 1.8)
	off, quieter := converted(x, 24, -85, r), times(x, math.Pow(10, -0.8/20))
	if l := identify(t, off, limited(converted(quieter, 24, -85, r), -9, 5, 2.4, 250), 24); l.Place != After || l.BehindUnseen {
		t.Errorf("%s, odds %.0f: %s", l.Place, l.Odds, l.Why)
	}
	if l := identify(t, off, converted(limited(quieter, -9, 5, 2.4, 250), 24, -85, r), 24); l.Place != Before || !l.BehindUnseen {
		t.Errorf("before: %s, odds %.0f: %s", l.Place, l.Odds, l.Why)
	}
}

// TestOwnTop: a parabola cut off at a part of its height is as round as roundness measures it.
func TestOwnTop(t *testing.T) {
	for _, c := range []struct{ less, over float64 }{{0, 3}, {0.5, 3}, {1, 3}, {2, 3}, {3, 3}, {4, 3}, {0.9, 6}} {
		const half = 200
		rise, cut := fromDB(c.over)-1, fromDB(c.less)
		x, y := make([]float64, 2*half+5), []float64{}
		for i := range x {
			d := float64(i-half-2) / (half + 0.5)
			x[i] = min(1, 1+rise*(1-d*d))
			if v := 1 + rise*(1-d*d); v >= 1 {
				y = append(y, min(1, v/cut))
			}
		}
		s, _, ok := stretchAt(x, 2, 1, 1e-9)
		if !ok || s.n != len(y) {
			t.Fatal(ok, s.n, len(y))
		}
		// What is cut off later lies lower, and its own gain makes up for that.
		_, rho, _ := s.roundness(y, 1, 1e-9)
		if want := ownTop(c.less, c.over); math.Abs(rho-want) > 0.1 {
			t.Errorf("%g dB less of %g: as round as %.2f, not %.2f", c.less, c.over, rho, want)
		}
	}
}
