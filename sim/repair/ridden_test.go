package repair_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"gainwright/sim/repair"
)

// limiterOf is a plain feed-forward limiter, written for this test: the reduction in dB
// follows what the sample asks for, fast down and slowly back.
func limiterOf(x []float64, thresholdDB, attackMS, releaseMS float64) (y, gain []float64) {
	y, gain = make([]float64, len(x)), make([]float64, len(x))
	down := 0.0
	for i, v := range x {
		want := max(0, 20*math.Log10(max(math.Abs(v), 1e-9))-thresholdDB)
		ms := releaseMS
		if want > down {
			ms = attackMS
		}
		down += (want - down) * (1 - math.Exp(-1000/(ms*rate)))
		gain[i] = math.Pow(10, -down/20)
		y[i] = v * gain[i]
	}
	return y, gain
}

func product(a, b []float64) []float64 {
	y := make([]float64, len(a))
	for i, v := range a {
		y[i] = v * b[i]
	}
	return y
}

// A take that was clipped and then limited is declipped about as well as one that was
// clipped only, with the limiter's gain left on it and without.
func TestDeclipThroughALimiter(t *testing.T) {
	for _, who := range []string{"captain", "edwin"} {
		x := talk(t, who, 2.5)
		_, th := clipTo(x, 10)
		scale(x, 1/th)
		z := clipAt(x, 1)
		fast := repair.Declip{Effort: repair.Fast}
		plain, _ := apply(t, fast, z)
		free := repair.SDR(x, plain, true) - repair.SDR(x, z, true)
		y, gain := limiterOf(z, -6, 2, 120)
		quantise(y, 24, nil)
		turned := product(x, gain)
		before := repair.SDR(turned, y, true)

		ignored, _ := apply(t, repair.Declip{Effort: repair.Fast, Reduction: repair.IgnoreReduction}, y)
		kept, rep := apply(t, fast, y)
		undone, _ := apply(t, repair.Declip{Effort: repair.Fast, Reduction: repair.UndoReduction}, y)
		was, keep, undo := repair.SDR(turned, ignored, true)-before, repair.SDR(turned, kept, true)-before, repair.SDR(x, undone, true)-repair.SDR(x, z, true)
		t.Logf("%s: no limiter %.1f dB, gain ignored %.1f, kept %.1f, undone %.1f: %s", who, free, was, keep, undo, rep.Verdict)
		if keep < free-1 || undo < free-2 || was > keep-1 {
			t.Errorf("%s: no limiter %.1f dB, gain ignored %.1f, kept %.1f, undone %.1f", who, free, was, keep, undo)
		}
		held(t, fast.Find(y), y, kept)
		if v, ok := rep.Number(repair.ReductionKey); !ok || math.Abs(v-6) > 0.3 || !strings.Contains(rep.Verdict.Back, "tops were moved") {
			t.Errorf("%s: a reduction of %.2f dB is told, want 6: %s", who, v, rep.Verdict)
		}
	}
}

// A take that was turned down after the limiter, too, tells where the limiter rested: the
// reduction is what the limiter did, and undone it is what it is without.
func TestDeclipThroughALimiterTurnedDown(t *testing.T) {
	x := talk(t, "captain", 2.5)
	_, th := clipTo(x, 10)
	scale(x, 1/th)
	z := clipAt(x, 1)
	d := repair.Declip{Effort: repair.Fast, Reduction: repair.UndoReduction}
	for _, l := range [][3]float64{{-6, 2, 120}, {-6, 0.1, 80}} { // the second is faster than any top shows
		var all []float64
		for _, turned := range []float64{1, 0.3} {
			y, _ := limiterOf(z, l[0], l[1], l[2])
			scale(y, turned)
			quantise(y, 24, nil)
			undone, rep := apply(t, d, y)
			all = append(all, repair.SDR(x, undone, false)-repair.SDR(x, z, false))
			if v, _ := rep.Number(repair.ReductionKey); math.Abs(v-6) > 0.5 {
				t.Errorf("limiter %v, turned by %g: a reduction of %.1f dB is told, want 6", l, turned, v)
			}
		}
		t.Logf("limiter %v: undone %.1f dB, turned down since %.1f", l, all[0], all[1])
		if all[0] < 9 || all[1] < all[0]-1 {
			t.Errorf("limiter %v: undone %.1f dB, turned down since %.1f", l, all[0], all[1])
		}
	}
}

// What is no such take is treated as if there was no such thing.
func TestNoGainIsFoundWhereNoneMoved(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 4))
	for _, who := range []string{"captain", "edwin"} {
		x := talk(t, who, 2.5)
		hot, th := clipTo(x, 10)
		scale(hot, 1/th)
		lower := append([]float64(nil), hot...)
		scale(lower, 0.4)
		loud := append([]float64(nil), x...)
		scale(loud, 1/th)
		limited, _ := limiterOf(loud, -6, 2, 120)
		tight, _ := limiterOf(loud, -12, 0.3, 60)
		bent := append([]float64(nil), loud...)
		for i, v := range bent {
			bent[i] = math.Tanh(v)
		}
		bentLimited, _ := limiterOf(bent, -9, 3, 150)
		quick := append([]float64(nil), loud...) // 20:1 above −14 dBFS, as fast as the wave
		down := 0.0
		for i, v := range quick {
			if want := 0.95 * (20*math.Log10(max(math.Abs(v), 1e-9)) + 14); want > down {
				down = want
			} else {
				down += (max(0, want) - down) * (1 - math.Exp(-1000/(20.0*rate)))
			}
			quick[i] = v * math.Pow(10, -down/20)
		}
		for name, y := range map[string][]float64{"rounded and limited": bentLimited, "compressed as fast as the wave": quick, "clean": x, "clipped": hot, "clipped and turned down": lower, "limited": limited, "limited hard": tight, "rounded": bent} {
			for _, bits := range []int{0, 24, 16} {
				z := append([]float64(nil), y...)
				if bits > 0 {
					quantise(z, bits, nil)
				}
				same(t, who+", "+name, z)
				for i := range z {
					z[i] += 1e-4 * r.NormFloat64()
				}
				same(t, who+", "+name+", noisy", z)
			}
		}
	}
}

// same checks that declipping marks what it does without looking for a gain.
func same(t *testing.T, name string, x []float64) {
	t.Helper()
	a, b := repair.Declip{}.Find(x), repair.Declip{Reduction: repair.IgnoreReduction}.Find(x)
	if a.Ride != nil || len(a.Runs) != len(b.Runs) || a.Samples != b.Samples || a.Kind != b.Kind {
		t.Errorf("%s: %s; without looking for a gain: %s", name, a, b)
	}
}
