package repair_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"gainwright/sim/repair"
)

// marks compares what was found with what was clipped: the share of clipped
// samples found and the share of marks that are right.
func marks(c repair.Clips, clipped []bool) (found, right float64) {
	hit, all, said := 0, 0, 0
	on := make([]bool, len(clipped))
	for _, r := range c.Runs {
		for i := r.Start; i < r.End; i++ {
			on[i] = true
			said++
		}
	}
	for i, v := range clipped {
		if v {
			all++
			if on[i] {
				hit++
			}
		}
	}
	return float64(hit) / float64(max(all, 1)), float64(hit) / float64(max(said, 1))
}

func quantise(x []float64, bits int, r *rand.Rand) {
	s := math.Pow(2, float64(bits-1))
	for i, v := range x {
		d := 0.0
		if r != nil {
			d = r.Float64() - r.Float64()
		}
		x[i] = math.Round(v*s+d) / s
	}
}

func TestDetect(t *testing.T) {
	x := talk(t, "captain", 1.6)
	for _, sdr := range []float64{3, 10, 20} {
		y, th := clipTo(x, sdr)
		clipped := make([]bool, len(y))
		for i, v := range y {
			clipped[i] = math.Abs(v) >= th
		}
		r := rand.New(rand.NewPCG(2, 2))
		check := func(name string, z []float64, kinds []repair.Flatness, level, leastFound, leastRight float64) {
			t.Helper()
			c := repair.Detect(z)
			found, right := marks(c, clipped)
			t.Logf("%g dB %s: found %.3f, right %.3f: %s", sdr, name, found, right, c)
			ok := false
			for _, k := range kinds {
				ok = ok || c.Kind == k
			}
			if !ok {
				t.Errorf("%g dB %s: kind %q, want %q", sdr, name, c.Kind, kinds)
			}
			if found < leastFound || right < leastRight {
				t.Errorf("%g dB %s: found %.3f (want %.3f), right %.3f (want %.3f)", sdr, name, found, leastFound, right, leastRight)
			}
			if off := func(l float64) bool { return l > 0 && math.Abs(l/level-1) > 0.02 }; level > 0 && (off(c.Top) || off(c.Bottom) || c.Top+c.Bottom == 0) {
				t.Errorf("%g dB %s: levels %.4f and %.4f, want %.4f", sdr, name, c.Top, c.Bottom, level)
			}
		}
		hard := []repair.Flatness{repair.FlatHard}
		z := append([]float64(nil), y...)
		check("float", z, hard, th, 1, 0.999)

		scale(z, 0.63/th)
		quantise(z, 16, nil)
		check("16 bit after a gain", z, hard, 0.63, 1, 0.99)

		copy(z, y)
		scale(z, 0.63/th)
		quantise(z, 16, r)
		check("16 bit, dithered", z, []repair.Flatness{repair.FlatNoisy, repair.FlatHard}, 0.63, 0.98, 0.98)

		copy(z, y)
		for i := range z {
			z[i] *= 0.6 / th * (1 + 0.3*math.Sin(2*math.Pi*0.9*float64(i)/rate))
		}
		quantise(z, 24, nil)
		check("gain that moves", z, []repair.Flatness{repair.FlatMoving}, 0, 0.85, 0.95)

		copy(z, y)
		scale(z, 0.63/th)
		for i := range z {
			z[i] += 0.004 * r.NormFloat64()
		}
		// The least certain class: a side with few half-waves at the ceiling is missed.
		check("noise on top", z, []repair.Flatness{repair.FlatNoisy}, 0.63, 0.5, 0.8)

		// One side only, as an offset before the ceiling leaves it.
		for i, v := range x {
			z[i] = min(v, th)
			clipped[i] = v >= th
		}
		c := repair.Detect(z)
		found, right := marks(c, clipped)
		if c.Bottom != 0 || math.Abs(c.Top-th) > 1e-9 || found < 1 || right < 0.999 {
			t.Errorf("one side: %s, found %g right %g", c, found, right)
		}
	}
}

func TestDetectLeavesCleanSignalsAlone(t *testing.T) {
	check := func(name string, x []float64) {
		t.Helper()
		if c := repair.Detect(x); c.Kind != repair.NotFlat {
			t.Errorf("%s: %s", name, c)
		}
	}
	for _, who := range []string{"captain", "edwin"} {
		for _, bits := range []int{16, 24} {
			x := talk(t, who, 1.6)
			scale(x, 0.9)
			quantise(x, bits, nil)
			check(who, x)
		}
	}
	// A little noise makes some of many tops straight by accident; coarse steps at a low
	// level make plateaus of many.
	for _, c := range []struct {
		noise, gain float64
		bits        int
	}{{1e-4, 0.9, 16}, {1e-3, 0.3, 24}, {1e-2, 0.9, 16}, {0, 0.05, 12}, {1e-4, 0.05, 16}} {
		x := talk(t, "captain", 6)
		r := rand.New(rand.NewPCG(9, 2))
		for i := range x {
			x[i] = c.gain * (x[i] + c.noise*r.NormFloat64())
		}
		quantise(x, c.bits, r)
		check(fmt.Sprint("a voice in noise ", c), x)
	}
	for _, f := range []float64{20, 50, 997, 6000} {
		x := make([]float64, rate)
		for i := range x {
			x[i] = 0.999 * math.Sin(2*math.Pi*f*float64(i)/rate)
		}
		quantise(x, 16, nil)
		check("sine", x)
	}
	check("noise", noiseOf(rate, 0.2))
	check("silence", make([]float64, 1000))
	check("nothing", nil)
	dither := make([]float64, rate)
	quantise(dither, 16, rand.New(rand.NewPCG(3, 3)))
	check("dither alone", dither)
}

// The fewer tops were cut, the more easily others are mistaken for such.
func TestDetectFewTops(t *testing.T) {
	x := talk(t, "captain", 6)
	r := rand.New(rand.NewPCG(5, 5))
	for i := range x {
		x[i] += 2e-4 * r.NormFloat64()
	}
	for _, sdr := range []float64{20, 30, 40} {
		y, th := clipTo(x, sdr)
		clipped := make([]bool, len(y))
		for i, v := range y {
			clipped[i] = math.Abs(v) >= th
		}
		check := func(name string, z []float64, kind repair.Flatness) {
			t.Helper()
			c := repair.Detect(z)
			found, right := marks(c, clipped)
			if c.Kind != kind || found < 0.95 || right < 0.99 {
				t.Errorf("%g dB %s: kind %q, want %q; found %.3f, right %.3f of %d", sdr, name, c.Kind, kind, found, right, c.Samples)
			}
		}
		z := append([]float64(nil), y...)
		check("float", z, repair.FlatHard)
		scale(z, 0.63/th)
		quantise(z, 16, nil)
		check("16 bit", z, repair.FlatHard)
		copy(z, y)
		for i := range z {
			z[i] *= 0.6 / th * (1 + 0.3*math.Sin(2*math.Pi*0.9*float64(i)/rate))
		}
		quantise(z, 24, nil)
		check("gain that moves", z, repair.FlatMoving)
	}
}

// A constant is no wave, and what is said of it must not be that nothing is wrong.
func TestDeclipOfAConstant(t *testing.T) {
	for _, n := range []int{1, 100, rate} {
		x := make([]float64, n)
		for i := range x {
			x[i] = -1
		}
		y, rep := apply(t, repair.Declip{}, x)
		if rep.Verdict.Outcome != repair.Hopeless || rep.Verdict.Usable || y[n/2] != -1 {
			t.Errorf("%d samples: %s", n, rep.Verdict)
		}
	}
}

func TestDetectRounded(t *testing.T) {
	x := talk(t, "captain", 3)
	for i, v := range x {
		x[i] = math.Tanh(8*v) * 0.8
	}
	c := repair.Detect(x)
	t.Log(c.Kind, c)
	if c.Kind != repair.Rounded && c.Kind != repair.FlatNoisy {
		t.Errorf("kind %q", c.Kind)
	}
}

// held checks that only marked samples changed, and those away from zero.
func held(t *testing.T, c repair.Clips, x, y []float64) {
	t.Helper()
	mark := make([]int8, len(x))
	for _, r := range c.Runs {
		for i := r.Start; i < r.End; i++ {
			mark[i] = r.Sign
		}
	}
	for i, v := range x {
		if !(math.Abs(v) < 1<<64) {
			v = 0 // not a sample
		}
		if mark[i] == 0 && math.Float64bits(y[i]) != math.Float64bits(v) {
			t.Fatalf("sample %d, not marked, went from %v to %v", i, x[i], y[i])
		}
		if mark[i] != 0 && y[i]*float64(mark[i]) < 0 {
			t.Fatalf("sample %d of side %d became %v", i, mark[i], y[i])
		}
	}
}

// Odd takes: an answer in words, never a panic, never a number that is none.
func FuzzTreatments(f *testing.F) {
	for k := range 9 {
		f.Add(uint8(k), uint16(3000), uint64(k), 0.5)
	}
	f.Add(uint8(3), uint16(1), uint64(1), 1.0)
	f.Add(uint8(4), uint16(0), uint64(1), 1.0)
	f.Add(uint8(7), uint16(4000), uint64(1), math.NaN())
	f.Fuzz(func(t *testing.T, kind uint8, n uint16, seed uint64, level float64) {
		x := make([]float64, int(n)%6000)
		r := rand.New(rand.NewPCG(seed, 1))
		for i := range x {
			switch kind % 9 {
			case 0: // silence
			case 1: // all at the ceiling
				x[i] = level
			case 2: // square wave
				x[i] = level * float64(1-2*(i/int(seed%97+1)%2))
			case 3: // noise, clipped
				x[i] = min(max(r.NormFloat64(), -level), level)
			case 4: // DC and a little
				x[i] = level + 1e-9*r.NormFloat64()
			case 5: // nonsense
				x[i] = math.Float64frombits(r.Uint64())
			case 6: // sine, clipped
				x[i] = min(max(2*math.Sin(float64(i)*0.01), -level), level)
			case 7: // no numbers among numbers
				x[i] = []float64{math.NaN(), math.Inf(1), math.Inf(-1), level, -level, 0.3}[r.IntN(6)]
			case 8: // alternating extremes
				x[i] = level * float64(1-2*(i&1))
			}
		}
		safety := make([]float64, len(x))
		for i, v := range x {
			safety[i] = v / 4
		}
		for _, tr := range []repair.Treatment{
			repair.Declip{}, repair.Declip{Effort: repair.Balanced}, repair.Declip{Effort: repair.Fast},
			repair.Declip{Effort: repair.Fast, KnownCeiling: true, CeilingDBFS: -6}, repair.Declip{Effort: repair.Fast, Reduction: repair.UndoReduction},
			repair.DefaultLimit(), repair.DefaultCompress(), repair.DefaultSplice(safety), repair.DefaultDenoise(),
			repair.DefaultHighPass(), repair.Gain{GainDB: -3}, repair.TurnDown{CeilingDBFS: -1},
			repair.DefaultDeliver(), repair.Deliver{LoudnessLUFS: -16, CeilingDBTP: -1, LimitDB: 6},
		} {
			y, rep := apply(t, tr, x)
			if rep.Verdict.Outcome == "" || rep.Verdict.Back == "" {
				t.Fatalf("%s said nothing", tr.Name())
			}
			for i, v := range y {
				if math.IsNaN(v) || math.IsInf(v, 0) {
					t.Fatalf("%s: sample %d is %v", tr.Name(), i, v)
				}
			}
			if d, ok := tr.(repair.Declip); ok && d.Reduction == repair.KeepReduction {
				held(t, d.Find(x), x, y)
			}
		}
		c := repair.Detect(x)
		for _, q := range c.Runs {
			if q.Start < 0 || q.End > len(x) || q.Start >= q.End || !(q.Level > 0) {
				t.Fatalf("run %+v in %d samples", q, len(x))
			}
		}
	})
}
