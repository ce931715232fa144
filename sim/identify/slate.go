package identify

import (
	"fmt"
	"math"
	"math/cmplx"
)

// A slate is a short code of tones before a test sound, one tone at a time, so that it is
// read from a recording that is noisy or clipped: three tones that begin it, five octal
// digits for step and mark, two check digits. All tones lie within one octave and a
// quarter, so that the harmonics of a clipped one are no tones of the code.

// A Step is a part of the series.
type Step int

const (
	Quiet   Step = 1 + iota // the microphone in a silent room
	Plugged                 // a plug of 150 Ω, or a covered microphone, in place of it
	Steps                   // the tone at one mark of the knob
	Loud                    // what clips
	Off                     // the pair, limiter off
	On                      // the pair, limiter on
	Anchor                  // a level that is known
)

var stepNames = map[Step]string{Quiet: "quiet", Plugged: "plugged", Steps: "steps", Loud: "loud", Off: "off", On: "on", Anchor: "anchor"}

func (s Step) String() string {
	if n, ok := stepNames[s]; ok {
		return n
	}
	return fmt.Sprintf("step %d", int(s))
}

// ParseStep reads a step's name.
func ParseStep(name string) (Step, bool) {
	for s, n := range stepNames {
		if n == name {
			return s, true
		}
	}
	return 0, false
}

// MostMark is the highest mark of a knob that a slate can carry; marks have one decimal.
const MostMark = 102.3

// A Slate is what one says, and where it was found.
type Slate struct {
	Step Step
	Mark float64 // of the knob
	At   int64   // the frame at which it begins, to about 10 ms
}

const (
	slateDigits = 5
	slateLength = 3 + slateDigits + 2 // tones
	toneMS      = 80
	chunkMS     = 10
	perTone     = toneMS / chunkMS
	toneWindow  = 6    // chunks
	toneAlone   = 2.5  // its power over the next strongest
	toneLeast   = 1e-9 // of full scale, power
)

// SlateSeconds is how long a slate is.
const SlateSeconds = slateLength * toneMS / 1000.0

// The tones in Hz: eight for the digits, two that begin the slate.
var slateTones = [10]float64{1000, 1125, 1250, 1375, 1500, 1625, 1750, 1875, 875, 2125}

// code is a slate as numbers of tones.
func code(step Step, mark float64) (out [slateLength]int8, err error) {
	tenths := int(math.Round(mark * 10))
	if step < Quiet || step > Anchor {
		return out, faultf("there is no step %d", int(step))
	}
	if !(mark >= 0) || tenths > 1023 || math.Abs(mark*10-float64(tenths)) > 1e-6 {
		return out, faultf("a slate carries marks of 0 to %.1f with one decimal, not %v", MostMark, mark)
	}
	v := int(step)<<10 | tenths
	var d [slateDigits]int
	for i := range d {
		d[i] = v >> (3 * (slateDigits - 1 - i)) & 7
	}
	out[0], out[1], out[2] = 9, 8, 9
	for i, x := range d {
		out[3+i] = int8(x)
	}
	a, b := checks(d)
	out[3+slateDigits], out[4+slateDigits] = int8(a), int8(b)
	return out, nil
}

// checks are two digits that no single wrong digit and no swap of neighbours leaves both.
func checks(d [slateDigits]int) (a, b int) {
	for i, x := range d {
		a += [...]int{1, 3, 5, 7, 3}[i] * x
		b += (i + 1) * x
	}
	return a % 8, b % 7
}

// WriteSlate gives the samples of a slate with the given amplitude.
func WriteSlate(step Step, mark float64, rate int, amplitude float64) ([]float64, error) {
	c, err := code(step, mark)
	if err != nil {
		return nil, err
	}
	n := rate * toneMS / 1000
	edge := max(1, rate*5/1000)
	x := make([]float64, n*len(c))
	for k, tone := range c {
		for i := range n {
			e := min(1, float64(min(i, n-1-i))/float64(edge))
			e = 0.5 - 0.5*math.Cos(math.Pi*e)
			x[k*n+i] = amplitude * e * math.Sin(2*math.Pi*slateTones[tone]*float64(i)/float64(rate))
		}
	}
	return x, nil
}

// Slates finds all slates of a recording, in one pass; memory grows by a hundred bytes a
// second.
func Slates(r Recording, rate int) ([]Slate, error) {
	if rate < MinRate || rate > MaxRate {
		return nil, faultf("%d Hz cannot be compared: %d to %d Hz can", rate, MinRate, MaxRate)
	}
	e := newEar(rate)
	if err := stream(r, func(_ int64, x []float64) error { e.write(x); return nil }); err != nil {
		return nil, err
	}
	return e.slates(), nil
}

// An ear hears which tone sounds, every ten milliseconds.
type ear struct {
	rate, chunk int
	turn        [10]complex128 // a sample's turn of the phase
	phase, sum  [10]complex128
	n           int
	last        [toneWindow][10]complex128
	heard       []int8 // the tone of the window that begins at a chunk, or −1
	chunks      int
}

func newEar(rate int) *ear {
	e := &ear{rate: rate, chunk: rate * chunkMS / 1000}
	for i, hz := range slateTones {
		e.turn[i] = cmplx.Exp(complex(0, -2*math.Pi*hz/float64(rate)))
		e.phase[i] = 1
	}
	return e
}

func (e *ear) write(x []float64) {
	for _, v := range x {
		for i := range e.sum {
			e.sum[i] += complex(v, 0) * e.phase[i]
			e.phase[i] *= e.turn[i]
		}
		if e.n++; e.n == e.chunk {
			e.endChunk()
		}
	}
}

func (e *ear) endChunk() {
	e.last[e.chunks%toneWindow] = e.sum
	e.sum, e.n = [10]complex128{}, 0
	for i := range e.phase { // rounding must not add up over hours
		e.phase[i] /= complex(cmplx.Abs(e.phase[i]), 0)
	}
	if e.chunks++; e.chunks < toneWindow {
		return
	}
	best, next, tone := 0.0, 0.0, -1
	for i := range slateTones {
		s := complex(0, 0)
		for _, c := range e.last {
			s += c[i]
		}
		a := cmplx.Abs(s) / float64(toneWindow*e.chunk)
		if p := 2 * a * a; p > best {
			best, next, tone = p, best, i
		} else if p > next {
			next = p
		}
	}
	if best < toneLeast || best < toneAlone*next {
		tone = -1
	}
	e.heard = append(e.heard, int8(tone))
}

func (e *ear) slates() (out []Slate) {
	for c := 0; c+1+perTone*(slateLength-1) < len(e.heard); c++ {
		s, ok := e.at(c)
		if !ok {
			continue
		}
		last := c
		for k := c + 1; k < c+perTone; k++ {
			if t, ok := e.at(k); ok && t.Step == s.Step && t.Mark == s.Mark {
				last = k
			}
		}
		s.At = int64((c + last) / 2 * e.chunk)
		out = append(out, s)
		c += perTone * slateLength
	}
	return out
}

// at reads a slate whose first tone begins at a chunk.
func (e *ear) at(c int) (s Slate, ok bool) {
	tone := func(k int) int8 {
		i := c + 1 + perTone*k
		if i >= len(e.heard) {
			return -1
		}
		return e.heard[i]
	}
	if tone(0) != 9 || tone(1) != 8 || tone(2) != 9 {
		return s, false
	}
	var d [slateDigits]int
	v := 0
	for i := range d {
		x := tone(3 + i)
		if x < 0 || x > 7 {
			return s, false
		}
		d[i] = int(x)
		v = v<<3 | d[i]
	}
	a, b := checks(d)
	if int(tone(3+slateDigits)) != a || int(tone(4+slateDigits)) != b {
		return s, false
	}
	s = Slate{Step: Step(v >> 10), Mark: float64(v&1023) / 10}
	return s, s.Step >= Quiet && s.Step <= Anchor
}
