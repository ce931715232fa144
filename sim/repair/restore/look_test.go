package restore

import (
	"math"
	"math/rand/v2"
	"testing"
)

// hum is a voice of one vowel: pulses of a pitch that glides about hz, each of its own
// strength, through three resonators, and a little noise; peak 1.
func hum(rate int, hz, seconds float64) []float64 {
	r := rand.New(rand.NewPCG(11, 12))
	x := make([]float64, int(seconds*float64(rate)))
	for at := 0.0; at < float64(len(x)); at += float64(rate) / (hz * (1 + 0.1*at/float64(len(x)))) {
		x[int(at)] = 1 + 0.1*r.NormFloat64()
	}
	for _, f := range [][2]float64{{600, 90}, {1100, 120}, {2500, 200}} {
		g := math.Exp(-math.Pi * f[1] / float64(rate))
		a, b := 2*g*math.Cos(2*math.Pi*f[0]/float64(rate)), -g*g
		y1, y2 := 0.0, 0.0
		for i, v := range x {
			v += a*y1 + b*y2
			x[i], y1, y2 = v, v, y1
		}
	}
	peak := 0.0
	for _, v := range x {
		peak = max(peak, math.Abs(v))
	}
	for i := range x {
		x[i] = x[i]/peak + 0.002*r.NormFloat64()
	}
	return x
}

func gain(x, y, z []float64) float64 {
	var was, is float64
	for i, v := range x {
		was += (v - y[i]) * (v - y[i])
		is += (v - z[i]) * (v - z[i])
	}
	return 10 * math.Log10(was/is)
}

// The second look brings something to a voice, in dB, and leaves what is consistent so.
func TestSecondLook(t *testing.T) {
	const rate, theta = 48000, 0.35
	x := hum(rate, 110, 0.4)
	q := clipped(x, theta)
	b := NewBench(rate, Best)
	b.estimates(q)
	got := make([]float64, len(x))
	b.feature.blend(got, q, b.est, rate, b.jury)
	q.hold(got)
	first := gain(x, q.Y, got)
	looked := b.look(got, q)
	second := gain(x, q.Y, got)
	t.Logf("%d of %d samples clipped, %.2f dB with one look, %.2f with two", len(q.At), len(x), first, second)
	if !looked || second < first+0.15 {
		t.Errorf("the second look takes %.2f dB to %.2f dB", first, second)
	}
	b.Mend(got, q)
	for i, v := range got {
		if q.Sign[i] == 0 && v != q.Y[i] || q.Sign[i] != 0 && float64(q.Sign[i])*v < theta {
			t.Fatalf("sample %d, clipped %d, recorded as %v, became %v", i, q.Sign[i], q.Y[i], v)
		}
	}
}

// What the second look leaves on the wrong side of its bound, to save time, costs little.
func TestSpareLosesLittle(t *testing.T) {
	const rate, theta = 48000, 0.3
	x := hum(rate, 170, 0.4)
	q := clipped(x, theta)
	est := make([]float64, len(x))
	NewBench(rate, Fast).Mend(est, q)
	for i, s := range NewBench(rate, Best).late {
		if s.spare == 0 {
			t.Errorf("late solver %d spares nothing", i)
		}
		got, exact := make([]float64, len(x)), make([]float64, len(x))
		s.predict(got, q, est)
		s.spare = 0
		s.predict(exact, q, est)
		a, e := gain(x, q.Y, got), gain(x, q.Y, exact)
		t.Logf("%.2f dB, exactly %.2f dB", a, e)
		if a < e-0.2 {
			t.Errorf("late solver %d: %.2f dB, exactly %.2f dB", i, a, e)
		}
	}
}

// clipped is x with a ceiling at ±theta, marked.
func clipped(x []float64, theta float64) *Stretch {
	q := &Stretch{Y: make([]float64, len(x)), Sign: make([]int8, len(x)), Bound: make([]float64, len(x))}
	for i, v := range x {
		q.Y[i] = min(max(v, -theta), theta)
		if math.Abs(v) > theta {
			q.Sign[i], q.Bound[i], q.At = int8(math.Copysign(1, v)), theta, append(q.At, i)
		}
	}
	return q
}
