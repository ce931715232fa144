//go:build full

package diagnose_test

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"testing"

	"gainwright/sim"
	"gainwright/sim/meter"
	"gainwright/sim/proof"
	"gainwright/sim/repair"
	"gainwright/sounds/codec"
	"gainwright/sounds/voice"
	"gainwright/tests/trust"
)

// laughing is a talker who says a little and laughs, so loud that the chain's
// converter runs out by overDB.
func laughing(t *testing.T, c sim.Chain, talker string, seed uint64, overDB float64) []float64 {
	t.Helper()
	p, err := voice.New(voice.Script{{Text: "A pig?", Effort: voice.Raised}, {Do: "laugh", Effort: voice.Loud}}, talker, seed)
	if err != nil {
		t.Fatal(err)
	}
	x := make([]float64, min(p.Length(), 2*voice.Rate))
	for n := 0; n < len(x); {
		k, err := p.Read(x[n:])
		n += k
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	peak := 0.0
	for _, v := range x {
		peak = max(peak, math.Abs(v))
	}
	fs := float64(sim.DBu(c.Converter.FullScaleDBu).Volt()) * math.Sqrt2 * c.DistanceM /
		(c.Microphone.SensitivityMVPerPa / 1000 * sim.DB(c.Preamp.GainDB-c.Preamp.PadDB).Lin())
	for i := range x {
		x[i] *= fs * sim.DB(overDB).Lin() / peak
	}
	return x
}

func record(t *testing.T, c sim.Chain, seed uint64, x []float64) []float64 {
	t.Helper()
	s, err := sim.NewStrip(voice.Rate, c, seed)
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

// correlation of a and b over spans, about zero.
func correlation(a, b []float64, spans []sim.Span) float64 {
	var ab, aa, bb float64
	for _, s := range spans {
		for i := s.Start; i < s.End; i++ {
			ab += a[i] * b[i]
			aa += a[i] * a[i]
			bb += b[i] * b[i]
		}
	}
	return ab / math.Sqrt(aa*bb)
}

func same(a, b []float64) bool { return slices.Equal(a, b) }

func wav(t *testing.T, x []float64, enc codec.Encoding) [32]byte {
	t.Helper()
	b, err := codec.WAVBytes(voice.Rate, [][]float64{x}, enc)
	if err != nil {
		t.Fatal(err)
	}
	return sha256.Sum256(b)
}

// Twenty-one performances of three talkers, at 16 and at 24 bit: the second
// performance leaves the same bytes, is 6 dB or more louder where the converter
// had run out, and is told from the first by correlation; with 24 dB less gain the
// files differ.
func TestTwins(t *testing.T) {
	least, most, rings := math.Inf(1), 0.0, math.Inf(-1)
	n := 0
	for _, format := range []sim.Format{sim.PCM16, sim.PCM24} {
		enc := map[sim.Format]codec.Encoding{sim.PCM16: codec.PCM16, sim.PCM24: codec.PCM24}[format]
		for _, who := range []string{"captain", "maren", "pip"} {
			for k := range 7 {
				seed := uint64(11 + k)
				// Full scale 16 dB under the rail: room for a louder second performance.
				c := sim.Default().WithPlace([]sim.LimiterPlace{sim.LimiterAfter, sim.LimiterOff}[k%2])
				c.Converter.FullScaleDBu = 4
				c.File.Format = format
				over := 2 + float64(k)
				x := laughing(t, c, who, seed, over)
				p, err := proof.Construct(context.Background(), voice.Rate, c, seed, x, proof.Options{})
				if err != nil {
					t.Fatal(err)
				}
				one, two := record(t, c, seed, p.First), record(t, c, seed, p.Second)
				h1, h2 := wav(t, one, enc), wav(t, two, enc)
				if !p.Same || h1 != h2 || !same(one, two) {
					t.Errorf("%s %s %d: the files differ, %d samples", format, who, seed, p.Differing)
				}
				rho := correlation(p.First, p.Second, p.Passages)
				// What is left of the second after the best gain, over the first.
				apart := 10 * math.Log10(1-rho*rho)
				if math.Abs(p.LevelDB) < 6 || apart < -15 {
					t.Errorf("%s %s %d: levels %.2f dB apart, %.1f dB left after the best gain", format, who, seed, p.LevelDB, apart)
				}
				low := c
				low.Preamp.GainDB -= 24
				if same(record(t, low, seed, p.First), record(t, low, seed, p.Second)) {
					t.Errorf("%s %s %d: with 24 dB less gain the files are still equal", format, who, seed)
				}
				least, most = min(least, math.Abs(p.LevelDB)), max(most, rho)
				high := 10 * math.Log10(meter.BandPower(p.Second, voice.Rate, 16000, 24000)/meter.BandPower(p.Second, voice.Rate, 0, 24000))
				rings = max(rings, high)
				n++
				if k == 0 {
					treated(t, who, one, two)
				}
				t.Logf("%s %s seed %d, %g dB over: %x… %x…, %d of %d free, %+.2f dB, correlation %.3f (%.1f dB left), above 16 kHz %.0f dB", format, who, seed, over, h1[:4], h2[:4], p.Free, p.Total, p.LevelDB, rho, apart, high)
			}
		}
	}
	t.Logf("%d pairs: levels at least %.2f dB apart, correlation at most %.3f, above 16 kHz at most %.1f dB of the second performance", n, least, most, rings)
	trust.Record(t, trust.Check{Area: "one file from two", What: "least difference in level over 42 pairs with identical files", Source: "own bound", Op: ">=", Expected: 6, Got: least, Unit: "dB"})
}

// treated applies every treatment to both files: equal in, equal out.
func treated(t *testing.T, who string, one, two []float64) {
	t.Helper()
	n := min(len(one), voice.Rate)
	for _, tr := range treatments() {
		a, ra, err := tr.Apply(context.Background(), one[len(one)-n:], voice.Rate, repair.Run{Cores: 1})
		if err != nil {
			t.Fatalf("%s: %v", tr.Name(), err)
		}
		b, rb, err := tr.Apply(context.Background(), two[len(two)-n:], voice.Rate, repair.Run{Cores: 1})
		if err != nil {
			t.Fatal(err)
		}
		if !same(a, b) || fmt.Sprint(ra) != fmt.Sprint(rb) {
			t.Errorf("%s: %s gives two different results from equal files", who, tr.Name())
		}
	}
}

// treatments are all that work on one file. A splice works on two, and what it
// brings in comes from the other one.
func treatments() []repair.Treatment {
	return []repair.Treatment{
		repair.Gain{GainDB: -6}, repair.TurnDown{CeilingDBFS: -1}, repair.DefaultLimit(), repair.DefaultCompress(),
		repair.DefaultHighPass(), repair.DefaultDenoise(), repair.DefaultDeliver(), repair.Declip{}, repair.Declip{Effort: repair.Fast},
	}
}
