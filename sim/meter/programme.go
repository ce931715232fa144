package meter

import (
	"fmt"
	"math"
)

// PPMType is a type of quasi-peak programme meter of IEC 60268-10.
type PPMType int

const (
	TypeI   PPMType = iota // integration 5 ms, fall 20 dB in 1.7 s
	TypeIIa                // integration 10 ms, fall 24 dB in 2.8 s, scale 1 to 7
	TypeIIb                // as IIa, scale in dB about the test level
)

// String returns the type's name in the standard.
func (t PPMType) String() string {
	switch t {
	case TypeI:
		return "Type I"
	case TypeIIa:
		return "Type IIa"
	case TypeIIb:
		return "Type IIb"
	}
	return fmt.Sprintf("PPMType(%d)", int(t))
}

// ppmBallistics holds charging rates per second and the fall in dB per second.
// Neither type is a simple RC circuit: the tone-burst tables rise more slowly
// over 0.5 to 100 ms than one. The mean of two detectors that charge at
// different rates follows the tables within 0.25 dB (Type I) and 0.5 dB (Type
// II); the rates were fitted here to the burst values, which are from memory.
type ppmBallistics struct{ slow, fast, fall float64 }

func (t PPMType) ballistics() ppmBallistics {
	switch t {
	case TypeI:
		return ppmBallistics{430, 1200, 20 / 1.7}
	case TypeIIa, TypeIIb:
		return ppmBallistics{255, 795, 24 / 2.8}
	}
	panic("meter: unknown PPM type " + t.String())
}

// PPM is a quasi-peak programme meter on one channel.
type PPM struct {
	kind       PPMType
	slow, fast float64 // share of the difference charged per sample
	fall       float64 // factor per sample
	gain       float64

	a, b  float64
	level float64 // highest reading
	bad   int
}

// NewPPM returns a programme meter. It panics on a rate [CheckRate] refuses or
// an unknown type.
func NewPPM(rate int, kind PPMType) *PPM {
	mustRate(rate)
	b := kind.ballistics()
	fs := float64(rate)
	p := &PPM{
		kind: kind,
		slow: -math.Expm1(-b.slow / fs),
		fast: -math.Expm1(-b.fast / fs),
		fall: FromDB(-b.fall / fs),
		gain: 1,
	}
	// The detectors settle a little below the peak of a tone, where charge and
	// fall balance; the scale makes good for it at 997 Hz.
	w := 2 * math.Pi * 997 / fs
	for i := range rate / 4 {
		p.step(math.Abs(math.Sin(w * float64(i))))
	}
	p.gain = 2 / (p.a + p.b)
	p.Reset()
	return p
}

func (p *PPM) step(x float64) {
	a, b := p.a*p.fall, p.b*p.fall
	if x > a {
		a += (x - a) * p.slow
	}
	if x > b {
		b += (x - b) * p.fast
	}
	p.a, p.b = a, b
}

// Write feeds samples.
func (p *PPM) Write(x []float64) {
	a, b, top := p.a, p.b, 0.0
	for _, v := range x {
		a *= p.fall
		b *= p.fall
		// The slow detector is never above the fast one.
		if v = math.Abs(v); v > a {
			if !usable(v) {
				p.bad++
				continue
			}
			a += (v - a) * p.slow
			if v > b {
				b += (v - b) * p.fast
			}
			top = max(top, a+b)
		} else if v != v {
			p.bad++
		}
	}
	if b < 1e-40 { // before the numbers become denormal and slow
		a, b = 0, 0
	}
	p.a, p.b = a, b
	p.level = max(p.level, top*p.gain/2)
}

// Level returns the reading: the amplitude of the steady sine that would read
// the same, 1 for full scale; under −600 dB it reads 0.
func (p *PPM) Level() float64 {
	if p.b < 1e-30 {
		return 0
	}
	return (p.a + p.b) / 2 * p.gain
}

// DB returns the reading in dBFS, 0 for a full-scale sine.
func (p *PPM) DB() float64 { return DB(p.Level()) }

// MaxDB returns the highest reading so far in dBFS.
func (p *PPM) MaxDB() float64 { return DB(p.level) }

// Mark returns the reading on the type's own scale, given the test (alignment)
// level in dBFS: for Type IIa the marks 1 to 7, 4 dB apart, 4 at the test
// level; for Type IIb dB about the test level; for Type I dB about the
// permitted maximum, 9 dB above the test level (EBU R 68).
func (p *PPM) Mark(testDBFS float64) float64 {
	d := p.DB() - testDBFS
	switch p.kind {
	case TypeIIa:
		return 4 + d/4
	case TypeIIb:
		return d
	}
	return d - 9
}

// Invalid returns how many samples were not usable and counted as zero.
func (p *PPM) Invalid() int { return p.bad }

// Reset makes the meter as new.
func (p *PPM) Reset() { p.a, p.b, p.level, p.bad = 0, 0, 0, 0 }

// The movement of a VU meter as a second-order system driven by the rectified
// mean: 99 % of a step after 300 ms and an overswing of 1.25 %, in the middle of
// the 1 to 1.5 % that IEC 60268-17 asks for.
const (
	vuDamping = 0.8127169864
	vuOmega   = 13.5119333 // rad/s
)

// tickFrames is the number of frames in about a millisecond: slow detectors
// look at means over such ticks.
func tickFrames(rate int) int { return (rate + 500) / 1000 }

// VU is a volume indicator on one channel after IEC 60268-17. It advances every
// millisecond.
type VU struct {
	tick               int
	xx, xv, vx, vv     float64 // transition over a tick, around the driven value
	n                  int
	sum                float64 // of magnitudes in the tick
	position, velocity float64
	max                float64
	bad                int
}

// NewVU returns a volume indicator. It panics on a rate [CheckRate] refuses.
func NewVU(rate int) *VU {
	mustRate(rate)
	v := &VU{tick: tickFrames(rate)}
	t := float64(v.tick) / float64(rate)
	damp := vuDamping * vuOmega
	wd := vuOmega * math.Sqrt(1-vuDamping*vuDamping)
	e, s, c := math.Exp(-damp*t), math.Sin(wd*t), math.Cos(wd*t)
	v.xx, v.xv = e*(c+damp/wd*s), e*s/wd
	v.vx, v.vv = -e*vuOmega*vuOmega/wd*s, e*(c-damp/wd*s)
	return v
}

// Write feeds samples.
func (v *VU) Write(x []float64) {
	for len(x) > 0 {
		m := min(len(x), v.tick-v.n)
		s := v.sum
		for _, a := range x[:m] {
			if magBits(a) >= invalidBits {
				v.bad++
				continue
			}
			s += math.Abs(a)
		}
		v.sum = s
		x = x[m:]
		if v.n += m; v.n == v.tick {
			u := v.sum / float64(v.tick)
			d := v.position - u
			v.position = u + v.xx*d + v.xv*v.velocity
			v.velocity = v.vx*d + v.vv*v.velocity
			if math.Abs(v.position) < 1e-30 && math.Abs(v.velocity) < 1e-30 {
				v.position, v.velocity = 0, 0 // before the numbers become denormal
			}
			v.max = max(v.max, v.position)
			v.n, v.sum = 0, 0
		}
	}
}

// Level returns the reading: the amplitude of the steady sine that would read
// the same, 1 for full scale; π/2 times the rectified mean.
func (v *VU) Level() float64 { return max(0, v.position) * math.Pi / 2 }

// DB returns the reading in dBFS, 0 for a full-scale sine. Subtract the level
// of 0 VU in dBFS to get the reading in VU.
func (v *VU) DB() float64 { return DB(v.Level()) }

// MaxDB returns the highest reading so far in dBFS.
func (v *VU) MaxDB() float64 { return DB(v.max * math.Pi / 2) }

// Invalid returns how many samples were not usable and counted as zero.
func (v *VU) Invalid() int { return v.bad }

// Reset makes the meter as new.
func (v *VU) Reset() {
	v.n, v.sum, v.position, v.velocity, v.max, v.bad = 0, 0, 0, 0, 0, 0
}
