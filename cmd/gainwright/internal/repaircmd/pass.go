package repaircmd

import (
	"context"
	"fmt"
	"math"

	"gainwright/sim"
	"gainwright/sim/repair"
	"gainwright/sounds"
)

// A pass puts one treatment's work from one tape on the next.
type pass struct {
	ctx  context.Context
	rate int
	in   *tape
	out  *tape
	tell func(float64) // share done
	what repair.Treatment
}

// part is tell for the share from a to b.
func (p *pass) part(a, b float64) func(float64) {
	return func(s float64) { p.tell(a + (b-a)*s) }
}

func (t *tape) peak(ctx context.Context) (top, bottom float64, err error) {
	err = t.each(ctx, nil, func(x [][]float64, _ int64) error {
		for _, c := range x {
			for _, v := range c {
				top, bottom = max(top, v), min(bottom, v)
			}
		}
		return nil
	})
	return top, bottom, err
}

// treat runs one method.
func (p *pass) treat(m *method, safety *tape) (repair.Report, error) {
	top, bottom, err := p.in.peak(p.ctx)
	if err != nil {
		return repair.Report{}, err
	}
	before := max(top, -bottom)
	if before == 0 {
		return repair.Report{Treatment: m.kind, Verdict: repair.Empty()}, p.scale(p.in, p.out, 1, p.tell)
	}
	var rep repair.Report
	told := func(m repair.Measured) error { // by what the treatment measures
		top, bottom, err := p.out.peak(p.ctx)
		m.PeakBefore, m.PeakAfter = before, max(top, -bottom)
		rep = repair.ReportOf(p.what, m)
		return err
	}
	p.what = m.t
	switch t := m.t.(type) {
	case repair.Declip:
		rep, err = p.declip(t)
	case repair.Splice:
		rep, err = p.splice(t, safety)
	case repair.Denoise:
		var learnt bool
		var q repair.Measured
		if q, learnt, err = p.denoise(t); err == nil && learnt {
			err = told(q)
		} else {
			rep = repair.Unlearnt(t)
		}
	case repair.Deliver:
		if !m.given["loudness_lufs"] && p.in.channels == 2 {
			t.LoudnessLUFS += 3 // two channels are heard, and counted, together
		}
		rep, err = p.deliver(t)
	case repair.TurnDown:
		c := sim.DB(t.CeilingDBFS).Lin()
		if err = p.hold(p.in, p.out, min(1, c/before), c, p.tell); err == nil {
			err = told(repair.Measured{})
		}
	case repair.Limit, repair.Compress:
		var q repair.Measured
		if q.ReductionDB, err = p.linked(t.(repair.Streaming)); err == nil {
			err = told(q)
		}
	case repair.Streaming:
		if err = p.alone(t, p.tell); err == nil {
			err = told(repair.Measured{})
		}
	default:
		err = fmt.Errorf("%s cannot be run here", m.kind)
	}
	rep.Treatment = m.kind
	return rep, err
}

// scale copies with a gain; 1 leaves every bit.
func (p *pass) scale(from, to *tape, g float64, tell func(float64)) error {
	return p.hold(from, to, g, math.Inf(1), tell)
}

// hold copies with a gain and holds what rounding leaves beyond most.
func (p *pass) hold(from, to *tape, g, most float64, tell func(float64)) error {
	return from.each(p.ctx, tell, func(x [][]float64, _ int64) error {
		if g != 1 {
			for _, c := range x {
				for i, v := range c {
					c[i] = min(max(v*g, -most), most)
				}
			}
		}
		return to.write(x, len(x[0]))
	})
}

// later passes blocks through do, which delays them by late frames, and takes the
// delay out.
func (p *pass) later(from, to *tape, late int, tell func(float64), do func(x [][]float64)) error {
	skip := late
	put := func(x [][]float64) error {
		do(x)
		n := len(x[0])
		k := min(skip, n)
		skip -= k
		if k == n {
			return nil
		}
		rest := make([][]float64, len(x))
		for c := range x {
			rest[c] = x[c][k:]
		}
		return to.write(rest, n-k)
	}
	if err := from.each(p.ctx, tell, func(x [][]float64, _ int64) error { return put(x) }); err != nil {
		return err
	}
	if late > 0 {
		return put(sounds.NewBlock(from.channels, late))
	}
	return nil
}

// alone runs a treatment on each channel by itself.
func (p *pass) alone(t repair.Streaming, tell func(float64)) error {
	procs := make([]repair.Processor, p.in.channels)
	for c := range procs {
		var err error
		if procs[c], err = t.Processor(p.rate); err != nil {
			return err
		}
	}
	return p.later(p.in, p.out, procs[0].Latency(), tell, func(x [][]float64) {
		for c := range x {
			procs[c].Process(x[c])
		}
	})
}

// linked runs a limiter or compressor on all channels together, and returns the
// deepest reduction in dB.
func (p *pass) linked(t repair.Streaming) (float64, error) {
	l, err := repair.NewLinked(t, p.rate, p.in.channels)
	if err != nil {
		return 0, err
	}
	err = p.later(p.in, p.out, l.Latency(), p.tell, l.Process)
	return l.ReductionDB(), err
}

// Long takes are searched and mended in stretches.
var (
	stretchS     = 60.0
	stretchMost  = 3_000_000 // frames; bounds memory at high rates
	searchAround = 5.0       // s, heard on either side when looking for flat tops
	mendAround   = 1.0       // s, more than any method looks at
)

// sentence joins two, either of which may be empty.
func sentence(a, b string) string {
	if a == "" || b == "" {
		return a + b
	}
	return a + " " + b
}

func lowerFirst(s string) string {
	if s == "" {
		return s
	}
	return string(s[0]|0x20) + s[1:]
}
