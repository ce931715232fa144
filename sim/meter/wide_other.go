//go:build !amd64

package meter

// maxBits returns the largest magnitude in x as a bit pattern; an unusable sample comes
// out on top.
func maxBits(x []float64) uint64 { return maxBitsOf(x) }

func powers(*kCoef, []float64, []float64, *kState, *kState, *[2]float64) (ok bool) { return false }

func (*TruePeak) mayPeak(int, float64, float64) uint64 { return 1<<tpGroup - 1 }
