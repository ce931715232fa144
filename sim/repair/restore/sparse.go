package restore

import (
	"math"

	"gainwright/sim/repair/rfft"
	"gainwright/sim/repair/vec"
)

// A sparseSolver restores frames in the frequency domain. It owns its memory and
// is not safe for concurrent use.
type sparseSolver struct {
	w     int // frame length
	hop   int
	fft   *rfft.Transform
	win   []float64 // periodic Hann window
	scale float64   // 1/√size: makes the transform a tight frame

	z, u, zb, t []complex128
	mag, sel    []float64
	x, back     []float64
	frame, est  []float64
	sign        []int8
	bound       []float64
}

// newSparseSolver returns a solver for frames of w samples, padded to fft's size.
func newSparseSolver(w int, fft *rfft.Transform) *sparseSolver {
	bins := fft.N/2 + 1
	s := &sparseSolver{w: w, hop: w / 4, fft: fft, scale: 1 / math.Sqrt(float64(fft.N))}
	s.win = make([]float64, w)
	for i := range s.win {
		s.win[i] = 0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/float64(w))
	}
	s.z, s.u = make([]complex128, bins), make([]complex128, bins)
	s.zb, s.t = make([]complex128, bins), make([]complex128, bins)
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
	clear(s.u)
	s.analyse()
	nb := len(s.z)
	for k := 1; k < nb; k += max(1, int(growth*float64(k))) {
		for i, z := range s.z {
			v := z + s.u[i]
			s.t[i] = v
			s.mag[i] = real(v)*real(v) + imag(v)*imag(v)
		}
		s.mag[0] *= 0.5
		thr := kthLargest(s.mag, s.sel, k)
		rest := 0.0
		for i, v := range s.t {
			z := s.z[i]
			var zb complex128
			if s.mag[i] >= thr {
				zb = v
			}
			d := z - zb
			rest += real(d)*real(d) + imag(d)*imag(d)
			s.zb[i] = zb
			s.t[i] = zb - s.u[i]
		}
		if 2*rest <= sparseStop*sparseStop*norm {
			return
		}
		s.project()
		s.analyse()
		for i, z := range s.z {
			s.u[i] += z - s.zb[i]
		}
	}
}

// analyse writes the scaled spectrum of s.x into s.z.
func (s *sparseSolver) analyse() {
	s.fft.Forward(s.z, s.x)
	c := s.scale
	for i, z := range s.z {
		s.z[i] = complex(c*real(z), c*imag(z))
	}
}

// project takes the spectrum s.t back to time and to the consistent set, into s.x.
func (s *sparseSolver) project() {
	s.fft.Inverse(s.back, s.t)
	for i, b := range s.back {
		switch w := s.win[i]; s.sign[i] {
		case 0:
			b = s.frame[i] * w
		case 1:
			b = max(b*s.scale, s.bound[i]*w)
		default:
			b = min(b*s.scale, -s.bound[i]*w)
		}
		s.x[i] = b
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
	s.analyse()
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
	clear(s.u)
	lambda, fall := top, math.Pow(floor, 1/float64(rounds-1))
	for range rounds {
		for i, z := range s.z {
			v := z + s.u[i]
			g := s.mag[i] / (s.mag[i] + lambda)
			zb := complex(g*real(v), g*imag(v))
			s.zb[i] = zb
			s.t[i] = zb - s.u[i]
		}
		lambda *= fall
		s.project()
		s.analyse()
		for i, z := range s.z {
			s.u[i] += z - s.zb[i]
		}
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
