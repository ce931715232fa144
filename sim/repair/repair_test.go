package repair_test

import (
	"context"
	"encoding/json"
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"gainwright/sim"
	"gainwright/sim/meter"
	"gainwright/sim/repair"
)

const rate = 48000

// talk returns a voice-like signal, peak 1: glottal pulses and a little breath through
// four resonances that move from syllable to syllable, of uneven loudness.
func talk(_ testing.TB, who string, seconds float64) []float64 {
	f0, seed := 105.0, uint64(11)
	if who != "captain" {
		f0, seed = 150, 12
	}
	r := rand.New(rand.NewPCG(seed, 1))
	x := make([]float64, int(seconds*rate))
	var s [4][2]float64
	phase := 0.0
	for at := 0; at < len(x); {
		n := min(len(x)-at, int((0.1+0.15*r.Float64())*rate))
		form := [4]float64{300 + 500*r.Float64(), 900 + 1200*r.Float64(), 2300 + 600*r.Float64(), 3500}
		loud := math.Pow(10, -1.1*r.Float64())
		pitch := f0 * (0.85 + 0.4*r.Float64())
		for i := range n {
			phase += pitch * (1 - 0.1*float64(i)/float64(n)) / rate
			phase -= math.Floor(phase)
			e := 0.004 * r.NormFloat64()
			if phase < 0.5 { // the flow rises slowly and shuts fast; its slope excites
				e += math.Sin(math.Pi*phase/0.5) * phase
			} else if phase < 0.58 {
				e -= 3 * math.Sin(math.Pi*(phase-0.5)/0.08)
			}
			e *= loud * math.Sin(math.Pi*(float64(i)+0.5)/float64(n))
			v := 0.0
			for k, f := range form {
				q := math.Exp(-math.Pi * (60 + 40*float64(k)) / rate)
				y := (1-q)*e + 2*q*math.Cos(2*math.Pi*f/rate)*s[k][0] - q*q*s[k][1]
				s[k][0], s[k][1] = y, s[k][0]
				v += y * []float64{1, 0.7, 0.4, 0.2}[k] * float64(1-2*(k&1))
			}
			x[at+i] = v
		}
		at += n
	}
	scale(x, 1/peak(x))
	return x
}

func scale(x []float64, g float64) {
	for i := range x {
		x[i] *= g
	}
}

func peak(x []float64) float64 {
	p := 0.0
	for _, v := range x {
		p = max(p, math.Abs(v))
	}
	return p
}

func clipAt(x []float64, theta float64) []float64 {
	y := make([]float64, len(x))
	for i, v := range x {
		y[i] = min(max(v, -theta), theta)
	}
	return y
}

// clipTo clips x so that SDR(x, y) is sdr.
func clipTo(x []float64, sdr float64) ([]float64, float64) {
	lo, hi := 0.0, peak(x)
	for range 40 {
		th := (lo + hi) / 2
		if repair.SDR(x, clipAt(x, th), true) < sdr {
			lo = th
		} else {
			hi = th
		}
	}
	return clipAt(x, hi), hi
}

func apply(t testing.TB, tr repair.Treatment, x []float64) ([]float64, repair.Report) {
	t.Helper()
	y, rep, err := tr.Apply(context.Background(), x, rate, repair.Run{})
	if err != nil {
		t.Fatal(err)
	}
	if len(y) != len(x) {
		t.Fatalf("%s: %d samples became %d", tr.Name(), len(x), len(y))
	}
	return y, rep
}

// A sample of the table that tests/repair/table makes.
func TestDeclipGains(t *testing.T) {
	x := talk(t, "captain", 0.9)
	for _, c := range []struct {
		effort repair.Effort
		sdr    float64
		least  float64
	}{{repair.Fast, 10, 5}, {repair.Balanced, 10, 5}, {repair.Best, 10, 6}, {repair.Balanced, 4, 4}} {
		y, th := clipTo(x, c.sdr)
		out, rep := apply(t, repair.Declip{Effort: c.effort}, y)
		d := repair.Compare(x, y, out, true)
		t.Logf("%v at %g dB: %+.2f dB; %s", c.effort, c.sdr, d.GainDB, rep.Verdict)
		if d.GainDB < c.least {
			t.Errorf("%v at %g dB: gained %.2f dB, want %g", c.effort, c.sdr, d.GainDB, c.least)
		}
		if rep.Verdict.Outcome != repair.Done && c.sdr >= 7 {
			t.Errorf("outcome %q", rep.Verdict.Outcome)
		}
		for i, v := range y {
			switch {
			case v == th && !(out[i] >= th), v == -th && !(out[i] <= -th):
				t.Fatalf("sample %d: %v restored from %v", i, out[i], v)
			case math.Abs(v) < th && math.Float64bits(out[i]) != math.Float64bits(v):
				t.Fatalf("known sample %d changed from %v to %v", i, v, out[i])
			}
		}
	}
}

func TestDeclipIsTheSameOnAnyCoresAndAsAStream(t *testing.T) {
	x := talk(t, "captain", 5)
	y, th := clipTo(x, 12)
	d := repair.Declip{Effort: repair.Fast, KnownCeiling: true, CeilingDBFS: 20 * math.Log10(th)}
	one, _, err := d.Apply(context.Background(), y, rate, repair.Run{Cores: 1})
	if err != nil {
		t.Fatal(err)
	}
	shares := []float64{}
	four, _, err := d.Apply(context.Background(), y, rate, repair.Run{Cores: 4, Progress: func(s float64) { shares = append(shares, s) }})
	if err != nil {
		t.Fatal(err)
	}
	if len(shares) == 0 || shares[len(shares)-1] != 1 {
		t.Errorf("progress ended at %v", shares)
	}
	level := sim.DB(d.CeilingDBFS - 0.001).Lin()
	m, err := repair.NewMender(rate, repair.Fast, level)
	if err != nil {
		t.Fatal(err)
	}
	var streamed []float64
	r := rand.New(rand.NewPCG(1, 2))
	for i := 0; i < len(y); {
		n := min(len(y)-i, r.IntN(9000))
		streamed = append(streamed, m.Write(y[i:i+n])...)
		i += n
	}
	streamed = append(streamed, m.Flush()...)
	if len(streamed) != len(y) {
		t.Fatalf("stream gave %d of %d samples", len(streamed), len(y))
	}
	changed := 0
	for i := range one {
		if one[i] != four[i] || one[i] != streamed[i] {
			t.Fatalf("sample %d: %v on one core, %v on four, %v streamed", i, one[i], four[i], streamed[i])
		}
		if one[i] != y[i] {
			changed++
		}
	}
	if changed == 0 {
		t.Error("nothing was restored")
	}
}

func TestDeclipStops(t *testing.T) {
	x := talk(t, "captain", 5)
	y, _ := clipTo(x, 5)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, _, err := (repair.Declip{}).Apply(ctx, y, rate, repair.Run{}); !errors.Is(err, context.Canceled) {
		t.Errorf("got %v", err)
	}
}

// The static curve is that of Giannoulis, Massberg, Reiss (2012), equation 4; a
// steady sine must come out at the level it gives.
func TestStaticCurves(t *testing.T) {
	for _, in := range []float64{-50, -30, -20, -12, -6, -1} {
		x := make([]float64, rate)
		for i := range x {
			x[i] = sim.DB(in).Lin() * math.Sin(2*math.Pi*997*float64(i)/rate)
		}
		c := repair.Compress{ThresholdDBFS: -24, Ratio: 4, KneeDB: 6, AttackMS: 0, ReleaseMS: 2000}
		y, _ := apply(t, c, x)
		want := in
		switch over := in + 24; {
		case over > 3:
			want = -24 + over/4
		case over > -3:
			want = in - 0.75*(over+3)*(over+3)/12
		}
		if got := meter.DB(peak(y[rate/2:])); math.Abs(got-want) > 0.05 {
			t.Errorf("compressor: %g dBFS gives %.2f, want %.2f", in, got, want)
		}
		l := repair.Limit{CeilingDBFS: -10, LookAheadMS: 2, ReleaseMS: 2000}
		y, _ = apply(t, l, x)
		if got := meter.DB(peak(y[rate/2:])); math.Abs(got-min(in, -10)) > 0.05 {
			t.Errorf("limiter: %g dBFS gives %.2f", in, got)
		}
		if p := meter.DB(peak(y)); p > -10+1e-9 {
			t.Errorf("limiter let %.3f dBFS through a ceiling of -10", p)
		}
	}
}

func TestDynamicsBringNothingBack(t *testing.T) {
	for _, who := range []string{"captain"} {
		x := talk(t, who, 1.6)
		for _, sdr := range []float64{3, 7, 10, 15} {
			y, _ := clipTo(x, sdr)
			lim := repair.DefaultLimit()
			lim.CeilingDBFS = meter.DB(peak(y)) - 6
			comp := repair.DefaultCompress()
			comp.ThresholdDBFS = lim.CeilingDBFS - 6
			for _, tr := range []repair.Treatment{lim, comp, repair.Gain{GainDB: -6}} {
				out, _ := apply(t, tr, y)
				if d := repair.Compare(x, y, out, false); d.GainDB > 0.01 {
					t.Errorf("%s at %g dB came %.3f dB nearer to the truth", tr.Name(), sdr, d.GainDB)
				}
			}
		}
	}
}

func TestSplice(t *testing.T) {
	x := talk(t, "captain", 1.6)
	for _, c := range []struct{ delay, gain float64 }{{0, -12}, {50, -24}, {-50, -6}, {7.3, -20}, {0.6, -3}} {
		y, _ := clipTo(x, 8)
		d := c.delay * rate / 1000
		whole := int(math.Round(d))
		frac := 0.0
		if c.delay == 7.3 || c.delay == 0.6 {
			whole, frac = int(math.Floor(d)), 0.37
		}
		safety := make([]float64, len(x))
		for i := range safety {
			safety[i] = sim.DB(c.gain).Lin() * between(x, i-whole, frac)
		}
		out, rep := apply(t, repair.DefaultSplice(safety), y)
		got := repair.SDR(x[rate/10:len(x)-rate/10], out[rate/10:len(x)-rate/10], true)
		g, _ := rep.Number("gain_db")
		ms, _ := rep.Number("delay_ms")
		t.Logf("%+v: SDR %.1f dB, found %.3f dB %.4f ms; %s", c, got, g, ms, rep.Verdict)
		if got < 60 {
			t.Errorf("%+v: SDR %.1f dB, want 60", c, got)
		}
		if math.Abs(g+c.gain) > 0.02 || math.Abs(ms-(float64(whole)+frac)*1000/rate) > 0.002 {
			t.Errorf("%+v: found %.3f dB, %.4f ms", c, g, ms)
		}
	}
	other := talk(t, "edwin", 1.6)
	y, _ := clipTo(x, 8)
	if out, rep := apply(t, repair.DefaultSplice(other), y); rep.Verdict.Outcome != repair.Hopeless || out[1000] != y[1000] {
		t.Errorf("another sound was spliced in: %+v", rep)
	}
}

// between delays by a fraction with a longer kernel than the one under test.
func between(x []float64, i int, frac float64) float64 {
	if frac == 0 {
		if i < 0 || i >= len(x) {
			return 0
		}
		return x[i]
	}
	s := 0.0
	const half = 200
	for k := -half; k <= half; k++ {
		if p := i + k; p >= 0 && p < len(x) {
			u := float64(k) + frac
			s += x[p] * math.Sin(math.Pi*u) / (math.Pi * u) * (0.5 + 0.5*math.Cos(math.Pi*u/(half+1)))
		}
	}
	return s
}

// A take made 12 dB too low has 12 dB more noise when brought up; noise reduction
// must win that back without hurting the words.
func TestDenoiseWinsBackALowTake(t *testing.T) {
	x := talk(t, "captain", 4)
	quiet := make([]float64, rate)
	x = append(append(quiet, x...), quiet...)
	r := rand.New(rand.NewPCG(5, 5))
	full, low := make([]float64, len(x)), make([]float64, len(x))
	const noise = 5e-4 // -66 dB re peak
	for i := range x {
		full[i] = x[i] + noise*r.NormFloat64()
		low[i] = x[i]/4 + noise*r.NormFloat64()
	}
	brought, _ := apply(t, repair.Gain{GainDB: 20 * math.Log10(4)}, low)
	out, rep := apply(t, repair.DefaultDenoise(), brought)
	level := func(y []float64) float64 { return meter.PowerDB(meter.MeanSquare(y[rate/5 : rate*4/5])) }
	sdr := repair.SDR(x, out, true)
	t.Logf("noise: full gain %.1f dB, low %.1f dB, treated %.1f dB; SDR %.1f dB (untreated %.1f); %s",
		level(full), level(brought), level(out), sdr, repair.SDR(x, brought, true), rep.Verdict)
	if level(out) > level(full)+1 {
		t.Errorf("noise %.1f dB, at full gain %.1f", level(out), level(full))
	}
	if sdr < 20 || sdr < repair.SDR(x, brought, true) {
		t.Errorf("SDR of the words %.1f dB", sdr)
	}
	// Musical noise: what is left of steady noise must not be peakier than noise.
	if a, b := kurtosisOverTime(out[rate/5:rate*4/5]), kurtosisOverTime(brought[rate/5:rate*4/5]); a > 1.5*b {
		t.Errorf("the noise flickers: kurtosis %.2f, before %.2f", a, b)
	}
}

// kurtosisOverTime is the mean fourth over squared second moment of narrow bands.
func kurtosisOverTime(x []float64) float64 {
	sum, n := 0.0, 0.0
	for f := 500.0; f < 8000; f += 700 {
		var re, im, m2, m4, c float64
		for i, v := range x {
			p := 2 * math.Pi * f * float64(i) / rate
			re += 0.002 * (v*math.Cos(p) - re)
			im += 0.002 * (v*math.Sin(p) - im)
			if i > 3000 && i%500 == 0 {
				e := re*re + im*im
				m2 += e
				m4 += e * e
				c++
			}
		}
		sum += m4 / c / (m2 / c * m2 / c)
		n++
	}
	return sum / n
}

func TestDeliver(t *testing.T) {
	x := talk(t, "captain", 4)
	scale(x, 0.3)
	l, _ := meter.NewLoudness(rate, 1)
	l.WriteMono(x)
	have := l.Integrated()
	tp := meter.NewTruePeak(rate)
	tp.Write(x)
	tp.Flush()
	room := -1 - tp.DB() // what gain the ceiling allows
	for _, c := range []struct {
		target, limit float64
		outcome       repair.Outcome
	}{{have + room - 3, 0, repair.Done}, {have + room + 4, 0, repair.Partly}, {have + room + 4, 10, repair.Done}, {have + room + 12, 3, repair.Partly}} {
		d := repair.Deliver{LoudnessLUFS: c.target, CeilingDBTP: -1, LimitDB: c.limit}
		out, rep := apply(t, d, x)
		l, _ := meter.NewLoudness(rate, 1)
		l.WriteMono(out)
		tp := meter.NewTruePeak(rate)
		tp.Write(out)
		tp.Flush()
		red, _ := rep.Number("reduction_max_db")
		t.Logf("target %.1f limit %g: %.2f LUFS, %.2f dBTP, limited %.1f dB: %s", c.target, c.limit, l.Integrated(), tp.DB(), red, rep.Verdict)
		if rep.Verdict.Outcome != c.outcome {
			t.Errorf("outcome %q, want %q", rep.Verdict.Outcome, c.outcome)
		}
		if tp.DB() > -1+1e-6 {
			t.Errorf("true peak %.3f dBTP", tp.DB())
		}
		if c.outcome == repair.Done && math.Abs(l.Integrated()-c.target) > 0.15 {
			t.Errorf("loudness %.2f, want %.2f", l.Integrated(), c.target)
		}
		if red > c.limit+0.5 {
			t.Errorf("limited by %.1f dB, allowed %.1f", red, c.limit)
		}
	}
}

// Butterworth: |H|² = 1/(1+(fc/f)^2n), with frequencies warped by the bilinear
// transform.
func TestHighPass(t *testing.T) {
	for _, slope := range []int{12, 24} {
		h := repair.HighPass{FrequencyHz: 100, SlopeDB: slope}
		for _, f := range []float64{30, 50, 100, 200, 1000} {
			x := make([]float64, 2*rate)
			for i := range x {
				x[i] = math.Sin(2 * math.Pi * f * float64(i) / rate)
			}
			y, _ := apply(t, h, x)
			r := math.Tan(math.Pi*100/rate) / math.Tan(math.Pi*f/rate)
			want := -10 * math.Log10(1+math.Pow(r, float64(slope)/3))
			got := meter.PowerDB(meter.MeanSquare(y[rate:]) * 2)
			if math.Abs(got-want) > 0.02 {
				t.Errorf("%d dB: %g Hz %.3f dB, want %.3f", slope, f, got, want)
			}
		}
	}
}

func TestProcessorsDoNotDependOnBlocksNorAllocate(t *testing.T) {
	x := talk(t, "captain", 1)
	x[500], x[900] = math.NaN(), math.Inf(1)
	profile := repair.LearnNoise(noiseOf(rate, 0.01), rate)
	late := repair.DefaultLimit()
	late.LookAheadMS = 0
	for _, s := range []repair.Streaming{repair.Gain{GainDB: 3}, repair.DefaultHighPass(), repair.DefaultLimit(), late,
		repair.DefaultCompress(), repair.Denoise{ReductionDB: 12, Profile: profile}} {
		p, err := s.Processor(rate)
		if err != nil {
			t.Fatal(err)
		}
		whole := append([]float64(nil), x...)
		p.Process(whole)
		p.Reset()
		r := rand.New(rand.NewPCG(3, 3))
		cut := append([]float64(nil), x...)
		for i := 0; i < len(cut); {
			n := min(len(cut)-i, []int{0, 1, 7, 511, 512, 513, 4096}[r.IntN(7)])
			p.Process(cut[i : i+n])
			i += n
		}
		for i := range cut {
			if cut[i] != whole[i] || math.IsNaN(cut[i]) || math.IsInf(cut[i], 0) {
				t.Fatalf("%s: sample %d is %v in blocks, %v whole", s.Name(), i, cut[i], whole[i])
			}
		}
		buf := make([]float64, 512)
		if n := testing.AllocsPerRun(20, func() { p.Process(buf) }); n != 0 {
			t.Errorf("%s allocates %g times a block", s.Name(), n)
		}
	}
}

// Linked channels get one gain, and one channel alone what the processor gives it.
func TestLinked(t *testing.T) {
	x, z := talk(t, "captain", 1.5), talk(t, "edwin", 1.5)
	scale(z, 0.5)
	attack := repair.DefaultLimit()
	attack.CeilingDBFS, attack.LookAheadMS = -9, 0
	ahead := repair.DefaultLimit()
	ahead.CeilingDBFS = -9
	r := rand.New(rand.NewPCG(4, 4))
	for _, s := range []repair.Streaming{attack, ahead, repair.DefaultCompress()} {
		p, err := s.Processor(rate)
		if err != nil {
			t.Fatal(err)
		}
		want := append([]float64(nil), x...)
		p.Process(want)
		one, err := repair.NewLinked(s, rate, 1)
		if err != nil {
			t.Fatal(err)
		}
		two, err := repair.NewLinked(s, rate, 2)
		if err != nil {
			t.Fatal(err)
		}
		mono, left, right := append([]float64(nil), x...), append([]float64(nil), x...), append([]float64(nil), z...)
		for i := 0; i < len(x); {
			n := min(len(x)-i, r.IntN(3000))
			one.Process([][]float64{mono[i : i+n]})
			two.Process([][]float64{left[i : i+n], right[i : i+n]})
			i += n
		}
		late := two.Latency()
		for i := range want {
			if mono[i] != want[i] {
				t.Fatalf("%s: sample %d is %v linked, %v alone", s.Name(), i, mono[i], want[i])
			}
			if i < late {
				continue
			}
			// left/x = right/z
			if a, b := left[i]*z[i-late], right[i]*x[i-late]; math.Abs(a-b) > 1e-9 {
				t.Fatalf("%s: sample %d: the channels were turned down differently", s.Name(), i)
			}
		}
		if one.ReductionDB() < 1 || two.ReductionDB() < 1 {
			t.Errorf("%s: turned down by %.2f and %.2f dB", s.Name(), one.ReductionDB(), two.ReductionDB())
		}
		buf := [][]float64{make([]float64, 512), make([]float64, 512)}
		if n := testing.AllocsPerRun(20, func() { two.Process(buf) }); n != 0 {
			t.Errorf("%s allocates %g times a block", s.Name(), n)
		}
	}
	if _, err := repair.NewLinked(repair.Gain{}, rate, 2); err == nil {
		t.Error("a gain was linked")
	}
}

// What is learnt of noise must not depend on blocks, and must be the noise's level:
// of white noise of power 1 every bin of a Hann-weighted frame holds half the frame.
func TestNoiseLearner(t *testing.T) {
	x := noiseOf(8*rate, 1e-3)
	for i, v := range talk(t, "captain", 5) {
		x[2*rate+i] += v
	}
	l, err := repair.NewNoiseLearner(rate)
	if err != nil {
		t.Fatal(err)
	}
	whole, _ := repair.NewNoiseLearner(rate)
	whole.Write(x)
	r := rand.New(rand.NewPCG(6, 6))
	for i := 0; i < len(x); {
		n := min(len(x)-i, r.IntN(5000))
		l.Write(x[i : i+n])
		i += n
	}
	at, want := l.Quiet(), whole.Quiet()
	if len(at) < 10 || len(at) != len(want) {
		t.Fatalf("%d frames, %d in one piece", len(at), len(want))
	}
	for i, a := range at {
		if a != want[i] {
			t.Fatalf("frame %d is at %d, in one piece at %d", i, a, want[i])
		}
		l.Add(x[a:])
	}
	p := l.Profile()
	mean := 0.0
	for _, v := range p.Power[4 : len(p.Power)-4] {
		mean += v / float64(len(p.Power)-8)
	}
	if db := meter.PowerDB(mean / (1e-6 * float64(l.FrameLen()) / 2)); math.Abs(db) > 0.7 {
		t.Errorf("learnt %.2f dB beside the noise", db)
	}
	short, _ := repair.NewNoiseLearner(rate)
	short.Write(x[:3000])
	if short.Quiet() != nil || short.Profile() != nil {
		t.Error("learnt from next to nothing")
	}
}

func noiseOf(n int, rms float64) []float64 {
	r := rand.New(rand.NewPCG(9, 9))
	x := make([]float64, n)
	for i := range x {
		x[i] = rms * r.NormFloat64()
	}
	return x
}

func TestStack(t *testing.T) {
	x := talk(t, "captain", 1.6)
	y, _ := clipTo(x, 12)
	var last float64
	s := repair.Stack{repair.DefaultHighPass(), repair.Declip{Effort: repair.Fast}, repair.TurnDown{CeilingDBFS: -1}}
	out, reps, err := s.Apply(context.Background(), y, rate, repair.Run{Progress: func(p float64) {
		if p < last-1e-9 {
			t.Errorf("progress went from %g to %g", last, p)
		}
		last = p
	}})
	if err != nil || len(reps) != 3 || last != 1 {
		t.Fatalf("%v %d %g", err, len(reps), last)
	}
	if meter.DB(peak(out)) > -1+1e-9 {
		t.Error("does not fit")
	}
	bad := repair.Stack{repair.Gain{}, repair.Gain{GainDB: math.NaN()}}
	var se *repair.SettingError
	if _, _, err := bad.Apply(context.Background(), x, rate, repair.Run{}); !errors.As(err, &se) {
		t.Errorf("got %v", err)
	}
}

func TestReportsAreJSON(t *testing.T) {
	_, rep := apply(t, repair.DefaultDenoise(), noiseOf(rate, 1e-3))
	rep.Numbers = append(rep.Numbers, repair.Number{Key: "level_dbfs", Value: math.Inf(-1)})
	b, err := json.Marshal(struct {
		R repair.Report
		D repair.Distance
	}{rep, repair.Distance{AfterDB: math.Inf(1)}})
	if err != nil || !strings.Contains(string(b), `"level_dbfs","value":null`) || !strings.Contains(string(b), `"after_db":null`) {
		t.Errorf("%v %s", err, b)
	}
}
