package metercmd

import (
	"io"
	"math"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"testing"

	"gainwright/cmd/gainwright/internal/cli"
)

// TestOverview: the parts are what the lowest and highest sample of each stretch is,
// however the recording comes in and however often the parts had to double.
func TestOverview(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 9))
	for _, frames := range []int{1, 9, 10, 4999, 29990, 30000, 30001, 61000, 150001} {
		x := [][]float64{make([]float64, frames), make([]float64, frames)}
		for i := range frames {
			x[0][i], x[1][i] = r.NormFloat64(), r.NormFloat64()
		}
		x[1][r.IntN(frames)] = math.NaN()
		o := overview{per: 10}
		for at := 0; at < frames; {
			n := min(1+r.IntN(3000), frames-at)
			o.write([][]float64{x[0][at : at+n], x[1][at : at+n]})
			at += n
		}
		var lo, hi []float64
		for at := 0; at < frames; at += int(o.per) {
			end := min(frames, at+int(o.per))
			both := slices.Concat(x[0][at:end], x[1][at:end])
			for i, v := range both {
				if math.IsNaN(v) {
					both[i] = 0
				}
			}
			lo, hi = append(lo, slices.Min(both)), append(hi, slices.Max(both))
		}
		if !slices.Equal(o.Lo, lo) || !slices.Equal(o.Hi, hi) {
			t.Errorf("%d frames: %d parts of %d, want %d", frames, len(o.Lo), o.per, len(lo))
		}
		if len(lo) > mostParts || frames > 10*mostParts && len(lo) < mostParts/2 {
			t.Errorf("%d frames: %d parts", frames, len(lo))
		}
	}
}

// TestOverviewOnlyForPictures: nobody waits for a picture that is not made.
func TestOverviewOnlyForPictures(t *testing.T) {
	path := filepath.Join(t.TempDir(), "two.wav")
	shouting(t, path, 2, 0.6)
	for _, picture := range []bool{false, true} {
		m, err := Measure(t.Context(), path, picture, cli.NewWatch(io.Discard, true))
		if err != nil {
			t.Fatal(err)
		}
		if made := len(m.Overview.Lo) > 0; made != picture {
			t.Errorf("picture %v, overview %v", picture, made)
		}
	}
}
