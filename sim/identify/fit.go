package identify

import "math"

// A fit finds the parameters of a law by least squares, with Huber's weights, by the steps
// of Levenberg and Marquardt (Marquardt, 1963).
type fit struct {
	pieces  []*piece
	smooths Smoothed
	before  bool // where the first recording is clipped, its gain says nothing
	coarse  bool
}

const unknowns = len(params{})

// nudges are by how much each parameter is moved to see what that does.
var nudges = params{0.1, 0.05, 0.03, 0.03, 0.2, 0.05}

// counts tells whether block i of a piece can be used: warm says that the state is known.
func (f *fit) counts(q *piece, i int) bool {
	g := q.gain[i]
	return g == g && !(f.before && q.cut[i]) && (i >= warmBlocks || len(q.gain) <= 4*warmBlocks)
}

func weigh(e float64) (w, loss float64) {
	if a := math.Abs(e); a > huber {
		return huber / a, huber * (2*a - huber)
	}
	return 1, e * e
}

// loss is the mean loss in dB² of the blocks that can be used, after Huber.
func (f *fit) loss(p params) float64 {
	sum, n := 0.0, 0
	for _, q := range f.pieces {
		if q.pace != nil && q.pace() != nil {
			return math.Inf(1) // given up: the search ends, and nobody asks what it found
		}
		s := newSmoother(f.smooths, p, q, f.coarse)
		for i := range q.gain {
			s.block(q, i)
			if !f.counts(q, i) {
				continue
			}
			_, l := weigh(float64(q.gain[i]) - p[pBase] + s.at(s.mid))
			sum += l
			n++
		}
	}
	if n == 0 {
		return math.Inf(1)
	}
	return sum / float64(n)
}

// An equation is the linearised problem of a second of sound: hess · step = −grad.
type equation struct {
	grad [unknowns]float64
	hess [unknowns][unknowns]float64
}

func (e *equation) add(o *equation, w float64) {
	for i := range e.grad {
		e.grad[i] += w * o.grad[i]
		for j := range e.hess[i] {
			e.hess[i][j] += w * o.hess[i][j]
		}
	}
}

// step solves it; lambda shortens the step, and ridge, in units of the nudges, keeps still
// what nothing tells of.
func (e *equation) step(lambda float64) (d params, ok bool) {
	var a [unknowns][unknowns]float64
	for i := range unknowns {
		d[i] = -e.grad[i]
		for j := i; j < unknowns; j++ {
			a[j][i] = e.hess[i][j] // the upper half is what is known
		}
		a[i][i] = e.hess[i][i]*(1+lambda) + 1e-4/nudges[i]/nudges[i]
	}
	return d, cholesky(&a, (*[unknowns]float64)(&d))
}

// cholesky solves a·x = b for a symmetric a by its triangular factor, in place: b becomes
// x. It is false where a is not positive definite. (gonum's brings all of its linear
// algebra into what a page has to download.)
func cholesky(a *[unknowns][unknowns]float64, b *[unknowns]float64) bool {
	for i := range unknowns {
		for j := range i + 1 {
			v := a[i][j]
			for k := range j {
				v -= a[i][k] * a[j][k]
			}
			if i != j {
				a[i][j] = v / a[j][j]
				continue
			}
			if !(v > 0) || math.IsInf(v, 0) {
				return false
			}
			a[i][i] = math.Sqrt(v)
		}
	}
	for i := range unknowns {
		for k := range i {
			b[i] -= a[i][k] * b[k]
		}
		b[i] /= a[i][i]
	}
	for i := unknowns - 1; i >= 0; i-- {
		for k := i + 1; k < unknowns; k++ {
			b[i] -= a[k][i] * b[k]
		}
		b[i] /= a[i][i]
	}
	return true
}

// equations linearises around p, second by second.
func (f *fit) equations(p params) []equation {
	var out []equation
	for _, q := range f.pieces {
		if q.pace != nil && q.pace() != nil {
			return nil
		}
		var s [unknowns]smoother // the last as it is, the others with a parameter nudged
		for k := range s {
			o := p
			if k != pBase {
				o[k] += nudges[k]
			}
			s[k] = newSmoother(f.smooths, o, q, f.coarse)
		}
		begun := len(out)
		for i := range q.gain {
			for k := range s {
				s[k].block(q, i)
			}
			if !f.counts(q, i) {
				continue
			}
			sec := begun + i/blockRate
			for len(out) <= sec {
				out = append(out, equation{})
			}
			r := s[pBase].at(s[pBase].mid)
			e := float64(q.gain[i]) - p[pBase] + r
			w, _ := weigh(e)
			var d [unknowns]float64
			for k := range d {
				d[k] = (s[k].at(s[k].mid) - r) / nudges[k]
			}
			d[pBase] = -1
			eq := &out[sec]
			for k, v := range d {
				eq.grad[k] += w * e * v
				for j := k; j < unknowns; j++ {
					eq.hess[k][j] += w * v * d[j]
				}
			}
		}
	}
	return out
}

// solve goes from p to where the loss is least nearby, in at most so many steps.
func (f *fit) solve(p params, steps int) (params, float64) {
	least := f.loss(p)
	lambda := 0.01
	for range steps {
		var all equation
		for _, e := range f.equations(p) {
			all.add(&e, 1)
		}
		was := least
		for range 5 {
			d, ok := all.step(lambda)
			if !ok {
				lambda = 10 * lambda
				continue
			}
			q := p
			for i := range q {
				q[i] += min(max(d[i], -mostStep[i]), mostStep[i])
			}
			q.clamp()
			if l := f.loss(q); l < least {
				p, least = q, l
				lambda = max(lambda/5, 1e-4)
				break
			}
			lambda *= 6
		}
		if least > was*(1-1e-3) {
			break
		}
	}
	return p, least
}

// mostStep is how far one step may go: the problem is not linear.
var mostStep = params{4, 1.5, 1, 1, 4, 1}
