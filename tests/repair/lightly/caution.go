package lightly

import (
	"math"

	"gainwright/sim/repair/restore"
)

// Seen is a take as a caution sees it, beside the truth.
type Seen struct {
	Weight float64 // how much it counts in a fit
	Rate   int     // Hz

	tops   []restore.Top
	truth  []float64 // excess over the clip level of each top
	before float64   // energy of the error
	rest   float64   // of that, outside the tops
	wave   float64   // energy of the take as it was clipped
}

func seen(x, y []float64, rate int, tops []restore.Top) *Seen {
	s := &Seen{Weight: 1, Rate: rate, tops: tops}
	for i := range x {
		e := x[i] - y[i]
		s.before += e * e
		s.wave += y[i] * y[i]
	}
	s.rest = s.before
	for _, t := range tops {
		e := x[t.At] - y[t.At]
		s.rest -= e * e
		s.truth = append(s.truth, math.Copysign(x[t.At], x[t.At]*y[t.At])-t.Bound)
	}
	s.rest = max(s.rest, 0)
	return s
}

// After is what would come of the take with other cautions: by how many dB the error
// falls, and the input SDR, dB, that the result tells.
func (s *Seen) After(all *restore.Cautions) (gainDB, sdr float64) {
	c := all.Of(s.Rate)
	left, added, wave := s.rest, 0.0, s.wave
	for i, t := range s.tops {
		v := t.Keep(c) * t.Excess
		e := s.truth[i] - v
		left += e * e
		added += v * v
		wave += v * (v + 2*t.Bound)
	}
	return 10 * math.Log10(s.before/(left+1e-20)), 10 * math.Log10(wave/added)
}

// What a caution is fitted for: the mean gain in dB, and harm, which counts more the
// farther a take lies below a gain of safeDB.
const (
	safeDB   = 1.8
	harm     = 12   // how much more a take that is harmed counts
	mostGain = 1e-3 // of the error; nobody hears what is better than 30 dB
	shrink   = 3e-3 // holds the weights small
	rounds   = 130
	step     = 0.12
)

// Fit finds a caution for takes of one kind of rate, by gradient descent (Adam: Kingma and Ba, ICLR 2015) on
// standardised features.
func Fit(takes []*Seen) restore.Caution {
	mean, scale := moments(takes)
	const n = len(restore.Caution{}) - 1
	var w, m, v restore.Caution
	w[n] = 3
	for round := 1; round <= rounds; round++ {
		var g restore.Caution
		plain := unscaled(&w, mean, scale)
		for _, s := range takes {
			s.slope(&g, &plain, mean, scale)
		}
		for i := range w {
			g[i] /= float64(len(takes))
			if i < n {
				g[i] += shrink * w[i]
			}
			m[i] = 0.9*m[i] + 0.1*g[i]
			v[i] = 0.99*v[i] + 0.01*g[i]*g[i]
			w[i] -= step * m[i] / (1 - math.Pow(0.9, float64(round))) / (math.Sqrt(v[i]/(1-math.Pow(0.99, float64(round)))) + 1e-9)
		}
	}
	return unscaled(&w, mean, scale)
}

// slope adds the gradient of the take's loss by the weights of standardised features.
func (s *Seen) slope(g, plain *restore.Caution, mean, scale []float64) {
	left := s.rest + mostGain*s.before
	keep := make([]float64, len(s.tops))
	for i, t := range s.tops {
		keep[i] = t.Keep(plain)
		e := s.truth[i] - keep[i]*t.Excess
		left += e * e
	}
	gain := 10 * math.Log10(s.before/left)
	weight := s.Weight * (1 + harm/(1+math.Exp(2*(gain-safeDB)))) * 20 / math.Ln10 / left
	for i, t := range s.tops {
		if keep[i] == t.Most {
			continue // caution has no say
		}
		share := plain.Share(&t.X)
		d := -(s.truth[i] - keep[i]*t.Excess) * t.Excess * t.Heed * share * (1 - share) * weight
		for k := range t.X {
			g[k] += d * (t.X[k] - mean[k]) * scale[k]
		}
		g[len(t.X)] += d
	}
}

func moments(takes []*Seen) (mean, scale []float64) {
	n := len(restore.Caution{}) - 1
	mean, scale = make([]float64, n), make([]float64, n)
	count := 0.0
	for _, s := range takes {
		for _, t := range s.tops {
			count++
			for k, v := range t.X {
				mean[k] += v
				scale[k] += v * v
			}
		}
	}
	for k := range mean {
		mean[k] /= count
		scale[k] = 1 / (math.Sqrt(max(0, scale[k]/count-mean[k]*mean[k])) + 1e-6)
	}
	return mean, scale
}

// unscaled is a caution for features as they are.
func unscaled(w *restore.Caution, mean, scale []float64) restore.Caution {
	c := *w
	for k := range mean {
		c[k] *= scale[k]
		c[len(mean)] -= c[k] * mean[k]
	}
	return c
}
