package diagnose_test

import (
	"math"
	"slices"
	"testing"

	"gainwright/sim"
	"gainwright/sim/diagnose"
	"gainwright/sounds"
)

// A limiter that looks ahead and shaves what it misses, a quarter of a dB, leaves a wall.
// That is no cut: nobody would turn the gain down for it.
func TestLimitersWallIsNoCut(t *testing.T) {
	for _, who := range []string{"captain", "maren"} {
		x, _ := take(t, who, func(c *sim.Chain) { c.Preamp.GainDB = 34 })
		top := 0.0
		for _, v := range x {
			top = max(top, math.Abs(v))
		}
		// Milliseconds, each with the highest of the five before and after it.
		const ms, ahead = 48, 5
		ceiling := top / 4
		high := make([]float64, len(x)/ms+1)
		for i, v := range x {
			for k := max(0, i/ms-ahead); k <= min(len(high)-1, i/ms+ahead); k++ {
				high[k] = max(high[k], math.Abs(v))
			}
		}
		gain, g := make([]float64, len(x)), 1.0
		for i := range x {
			to := min(1, ceiling/max(high[i/ms], 1e-9))
			g += 0.03 * (to - g)
			gain[i] = g
		}
		wall := ceiling * math.Pow(10, -0.25/20)
		y := slices.Clone(x)
		for i := range y {
			y[i] = min(max(y[i]*gain[i], -wall), wall)
		}
		_, fs := listen(y, pcm24)
		for _, f := range fs {
			if f.Kind.Clipping() {
				t.Errorf("%s: %s (%.2f), %.0f dB less advised", who, f.Title, f.Confidence, f.Next.LowerDB)
			}
		}
		t.Logf("%s: %v", who, kinds(fs))
	}
}

// A tree's three questions lead to the leaf that their answers name, and an edge is not
// passed by what lies on it.
func TestTree(t *testing.T) {
	forest := diagnose.Forest{}
	for i := range 3 {
		forest.Edges[i] = []float32{-1, 0, 1, 5}
	}
	tree := diagnose.Tree{
		Feature: [...]uint8{0, 1, 1, 2, 2, 2, 2}, Above: [...]uint8{1, 2, 0, 3, 3, 3, 3},
		Leaf: [...]int8{0, 1, 2, 3, 4, 5, 6, 7},
	}
	for want := range int8(8) {
		f := diagnose.Features{0, 1, 5}
		if want&4 != 0 {
			f = diagnose.Features{0.5, -1, 5}
		}
		if want&2 != 0 {
			f[1] += 0.5
		}
		if want&1 != 0 {
			f[2] = 6
		}
		passed := forest.Passed(&f)
		if got := tree.At(&passed); got != want {
			t.Errorf("%v leads to %v, not %d", f[:3], got, want)
		}
	}
	never := diagnose.Tree{Above: [...]uint8{diagnose.Never, diagnose.Never, diagnose.Never, diagnose.Never, diagnose.Never, diagnose.Never, diagnose.Never}, Leaf: [8]int8{1}}
	passed := forest.Passed(&diagnose.Features{9})
	if never.At(&passed) != 1 {
		t.Error("an edge that is never passed was")
	}
}

// Codes that are far apart leave straight tops, as in a file of 16 bit that is 50 dB too
// low: that is no cut.
func TestCoarseCodesAreNoCut(t *testing.T) {
	coarse := diagnose.Options{FullScale: 1 - 1.0/(1<<15), Step: 1.0 / (1 << 15)}
	for _, who := range []string{"captain", "ilse", "pip"} {
		x, _ := take(t, who, func(c *sim.Chain) { c.Preamp.GainDB = 30 })
		x = sounds.ResampleAll([][]float64{x}, 48000, 16000, sounds.Steep)[0]
		top := 0.0
		for _, v := range x {
			top = max(top, math.Abs(v))
		}
		for codes := 20.0; codes < 120; codes *= 1.1 {
			y := make([]float64, len(x))
			for i, v := range x {
				y[i] = math.Round(v*codes/top) / (1 << 15)
			}
			c := diagnose.New(16000, coarse)
			c.Write(y)
			for _, f := range diagnose.Diagnose([]*diagnose.Channel{c}) {
				if f.Kind.Clipping() {
					t.Errorf("%s, %.0f codes: %s (%.2f)", who, codes, f.Title, f.Confidence)
				}
			}
		}
	}
}
