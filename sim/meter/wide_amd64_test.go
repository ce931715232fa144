package meter

import (
	"math"
	"math/rand/v2"
	"testing"
)

// The references are the loops for any processor.

func TestLargestInLanes(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	odd := []float64{math.NaN(), math.Inf(1), math.Inf(-1), 0, math.Copysign(0, -1), 5e-324, -5e-324, math.MaxFloat64, math.Float64frombits(invalidBits), math.Float64frombits(1<<63 | invalidBits)}
	for n := range 150 {
		for shift := range 3 { // of memory: nothing is aligned
			x := make([]float64, n+shift)[shift:]
			for i := range x {
				x[i] = r.NormFloat64()
			}
			if got, want := maxBits(x), maxBitsOf(x); got != want {
				t.Fatalf("%d numbers: %x, want %x", n, got, want)
			}
			for i := range x {
				was := x[i]
				x[i] = odd[r.IntN(len(odd))]
				got, want := maxBits(x), maxBitsOf(x)
				if got != want {
					t.Fatalf("%v at %d of %d: %x, want %x", x[i], i, n, got, want)
				}
				if i%3 > 0 { // else several come together
					x[i] = was
				}
			}
		}
	}
}

// Two channels at once are what each is alone, to the last bit, whatever the blocks.
func TestPowersInLanes(t *testing.T) {
	if !wide {
		t.Skip("this processor has no vector code to hold against the rest")
	}
	r := rand.New(rand.NewPCG(5, 6))
	k := kCoefficients(rate48)
	var both, alone [2]kState
	var sums, want [2]float64
	for block := range 400 {
		n := r.IntN(70)
		var x [2][]float64
		for c := range x {
			x[c] = make([]float64, n+c)[c:]
			for i := range x[c] {
				x[c][i] = r.NormFloat64() * math.Pow(10, float64(block%9-6))
			}
		}
		bad := block%7 == 3 && n > 0
		if bad {
			x[block%2][r.IntN(n)] = math.Inf(1)
		}
		if ok := powers(&k, x[0], x[1], &both[0], &both[1], &sums); ok == (bad || n == 0) {
			t.Fatalf("%d samples, unusable %v: ok is %v", n, bad, ok)
		} else if !ok { // nothing was touched
			for c := range x {
				sums[c], _ = both[c].power(&k, x[c], sums[c])
			}
		}
		for c := range x {
			want[c], _ = alone[c].power(&k, x[c], want[c])
		}
		// A compiler that fuses may round the reference otherwise.
		for c := range x {
			if math.Abs(sums[c]-want[c]) > 1e-12*want[c] || math.Abs(both[c].y1-alone[c].y1) > 1e-9*(math.Abs(alone[c].y1)+math.Abs(alone[c].x1)) {
				t.Fatalf("block %d, channel %d: %v, want %v; %+v, want %+v", block, c, sums[c], want[c], both[c], alone[c])
			}
		}
	}
}

// The true peak does not depend on what is skipped.
func TestTruePeakInLanes(t *testing.T) {
	defer func(was bool) { wide = was }(wide)
	for _, s := range benchSignals {
		x := s.make()[:2*rate48]
		read := func(lanes bool) (peaks []float64) {
			wide = lanes
			p := NewTruePeak(rate48)
			for at := 0; at < len(x); at += 960 {
				p.Write(x[at : at+960])
				peaks = append(peaks, p.Peak())
			}
			return peaks
		}
		one, four := read(false), read(true)
		for i := range one {
			if one[i] != four[i] {
				t.Fatalf("%s, block %d: %v in lanes, %v without", s.name, i, four[i], one[i])
			}
		}
	}
}
