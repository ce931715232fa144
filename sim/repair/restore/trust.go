package restore

import (
	"math"

	"gainwright/sim/repair/vec"
)

// A jury weighs the estimates by how plausible the wave is that each of them makes:
// clipping hides samples of a wave that prediction explains elsewhere, so an estimate
// whose frame can be predicted worse than another's by more than half is likely to
// be wrong where it was filled in. In recordings it sorts the worst out; in speech
// that is made of resonators and little else it finds the one that is right.
type jury struct {
	judge *predictSolver
	frame []float64
	rel   []float64 // frame by frame, gateMethods each
	has   []bool
}

func newJury(judge *predictSolver) *jury {
	return &jury{judge: judge, frame: make([]float64, judge.w)}
}

// innovation is the power that prediction leaves of a frame of s.w samples, tapered;
// 0 where there is nothing to tell.
func (s *predictSolver) innovation(x []float64) float64 {
	p := s.order
	r := s.b[:p+1]
	s.autocorr(r, x)
	if r[0] <= 0 {
		return 0
	}
	r[0] *= 1 + 1e-9
	a := s.a[:p+1]
	if !levinson(a, s.tmp[:p+1], r) {
		return 0
	}
	e := 0.0
	for l, v := range a {
		e += v * r[l]
	}
	return max(e, 0)
}

// weigh judges est in every frame that holds a clipped sample of q; frame m begins
// at (m−1)·hop.
func (j *jury) weigh(q *Stretch, est [][]float64) {
	w, hop, n := j.judge.w, j.judge.hop, len(q.Y)
	frames := n/hop + 2
	vec.Grow(&j.rel, frames*gateMethods)
	if cap(j.has) < frames {
		j.has = make([]bool, frames*3/2)
	}
	j.has = j.has[:frames]
	next := 0
	for m := range j.has {
		at := (m - 1) * hop
		for next < len(q.At) && q.At[next] < at {
			next++
		}
		j.has[m] = next < len(q.At) && q.At[next] < at+w
		if !j.has[m] {
			continue
		}
		rel := j.rel[m*gateMethods:][:gateMethods]
		lo, hi := max(0, -at), min(w, n-at)
		if lo > 0 || hi < w {
			clear(j.frame)
		}
		least := math.Inf(1)
		for k := range rel {
			copy(j.frame[lo:hi], est[k][at+lo:at+hi])
			rel[k] = j.judge.innovation(j.frame)
			if rel[k] > 0 {
				least = min(least, rel[k])
			}
		}
		for k, e := range rel {
			if rel[k] = 1; e > 0 {
				rel[k] = least / e // 1/(1 + excess), the excess re the least
			}
		}
	}
}

// at writes the trust in each estimate at sample i, 0 to 1.
func (j *jury) at(i int, trust *[gateMethods]float64) {
	hop := j.judge.hop
	*trust = [gateMethods]float64{}
	m := i / hop // the frames m and m+1 hold it
	for f := m; f <= m+1; f++ {
		fade := j.judge.fade[i-(f-1)*hop]
		for k := range trust {
			v := 1.0
			if f < len(j.has) && j.has[f] {
				v = j.rel[f*gateMethods+k]
			}
			trust[k] += fade * v
		}
	}
}
