//go:build !amd64

package vec

// Wide tells whether this processor has vector code here.
const Wide = false

// Dot is the inner product of a and as many of b, summed in several parts.
func Dot(a, b []float64) float64 { return dot(a, b) }

// Solve4 is one step of solving four triangular systems of one matrix: acc becomes
// (acc − Σ l[k]·r[k])·d, where r holds four numbers for each k.
func Solve4(acc *[4]float64, l, r []float64, d float64) { solve4(acc, l, r, d) }
