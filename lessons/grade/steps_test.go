package grade_test

import (
	"math"
	"slices"
	"testing"

	"gainwright/lessons/grade"
)

// Every value is in the one column that holds it, columns join, and their width is one
// that people count in.
func FuzzHistogram(f *testing.F) {
	f.Add(-17.2, -9.5, 3.0, -12.0, 12)
	f.Add(0.0, 0.0, 0.0, 0.0, 1)
	f.Add(1e9, -1e9, 1e-9, 0.5, 16)
	f.Fuzz(func(t *testing.T, a, b, c, also float64, most int) {
		v := []float64{a, b, c}
		for _, x := range append(v, also) {
			if math.IsNaN(x) || math.Abs(x) > 1e9 {
				return
			}
		}
		most = 2 + int(uint(most)%40)
		bins := grade.Histogram(v, []float64{also}, most)
		n := 0
		for i, bin := range bins {
			n += bin.N
			if i > 0 && bin.From != bins[i-1].To {
				t.Fatalf("%v do not join", bins)
			}
			w := bin.To - bin.From
			if lead := w / math.Pow(10, math.Floor(math.Log10(w*(1+1e-9)))); !slices.ContainsFunc([]float64{1, 2, 5}, func(x float64) bool { return math.Abs(lead-x) < 1e-3 }) {
				t.Fatalf("a width of %v", w)
			}
		}
		if n != 3 || len(bins) > most+1 {
			t.Fatalf("%d values in %d columns of %d", n, len(bins), most)
		}
		if span := 1e-6 * (1 + math.Abs(also)); bins[0].From > min(a, b, c, also)+span || bins[len(bins)-1].To < max(a, b, c, also)-span {
			t.Fatalf("%v does not hold %v", bins, append(v, also))
		}
	})
}

// Where what is right differs from seed to seed, answers are told as distances from it.
func TestMissed(t *testing.T) {
	s := grade.Spread{Values: []float64{-10, -12}, Rights: []float64{-10.5, -10.4}, Tolerance: 1}
	if v, off := s.Missed(); off || !slices.Equal(v, s.Values) {
		t.Errorf("%v %v", v, off)
	}
	s.Rights = []float64{-10.5, -14}
	if v, off := s.Missed(); !off || !slices.Equal(v, []float64{0.5, 2}) {
		t.Errorf("%v %v", v, off)
	}
}
