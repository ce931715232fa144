package diagnose_test

import (
	"context"
	"encoding/json"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"

	"gainwright/sim"
	"gainwright/sim/diagnose"
	"gainwright/sounds/scenario"
	"gainwright/sounds/voice"
)

// take records a talker and gives the file and the readings.
func take(t *testing.T, talker string, change func(*sim.Chain)) ([]float64, sim.Readings) {
	t.Helper()
	s := scenario.New()
	s.Source.Talker = talker
	s.Each(change)
	p, err := s.Open(context.Background(), nil)
	if err != nil {
		t.Fatal(err)
	}
	strips, err := s.NewStrips(p.Rate)
	if err != nil {
		t.Fatal(err)
	}
	ro, err := sim.NewReadout(p.Rate)
	if err != nil {
		t.Fatal(err)
	}
	var x []float64
	if _, err := sim.Run(context.Background(), p, strips, sim.RunOptions{Sink: func(_ int, tp *sim.Taps) error {
		ro.Write(tp)
		x = append(x, tp.Wave[sim.AtFile]...)
		return nil
	}}); err != nil {
		t.Fatal(err)
	}
	return x, ro.Readings()
}

var pcm24 = diagnose.Options{FullScale: 1 - math.Ldexp(1, -23), Step: math.Ldexp(1, -23)}

func listen(x []float64, o diagnose.Options) (*diagnose.Channel, []diagnose.Finding) {
	c := diagnose.New(48000, o)
	c.Write(x)
	return c, diagnose.Diagnose([]*diagnose.Channel{c})
}

func find(fs []diagnose.Finding, k diagnose.Kind) *diagnose.Finding {
	for i := range fs {
		if fs[i].Kind == k {
			return &fs[i]
		}
	}
	return nil
}

func kinds(fs []diagnose.Finding) (out []diagnose.Kind) {
	for _, f := range fs {
		out = append(out, f.Kind)
	}
	return out
}

// Takes that no ceiling touched are not said to be clipped.
func TestWholeTakes(t *testing.T) {
	for _, v := range voice.Talkers() {
		x, r := take(t, v.Name, func(c *sim.Chain) { c.Preamp.GainDB = 30 })
		if r.Overs > 0 {
			t.Fatalf("%s: %d overs", v.Name, r.Overs)
		}
		_, fs := listen(x, pcm24)
		t.Logf("%s: %v", v.Name, kinds(fs))
		for _, f := range fs {
			if f.Kind.Clipping() {
				t.Errorf("%s: %s (%.2f)", v.Name, f.Title, f.Confidence)
			}
		}
	}
}

// A take that went over, as it was recorded and after what people do to it.
func TestClippedTakes(t *testing.T) {
	for _, who := range []string{"captain", "maren"} {
		clipped, r := take(t, who, func(c *sim.Chain) { c.Preamp.GainDB = 48 })
		if r.Overs < 20 {
			t.Fatalf("only %d overs", r.Overs)
		}
		ridden, _ := take(t, who, func(c *sim.Chain) { c.Preamp.GainDB = 48; c.Limiter.On = true })
		lower := slices.Clone(clipped)
		for i := range lower {
			lower[i] *= 0.3
		}
		highPassed := slices.Clone(clipped)
		in, out := 0.0, 0.0
		for i, v := range highPassed {
			out = 0.99 * (out + v - in)
			in = v
			highPassed[i] = 0.4 * out
		}
		for _, c := range []struct {
			name string
			x    []float64
			want diagnose.Kind
		}{
			{"as recorded", clipped, diagnose.FlatFull}, {"turned down", lower, diagnose.FlatLower},
			{"limiter behind", ridden, diagnose.FlatMoving}, {"high-passed", highPassed, diagnose.FlatSoftened},
		} {
			_, fs := listen(c.x, pcm24)
			f := find(fs, c.want)
			if f == nil {
				t.Errorf("%s, %s: told %v", who, c.name, kinds(fs))
				continue
			}
			if len(f.Where) == 0 || f.Next == nil {
				t.Fatalf("%s, %s: %+v", who, c.name, f)
			}
			t.Logf("%s, %s: %s (%.2f); %.1f ± %.1f dB less gain, true %.1f; at %s", who, c.name, f.Title, f.Confidence, f.Next.LowerDB, f.Next.SpreadDB, -float64(r.HeadroomDB), f.Places(4))
		}
	}
}

// Nearly all overs of some length show as flat tops.
func TestFlatTops(t *testing.T) {
	for _, after := range []bool{false, true} {
		x, r := take(t, "captain", func(c *sim.Chain) { c.Preamp.GainDB = 52; c.Limiter.On = after })
		for i := range x {
			x[i] *= 0.3
		}
		c, _ := listen(x, pcm24)
		n, _, _, level := c.FlatTops()
		t.Logf("limiter after %v: %d overs, %d flat tops near %.2f dBFS", after, r.Overs, n, 20*math.Log10(level))
		if float64(n) < 0.6*float64(r.Overs) {
			t.Errorf("limiter after %v: %d flat tops of %d overs", after, n, r.Overs)
		}
		if l := 20 * math.Log10(level/0.3); !after && math.Abs(l) > 0.2 {
			t.Errorf("most lie at %.2f dB re the ceiling", l)
		}
	}
}

// Signals that are no talk have no flat tops.
func TestOtherSignals(t *testing.T) {
	rnd := rand.New(rand.NewPCG(1, 2))
	signals := map[string]func(i int) float64{
		"noise":      func(int) float64 { return 0.1 * rnd.NormFloat64() },
		"100 Hz":     func(i int) float64 { return 0.5 * math.Sin(2*math.Pi*100*float64(i)/48000) },
		"9 kHz":      func(i int) float64 { return 0.5 * math.Sin(2*math.Pi*9000*float64(i)/48000) },
		"two tones":  func(i int) float64 { return 0.3*math.Sin(float64(i)*0.05) + 0.3*math.Sin(float64(i)*0.41) },
		"silence":    func(int) float64 { return 0 },
		"constant":   func(int) float64 { return 0.5 },
		"8-bit sine": func(i int) float64 { return math.Round(64*math.Sin(float64(i)*0.02)) / 128 },
		"nonsense":   func(int) float64 { return math.Inf(1) },
	}
	for name, f := range signals {
		x := make([]float64, 48000*20)
		for i := range x {
			x[i] = f(i)
		}
		_, fs := listen(x, diagnose.Options{})
		for _, f := range fs {
			if f.Kind.Clipping() {
				t.Errorf("%s: %s", name, f.Title)
			}
		}
	}
}

// Hum and an offset under a voice are found; without them neither is.
func TestHumAndOffset(t *testing.T) {
	x, _ := take(t, "maren", func(c *sim.Chain) { c.Preamp.GainDB = 36 })
	_, fs := listen(x, pcm24)
	if find(fs, diagnose.MainsHum) != nil || find(fs, diagnose.Offset) != nil {
		t.Errorf("told %v of a take without", kinds(fs))
	}
	for _, hz := range []float64{50, 60} {
		y := slices.Clone(x)
		for i := range y {
			ph := 2 * math.Pi * hz * float64(i) / 48000
			y[i] += 0.02 + 0.002*math.Sin(ph) + 0.001*math.Sin(2*ph)
		}
		_, fs := listen(y, pcm24)
		h, o := find(fs, diagnose.MainsHum), find(fs, diagnose.Offset)
		if h == nil || o == nil {
			t.Fatalf("%g Hz: told %v", hz, kinds(fs))
		}
		got, _ := h.Number("hum_hz")
		level, _ := h.Number("hum_dbfs")
		dc, _ := o.Number("dc_percent")
		want := 10 * math.Log10(0.002*0.002+0.001*0.001)
		if got != hz || math.Abs(level-want) > 1.5 || math.Abs(dc-2) > 0.1 {
			t.Errorf("%g Hz: %g Hz at %.1f dBFS, want %.1f; offset %.2f %%", hz, got, level, want, dc)
		}
	}
}

// What is told does not depend on how the signal is cut, and survives what is no
// number.
func TestBlocks(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	x := make([]float64, 48000*6)
	for i := range x {
		s := float64(i) / 48000
		x[i] = max(-0.4, min(0.5, math.Sin(2*math.Pi*140*s)*math.Pow(math.Sin(2*math.Pi*1.5*s), 2)+0.001*r.NormFloat64()))
	}
	x[77], x[4096], x[100001] = math.NaN(), math.Inf(-1), 1e300
	_, want := listen(x, diagnose.Options{})
	for _, size := range []int{1, 7, 4096, 10240, len(x)} {
		c := diagnose.New(48000, diagnose.Options{})
		for i := 0; i < len(x); i += size {
			c.Write(x[i:min(i+size, len(x))])
		}
		if got := diagnose.Diagnose([]*diagnose.Channel{c}); !reflect.DeepEqual(got, want) {
			t.Errorf("blocks of %d: %v, want %v", size, kinds(got), kinds(want))
		}
	}
	if len(want) == 0 {
		t.Error("nothing was found")
	}
	if _, err := json.Marshal(want); err != nil {
		t.Error(err)
	}
}

// Two channels: what both have is said once, what one has names it.
func TestChannels(t *testing.T) {
	x, _ := take(t, "captain", func(c *sim.Chain) { c.Preamp.GainDB = 48 })
	low := slices.Clone(x)
	for i := range low {
		low[i] *= 0.5
	}
	both := []*diagnose.Channel{diagnose.New(48000, pcm24), diagnose.New(48000, pcm24)}
	both[0].Write(x)
	both[1].Write(low)
	fs := diagnose.Diagnose(both)
	full, lower := find(fs, diagnose.FlatFull), find(fs, diagnose.FlatLower)
	if full == nil || lower == nil || !slices.Equal(full.Channels, []int{1}) || !slices.Equal(lower.Channels, []int{2}) {
		t.Errorf("%+v", fs)
	}
}

// Nothing grows, nothing is allocated.
func TestNoAllocation(t *testing.T) {
	c := diagnose.New(48000, pcm24)
	x := make([]float64, 4096)
	for i := range x {
		x[i] = max(-0.3, min(0.3, math.Sin(float64(i)*0.01)))
	}
	c.Write(x)
	if n := testing.AllocsPerRun(200, func() { c.Write(x) }); n > 0 {
		t.Errorf("%v allocations a block", n)
	}
	// Days of it: the slots of time grow longer, not more.
	for range 20 {
		c.Write(x)
	}
}

func FuzzChannel(f *testing.F) {
	f.Add([]byte{1, 2, 3, 4, 5, 6, 7, 8, 9, 250, 250, 250, 250, 250, 3}, 8000)
	f.Fuzz(func(t *testing.T, b []byte, rate int) {
		if rate < 8000 || rate > 192000 {
			return
		}
		c := diagnose.New(rate, diagnose.Options{FullScale: 1 - 1.0/128, Step: 1.0 / 128})
		x := make([]float64, 0, len(b)*50)
		for range 50 {
			for _, v := range b {
				x = append(x, float64(int8(v))/128)
			}
		}
		c.Write(x)
		for _, f := range diagnose.Diagnose([]*diagnose.Channel{c}) {
			if !(f.Confidence >= 0 && f.Confidence <= 1) {
				t.Errorf("%+v", f)
			}
			if _, err := json.Marshal(f); err != nil {
				t.Errorf("%v: %+v", err, f)
			}
			for _, s := range f.Where {
				if s.EndS < s.StartS {
					t.Errorf("%+v", f.Where)
				}
			}
		}
	})
}
