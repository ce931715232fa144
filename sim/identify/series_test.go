package identify

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestSlates: every step and mark is read back from noise, from a clipped wave and after a
// room's echoes, at several rates; and nothing is read where there is none.
func TestSlates(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 4))
	for k := range 40 {
		rate := []int{16000, 44100, 48000}[k%3]
		step, mark := Quiet+Step(k%7), float64(r.IntN(1024))/10
		s, err := WriteSlate(step, mark, rate, 0.1)
		if err != nil {
			t.Fatal(err)
		}
		at := rate/2 + r.IntN(rate)
		x := make([]float64, at+len(s)+rate/2)
		copy(x[at:], s)
		y := append([]float64(nil), x...)
		for _, late := range []float64{0.011, 0.023, 0.037} {
			d := int(late * float64(rate))
			for i := d; i < len(y); i++ {
				y[i] += 0.3 * x[i-d]
			}
		}
		for i := range y {
			y[i] += 0.03 * r.NormFloat64()
			if k%2 == 1 {
				y[i] = min(max(30*y[i], -1), 1)
			}
		}
		got, err := Slates(&mem{x: y}, rate)
		if err != nil || len(got) != 1 || got[0].Step != step || got[0].Mark != mark || math.Abs(float64(got[0].At)-float64(at)) > 0.04*float64(rate) {
			t.Errorf("%d Hz, %v at mark %v, frame %d: %+v, %v", rate, step, mark, at, got, err)
		}
	}
	if got, _ := Slates(&mem{x: talk(20, r)}, testRate); len(got) != 0 {
		t.Error("a slate in talk:", got)
	}
	for _, m := range []float64{-1, 0.05, 200, math.NaN()} {
		if _, err := WriteSlate(Steps, m, 48000, 0.1); !AsFault(err) {
			t.Error(m, err)
		}
	}
}

// FuzzSlates: no code of tones, however wrong, is read as a slate that was not written.
func FuzzSlates(f *testing.F) {
	f.Add(uint16(3<<10|45), uint8(3), uint8(2))
	f.Fuzz(func(t *testing.T, v uint16, place, add uint8) {
		step, mark := Step(v>>10&7), float64(v&1023)/10
		c, err := code(step, mark)
		if err != nil {
			return
		}
		i := int(place) % slateLength
		was := c[i]
		c[i] = (c[i] + int8(add%10)) % 10
		e := &ear{rate: 8000, chunk: 80}
		for range 3 {
			e.heard = append(e.heard, -1)
		}
		for _, tone := range c {
			for range perTone {
				e.heard = append(e.heard, tone)
			}
		}
		got := e.slates()
		if c[i] == was && (len(got) != 1 || got[0].Step != step || got[0].Mark != mark) {
			t.Fatalf("%v %v: %+v", step, mark, got)
		}
		if c[i] != was && len(got) > 0 {
			t.Fatalf("one wrong tone, and %v at %v is read as %+v", step, mark, got)
		}
	})
}

// chain is what a recorder of this test makes of a sound at its microphone.
func chain(x []float64, gainDB, inDB, outDB float64, r *rand.Rand) []float64 {
	g, a, b := math.Pow(10, gainDB/20), math.Pow(10, inDB/20), math.Pow(10, outDB/20)
	y := make([]float64, len(x))
	for i, v := range x {
		y[i] = g*(v+a*r.NormFloat64()) + b*r.NormFloat64()
	}
	return converted(y, 24, -200, r)
}

// TestNoiseIntervals: of random chains the intervals of both noises hold the truth in nine of
// ten, and are at most three times as wide as the rms error: gains are uncertain by what
// a tone that is played again differs by, which does not touch what lies behind the gain. Its
// interval was eight times as wide as the error.
func TestNoiseIntervals(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 2))
	type tally struct{ n, in, sum, half float64 }
	var a, b tally
	add := func(y *tally, e Estimate, truth float64) {
		y.n++
		y.sum += (e.Value - truth) * (e.Value - truth)
		y.half += (e.High - e.Low) / 2
		if e.Low <= truth && truth <= e.High {
			y.in++
		}
	}
	for range 120 {
		gains := []float64{0}
		for range 5 {
			gains = append(gains, gains[len(gains)-1]+2+7*r.Float64())
		}
		// Either dominates at two marks and more.
		in, out := -100.0, -100+gains[1]+3+(gains[4]-gains[1]-6)*r.Float64()
		var list []Heard
		for k, gain := range gains {
			tone := -60 + gain + 0.1*r.NormFloat64()
			level := 10*math.Log10(math.Pow(10, (in+gain)/10)+math.Pow(10, out/10)) + 0.03*r.NormFloat64()
			list = append(list, Heard{Step: Steps, Mark: float64(k), Levels: Levels{Tone: Estimate{tone, tone - 0.01, tone + 0.01}}, Full: 1},
				Heard{Step: Quiet, Mark: float64(k), Levels: Levels{Noise: Estimate{level, level - 0.05, level + 0.05}}, Full: 1})
		}
		g, _ := Gains(list)
		n := NoisesOf(list, g)
		add(&a, n.In, in)
		add(&b, n.Out, out)
	}
	for what, y := range map[string]tally{"before": a, "after": b} {
		rms := math.Sqrt(y.sum / y.n)
		t.Logf("noise %s the gain: in %.1f %%, rms %.3f dB, half a width %.2f of it", what, 100*y.in/y.n, rms, y.half/y.n/rms)
		if y.in < 0.85*y.n || y.half/y.n > 3*rms {
			t.Errorf("noise %s the gain: in %.1f %%, rms %.3f dB, half a width %.3f", what, 100*y.in/y.n, rms, y.half/y.n)
		}
	}
}

// TestToneMoves: an automatic level shows in one file: a steady tone that it turns down or up
// is no tone to tell the gain from. Noise moves none.
func TestToneMoves(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 9))
	for _, c := range []struct {
		by, ms, noiseDB float64 // noise in 100 ms windows near the tone, about, under it
		moves           bool
	}{{-6, 300, 40, true}, {-4, 500, 30, true}, {4, 2000, 25, true}, {0, 1, 16, false}, {0, 1, 16, false}, {0, 1, 18, false}, {0, 1, 18, false}, {-0.3, 100, 40, false}} {
		x := make([]float64, 6*testRate)
		level := 0.1 * math.Pow(10, -c.noiseDB/20) * math.Sqrt(testRate*0.1/2)
		for i := range x {
			if s := float64(i)/testRate - 1; s > 0 && s < 4 {
				g := math.Pow(10, c.by*(1-math.Exp(-1000*s/c.ms))/20)
				x[i] = 0.1 * g * math.Sin(2*math.Pi*ToneHz*s)
			}
			x[i] += level * r.NormFloat64()
		}
		l, err := Listen(&mem{x: x}, testRate, 0, -1)
		if err != nil {
			t.Fatal(err)
		}
		if c.moves != (l.Moves != 0) || c.moves && (l.Moves/c.by < 0.4 || l.Moves/c.by > 1.1) {
			t.Errorf("%+v: moves by %.2f dB", c, l.Moves)
		}
		g, notes := Gains([]Heard{{From: "a.wav", Step: Steps, Mark: 1, Levels: l, Peak: 0.2, Full: 1}})
		if c.moves != (len(notes) == 1) || c.moves == (len(g.Marks) == 1) {
			t.Errorf("%+v: %d marks, %v", c, len(g.Marks), notes)
		}
	}
}

// fallsBelow is by how much the densities of TestHighPass fall from their highest to the mean
// of 20 to 40 Hz, dB, by the filters' transfer functions, and the high-pass's corner, Hz.
func fallsBelow(order int, hz float64, room bool) (falls, corner float64) {
	at := func(f float64) float64 {
		p := 1e-6
		if room {
			p = 0.0004*0.0004/(1+0.98*0.98-2*0.98*math.Cos(2*math.Pi*f/testRate)) + 0.0005*0.0005
		}
		a, w := math.Tan(math.Pi*f/testRate), math.Tan(math.Pi*hz/testRate)
		return 10 * math.Log10(p*math.Pow(a*a/(a*a+w*w), float64(order))+1e-10)
	}
	top := math.Inf(-1)
	for f := 40.0; f < 640; f++ {
		top = max(top, at(f))
	}
	// Of two poles alike it lies where either has fallen by half of 3 dB.
	return top - (at(22.4)+at(28.3)+at(35.6))/3, hz * []float64{1, 1, 1.55}[order]
}

// TestHighPass: what quiet recordings hold before the gain is told to be filtered where it
// falls away, and nowhere else: not in the noise of a room, which rises, with hum and a
// knock, nor in that of an input. tests/recorder filters with another program.
func TestHighPass(t *testing.T) {
	r, told := rand.New(rand.NewPCG(3, 1)), 0
	for k := range 24 {
		order, hz := k%3, 50*math.Pow(2, r.Float64())
		x := make([]float64, 5*testRate)
		red, room := 0.0, k%2 == 1
		for i := range x {
			red += 0.02 * (r.NormFloat64() - red)
			x[i] = 0.001 * r.NormFloat64()
			if room {
				x[i] = 0.02*red + 0.0005*r.NormFloat64() + 0.002*math.Sin(2*math.Pi*50*float64(i)/testRate)
			}
		}
		for i := range testRate / 20 {
			x[testRate+i] += 0.1 * r.NormFloat64() * math.Exp(-float64(i)/200)
		}
		w := math.Tan(math.Pi * hz / testRate)
		for range order { // poles alike
			px, py := 0.0, 0.0
			for i, v := range x {
				py = ((v - px) + (1-w)*py) / (1 + w)
				px = v
				x[i] = py
			}
		}
		for i := range x { // after the gain
			x[i] += 1e-5 * r.NormFloat64()
		}
		got, err := HighPass(&mem{x: x}, testRate)
		if err != nil {
			t.Fatal(err)
		}
		falls, corner := fallsBelow(order, hz, room)
		if got == 0 && falls > passFalls+1.5 || got != 0 && (falls < passFalls-1.5 || order == 0) {
			t.Errorf("order %d, %.0f Hz, room %v: told %.0f Hz of what falls by %.1f dB", order, hz, room, got, falls)
		}
		if got != 0 && (got < corner/1.5 || got > corner*1.5) {
			t.Errorf("order %d, %.0f Hz, room %v: told %.0f Hz, not %.0f Hz", order, hz, room, got, corner)
		}
		if got != 0 {
			told++
		}
	}
	if told < 6 {
		t.Errorf("%d told", told)
	}
	if got, _ := HighPass(&mem{x: make([]float64, 100)}, testRate); got != 0 {
		t.Error("too short:", got)
	}
}

// TestGainsAndNoises: random gain laws and noises are found again: gains within 0.3 dB,
// noises within 1 dB where each dominates at one mark.
func TestGainsAndNoises(t *testing.T) {
	r := rand.New(rand.NewPCG(6, 6))
	tone := make([]float64, 2*testRate)
	for i := range tone {
		tone[i] = 3e-4 * math.Sin(2*math.Pi*1000.05*float64(i)/testRate)
	}
	for range 8 {
		in, out := -97-6*r.Float64(), -82-6*r.Float64()
		gains := []float64{0}
		for range 5 {
			gains = append(gains, gains[len(gains)-1]+3+9*r.Float64())
		}
		var list []Heard
		for k, gain := range gains {
			for _, step := range []Step{Steps, Quiet} {
				x := tone
				if step == Quiet {
					x = make([]float64, len(tone))
				}
				y := chain(x, gain, in, out, r)
				l, err := Listen(&mem{x: y}, testRate, 0, -1)
				if err != nil {
					t.Fatal(err)
				}
				h := Heard{From: "x.wav", Step: step, Mark: float64(2 * k), Levels: l, Full: 1}
				for _, v := range y {
					h.Peak = max(h.Peak, math.Abs(v))
				}
				list = append(list, h)
			}
		}
		g, notes := Gains(list)
		n := NoisesOf(list, g)
		if len(g.Marks) < 5 {
			t.Errorf("%d marks: %v", len(g.Marks), notes)
			continue
		}
		for k, m := range g.Marks {
			if math.Abs(m.Gain.Value-gains[k]) > 0.3 {
				t.Errorf("mark %v: %.2f dB, not %.2f", m.Mark, m.Gain.Value, gains[k])
			}
		}
		for _, c := range []struct {
			what  string
			got   Estimate
			truth float64
		}{{"in", n.In, in + 3.01}, {"out", n.Out, out + 3.01}} { // a sine's full scale
			if math.Abs(c.got.Value-c.truth) > 1 || c.got.Low > c.got.Value || c.got.High < c.got.Value {
				t.Errorf("noise %s: %+v, not %.2f (%v)", c.what, c.got, c.truth, n.Notes)
			}
		}
		if v := g.At(3); v < g.Marks[1].Gain.Value || v > g.Marks[2].Gain.Value {
			t.Error("between marks the law is not monotone:", v)
		}
	}
}

// TestOneMark: what one mark cannot tell is a bound, and contradictions are told.
func TestOneMark(t *testing.T) {
	h := func(step Step, mark, tone, noise float64) Heard {
		e := func(v float64) Estimate { return Estimate{v, v - 0.1, v + 0.1} }
		return Heard{From: "x.wav", Step: step, Mark: mark, Levels: Levels{Tone: e(tone), Noise: e(noise)}, Peak: 0.1, Full: 1}
	}
	g, _ := Gains([]Heard{h(Steps, 5, -30, 0)})
	n := NoisesOf([]Heard{h(Quiet, 5, 0, -80)}, g)
	if n.In.Known() || n.Out.Known() || n.Out.High < -80 || len(n.Notes) == 0 {
		t.Errorf("%+v", n)
	}
	if _, notes := Gains([]Heard{h(Steps, 5, -30, 0), h(Steps, 5, -35, 0)}); len(notes) == 0 {
		t.Error("5 dB between two recordings at one mark, and nothing is said")
	}
	if _, notes := Gains([]Heard{h(Steps, 5, -30, 0), h(Steps, 6, -35, 0)}); len(notes) == 0 {
		t.Error("less gain at a higher mark, and nothing is said")
	}
}

// TestBentTone: a mark at which a stage bends the tone is left out, and said so; there the
// gain was told up to 8 dB too low.
func TestBentTone(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 1))
	var list []Heard
	for k, gain := range []float64{0.02, 0.1, 0.3, 1} {
		y := make([]float64, testRate)
		for i := range y {
			v := gain * math.Sin(2*math.Pi*1000*float64(i)/testRate)
			y[i] = v/math.Sqrt(1+4*v*v) + 1e-4*r.NormFloat64() // stops at 0.5
		}
		l, err := Listen(&mem{x: y}, testRate, 0, -1)
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, Heard{From: "x.wav", Step: Steps, Mark: float64(k), Levels: l, Peak: 0.5, Full: 1})
	}
	g, notes := Gains(list)
	if len(g.Marks) != 2 || len(notes) != 2 || math.Abs(g.Marks[1].Gain.Value-13.98) > 0.2 {
		t.Errorf("%+v, %q", g.Marks, notes)
	}
}

// TestClips: where a stage stops, and how.
func TestClips(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 9))
	x := times(talk(8, r), 4)
	bend := func(f func(float64) float64) []float64 {
		y := make([]float64, len(x))
		for i, v := range x {
			y[i] = f(v)
		}
		return converted(y, 24, -90, r)
	}
	for _, c := range []struct {
		what  string
		f     func(float64) float64
		level float64
		shape Shape
		one   bool
	}{
		{"converter", func(v float64) float64 { return v }, 1, Hard, false},
		{"rail", func(v float64) float64 { return min(max(v, -0.6), 0.6) }, 0.6, Hard, false},
		{"one side", func(v float64) float64 { return max(v/4, -0.1) }, 0.1, Hard, true},
		{"round", func(v float64) float64 { return 0.7 * math.Tanh(v/0.7) }, 0.7, Round, false},
		{"rounder", func(v float64) float64 { return v / math.Sqrt(1+v*v/0.25) }, 0.5, Round, false},
		{"one side, then the converter", func(v float64) float64 { return min(v/2, 0.4) }, 0.4, Hard, true},
		{"a tone, whole", nil, math.NaN(), "", false},
		{"whole", func(v float64) float64 { return v / 5 }, math.NaN(), "", false},
	} {
		y := make([]float64, len(x))
		for i := range y {
			y[i] = 0.9 * math.Sin(2*math.Pi*110.3*float64(i)/testRate)
		}
		if y = converted(y, 24, -90, r); c.f != nil {
			y = bend(c.f)
		}
		s := survey(t, y, 24)
		got := ClipOf(s)
		if got.Shape != c.shape || got.OneSided != c.one || math.Abs(got.Level.Value-dB(c.level)) > 0.1 || got.Level.Known() == math.IsNaN(c.level) {
			t.Errorf("%s: %+v, ceiling %+v, want %.2f dBFS", c.what, got, s.Ceiling, dB(c.level))
		}
	}
	if s := survey(t, converted(x, 16, -60, r), 24); s.Bits != 16 {
		t.Errorf("16 bits in 24: %d", s.Bits)
	}
}

// TestSoftTone: the codes of a soft tone make flat tops of it; it is no clipped one, which
// would leave the lowest mark out.
func TestSoftTone(t *testing.T) {
	var list []Heard
	r := rand.New(rand.NewPCG(1, 1))
	for k, a := range []float64{0.0068, 0.02} {
		y := make([]float64, 3*48000)
		for i := range y {
			y[i] = math.Round(32768*a*math.Sin(2*math.Pi*1000*float64(i)/48000)+0.5*r.NormFloat64()) / 32768
		}
		m := &mem{x: y}
		s, err := Look(m, Format{Rate: 48000, Full: 1, Step: 1.0 / 32768})
		if err != nil {
			t.Fatal(err)
		}
		l, err := Listen(m, 48000, 0, -1)
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, Heard{From: "x.wav", Step: Steps, Mark: float64(k), Levels: l, Ceiling: s.Ceiling, Peak: s.Peak(), Full: 1})
	}
	if g, notes := Gains(list); len(g.Marks) != 2 || math.Abs(g.Marks[1].Gain.Value-20*math.Log10(0.02/0.0068)) > 0.1 {
		t.Errorf("%+v, %q, ceilings %+v", g.Marks, notes, list[0].Ceiling)
	}
}
