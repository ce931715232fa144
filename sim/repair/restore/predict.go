package restore

import (
	"math"

	"gainwright/sim/repair/rfft"
	"gainwright/sim/repair/vec"
)

// A predictSolver restores one frame by autoregression with inequalities: the
// clipped samples are those that make the frame most predictable (Janssen,
// Veldhuis, Vries, IEEE ASSP 34, 1986) among those that lie beyond the clip level.
// The bounded least-squares problem is solved by block principal pivoting
// (Júdice, Pires, Comput. Oper. Res. 21, 1994) on a skyline Cholesky factor.
type predictSolver struct {
	w, hop        int
	order, rounds int
	lean          int             // the order where more than a seventh is clipped, 0 for the same
	spare         int             // thousandths of the unknowns that may stay on the wrong side of their bound
	p             int             // the order in use
	ridge         float64         // of lag 0, keeps the autocorrelation definite
	taper         []float64       // analysis window, nil for none
	fade          []float64       // cross-fade of neighbouring frames
	fft           *rfft.Transform // for the autocorrelation

	ctx        []float64
	sign       []int8
	bound      []float64
	buf        []float64
	bins       []complex128
	a, tmp, b  []float64
	pos        []int
	lin, v, du []float64
	pass       []bool
	list       []int
	first, off []int
	chol, rhs  []float64
	free       []int // where the free samples are, and on which side
	side       []float64
	four       []float64 // four rows of the factor in the making, interleaved
	sym        []float64 // b on both sides of lag 0
}

// autocorr writes lags 0…order of x (tapered) into r.
func (s *predictSolver) autocorr(r, x []float64) {
	copy(s.buf, x)
	if s.taper != nil {
		for i := range x {
			s.buf[i] *= s.taper[i]
		}
	}
	s.fft.Forward(s.bins, s.buf[:len(x)])
	for i, z := range s.bins {
		s.bins[i] = complex(real(z)*real(z)+imag(z)*imag(z), 0)
	}
	s.fft.Inverse(s.buf[:len(r)], s.bins)
	for i := range r {
		r[i] = s.buf[i] / float64(s.fft.N)
	}
}

// levinson solves for the prediction error filter a[0]=1…a[p] of the
// autocorrelation r, and returns false when r is not positive definite.
func levinson(a, tmp, r []float64) bool {
	p := len(a) - 1
	clear(a)
	a[0] = 1
	e := r[0]
	for i := 1; i <= p; i++ {
		if !(e > 0) {
			return false
		}
		acc := r[i]
		for j := 1; j < i; j++ {
			acc += a[j] * r[i-j]
		}
		k := -acc / e
		copy(tmp[:i], a[:i])
		for j := 1; j < i; j++ {
			a[j] += k * tmp[i-j]
		}
		a[i] = k
		e *= 1 - k*k
	}
	return e > 0 && !math.IsInf(e, 0)
}

// solve improves frame x in place: ctx is the signal around it with lead samples
// before x[0] (all of it is read, only x is written). It reports whether it did.
func (s *predictSolver) solve(ctx []float64, lead, w int, sign []int8, bound []float64) bool {
	x := ctx[lead : lead+w]
	s.pos = s.pos[:0]
	for i, g := range sign {
		if g != 0 {
			s.pos = append(s.pos, i)
		}
	}
	m := len(s.pos)
	if m == 0 {
		return false
	}
	s.grow(m)
	s.guessFree(x, sign, bound)
	s.p = s.orderFor(m)
	p := s.p
	a, tmp := s.a[:p+1], s.tmp[:p+1]
	for range s.rounds {
		r := s.b[:p+1]
		s.autocorr(r, x)
		if r[0] <= 0 {
			return false
		}
		r[0] *= 1 + s.ridge
		if !levinson(a, tmp, r) {
			return false
		}
		for l := range s.b[:p+1] {
			s.b[l] = vec.Dot(a[:p+1-l], a[l:])
			s.sym[p+l], s.sym[p-l] = s.b[l], s.b[l]
		}
		for _, q := range s.pos {
			x[q] = float64(sign[q]) * bound[q]
		}
		s.gradientAtBounds(ctx, lead, sign)
		s.bounded(sign)
		for i, q := range s.pos {
			x[q] = float64(sign[q]) * (bound[q] + max(s.v[i], 0))
		}
	}
	return true
}

// orderFor is the order where m samples of a frame are clipped: work grows with its
// square, and where much is clipped a long memory has little to hold on to.
func (s *predictSolver) orderFor(m int) int {
	p := s.order
	if s.lean > 0 && 7*m > s.w {
		p = s.lean
	}
	switch {
	case 3*m <= s.w || p < 64:
		return p
	case p < 256:
		return p * 5 / 8
	default:
		return p / 2
	}
}

// grow makes room for m unknowns.
func (s *predictSolver) grow(m int) {
	vec.Grow(&s.lin, m)
	vec.Grow(&s.v, m)
	vec.Grow(&s.du, m)
	vec.Grow(&s.rhs, m)
	if cap(s.pass) < m {
		s.pass = make([]bool, m*2)
		s.first = make([]int, m*2)
		s.off = make([]int, m*2)
	}
	s.pass, s.first, s.off = s.pass[:m], s.first[:m], s.off[:m]
}

// guessFree starts with those free that the estimate x already lifts off the clip
// level, which probably stay off it; an estimate that lifts nothing says nothing.
func (s *predictSolver) guessFree(x []float64, sign []int8, bound []float64) {
	lifted := 0
	for i, q := range s.pos {
		s.pass[i] = float64(sign[q])*x[q] > 1.0001*bound[q]
		if s.pass[i] {
			lifted++
		}
	}
	if lifted*4 < len(s.pos) {
		for i := range s.pass {
			s.pass[i] = true
		}
	}
}

// gradientAtBounds fills lin with the gradient where all unknowns are at their bounds.
func (s *predictSolver) gradientAtBounds(ctx []float64, lead int, sign []int8) {
	for i, q := range s.pos {
		c := lead + q
		back, ahead := min(s.p, c), min(s.p, len(ctx)-1-c)
		sum := vec.Dot(ctx[c-back:c+ahead+1], s.sym[s.p-back:])
		s.lin[i] = float64(sign[q]) * sum
	}
}

// maxPivots ends the search for the set of samples that stay at the clip level; the
// mean is about 5 where half the samples are clipped, 3 where few are.
const maxPivots = 12

// bounded minimises ½vᵀQv + linᵀv over v ≥ 0, Q[i,j] = sign·sign·b|pos−pos|, from
// the passive set of the last call.
func (s *predictSolver) bounded(sign []int8) {
	m := len(s.pos)
	fewest, patience, near := m+1, 3, false
	for pivot := 0; pivot < maxPivots; pivot++ {
		s.list = s.list[:0]
		for i := range m {
			if s.pass[i] {
				s.list = append(s.list, i)
			}
		}
		s.factorSolve(sign)
		// The gradient of those held at the bound.
		bad, last := 0, -1
		for i := range m {
			s.du[i] = 0
		}
		for i := range m {
			if s.pass[i] {
				if s.v[i] < 0 {
					bad++
					last = i
				}
				continue
			}
			s.v[i] = 0
			s.du[i] = s.gradient(i, sign)
			if s.du[i] < 0 {
				bad++
				last = i
			}
		}
		if bad == 0 || near {
			return
		}
		near = bad <= s.spare*m/1000
		switch {
		case bad < fewest:
			fewest, patience = bad, 3
		case patience > 0:
			patience--
		default:
			s.pass[last] = !s.pass[last]
			continue
		}
		for i := range m {
			if s.pass[i] && s.v[i] < 0 || !s.pass[i] && s.du[i] < 0 {
				s.pass[i] = !s.pass[i]
			}
		}
	}
}

// gradient is that of unknown i, held at its bound, where the free ones are at v.
func (s *predictSolver) gradient(i int, sign []int8) float64 {
	g := s.lin[i]
	si := sign[s.pos[i]]
	for j := i - 1; j >= 0 && s.pos[i]-s.pos[j] <= s.p; j-- {
		if s.pass[j] {
			g += float64(si*sign[s.pos[j]]) * s.b[s.pos[i]-s.pos[j]] * s.v[j]
		}
	}
	for j := i + 1; j < len(s.pos) && s.pos[j]-s.pos[i] <= s.p; j++ {
		if s.pass[j] {
			g += float64(si*sign[s.pos[j]]) * s.b[s.pos[j]-s.pos[i]] * s.v[j]
		}
	}
	return g
}

// factorSolve solves Q·v = −lin on the passive set. The factor is made four rows at a
// time, which share what they read of the rows before.
func (s *predictSolver) factorSolve(sign []int8) {
	m := len(s.list)
	vec.Grow(&s.side, m)
	s.free = s.free[:0]
	for i, a := range s.list {
		s.free = append(s.free, s.pos[a])
		s.side[i] = float64(sign[s.pos[a]])
	}
	s.skyline()
	for i := 0; i < m; i += 4 {
		s.factorRows(i, min(4, m-i))
	}
	y := s.rhs[:m]
	for i, a := range s.list {
		fi, oi := s.first[i], s.off[i]
		sum := -s.lin[a] - vec.Dot(s.chol[oi+fi:oi+i], y[fi:i])
		y[i] = sum * s.chol[oi+i]
	}
	for i := m - 1; i >= 0; i-- {
		fi, oi := s.first[i], s.off[i]
		v := y[i] * s.chol[oi+i]
		s.v[s.list[i]] = v
		row, z := s.chol[oi+fi:oi+i], y[fi:i]
		for j, l := range row {
			z[j] -= l * v
		}
	}
}

// skyline lays the factor out: the rows of four begin where the first of them does.
func (s *predictSolver) skyline() {
	need, f, widest := 0, 0, 0
	for i := 0; i < len(s.free); i += 4 {
		for s.free[i]-s.free[f] > s.p {
			f++
		}
		width := i + 4 - f
		widest = max(widest, width)
		for r := i; r < min(i+4, len(s.free)); r++ {
			s.first[r] = f
			s.off[r] = need - f // chol[off[r]+j] is L[r][j]
			need += width
		}
	}
	vec.Grow(&s.chol, need)
	vec.Grow(&s.four, 4*widest)
}

// factorRows makes rows i to i+n−1 of the factor, n ≤ 4.
func (s *predictSolver) factorRows(i, n int) {
	f := s.first[i]
	pos, side := s.free, s.side
	four := s.four[:4*(i-f)]
	for c := range n {
		pa, sa, k := pos[i+c], side[i+c], 0
		for ; k < i-f && pa-pos[f+k] > s.p; k++ {
			four[4*k+c] = 0
		}
		for ; k < i-f; k++ {
			four[4*k+c] = sa * side[f+k] * s.b[pa-pos[f+k]]
		}
	}
	if n < 4 {
		for k := range i - f {
			clear(four[4*k+n : 4*k+4])
		}
	}
	for k := range i - f {
		o := s.off[f+k]
		vec.Solve4((*[4]float64)(four[4*k:]), s.chol[o+f:o+f+k], four, s.chol[o+f+k])
	}
	for c := range n {
		o := s.off[i+c]
		row := s.chol[o+f : o+i+c+1]
		for k := range i - f {
			row[k] = four[4*k+c]
		}
		for u := 0; u <= c; u++ { // those of the same four
			q := 0.0
			if d := pos[i+c] - pos[i+u]; d <= s.p {
				q = side[i+c] * side[i+u] * s.b[d]
			}
			ou, j := s.off[i+u], i-f+u
			q -= vec.Dot(row[:j], s.chol[ou+f:ou+f+j])
			switch least := 1e-13 * s.b[0]; {
			case u < c:
				row[j] = q * s.chol[ou+i+u]
			case q > least:
				row[j] = 1 / math.Sqrt(q) // the diagonal is kept as its reciprocal
			default: // not a number, too
				row[j] = 1 / math.Sqrt(least)
			}
		}
	}
}

// newPredictSolver returns a solver for frames of w samples and prediction from
// order samples before; fft must hold w+order samples. With taper the coefficients
// come from a Hann-windowed frame: smoother, and better in most speech.
func newPredictSolver(w, order, rounds int, taper bool, fft *rfft.Transform) *predictSolver {
	s := &predictSolver{w: w, hop: w / 2, order: order, rounds: rounds, ridge: 1e-6, fft: fft}
	if fft.N < w+order+1 {
		panic("repair: transform too short for the autocorrelation")
	}
	s.fade = make([]float64, w)
	for i := range s.fade {
		s.fade[i] = 0.5 - 0.5*math.Cos(2*math.Pi*(float64(i)+0.5)/float64(w))
	}
	if taper {
		s.taper = s.fade
	}
	s.ctx = make([]float64, w+2*order)
	s.sign, s.bound = make([]int8, w), make([]float64, w)
	s.buf = make([]float64, fft.N)
	s.bins = make([]complex128, fft.N/2+1)
	s.a, s.tmp, s.b = make([]float64, order+1), make([]float64, order+1), make([]float64, order+1)
	s.sym = make([]float64, 2*order+1)
	return s
}

// predict restores the stretch, starting from est.
func (s *predictSolver) predict(dst []float64, q *Stretch, est []float64) {
	n := len(q.Y)
	clear(dst)
	next := 0
	for at := -s.hop; at < n; at += s.hop {
		for next < len(q.At) && q.At[next] < at {
			next++
		}
		if next == len(q.At) {
			break
		}
		if q.At[next] >= at+s.w {
			continue
		}
		for i := range s.ctx {
			s.ctx[i] = 0
			if p := at - s.order + i; p >= 0 && p < n {
				s.ctx[i] = est[p]
			}
		}
		lo, hi := max(0, -at), min(s.w, n-at)
		clear(s.sign)
		copy(s.sign[lo:hi], q.Sign[at+lo:at+hi])
		copy(s.bound[lo:hi], q.Bound[at+lo:at+hi])
		s.solve(s.ctx, s.order, s.w, s.sign, s.bound)
		for i := lo; i < hi; i++ {
			dst[at+i] += s.fade[i] * s.ctx[s.order+i]
		}
	}
	q.hold(dst)
}
