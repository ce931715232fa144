package voice

import "math"

// rng is splitmix64: small, quick, and the same on every platform.
type rng uint64

func newRNG(parts ...uint64) *rng {
	r := rng(0x9e3779b97f4a7c15)
	for _, p := range parts {
		r ^= rng(p)
		r.next()
		r = rng(r.next())
	}
	return &r
}

func (r *rng) next() uint64 {
	*r += 0x9e3779b97f4a7c15
	z := uint64(*r)
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}

// unit is uniform in [0,1).
func (r *rng) unit() float64 { return float64(r.next()>>11) / (1 << 53) }

// between is uniform in [a,b).
func (r *rng) between(a, b float64) float64 { return a + (b-a)*r.unit() }

// noise is uniform with variance 1: white, and cheaper than a Gaussian.
func (r *rng) noise() float64 {
	return (float64(int64(r.next())>>11) / (1 << 52)) * math.Sqrt2 * 1.2247448713915890
}

// normal is close to Gaussian with variance 1, within ±3.5.
func (r *rng) normal() float64 {
	return (r.unit() + r.unit() + r.unit() + r.unit() - 2) * 1.7320508075688772
}

func (r *rng) index(n int) int { return int(r.next() % uint64(n)) }

func hashString(s string) uint64 {
	h := uint64(14695981039346656037)
	for i := 0; i < len(s); i++ {
		h = (h ^ uint64(s[i])) * 1099511628211
	}
	return h
}
