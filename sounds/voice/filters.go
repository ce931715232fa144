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

func (r *antiresonator) step(x float64) float64 {
	y := r.a*x + r.b*r.x1 + r.c*r.x2
	r.x2, r.x1 = r.x1, x
	return y
}

// biquad is a second-order section, transposed direct form II.
type biquad struct{ b0, b1, b2, a1, a2, z1, z2 float64 }

func (q *biquad) step(x float64) float64 {
	y := q.b0*x + q.z1
	q.z1 = q.b1*x - q.a1*y + q.z2
	q.z2 = q.b2*x - q.a2*y
	return y
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
	s2, c2 := 2*s*c, c*c-s*s
	return math.Hypot(q.b0+q.b1*c+q.b2*c2, q.b1*s+q.b2*s2) / math.Hypot(1+q.a1*c+q.a2*c2, q.a1*s+q.a2*s2)
}

func lin(db float64) float64 { return math.Pow(10, db/20) }
