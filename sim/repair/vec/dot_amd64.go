package vec

import "golang.org/x/sys/cpu"

// Wide tells whether this processor works on four numbers at once (AVX2 with fused
// multiply-add), and the vector code may be used.
var Wide = cpu.X86.HasAVX2 && cpu.X86.HasFMA

// dotFMA is the inner product of n numbers from a and b.
//
//go:noescape
func dotFMA(a, b *float64, n int) float64

// Dot is the inner product of a and as many of b, summed in several parts.
func Dot(a, b []float64) float64 {
	if !Wide || len(a) < 16 {
		return dot(a, b)
	}
	b = b[:len(a)]
	return dotFMA(&a[0], &b[0], len(a))
}

//go:noescape
func solve4FMA(acc, l, r *float64, n int, d float64)

// Solve4 is one step of solving four triangular systems of one matrix: acc becomes
// (acc − Σ l[k]·r[k])·d, where r holds four numbers for each k.
func Solve4(acc *[4]float64, l, r []float64, d float64) {
	if !Wide || len(l) == 0 {
		solve4(acc, l, r, d)
		return
	}
	r = r[:4*len(l)]
	solve4FMA(&acc[0], &l[0], &r[0], len(l), d)
}
