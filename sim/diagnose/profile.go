package diagnose

import "math"

// A ceiling flattens what reaches it and nothing below; an overdriven stage bends what
// comes near its limit, too, and the more the nearer. Filters and codecs blur either at the
// level of the ceiling, not the difference below. The profile therefore follows how tops
// change with their level. What it is measured against is not the highest level, which a
// codec's errors lift over a ceiling, but Q, that one in a thousand samples passes.

// profileBands are parts of Q; tops between two of them are taken together.
var profileBands = [...]float64{0.3, 0.5, 0.63, 0.79, 0.92, 1.08, math.Inf(1)}

// riseBands are in bulge's bins, thirds of a dB, that a top would rise: each up to that.
var riseBands = [...]int{2, 5, 9, 15, bulgeBins}

// crowds are how many bins of samples, 128 an octave, are taken together.
var crowds = [...]int{3, 12}

const (
	bandCount    = len(profileBands) - 1
	shapeCount   = 7 // measures of a top's shape
	atQ          = 4 // the band about Q
	profileCount = 1 + shapeCount*(bandCount-1) + bandCount - 1 + 3*len(riseBands) + 3 + 5 + 2*len(crowds)
)

// profile fills in the features from fProfile on.
func (v view) profile(f []float64) {
	q := max(passed(v.s.samples[:], sampleEdge, max(8, 1e-3*v.n)), lowest)
	f[0] = db(max(v.r, lowest)) - db(q)
	f = v.shapes(q, f[1:])
	f = v.rising(q, f)
	f = v.ending(q, f)
	v.crowded(q, f)
}

// shapes is how the tops about Q are shaped, and how differently from lower ones those of
// each band are; then how many tops a band has for each of the one below. It returns what
// follows in f.
func (v view) shapes(q float64, f []float64) []float64 {
	var b [bandCount]topSum
	for i := range v.s.tops {
		mid := math.Sqrt(topEdge(i)*topEdge(i+1)) / q
		for j := range b {
			if mid >= profileBands[j] && mid < profileBands[j+1] {
				b[j].add(&v.s.tops[i])
			}
		}
	}
	low := b[0]
	low.add(&b[1])
	for _, of := range [shapeCount]func(*topSum) float64{
		(*topSum).square, (*topSum).blunt, (*topSum).rises90, (*topSum).rises80, (*topSum).kink, (*topSum).innerTurn,
		func(t *topSum) float64 { return t.roughness(v.r) },
	} {
		f[0] = of(&b[atQ])
		for j := 2; j < bandCount; j++ {
			f[j-1] = of(&b[j]) - of(&low)
		}
		f = f[bandCount-1:]
	}
	for j := 1; j < bandCount; j++ {
		f[j-1] = math.Log((float64(b[j].n) + 1) / (float64(b[j-1].n) + 1))
	}
	return f[bandCount-1:]
}

// rising asks how high tops lie that would rise far by their flanks: under a ceiling all at
// one height, under a bend the higher the farther. For each band of rises it gives the share
// of the tops, how far in dB they lie over the mean, and their standard deviation; then of
// all the correlation of level and rise, the slope, and what the slope leaves.
func (v view) rising(q float64, f []float64) []float64 {
	var n, sum, square [len(riseBands)]float64
	var all, x1, y1, xx, yy, xy float64
	for i := range v.s.bulge {
		mid := math.Sqrt(topEdge(i)*topEdge(i+1)) / q
		if mid < 0.6 {
			continue
		}
		y, band := db(mid), 0
		for j, m := range v.s.bulge[i] {
			for j >= riseBands[band] {
				band++
			}
			if m == 0 {
				continue
			}
			w, x := float64(m), math.Sqrt(float64(j))
			n[band] += w
			sum[band] += w * y
			square[band] += w * y * y
			all += w
			x1 += w * x
			y1 += w * y
			xx += w * x * x
			yy += w * y * y
			xy += w * x * y
		}
	}
	for k, m := range n {
		mean, sure := sum[k]/max(m, 1), m/(m+2)
		f[3*k] = (m + 0.2) / (all + 1)
		f[3*k+1] = sure * (mean - y1/max(all, 1))
		f[3*k+2] = sure * math.Sqrt(max(0, square[k]/max(m, 1)-mean*mean))
	}
	f = f[3*len(n):]
	if all > 1 {
		x1, y1 = x1/all, y1/all
		vx, vy, c := xx/all-x1*x1, yy/all-y1*y1, xy/all-x1*y1
		f[0] = c / math.Sqrt(max(0, vx*vy)+1e-4)
		f[1] = c / (vx + 0.01)
		f[2] = math.Sqrt(max(0, vy-c*c/(vx+0.01)))
	}
	return f[3:]
}

// ending is how the density of samples ends about Q.
func (v view) ending(q float64, f []float64) []float64 {
	level := func(share float64) float64 { return db(passed(v.s.samples[:], sampleEdge, max(3, share*v.n))) - db(q) }
	f[0], f[1] = level(3e-4), -level(3e-3)
	density := func(lo, hi float64) float64 {
		s := 0.0
		for i, n := range v.s.samples {
			if e := sampleEdge(i); e >= lo*q && e < hi*q {
				s += float64(n)
			}
		}
		return (s + 1) / (hi - lo)
	}
	f[2] = math.Log(density(0.96, 1.04) / density(0.85, 0.93))
	f[3] = math.Log(density(0.85, 0.93) / density(0.7, 0.8))
	f[4] = math.Log(density(1.05, 1.2) / density(0.96, 1.04))
	return f[5:]
}

// crowded finds the narrow range of levels that has the most samples above 0.7 Q: their
// share, and how far in dB it ends below Q.
func (v view) crowded(q float64, f []float64) {
	low := 0
	for low < sampleBins && sampleEdge(low) < 0.7*q {
		low++
	}
	for k, width := range crowds {
		var n, best, all int64
		at := 0
		for i := low; i < sampleBins; i++ {
			n += v.s.samples[i]
			all += v.s.samples[i]
			if i-width >= low {
				n -= v.s.samples[i-width]
			}
			if n > best {
				best, at = n, i
			}
		}
		f[2*k] = float64(best) / float64(all+20)
		f[2*k+1] = min(max(db(q)-db(sampleEdge(at)), -6), 6)
	}
}
