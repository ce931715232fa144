package flat_test

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"gainwright/cmd/gainwright/internal/flat"
	"gainwright/sim"
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

func count(x []float64, full float64) *flat.Counter {
	c := flat.NewCounter(48000, full)
	c.Write(x)
	return c
}

// Voices that no ceiling touched have no flat tops.
func TestCleanVoices(t *testing.T) {
	for _, v := range voice.Talkers() {
		x, r := take(t, v.Name, func(c *sim.Chain) { c.Preamp.GainDB = 30 })
		if r.Overs > 0 {
			t.Fatalf("%s: %d overs", v.Name, r.Overs)
		}
		if n := count(x, 1).Count(); n > 0 {
			t.Errorf("%s: %d flat tops in a clean take", v.Name, n)
		}
	}
}

// A clipped take that was turned down by a constant gain shows nearly all of its
// longer overs; one that a limiter turned down shows many.
func TestClippedAndTurnedDown(t *testing.T) {
	for _, c := range []struct {
		name  string
		after bool
		least float64 // of the overs
	}{{"constant gain", false, 0.6}, {"limiter after", true, 0.6}} {
		x, r := take(t, "captain", func(ch *sim.Chain) {
			ch.Preamp.GainDB = 52
			ch.Limiter.On = c.after
		})
		if r.Overs < 50 {
			t.Fatalf("only %d overs", r.Overs)
		}
		for i := range x {
			x[i] *= 0.3
		}
		n := count(x, 1)
		t.Logf("%s: %d overs, %d flat tops near %.2f dBFS", c.name, r.Overs, n.Count(), 20*math.Log10(n.Level()))
		if float64(n.Count()) < c.least*float64(r.Overs) {
			t.Errorf("%s: %d flat tops of %d overs", c.name, n.Count(), r.Overs)
		}
		if !c.after {
			if l := 20 * math.Log10(n.Level()/0.3); math.Abs(l) > 0.2 {
				t.Errorf("most lie at %.2f dB re the ceiling", l)
			}
		}
	}
}

func TestSignalsWithout(t *testing.T) {
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
		if n := count(x, 1).Count(); n > 2 {
			t.Errorf("%s: %d flat tops in 20 s", name, n)
		}
	}
}

// The count does not depend on how the signal is cut.
func TestBlocks(t *testing.T) {
	x := make([]float64, 48000)
	for i := range x {
		x[i] = max(-0.4, min(0.4, math.Sin(float64(i)*0.03)))
	}
	want := count(x, 1)
	if want.Count() < 440 {
		t.Fatalf("%d flat tops in a clipped sine", want.Count())
	}
	for _, n := range []int{1, 7, 4096} {
		c := flat.NewCounter(48000, 1)
		for i := 0; i < len(x); i += n {
			c.Write(x[i:min(i+n, len(x))])
		}
		if *c != *want {
			t.Errorf("blocks of %d: %d, %d", n, c.Count(), c.Samples())
		}
	}
	// At full scale they belong to another meter.
	if n := count(x, 0.4).Count(); n != 0 {
		t.Errorf("%d at full scale", n)
	}
}
