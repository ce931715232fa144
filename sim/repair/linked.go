package repair

import (
	"fmt"
	"math"

	"gainwright/sim/repair/vec"
)

// A reducer is a Processor that tells how far it turned down.
type reducer interface {
	Processor
	reduction() float64
}

// Linked runs a limiter or a compressor on several channels at once: it hears the
// highest of them and gives all the same gain, so that nobody moves to the side. On
// one channel it does what the Processor alone does, to the last bit.
type Linked struct {
	proc reducer
	held [][]float64
	all  []float64
	key  []float64
}

// NewLinked links channels of a Limit or Compress at a rate.
func NewLinked(t Streaming, rate, channels int) (*Linked, error) {
	p, err := t.Processor(rate)
	if err != nil {
		return nil, err
	}
	r, ok := p.(reducer)
	if !ok {
		return nil, fmt.Errorf("%s turns nothing down that could be linked", t.Name())
	}
	if channels < 1 {
		return nil, &SettingError{t.Name(), "channels", fmt.Sprintf("%d is none", channels)}
	}
	l := &Linked{proc: r, held: make([][]float64, channels)}
	for c := range l.held {
		l.held[c] = make([]float64, r.Latency())
	}
	return l, nil
}

// Latency is the delay in samples.
func (l *Linked) Latency() int { return l.proc.Latency() }

// ReductionDB is the deepest reduction so far, 0 or more; a make-up gain does not
// count.
func (l *Linked) ReductionDB() float64 { return max(0, l.proc.reduction()) }

// Reset makes it as new.
func (l *Linked) Reset() {
	l.proc.Reset()
	for _, h := range l.held {
		clear(h)
	}
}

// Process treats one block of every channel, all of one length, in place.
func (l *Linked) Process(x [][]float64) {
	n := len(x[0])
	vec.Grow(&l.key, n)
	clear(l.key)
	for _, c := range x {
		for i, v := range c {
			if !valid(v) {
				v, c[i] = 0, 0
			}
			l.key[i] = max(l.key[i], math.Abs(v))
		}
	}
	l.proc.Process(l.key)
	late := l.proc.Latency()
	for c := range x {
		vec.Grow(&l.all, late+n)
		copy(l.all, l.held[c])
		copy(l.all[late:], x[c])
		copy(x[c], l.all)
		copy(l.held[c], l.all[n:])
	}
	for i, k := range l.key {
		m := 0.0
		for c := range x {
			m = max(m, math.Abs(x[c][i]))
		}
		if m == 0 {
			continue
		}
		g := k / m
		for c := range x {
			if v := x[c][i]; math.Abs(v) == m {
				x[c][i] = math.Copysign(k, v) // to the last bit what one channel would get
			} else {
				x[c][i] = min(max(v*g, -k), k)
			}
		}
	}
}
