package meter

import "math"

// BinomialP returns the probability of k or more right answers in n blind
// trials by guessing between two: Σ C(n,i)/2^n over i ≥ k. It is the one-sided
// p-value of a blind comparison, to be read after a number of trials that was
// fixed beforehand. It is 1 for k ≤ 0 and 0 for k > n; n must not be negative.
func BinomialP(k, n int) float64 {
	switch {
	case n < 0:
		panic("meter: negative number of trials")
	case k <= 0:
		return 1
	case k > n:
		return 0
	case 2*k <= n:
		// The shorter tail keeps the digits.
		return 1 - tail(n-k+1, n)
	}
	return tail(k, n)
}

// tail sums the upper tail from k, where 2k > n, so that terms fall.
func tail(k, n int) float64 {
	lg := func(x int) float64 { v, _ := math.Lgamma(float64(x) + 1); return v }
	t := math.Exp(lg(n) - lg(k) - lg(n-k) - float64(n)*math.Ln2)
	p := 0.0
	for i := k; i <= n && t > 0; i++ {
		p += t
		t *= float64(n-i) / float64(i+1)
	}
	return p
}
