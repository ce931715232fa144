package proof_test

import (
	"context"
	"errors"
	"math"
	"testing"

	"gainwright/sim"
	"gainwright/sim/proof"
)

const rate = 48000

// laugh is a stand-in: harmonics of a moving pitch in bursts, some of which go
// over by overDB with the default chain at the given gain.
func laugh(c sim.Chain, seconds, overDB, pitch float64) []float64 {
	x := make([]float64, int(seconds*rate))
	ph := 0.0
	for i := range x {
		s := float64(i) / rate
		ph += 2 * math.Pi * (pitch + 20*math.Sin(2*math.Pi*3*s)) / rate
		env := 0.05 + math.Pow(max(0, math.Sin(2*math.Pi*4.4*s)), 3)*math.Exp(-s)
		for h := 1; h < 12; h++ {
			x[i] += env / float64(h) * math.Sin(float64(h)*ph+float64(h*h))
		}
	}
	p := 0.0
	for _, v := range x {
		p = max(p, math.Abs(v))
	}
	fs := float64(sim.DBu(c.Converter.FullScaleDBu).Volt()) * math.Sqrt2 * c.DistanceM /
		(c.Microphone.SensitivityMVPerPa / 1000 * sim.DB(c.Preamp.GainDB).Lin())
	for i := range x {
		x[i] *= fs * sim.DB(overDB).Lin() / p
	}
	return x
}

func file(t *testing.T, c sim.Chain, x []float64) []float64 {
	t.Helper()
	s, err := sim.NewStrip(rate, c, 7)
	if err != nil {
		t.Fatal(err)
	}
	var out []float64
	if _, err := sim.Run(context.Background(), &sim.Samples{X: x}, []*sim.Strip{s}, sim.RunOptions{Sink: func(_ int, b *sim.Taps) error {
		out = append(out, b.Wave[sim.AtFile]...)
		return nil
	}}); err != nil {
		t.Fatal(err)
	}
	return out
}

func differ(a, b []float64) (n int) {
	for i := range a {
		if a[i] != b[i] {
			n++
		}
	}
	return n
}

func TestTwin(t *testing.T) {
	for _, f := range []sim.Format{sim.PCM16, sim.PCM24} {
		for _, place := range []sim.LimiterPlace{sim.LimiterOff, sim.LimiterAfter} {
			for _, over := range []float64{3, 8} {
				c := sim.Default().WithPlace(place)
				c.Converter.FullScaleDBu = 4 // 16 dB below the rail
				c.File.Format = f
				x := laugh(c, 0.7, over, 180)
				p, err := proof.Construct(context.Background(), rate, c, 7, x, proof.Options{})
				if err != nil {
					t.Fatal(err)
				}
				t.Logf("%s, limiter %s, %g dB over: %d of %d samples free, level %+.2f dB, difference %.2f dB, %d corrections, residual %.2g LSB",
					f, place, over, p.Free, p.Total, p.LevelDB, p.DifferenceDB, p.Corrections, p.ResidualLSB)
				if !p.Same {
					t.Errorf("%d samples differ", p.Differing)
				}
				if math.Abs(p.LevelDB) < 6 {
					t.Errorf("levels are only %.2f dB apart", p.LevelDB)
				}
				// Each from a run of its own.
				a, b := file(t, c, p.First), file(t, c, p.Second)
				if n := differ(a, b); n != 0 {
					t.Errorf("%d samples of the files differ", n)
				}
				low := c
				low.Preamp.GainDB -= 24
				if differ(file(t, low, p.First), file(t, low, p.Second)) == 0 {
					t.Error("24 dB lower the files are still equal")
				}
				before := c.WithPlace(sim.LimiterBefore)
				if differ(file(t, before, p.First), file(t, before, p.Second)) == 0 {
					t.Error("with the limiter before the converter the files are still equal")
				}
			}
		}
	}
}

func TestNoTwin(t *testing.T) {
	c := sim.Default()
	for name, g := range map[string]struct {
		c    sim.Chain
		x    []float64
		want error
	}{
		"nothing over":      {c, laugh(c, 1, -3, 150), proof.ErrKept},
		"no samples":        {c, nil, proof.ErrKept},
		"limiter before":    {c.WithPlace(sim.LimiterBefore), laugh(c, 1, 6, 150), proof.ErrBefore},
		"everything railed": {railed(c), laugh(c, 1, 6, 150), proof.ErrBent},
	} {
		if _, err := proof.Construct(context.Background(), rate, g.c, 7, g.x, proof.Options{}); !errors.Is(err, g.want) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// railed has its rail just at the converter's full scale.
func railed(c sim.Chain) sim.Chain {
	c.Preamp.RailDBu = c.Converter.FullScaleDBu + 0.02
	return c
}

// TestTwinMoves: the talker leans in while the laugh goes over.
func TestTwinMoves(t *testing.T) {
	c := sim.Default()
	c.Converter.FullScaleDBu = 4
	x := laugh(c, 1.5, 2, 210)
	moves := []sim.Move{{AtS: 0.1, OverS: 0.8, DistanceM: 0.05}}
	p, err := proof.Construct(context.Background(), rate, c, 7, x, proof.Options{Moves: moves})
	if err != nil {
		t.Fatal(err)
	}
	if !p.Same || math.Abs(p.LevelDB) < 6 {
		t.Errorf("%d samples differ, levels %.2f dB apart, residual %.2g LSB", p.Differing, p.LevelDB, p.ResidualLSB)
	}
}
