package stoi

import (
	"errors"
	"math"
	"testing"

	"gainwright/tests/trust"
)

func noise(n int, seed uint32) []float64 {
	out := make([]float64, n)
	for i := range out {
		seed = seed*1664525 + 1013904223
		out[i] = float64(seed)/(1<<31) - 1
	}
	return out
}

// sung is a buzz with moving overtones and pauses, and its rms.
func sung(hz int, seconds float64) ([]float64, float64) {
	x := noise(int(seconds*float64(hz)), 7)
	square := 0.0
	for i := range x {
		t := 2 * math.Pi * float64(i) / float64(hz)
		v := 0.0
		for h := 1.0; h <= 30; h++ {
			v += math.Sin(130*h*t+3*math.Sin(0.7*t)*h) / h * (1 + 0.8*math.Sin((1.3+0.11*h)*t))
		}
		x[i] = v*max(0, math.Sin(1.9*t)) + 0.05*x[i]*max(0, math.Sin(1.9*t+2))
		square += x[i] * x[i]
	}
	return x, math.Sqrt(square / float64(len(x)))
}

// What the general-purpose Python library pystoi 0.4.1, a port of the authors' MATLAB code,
// gave for the same signals, with numpy 1.24 and scipy 1.10.
func TestAgainstPublishedCode(t *testing.T) {
	for _, c := range []struct {
		hz   int
		what string
		stoi float64
		ext  float64
	}{
		{10000, "noise as loud", 0.71016, 0.25366},
		{10000, "noise 10 dB louder", 0.56004, 0.09649},
		{10000, "cut", 0.64883, 0.40074},
		{16000, "noise as loud", 0.76374, 0.30794},
		{16000, "noise 10 dB louder", 0.58322, 0.09249},
		{16000, "cut", 0.65370, 0.37451},
		{44100, "noise as loud", 0.83582, 0.59860},
		{44100, "noise 10 dB louder", 0.55300, 0.25956},
		{44100, "cut", 0.40710, 0.35106},
	} {
		x, rms := sung(c.hz, 3)
		n := noise(len(x), 3)
		y := make([]float64, len(x))
		for i, v := range x {
			switch c.what {
			case "noise as loud":
				y[i] = v + math.Sqrt(3)*rms*n[i]
			case "noise 10 dB louder":
				y[i] = v + math.Sqrt(30)*rms*n[i]
			default:
				y[i] = min(max(v, -0.4*rms), 0.4*rms)
			}
		}
		plain, extended, err := Measure(x, y, c.hz)
		if err != nil {
			t.Fatal(err)
		}
		off := max(math.Abs(plain-c.stoi), math.Abs(extended-c.ext))
		t.Logf("%d Hz, %s: STOI %.5f, ESTOI %.5f", c.hz, c.what, plain, extended)
		most := 1e-4
		if c.hz != rate {
			most = 2e-4
		}
		trust.Record(t, trust.Check{Area: "intelligibility", What: c.what + ": STOI and ESTOI, off by",
			Source: "pystoi 0.4.1 (Python), same signals", Got: off, Expected: most, Op: "<="})
	}
}

// Published: 1 for the same speech, whatever its level; less the more noise there is
// (Taal et al. 2011, fig. 3), and ESTOI near 0 for what has
// nothing in common with it.
func TestBehaviour(t *testing.T) {
	x, rms := sung(rate, 2)
	last := 2.0
	for _, db := range []float64{math.Inf(1), 20, 10, 0, -10, -20, -60} {
		y := noise(len(x), 5)
		for i := range y {
			y[i] = 0.3 * (x[i] + y[i]*math.Sqrt(3)*rms*math.Pow(10, -db/20))
		}
		s, e, err := Measure(x, y, rate)
		if err != nil {
			t.Fatal(err)
		}
		if math.IsInf(db, 1) && (math.Abs(s-1) > 1e-6 || math.Abs(e-1) > 1e-6) {
			t.Errorf("the same speech: STOI %v, ESTOI %v", s, e)
		}
		if s >= last {
			t.Errorf("%g dB: STOI %.3f, not below the %.3f of less noise", db, s, last)
		}
		last = s
		if db == -60 && math.Abs(e) > 0.1 {
			t.Errorf("noise alone: ESTOI %.3f", e)
		}
	}
	if _, _, err := Measure(x[:3000], x[:3000], rate); !errors.Is(err, ErrShort) {
		t.Errorf("0.3 s: %v", err)
	}
	if _, _, err := Measure(x, x[1:], rate); err == nil {
		t.Error("different lengths: no error")
	}
}
