//go:build full && unix

package repair

import (
	"context"
	"fmt"
	"math"
	"reflect"
	"testing"

	"gainwright/sim"
	sr "gainwright/sim/repair"
	"gainwright/sounds/voice"
	"gainwright/tests/repair/speechset"
	"gainwright/tests/trust"
)

// A hotTake is what was there, what a converter made of it that reached full scale, and
// the same behind a limiter, without its delay; and a take behind that limiter which the
// converter had room for.
type hotTake struct {
	name                       string
	rate                       int
	truth, cut, limited, roomy []float64
}

// behind is the truth under the limiter's gain, which is known where the wave was cut
// since all the limiter does is to multiply.
func (h hotTake) behind() []float64 {
	out := append([]float64(nil), h.limited...)
	for i, v := range h.cut {
		if math.Abs(v) > 0.9 {
			out[i] = h.truth[i] * h.limited[i] / v
		}
	}
	return out
}

// undelayed shifts y back by the delay at which it is most like x.
func undelayed(x, y []float64, most int) []float64 {
	best, at := 0.0, 0
	for d := 0; d <= most; d++ {
		sum := 0.0
		for i := 0; i+d < len(y); i += 3 {
			sum += x[i] * y[i+d]
		}
		if sum > best {
			best, at = sum, d
		}
	}
	out := make([]float64, len(x))
	copy(out, y[at:])
	return out
}

func rounded(x []float64, bits int) []float64 {
	s := math.Exp2(float64(bits - 1))
	y := make([]float64, len(x))
	for i, v := range x {
		y[i] = math.Round(v*s) / s
	}
	return y
}

// recordedTake is an open recording, cut to sdr dB, through a filter of ffmpeg's.
func recordedTake(t *testing.T, n, rate int, sdr float64, bits int, filter string) hotTake {
	it := speechset.Test[n]
	x, err := it.Load(rate)
	if err != nil {
		t.Fatal(err)
	}
	x = x[:min(len(x), 4*rate)]
	_, theta := speechset.Clip(x, sdr)
	h := hotTake{name: fmt.Sprintf("%s, %d Hz, %d bit, %s", it.Name, rate, bits, filter), rate: rate, truth: x, cut: make([]float64, len(x))}
	for i := range x {
		x[i] /= theta
		h.cut[i] = min(max(x[i], -1), 1)
	}
	h.limited = rounded(undelayed(h.cut, filtered(t, h.cut, rate, filter), rate/20), bits)
	h.roomy = rounded(filtered(t, x, rate, filter), bits)
	return h
}

// simTake is a talker through two of our strips that differ by the limiter only.
func simTake(t *testing.T, talker string, gain float64, l sim.Limiter) hotTake {
	p, err := voice.New(voice.Script{
		{Text: "The river was up that spring, and the cable sang all night.", Effort: voice.Raised},
		{Do: "laugh", Effort: voice.Loud},
	}, talker, 2)
	if err != nil {
		t.Fatal(err)
	}
	h := hotTake{name: fmt.Sprintf("%s, %+v", talker, l), rate: voice.Rate}
	const room = 30 // dB
	cut, limited, roomy := sim.Default(), sim.Default(), sim.Default()
	l.On = true
	limited.Limiter = l
	l.ThresholdDBFS -= room
	roomy.Limiter = l
	var strips []*sim.Strip
	for i, c := range []sim.Chain{cut, limited, roomy} {
		c.Preamp.GainDB, c.Preamp.RailDBu = gain-room*float64(i/2), 40
		s, err := sim.NewStrip(voice.Rate, c, 7)
		if err != nil {
			t.Fatal(err)
		}
		strips = append(strips, s)
	}
	to := []*[]float64{&h.cut, &h.limited, &h.roomy}
	_, err = sim.Run(context.Background(), p, strips, sim.RunOptions{Sink: func(i int, tp *sim.Taps) error {
		*to[i] = append(*to[i], tp.Wave[sim.AtFile]...)
		if i == 0 {
			h.truth = append(h.truth, tp.True...)
		}
		return nil
	}})
	if err != nil {
		t.Fatal(err)
	}
	h.limited = undelayed(h.cut, h.limited, 300)
	return h
}

// mended is y declipped, fast.
func mended(t *testing.T, y []float64, rate int, r sr.Reduction) []float64 {
	out, _, err := sr.Declip{Effort: sr.Fast, Reduction: r}.Apply(context.Background(), y, rate, sr.Run{Cores: 1})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func hotTakes(t *testing.T) []func() hotTake {
	var list []func() hotTake
	for i, f := range []string{
		"alimiter=limit=0.5:level=0:attack=5:release=50", "alimiter=limit=0.5:level=0:attack=1:release=150",
		"alimiter=limit=0.7:level=0:attack=2:release=300", "alimiter=limit=0.4:level=0:attack=10:release=100",
		"alimiter=limit=0.5:level=0:attack=5:release=200:asc=1", "alimiter=limit=0.6:level=1:attack=5:release=100",
		"acompressor=threshold=0.5:ratio=20:attack=2:release=120:knee=1:detection=peak",
		"acompressor=threshold=0.4:ratio=10:attack=1:release=200:knee=1:detection=peak",
		"acompressor=threshold=0.25:ratio=4:attack=5:release=250:knee=2.8:detection=rms",
		"acompressor=threshold=0.5:ratio=20:attack=0.5:release=60:knee=1:detection=rms",
		"acompressor=threshold=0.3:ratio=6:attack=10:release=400:knee=4:detection=peak",
		"acompressor=threshold=0.5:ratio=20:attack=1:release=100:knee=2:detection=peak",
	} {
		list = append(list, func() hotTake {
			return recordedTake(t, (5*i+3)%len(speechset.Test), []int{48000, 48000, 16000}[i%3], []float64{10, 7, 14}[i%3], []int{24, 16}[i%2], f)
		})
	}
	inf := sim.Ratio(math.Inf(1))
	for i, l := range []sim.Limiter{
		sim.Default().Limiter,
		{ThresholdDBFS: -10, Ratio: inf, AttackMS: 3, ReleaseMS: 80},
		{ThresholdDBFS: -3, Ratio: inf, AttackMS: 0.3, ReleaseMS: 300},
		{ThresholdDBFS: -12, Ratio: 8, KneeDB: 6, AttackMS: 5, ReleaseMS: 200},
		{ThresholdDBFS: -6, Ratio: inf, LookAheadMS: 2, ReleaseMS: 150},
		{ThresholdDBFS: -6, Ratio: inf, LookAheadMS: 1, TruePeak: true, ReleaseMS: 60},
		{ThresholdDBFS: -9, Ratio: 4, AttackMS: 2, ReleaseMS: 400},
		{ThresholdDBFS: -20, Ratio: inf, AttackMS: 1, ReleaseMS: 150},
	} {
		list = append(list, func() hotTake {
			return simTake(t, []string{"captain", "maren", "edwin", "captain"}[i%4], 54+float64(2*(i%3)), l)
		})
	}
	return list
}

// A take that was cut at full scale and limited behind it is to be declipped about as
// well as one that was cut only. The limiters are ffmpeg's and ours; the voices are of
// people, of espeak-ng and ours. The figures to reach: an independent computation, 11.4 dB
// with the gain read from the tops where the same clip without a limiter gained 12.0.
func TestDeclipBehindLimiters(t *testing.T) {
	if err := speechset.Missing(speechset.Test); err != nil {
		t.Fatal(err)
	}
	var free, ignored, kept, undone float64
	list := hotTakes(t)
	for _, make := range list {
		h := make()
		under, n := h.behind(), float64(len(list))
		cut, limited := sr.SDR(h.truth, h.cut, false), sr.SDR(under, h.limited, false)
		f := sr.SDR(h.truth, mended(t, h.cut, h.rate, sr.KeepReduction), false) - cut
		i := sr.SDR(under, mended(t, h.limited, h.rate, sr.IgnoreReduction), false) - limited
		k := sr.SDR(under, mended(t, h.limited, h.rate, sr.KeepReduction), false) - limited
		u := sr.SDR(h.truth, mended(t, h.limited, h.rate, sr.UndoReduction), false) - cut
		t.Logf("no limiter %5.1f dB  gain ignored %5.1f  kept %5.1f  undone %5.1f  from %4.1f: %s", f, i, k, u, cut, h.name)
		free, ignored, kept, undone = free+f/n, ignored+i/n, kept+k/n, undone+u/n
		if k < i-0.5 {
			t.Errorf("%s: with the gain looked for %.1f dB, without %.1f", h.name, k, i)
		}
		for what, y := range map[string][]float64{"what was there": h.truth, "cut only": h.cut, "limited only": h.roomy} {
			if a, b := (sr.Declip{}).Find(y), (sr.Declip{Reduction: sr.IgnoreReduction}).Find(y); !reflect.DeepEqual(a, b) {
				t.Errorf("%s, %s: %v; without looking for a gain %v", h.name, what, a, b)
			}
		}
	}
	t.Logf("%d takes: no limiter %.1f dB, gain ignored %.1f dB, kept %.1f dB, undone %.1f dB", len(list), free, ignored, kept, undone)
	trust.Record(t, trust.Check{Area: "declipping", What: fmt.Sprintf("%d takes behind ffmpeg's limiters and ours: mean gain in SDR, less than without a limiter by", len(list)),
		Source: "the same takes without a limiter", Got: free - kept, Expected: 2, Op: "<=", Unit: "dB"})
}

// What was limited, compressed or bent without being cut is marked as it is without
// looking for a gain; the filters are ffmpeg's.
func TestNoLimiterIsFoundBehindNoClipping(t *testing.T) {
	if err := speechset.Missing(speechset.Test); err != nil {
		t.Fatal(err)
	}
	for k, it := range speechset.Test {
		rate := []int{48000, 48000, 16000}[k%3]
		x, err := it.Load(rate)
		if err != nil {
			t.Fatal(err)
		}
		x = x[:min(len(x), 4*rate)]
		_, theta := speechset.Clip(x, 8)
		bent, cut := make([]float64, len(x)), make([]float64, len(x))
		for i := range x {
			x[i] /= theta
			bent[i] = math.Tanh(1.5*x[i]) / 1.5
			cut[i] = 0.5 * min(max(x[i], -0.6), 1)
		}
		for _, c := range []struct {
			y      []float64
			filter string
		}{
			{cut, "anull"}, {bent, "anull"}, {x, "asoftclip=type=cubic"},
			{bent, "acompressor=threshold=0.3:ratio=6:attack=3:release=150:detection=peak"},
			{bent, "alimiter=limit=0.4:level=0:attack=1:release=100"},
			{x, "alimiter=limit=0.8:level=0:attack=0.1:release=20"},
			{x, "acompressor=threshold=0.2:ratio=20:attack=0.01:release=20:knee=1:detection=peak"},
			{x, "acompressor=threshold=0.1:ratio=4:attack=1:release=50:detection=rms"},
			{cut, "lowpass=f=6000"},
		} {
			y := rounded(filtered(t, c.y, rate, c.filter), []int{24, 16}[k%2])
			if a, b := (sr.Declip{}).Find(y), (sr.Declip{Reduction: sr.IgnoreReduction}).Find(y); !reflect.DeepEqual(a, b) {
				t.Errorf("%s, %d Hz, %s: %v; without looking for a gain %v", it.Name, rate, c.filter, a, b)
			}
		}
	}
}
