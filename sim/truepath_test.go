package sim

import (
	"math"
	"math/rand/v2"
	"testing"
)

// riding is a gain that rests, jumps, and moves in ramps, some of them broken off.
func riding(r *rand.Rand, n int) []float64 {
	g := make([]float64, 0, n)
	var a ramp
	a.jump(math.Exp(r.NormFloat64()))
	for len(g) < n {
		switch r.IntN(4) {
		case 0:
			a.jump(math.Exp(r.NormFloat64()))
		case 1, 2:
			a.to(math.Exp(r.NormFloat64()), 1+r.IntN(500))
		}
		for k := r.IntN(400); k > 0; k -= chunk {
			g = append(g, a.next(min(k, chunk))...)
		}
	}
	return g[:n]
}

// TestTrueWaveTwoWays: whatever the gain does and however the wave is cut, it comes
// out as from an oversampler that always runs: to the last bit where the gain moved
// within the filters' memory, else to the taps left out.
func TestTrueWaveTwoWays(t *testing.T) {
	const n = 20000
	for _, rate := range []int{8000, 48000, 50001, 96000, 192000} {
		for seed := range uint64(12) {
			r := rand.New(rand.NewPCG(seed, uint64(rate)))
			gain, x := riding(r, n), make([]float64, n)
			for i := range x {
				x[i] = r.Float64()*2 - 1
				if seed%3 == 0 {
					// The worst wave for taps that alternate.
					x[i] = float64(1 - i%2*2)
				}
			}
			if seed == 0 {
				for i := range gain {
					gain[i] = gain[0]
				}
			}

			os, err := newOversampler(rate)
			if err != nil {
				t.Fatal(err)
			}
			want, x4 := make([]float64, n), make([]float64, chunk*os.factor)
			for i := 0; i < n; i += chunk {
				j := min(i+chunk, n)
				w := x4[:(j-i)*os.factor]
				os.up(w, x[i:j])
				for k := range w {
					w[k] *= gain[i+k/os.factor]
				}
				os.down(want[i:j], w)
			}

			straight, round := 0, 0
			var first []float64
			for cut := range 3 {
				p, err := newTruePath(rate)
				if err != nil {
					t.Fatal(err)
				}
				p.reset(gain[0])
				y := append([]float64(nil), x...)
				for i := 0; i < n; {
					j := i + chunk
					switch cut {
					case 1:
						j = i + 1
					case 2:
						j = i + 1 + r.IntN(chunk)
					}
					j = min(j, n)
					p.run(y[i:j], gain[i:j])
					i = j
				}
				if cut == 0 {
					first = y
					continue
				}
				for i := range y {
					if y[i] != first[i] {
						t.Fatalf("%d Hz, seed %d: sample %d is %g or %g, by how the wave is cut", rate, seed, i, first[i], y[i])
					}
				}
			}

			rest, worst := os.delay, 0.0 // as long as it has rested before the start
			for i := range first {
				if i > 0 && gain[i] != gain[i-1] {
					rest = 0
				}
				d := math.Abs(first[i] - want[i])
				if rest < os.delay {
					round++
					if d != 0 {
						t.Fatalf("%d Hz, seed %d: sample %d, %d after the gain moved, is off by %g", rate, seed, i, rest, d)
					}
				} else {
					straight++
					worst = max(worst, d/gain[i])
				}
				rest++
			}
			if worst > 1.4e-10 {
				t.Errorf("%d Hz, seed %d: the one filter is off by %.3g of the wave", rate, seed, worst)
			}
			if os.factor > 1 && (straight < n/20 || seed > 0 && round < n/20) {
				t.Fatalf("%d Hz, seed %d: %d samples one way, %d the other, is no trial of both", rate, seed, straight, round)
			}
		}
	}
}

// TestTrueWaveAllocatesNothing: nor at a change of way.
func TestTrueWaveAllocatesNothing(t *testing.T) {
	for _, rate := range []int{48000, 96000, 192000} {
		p, err := newTruePath(rate)
		if err != nil {
			t.Fatal(err)
		}
		r := rand.New(rand.NewPCG(1, 2))
		gain, x := riding(r, 200*chunk), make([]float64, chunk)
		i := 0
		if n := testing.AllocsPerRun(190, func() {
			p.run(x, gain[i:i+chunk])
			i += chunk
		}); n > 0 {
			t.Errorf("%d Hz: %v allocations a block", rate, n)
		}
	}
}
