package meter

import (
	"math"

	"golang.org/x/sys/cpu"
)

// wide tells whether this processor works on four numbers at once, and the vector code
// may be used.
var wide = cpu.X86.HasAVX

//go:noescape
func largestAVX(x *float64, n int) (top float64, nan uint64)

//go:noescape
func powerAVX(k *kCoef, l, r *float64, n int, a, b *kState, sums *[2]float64)

//go:noescape
func nearestAVX(x *float64, taps *tpTaps, others, over, peak float64) (may uint64)

// maxBits returns the largest magnitude in x as a bit pattern; an unusable sample comes
// out on top.
func maxBits(x []float64) uint64 {
	if !wide || len(x) < 16 {
		return maxBitsOf(x)
	}
	n := len(x) &^ 7
	top, nan := largestAVX(&x[0], n)
	if nan != 0 {
		return maxBitsOf(x)
	}
	return max(math.Float64bits(top), maxBitsOf(x[n:]))
}

// powers is kState.power of two channels of equal length, which neither waits for.
func powers(k *kCoef, l, r []float64, a, b *kState, sums *[2]float64) (ok bool) {
	if !wide || len(l) == 0 || max(maxBits(l), maxBits(r)) >= invalidBits {
		return false
	}
	r = r[:len(l)]
	powerAVX(k, &l[0], &r[0], len(l), a, b, sums)
	return true
}

// mayPeak tells in which of the four intervals from the sample i on the nearest taps,
// and the most that the others can add, reach over peak: a bit for each.
func (p *TruePeak) mayPeak(i int, others, peak float64) uint64 {
	if !wide {
		return 1<<tpGroup - 1
	}
	w := (*[tpGroup + 7]float64)(p.buf[i-3:]) // from 3 before the first to 4 after the last
	return nearestAVX(&w[3], &tp, others, tpOver, peak)
}
