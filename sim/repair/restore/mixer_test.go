package restore

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// voices are twelve estimates of x at the clipped samples of q: the truth, each with an error
// of its own.
func voices(x []float64, q *Stretch, errs float64) [][]float64 {
	r := rand.New(rand.NewPCG(3, 4))
	est := make([][]float64, mixMethods)
	for k := range est {
		est[k] = append([]float64(nil), x...)
		g := 1 + errs*r.NormFloat64()
		for _, i := range q.At {
			est[k][i] = q.Bound[i] * float64(q.Sign[i]) * (1 + max(0, g*(math.Abs(x[i])/q.Bound[i]-1)))
		}
	}
	return est
}

// What all estimates say alike is what comes out, whatever the network makes of the rest.
func TestMixerLeavesWhatAgrees(t *testing.T) {
	x := hum(48000, 130, 0.3)
	q := clipped(x, 0.4)
	est := voices(x, q, 0)
	got := make([]float64, len(x))
	copy(got, est[0])
	new(mixer).mix(got, q, est, 48000, &theMixing)
	for _, i := range q.At {
		if math.Abs(got[i]-x[i]) > 1e-9 {
			t.Fatalf("sample %d: all say %v, mixed %v", i, x[i], got[i])
		}
	}
}

// The mixture stays within three standard deviations of the estimates' range, is never below
// the ceiling, and does not depend on the level of the recording.
func TestMixerBounds(t *testing.T) {
	x := hum(44100, 210, 0.3)
	q := clipped(x, 0.3)
	est := voices(x, q, 0.3)
	got := make([]float64, len(x))
	var m mixer
	copy(got, est[0])
	m.mix(got, q, est, 44100, &theMixing)
	for _, i := range q.At {
		lo, hi := math.Inf(1), math.Inf(-1)
		var ex [mixMethods]float64
		for k := range ex {
			ex[k] = excessOf(q, est[k], i)
			lo, hi = min(lo, ex[k]), max(hi, ex[k])
		}
		s := mixShift * spreadOf(ex[:])
		if v := excessOf(q, got, i); v < max(0, lo-s)-1e-9 || v > hi+s+1e-9 {
			t.Fatalf("sample %d: %v from %v", i, v, ex)
		}
	}
	const scale = 1.0 / 256
	low := &Stretch{Sign: q.Sign, At: q.At}
	for i := range q.Y {
		low.Y, low.Bound = append(low.Y, scale*q.Y[i]), append(low.Bound, scale*q.Bound[i])
	}
	for k := range est {
		for i := range est[k] {
			est[k][i] *= scale
		}
	}
	quiet := make([]float64, len(x))
	copy(quiet, est[0])
	m.mix(quiet, low, est, 44100, &theMixing)
	for _, i := range q.At {
		if d := math.Abs(quiet[i]/scale - got[i]); d > 1e-4*math.Abs(got[i]) {
			t.Fatalf("sample %d: %v at full level, %v a long way below", i, got[i], quiet[i]/scale)
		}
	}
}

// Where much is clipped one prediction stands for three, which must be told to the gate and
// the mixer alike, and what comes of it is still better than the mean of the methods that ran.
func TestCrowded(t *testing.T) {
	for _, c := range []struct {
		theta   float64
		crowded bool
	}{{0.1, true}, {0.6, false}} {
		x := hum(48000, 150, 0.2)
		q := clipped(x, c.theta)
		if share := float64(len(q.At)) / float64(len(x)); share > crowded != c.crowded {
			t.Fatalf("clipped at %v: %.2f of the samples", c.theta, share)
		}
		b := NewBench(48000, Best)
		got := make([]float64, len(x))
		b.Mend(got, q)
		k := len(b.sparse)
		for _, i := range []int{k + 1, k + 2} {
			if same := slices.Equal(b.est[k], b.est[i]); same != c.crowded {
				t.Errorf("clipped at %v: predictions %d and %d alike: %v", c.theta, k, i, same)
			}
		}
		plain := make([]float64, len(x))
		average(plain, b.est[:k+1])
		q.hold(plain)
		if mixed, mean := gain(x, q.Y, got), gain(x, q.Y, plain); mixed < mean {
			t.Errorf("clipped at %v: %.2f dB, the mean of those that ran has %.2f", c.theta, mixed, mean)
		}
	}
}
