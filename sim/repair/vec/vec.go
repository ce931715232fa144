// Package vec is the few lines of arithmetic on slices that detection, restoring and
// splicing share.
package vec

// Pow2 is the lowest power of two that is at least n, and at least 4.
func Pow2(n int) int {
	p := 4
	for p < n {
		p *= 2
	}
	return p
}

// Grow makes *v n long, with whatever it holds; it allocates only where v is too small.
func Grow(v *[]float64, n int) {
	if cap(*v) < n {
		*v = make([]float64, n+n/2)
	}
	*v = (*v)[:n]
}

// dot is Dot for any processor: four sums, which do not wait for each other.
func dot(a, b []float64) float64 {
	b = b[:len(a)]
	var s0, s1, s2, s3 float64
	for len(a) >= 4 {
		b = b[:len(a)]
		s0 += a[0] * b[0]
		s1 += a[1] * b[1]
		s2 += a[2] * b[2]
		s3 += a[3] * b[3]
		a, b = a[4:], b[4:]
	}
	for i := range a {
		s0 += a[i] * b[i]
	}
	return s0 + s1 + s2 + s3
}

// Select returns the k-th largest of a (k from 1), which it reorders.
func Select(a []float64, k int) float64 {
	lo, hi := 0, len(a)-1
	k--
	for lo < hi {
		p := a[(lo+hi)/2]
		i, j := lo, hi
		for i <= j {
			for a[i] > p {
				i++
			}
			for a[j] < p {
				j--
			}
			if i <= j {
				a[i], a[j] = a[j], a[i]
				i++
				j--
			}
		}
		switch {
		case k <= j:
			hi = j
		case k >= i:
			lo = i
		default:
			return a[k]
		}
	}
	return a[k]
}

// solve4 is Solve4 for any processor.
func solve4(acc *[4]float64, l, r []float64, d float64) {
	a0, a1, a2, a3 := acc[0], acc[1], acc[2], acc[3]
	r = r[:4*len(l)]
	for _, v := range l {
		a0 -= v * r[0]
		a1 -= v * r[1]
		a2 -= v * r[2]
		a3 -= v * r[3]
		r = r[4:]
	}
	*acc = [4]float64{a0 * d, a1 * d, a2 * d, a3 * d}
}
