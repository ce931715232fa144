package reduction

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"
)

// phrases is a wave at 48 kHz that swells and dies away, cut at 1, and where it was cut.
func phrases(n int) (x []float64, cut []int) {
	r := rand.New(rand.NewPCG(8, 8))
	x = make([]float64, n)
	strength := 0.0
	for i := range x {
		if i%9600 == 0 {
			strength = []float64{0.2, 0.7, 1.6, 2.5}[r.IntN(4)]
		}
		t := float64(i) / 48000
		v := strength * math.Sin(math.Pi*float64(i%9600)/9600) * math.Sin(2*math.Pi*130*t) * (0.7 + 0.3*math.Sin(2*math.Pi*410*t))
		if math.Abs(v) >= 1 {
			cut = append(cut, i)
		}
		x[i] = min(max(v, -1), 1)
	}
	return x, cut
}

// limited is a limiter's output and reduction in dB, as the equations of Giannoulis,
// Massberg and Reiss (2012) have it; branching is their smooth branching detector, else
// the smooth decoupled one; held keeps the reduction for so many samples, which is no
// such law.
func limited(x []float64, threshold, ratio, attack, release float64, branching bool, held int) (y, down []float64) {
	y, down = make([]float64, len(x)), make([]float64, len(x))
	a, r := math.Exp(-1/(attack*48)), math.Exp(-1/(release*48))
	det, d := 0.0, 0.0
	wait := 0
	for i, v := range x {
		over := max(0, 20*math.Log10(max(math.Abs(v), 1e-9))-threshold) * (1 - 1/ratio)
		switch {
		case over >= det:
			det, wait = over, held
		case wait > 0:
			wait--
		default:
			det = r*det + (1-r)*over
		}
		if !branching {
			d = a*d + (1-a)*det
		} else if over > d {
			d = a*d + (1-a)*over
		} else {
			d = r*d + (1-r)*over
		}
		down[i], y[i] = d, v*math.Pow(10, -d/20)
	}
	return y, down
}

// A reduction that is known where the wave was cut, and nowhere else, is told in between:
// nearly exactly where the law holds, roughly where it does not.
func TestCurveBetweenKnots(t *testing.T) {
	x, cut := phrases(5 * 48000)
	for _, c := range []struct {
		name                              string
		threshold, ratio, attack, release float64
		branching                         bool
		held                              int
		most                              float64 // rms error, dB
	}{
		{"decoupled", -6, math.Inf(1), 2, 120, false, 0, 0.1},
		{"branching", -6, math.Inf(1), 1, 60, true, 0, 0.1},
		{"ratio 4", -9, 4, 3, 200, false, 0, 0.6},
		{"held for 80 ms", -9, math.Inf(1), 1, 150, false, 3840, 1.2},
	} {
		y, truth := limited(x, c.threshold, c.ratio, c.attack, c.release, c.branching, c.held)
		level := Levels(y, 1)
		var knots []Knot
		for _, i := range cut {
			knots = append(knots, Knot{i, -level[i]})
		}
		g, _ := Fit(context.Background(), level, knots)
		down := g.Curve(level, knots).Down
		sum, n := 0.0, 0.0
		for i, d := range truth { // where it is loud, it counts
			sum += x[i] * x[i] * (down[i] - d) * (down[i] - d)
			n += x[i] * x[i]
		}
		rms := math.Sqrt(sum / n)
		t.Logf("%s: rms error %.2f dB, by a law: %v", c.name, rms, g.Holds())
		if rms > c.most || c.held == 0 && !g.Holds() {
			t.Errorf("%s: rms error %.2f dB, at most %.2f; by a law: %v", c.name, rms, c.most, g.Holds())
		}
		for _, k := range knots {
			if down[k.At] != k.Down {
				t.Fatalf("%s: at sample %d the reduction is %.4f dB and %.4f was known", c.name, k.At, down[k.At], k.Down)
			}
		}
	}
}

// Where nothing was cut for long, the gain has come back.
func TestCurveComesBack(t *testing.T) {
	level := make([]float64, 4*48000)
	for i := range level {
		level[i] = -40
	}
	knots := []Knot{{1000, 6}, {1001, 6}, {1002, 6}, {150000, 5}, {150001, 5}}
	for _, k := range knots {
		level[k.At] = -k.Down
	}
	g, _ := Fit(context.Background(), level, knots)
	down := g.Curve(level, knots).Down
	if d := down[120000]; d > 0.05 {
		t.Errorf("2.5 s after the last clipped sample the reduction is %.2f dB", d)
	}
	if down[1002] != 6 || down[150001] != 5 {
		t.Errorf("at the knots: %.2f, %.2f dB", down[1002], down[150001])
	}
}

// Whoever gives up is not kept waiting.
func TestFitStops(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Fit(ctx, make([]float64, 100), []Knot{{50, 3}}); err == nil {
		t.Error("no error from a fit that was given up")
	}
}
