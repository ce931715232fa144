package voice

import "math"

// Rate is the sample rate of everything here, in Hz.
const Rate = 48000

// resonator is Klatt's (1980) two-pole section with unity gain at DC.
type resonator struct{ a, b, c, y1, y2 float64 }

func (r *resonator) set(f, bw float64) {
	f = min(f, 0.49*Rate)
	r.c = -math.Exp(-2 * math.Pi * bw / Rate)
	r.b = 2 * math.Exp(-math.Pi*bw/Rate) * math.Cos(2*math.Pi*f/Rate)
	r.a = 1 - r.b - r.c
}

func (r *resonator) step(x float64) float64 {
	y := r.a*x + r.b*r.y1 + r.c*r.y2
	r.y2, r.y1 = r.y1, y
	return y
}

// run filters x in place.
func (r *resonator) run(x []float64) {
	a, b, c, y1, y2 := r.a, r.b, r.c, r.y1, r.y2
	for i, v := range x {
		y := a*v + b*y1 + c*y2
		y2, y1 = y1, y
		x[i] = y
	}
	r.y1, r.y2 = y1, y2
}

// peak is the gain at the resonance f.
func (r *resonator) peak(f float64) float64 {
	s, c := math.Sincos(2 * math.Pi * min(f, 0.49*Rate) / Rate)
	s2, c2 := 2*s*c, c*c-s*s
	return math.Abs(r.a) / math.Hypot(1-r.b*c-r.c*c2, r.b*s+r.c*s2)
}

// antiresonator is its inverse (Klatt 1980).
type antiresonator struct{ a, b, c, x1, x2 float64 }

func (r *antiresonator) set(f, bw float64) {
	var p resonator
	p.set(f, bw)
	r.a, r.b, r.c = 1/p.a, -p.b/p.a, -p.c/p.a
}

// run filters x in place.
func (r *antiresonator) run(x []float64) {
	x1, x2 := r.x1, r.x2
	for i, v := range x {
		x[i] = r.a*v + r.b*x1 + r.c*x2
		x2, x1 = x1, v
	}
	r.x1, r.x2 = x1, x2
}

// biquad is a second-order section, transposed direct form II.
type biquad struct{ b0, b1, b2, a1, a2, z1, z2 float64 }

func (q *biquad) step(x float64) float64 {
	y := q.b0*x + q.z1
	q.z1 = q.b1*x - q.a1*y + q.z2
	q.z2 = q.b2*x - q.a2*y
	return y
}

// run filters x in place.
func (q *biquad) run(x []float64) {
	b0, b1, b2, a1, a2, z1, z2 := q.b0, q.b1, q.b2, q.a1, q.a2, q.z1, q.z2
	for i, v := range x {
		y := b0*v + z1
		z1 = b1*v - a1*y + z2
		z2 = b2*v - a2*y
		x[i] = y
	}
	q.z1, q.z2 = z1, z2
}

// bell sets a peaking section: gain in dB at f, quality q (bilinear design).
func (q *biquad) bell(f, db, quality float64) {
	a := math.Pow(10, db/40)
	s, c := math.Sincos(2 * math.Pi * f / Rate)
	al := s / (2 * quality)
	n := 1 + al/a
	q.b0, q.b1, q.b2 = (1+al*a)/n, -2*c/n, (1-al*a)/n
	q.a1, q.a2 = -2*c/n, (1-al/a)/n
}

// allPass sets a section that passes all frequencies alike and delays those
// near f.
func (q *biquad) allPass(f, quality float64) {
	s, c := math.Sincos(2 * math.Pi * f / Rate)
	al := s / (2 * quality)
	n := 1 + al
	q.b0, q.b1, q.b2 = (1-al)/n, -2*c/n, 1
	q.a1, q.a2 = -2*c/n, (1-al)/n
}

// highPass sets a second-order Butterworth high-pass.
func (q *biquad) highPass(f float64) {
	s, c := math.Sincos(2 * math.Pi * f / Rate)
	al := s / math.Sqrt2
	n := 1 + al
	q.b0, q.b1, q.b2 = (1+c)/2/n, -(1+c)/n, (1+c)/2/n
	q.a1, q.a2 = -2*c/n, (1-al)/n
}

// lowPass sets a second-order Butterworth low-pass.
func (q *biquad) lowPass(f float64) {
	s, c := math.Sincos(2 * math.Pi * f / Rate)
	al := s / math.Sqrt2
	n := 1 + al
	q.b0, q.b1, q.b2 = (1-c)/2/n, (1-c)/n, (1-c)/2/n
	q.a1, q.a2 = -2*c/n, (1-al)/n
}

// magnitude is the gain at f.
func (q *biquad) magnitude(f float64) float64 {
	s, c := math.Sincos(2 * math.Pi * f / Rate)
	return math.Sqrt(q.power(c, s, c*c-s*s, 2*s*c))
}

// power is the squared gain where the cosine and sine of the angular frequency
// are c1, s1 and those of its double c2, s2.
func (q *biquad) power(c1, s1, c2, s2 float64) float64 {
	nr, ni := q.b0+q.b1*c1+q.b2*c2, q.b1*s1+q.b2*s2
	dr, di := 1+q.a1*c1+q.a2*c2, q.a1*s1+q.a2*s2
	return (nr*nr + ni*ni) / (dr*dr + di*di)
}

func lin(db float64) float64 { return math.Pow(10, db/20) }
