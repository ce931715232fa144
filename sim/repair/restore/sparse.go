package restore

import (
	"math"

	"gainwright/sim/repair/rfft"
	"gainwright/sim/repair/vec"
)

// A sparseSolver restores frames in the frequency domain. It owns its memory and
// is not safe for concurrent use.
type sparseSolver struct {
	w   int // frame length
	hop int
	fft *rfft.Transform
	win []float64 // periodic Hann window

	// The alternation of ADMM (Boyd et al. 2011, §3.1.1) between x, consistent, and its
	// model z̄ in the spectrum, with the scaled dual u. z is the spectrum of x and t is
	// z̄ − u; since u grows by z − z̄, the next u is z − t, and nothing else is kept.
	// Spectra are those of the bare transform, √size times an orthonormal one's.
	z, t       []complex128
	mag, sel   []float64
	x, back    []float64
	lo, hi     []float64 // the consistent set, windowed
	frame, est []float64
	sign       []int8
	bound      []float64
}

// newSparseSolver returns a solver for frames of w samples, padded to fft's size.
func newSparseSolver(w int, fft *rfft.Transform) *sparseSolver {
	bins := fft.N/2 + 1
	s := &sparseSolver{w: w, hop: w / 4, fft: fft}
	s.win = make([]float64, w)
	for i := range s.win {
		s.win[i] = 0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/float64(w))
	}
	s.z, s.t = make([]complex128, bins), make([]complex128, bins)
	s.lo, s.hi = make([]float64, w), make([]float64, w)
	s.mag, s.sel = make([]float64, bins), make([]float64, bins)
	s.x, s.back = make([]float64, w), make([]float64, w)
	s.frame, s.est, s.bound = make([]float64, w), make([]float64, w), make([]float64, w)
	s.sign = make([]int8, w)
	return s
}

// frames overlaps and adds what solve leaves in s.x for every frame of q that
// holds a clipped sample: those are all that reach one. est may be nil.
func (s *sparseSolver) frames(dst []float64, q *Stretch, est []float64, solve func(clipped int)) {
	n := len(q.Y)
	clear(dst)
	next := 0 // clipped samples before the frame are behind us
	for at := s.hop - s.w; at < n; at += s.hop {
		for next < len(q.At) && q.At[next] < at {
			next++
		}
		if next == len(q.At) {
			break
		}
		if q.At[next] >= at+s.w {
			continue
		}
		lo, hi := max(0, -at), min(s.w, n-at)
		if lo > 0 || hi < s.w {
			clear(s.frame)
			clear(s.est)
			clear(s.sign)
		}
		copy(s.frame[lo:hi], q.Y[at+lo:at+hi])
		copy(s.sign[lo:hi], q.Sign[at+lo:at+hi])
		copy(s.bound[lo:hi], q.Bound[at+lo:at+hi])
		if est != nil {
			copy(s.est[lo:hi], est[at+lo:at+hi])
		}
		clipped := 0
		for i := next; i < len(q.At) && q.At[i] < at+s.w; i++ {
			clipped++
		}
		solve(clipped)
		// Σ window² over hops of a quarter is 1.5.
		for i := lo; i < hi; i++ {
			dst[at+i] += s.x[i] * s.win[i] * (1 / 1.5)
		}
	}
	q.hold(dst)
}

// sparse restores the stretch by A-SPADE (Kitić, Bertin, Gribonval, LVA/ICA
// 2015): among the signals consistent with the recording it looks for one with
// few strong frequencies, by turns keeping the k strongest bins and returning to
// the consistent set. k grows by one or, later, by a share of itself, where the
// paper's grows evenly: the first components decide, the rest is detail.
func (s *sparseSolver) sparse(dst []float64, q *Stretch) {
	s.frames(dst, q, nil, func(clipped int) {
		growth := 0.08
		switch share := float64(clipped) / float64(s.w); {
		case share > 0.3:
			growth = 0.02
		case share > 0.1:
			growth = 0.03
		}
		s.sparseFrame(growth)
	})
}

const sparseStop = 0.05 // of the frame's norm

func (s *sparseSolver) sparseFrame(growth float64) {
	norm := 0.0
	for i, v := range s.frame {
		v *= s.win[i]
		s.x[i] = v
		norm += v * v
	}
	if norm == 0 {
		return
	}
	s.limits()
	s.fft.Forward(s.z, s.x)
	copy(s.t, s.z) // u = 0
	enough := sparseStop * sparseStop * norm * float64(s.fft.N) / 2
	for k := 1; k < len(s.z); k += max(1, int(growth*float64(k))) {
		powers(s.mag, s.z, s.t)
		s.mag[0] *= 0.5
		if keep(s.t, s.z, s.mag, kthLargest(s.mag, s.sel, k)) <= enough {
			return
		}
		s.project()
		s.fft.Forward(s.z, s.x)
	}
}

// powers writes the powers of z + u.
func powers(mag []float64, z, t []complex128) {
	for i := widePowers(mag, z, t); i < len(z); i++ {
		v := 2*z[i] - t[i]
		mag[i] = real(v)*real(v) + imag(v)*imag(v)
	}
}

// keep makes the bins of z + u whose power mag is at least that much the model, and the
// rest of it zero, and returns ‖z − model‖².
func keep(t, z []complex128, mag []float64, least float64) float64 {
	i, rest := wideKeep(t, z, mag, least)
	for ; i < len(z); i++ {
		d := t[i] - z[i]
		if mag[i] >= least {
			t[i] = z[i] // z + u − u
		} else {
			t[i], d = d, z[i]
		}
		rest += real(d)*real(d) + imag(d)*imag(d)
	}
	return rest
}

// limits readies project for the frame.
func (s *sparseSolver) limits() {
	inf := math.Inf(1)
	for i, w := range s.win {
		switch s.sign[i] {
		case 0:
			v := s.frame[i] * w
			s.lo[i], s.hi[i] = v, v
		case 1:
			s.lo[i], s.hi[i] = s.bound[i]*w, inf
		default:
			s.lo[i], s.hi[i] = -inf, -s.bound[i]*w
		}
	}
}

// project takes the spectrum s.t back to time and to the consistent set, into s.x.
func (s *sparseSolver) project() {
	s.fft.Inverse(s.back, s.t)
	clamp(s.x, s.back, s.lo, s.hi, 1/float64(s.fft.N))
}

// clamp writes scale·x, no lower than lo and no higher than hi.
func clamp(dst, x, lo, hi []float64, scale float64) {
	for i := wideClamp(dst, x, lo, hi, scale); i < len(x); i++ {
		dst[i] = min(max(x[i]*scale, lo[i]), hi[i])
	}
}

// wiener restores the stretch given an estimate of it: in each frame the
// consistent signal of smallest Σ|z|²/v, where v is the estimate's power spectrum
// smoothed over ±smooth bins and no lower than floor of its maximum: the most
// likely one if the frame is Gaussian noise of that spectrum. Solved by the same
// alternation (ADMM), whose weight falls from the top of the spectrum to its floor.
func (s *sparseSolver) wiener(dst []float64, q *Stretch, est []float64, rounds, smooth int, floor float64) {
	s.frames(dst, q, est, func(int) { s.wienerFrame(rounds, smooth, floor) })
}

func (s *sparseSolver) wienerFrame(rounds, smooth int, floor float64) {
	norm := 0.0
	for i, v := range s.est {
		v *= s.win[i]
		s.x[i] = v
		norm += v * v
	}
	if norm == 0 {
		return
	}
	s.limits()
	s.fft.Forward(s.z, s.x)
	nb := len(s.z)
	for i, z := range s.z {
		s.sel[i] = real(z)*real(z) + imag(z)*imag(z)
	}
	top := 0.0
	inv := 1 / float64((smooth+1)*(smooth+1)) // the triangle's weights add to (smooth+1)²
	for i := range s.mag {
		sum := 0.0
		for d := -smooth; d <= smooth; d++ {
			j := i + d
			if j < 0 {
				j = -j
			}
			if j >= nb {
				j = 2*(nb-1) - j
			}
			sum += float64(smooth+1-max(d, -d)) * s.sel[j]
		}
		s.mag[i] = sum * inv
		top = max(top, s.mag[i])
	}
	if top == 0 {
		return
	}
	for i := range s.mag {
		s.mag[i] += floor * top
	}
	copy(s.t, s.z)
	lambda, fall := top, math.Pow(floor, 1/float64(rounds-1))
	for range rounds {
		for i, z := range s.z {
			t, g := s.t[i], s.mag[i]/(s.mag[i]+lambda)
			re, im := real(z)-real(t), imag(z)-imag(t) // u
			s.t[i] = complex(g*(real(z)+re)-re, g*(imag(z)+im)-im)
		}
		lambda *= fall
		s.project()
		s.fft.Forward(s.z, s.x)
	}
}

// kthLargest returns the k-th largest value of v (k from 1, values ≥ 0, at most
// 65535 of them), with sel as scratch.
func kthLargest(v, sel []float64, k int) float64 {
	if k >= len(v) {
		return 0
	}
	// Bit patterns of non-negative floats order like integers: a histogram over
	// the exponent finds the octave, and few values are left to select from.
	const shift, buckets = 52, 2048
	var hist [buckets]uint16
	for _, x := range v {
		hist[math.Float64bits(x)>>shift&(buckets-1)]++
	}
	left := k
	b := buckets - 1
	for ; b > 0; b-- {
		c := int(hist[b])
		if left <= c {
			break
		}
		left -= c
	}
	m := 0
	for _, x := range v {
		if int(math.Float64bits(x)>>shift&(buckets-1)) == b {
			sel[m] = x
			m++
		}
	}
	if m == 0 {
		return 0
	}
	return vec.Select(sel[:m], min(left, m))
}
