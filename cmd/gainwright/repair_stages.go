package main

import (
	"context"
	"fmt"
	"math"
	"slices"

	"gainwright/cmd/gainwright/internal/picture"
	"gainwright/sim"
	"gainwright/sim/meter"
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
		rep = repair.Told(p.what, m)
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

func (p *pass) stretchFrames() int64 {
	return int64(max(1, min(stretchS*float64(p.rate), float64(stretchMost))))
}

// findClips looks for clipped samples in each channel.
func (p *pass) findClips(find func(x []float64) repair.Clips, tell func(float64)) ([]repair.Clips, error) {
	all := make([]repair.Clips, p.in.channels)
	size, around := p.stretchFrames(), int64(searchAround*float64(p.rate))
	var x [][]float64
	type part struct{ from, to int64 }
	bare := make([][]part, p.in.channels) // stretches in which nothing was found
	for from := int64(0); from < p.in.frames; from += size {
		if err := p.ctx.Err(); err != nil {
			return nil, err
		}
		to := min(from+size, p.in.frames)
		start := max(0, from-around)
		var err error
		if x, err = p.in.read(x, start, to+around); err != nil {
			return nil, err
		}
		for c := range x {
			got := find(x[c])
			a := &all[c]
			n := len(a.Runs)
			for _, r := range got.Runs {
				r.Start, r.End = r.Start+int(start), r.End+int(start)
				if int64(r.Start) < from || int64(r.Start) >= to || n > 0 && r.Start < a.Runs[len(a.Runs)-1].End {
					continue
				}
				a.Runs = append(a.Runs, r)
			}
			if len(got.Runs) == 0 {
				bare[c] = append(bare[c], part{from, to})
			}
			a.Kind = repair.LessCertain(a.Kind, got.Kind)
			a.Ripple = max(a.Ripple, got.Ripple)
		}
		tell(float64(to) / float64(p.in.frames))
	}
	for c := range all {
		a := &all[c]
		a.Total(int(p.in.frames))
		if a.Kind == repair.FlatHard {
			for _, b := range bare[c] {
				var err error
				if x, err = p.in.read(x, b.from, b.to); err != nil {
					return nil, err
				}
				a.MarkKnown(x[c], int(b.from))
			}
			a.Total(int(p.in.frames))
		}
	}
	return all, nil
}

// cuts are where stretches end: in the middle of the longest time near the full
// length in which no channel is clipped.
func (p *pass) cuts(all []repair.Clips) []int64 {
	size := p.stretchFrames()
	var runs []repair.ClipRun
	for _, c := range all {
		runs = append(runs, c.Runs...)
	}
	slices.SortFunc(runs, func(a, b repair.ClipRun) int { return a.Start - b.Start })
	var out []int64
	from, k := int64(0), 0
	for from+size < p.in.frames {
		lo, hi := from+size*9/10, from+size
		for k < len(runs) && int64(runs[k].End) <= lo {
			k++
		}
		at, gap := hi, int64(-1)
		free := lo
		for j := k; ; j++ {
			next := hi
			if j < len(runs) {
				next = min(hi, int64(runs[j].Start))
			}
			if next-free > gap {
				gap, at = next-free, max((free+next)/2, from+1)
			}
			if j >= len(runs) || int64(runs[j].Start) >= hi {
				break
			}
			free = max(free, int64(runs[j].End))
		}
		out = append(out, at)
		from = at
	}
	return append(out, p.in.frames)
}

// A piece is what came of one channel of one stretch.
type piece struct {
	from int64
	ch   int
	rep  repair.Report
}

// pieces treats stretch by stretch, channel by channel, where something is clipped.
func (p *pass) pieces(all []repair.Clips, around float64, tell func(float64), do func(c int, x []float64, start int64, clips repair.Clips, tell func(float64)) ([]float64, repair.Report, error)) ([]piece, error) {
	side := int64(math.Ceil(around * float64(p.rate)))
	var list []piece
	var x [][]float64
	from := int64(0)
	for _, to := range p.cuts(all) {
		if err := p.ctx.Err(); err != nil {
			return nil, err
		}
		start, end := max(0, from-side), min(p.in.frames, to+side)
		var err error
		if x, err = p.in.read(x, start, end); err != nil {
			return nil, err
		}
		out := make([][]float64, len(x))
		share := float64(to-from) / float64(p.in.frames) / float64(len(x))
		for c := range x {
			y := x[c]
			if own := all[c].Within(int(from), int(to)); len(own.Runs) > 0 {
				base := float64(from)/float64(p.in.frames) + share*float64(c)
				var rep repair.Report
				y, rep, err = do(c, x[c], start, all[c].Within(int(start), int(end)), func(s float64) { tell(base + share*s) })
				if err != nil {
					return nil, err
				}
				list = append(list, piece{from, c, rep})
			}
			out[c] = y[from-start : to-start]
		}
		if err := p.out.write(out, int(to-from)); err != nil {
			return nil, err
		}
		from = to
		tell(float64(to) / float64(p.in.frames))
	}
	return list, nil
}

func (q *piece) place(p *pass) string {
	at := "from " + picture.Clock(float64(q.from)/float64(p.rate)) + " on"
	if p.in.channels > 1 {
		at += fmt.Sprintf(", channel %d", q.ch+1)
	}
	return at
}

func (p *pass) declip(d repair.Declip) (repair.Report, error) {
	var rep repair.Report
	all, err := p.findClips(d.Find, p.part(0, 0.1))
	if err != nil {
		return rep, err
	}
	before := p.in
	list, err := p.pieces(all, mendAround, p.part(0.1, 1), func(c int, x []float64, _ int64, clips repair.Clips, tell func(float64)) ([]float64, repair.Report, error) {
		one := d
		one.Clips = &clips
		return one.Apply(p.ctx, x, p.rate, repair.Run{Progress: tell})
	})
	if err != nil {
		return rep, err
	}
	if len(list) == 0 {
		var kind repair.Flatness
		for _, c := range all {
			if c.Kind == repair.Rounded {
				kind = c.Kind
			}
		}
		return repair.Unfilled(kind), nil
	}
	var sum repair.DeclipTotals
	for i := range all {
		sum.Count(&all[i])
	}
	var y [][]float64
	err = p.out.each(p.ctx, nil, func(x [][]float64, at int64) error {
		var err error
		if y, err = before.read(y, at, at+int64(len(x[0]))); err != nil {
			return err
		}
		for c := range x {
			sum.Write(y[c], x[c])
		}
		return nil
	})
	if err != nil {
		return rep, err
	}
	if len(list) == 1 && p.in.channels == 1 {
		rep = list[0].rep
		rep.Numbers = sum.Numbers(p.rate)
		return rep, nil
	}
	// Several stretches: the worst one is what a listener will remember.
	worst, left, usable := &list[0], 0, true
	sdr := func(q *piece) float64 {
		if v, ok := q.rep.Number("estimated_input_sdr_db"); ok {
			return v
		}
		return math.Inf(1)
	}
	for i := range list {
		q := &list[i]
		usable = usable && q.rep.Verdict.Usable
		if q.rep.Verdict.Outcome == repair.Hopeless {
			left++
		}
		if sdr(q) < sdr(worst) || worst.rep.Verdict.Outcome == repair.Hopeless {
			worst = q
		}
	}
	rep.Numbers = sum.Numbers(p.rate)
	v := repair.Verdict{Outcome: worst.rep.Verdict.Outcome, Usable: usable}
	if left == len(list) {
		rep.Verdict = worst.rep.Verdict
		return rep, nil
	}
	v.Back = sum.Filled()
	v.Lost = fmt.Sprintf("The worst stretch lies %s, where the voice stands an estimated %.0f dB over what was cut off: %s",
		worst.place(p), sdr(worst), lowerFirst(worst.rep.Verdict.Lost))
	if left > 0 {
		v.Outcome = repair.Partly
		v.Lost += fmt.Sprintf(" In %s there was too little to go by; nothing was changed there.", counted(left, "stretch", "stretches"))
	}
	rep.Verdict = v
	return rep, nil
}

func (p *pass) splice(s repair.Splice, safety *tape) (repair.Report, error) {
	var rep repair.Report
	all, err := p.findClips(repair.Detect, p.part(0, 0.2))
	if err != nil {
		return rep, err
	}
	around := s.MaxDelayMS/1000 + mendAround
	list, err := p.pieces(all, around, p.part(0.2, 1), func(c int, x []float64, start int64, clips repair.Clips, tell func(float64)) ([]float64, repair.Report, error) {
		y, err := safety.read(nil, start, start+int64(len(x)))
		if err != nil {
			return nil, repair.Report{}, err
		}
		one := s
		one.Clips, one.Safety = &clips, y[min(c, len(y)-1)]
		return one.Apply(p.ctx, x, p.rate, repair.Run{Progress: tell})
	})
	switch {
	case err != nil:
		return rep, err
	case len(list) == 0:
		return repair.Unspliced(s), nil
	case len(list) == 1:
		return list[0].rep, nil
	}
	passages, fit := 0.0, 0
	lo, hi := map[string]float64{}, map[string]float64{}
	v := repair.Verdict{Outcome: repair.Done, Usable: true}
	for i := range list {
		q := &list[i]
		if q.rep.Verdict.Outcome == repair.Hopeless {
			continue
		}
		n, _ := q.rep.Number("passages")
		passages += n
		for _, key := range []string{"gain_db", "delay_ms", "agreement_db"} {
			x, _ := q.rep.Number(key)
			if fit == 0 {
				lo[key], hi[key] = x, x
			}
			lo[key], hi[key] = min(lo[key], x), max(hi[key], x)
		}
		fit++
		if l := q.rep.Verdict.Lost; l != "" && v.Lost == "" {
			v.Outcome, v.Lost = repair.Partly, l
		}
	}
	if fit == 0 {
		return list[0].rep, nil
	}
	v.Back = fmt.Sprintf("%.0f passages were put in from the safety track, %.1f to %.1f dB up and %.2f to %.2f ms shifted; the tracks agree to %.0f dB or better.",
		passages, lo["gain_db"], hi["gain_db"], lo["delay_ms"], hi["delay_ms"], lo["agreement_db"])
	if n := len(list) - fit; n > 0 {
		v.Outcome, v.Usable = repair.Partly, false
		v.Lost = sentence(v.Lost, fmt.Sprintf("In %s the second track does not match; what is clipped there is as it was.", counted(n, "stretch", "stretches")))
	}
	rep.Verdict = v
	rep.Numbers = []repair.Number{{Key: "passages", Value: passages}, {Key: "agreement_db", Value: lo["agreement_db"]}}
	for _, key := range []string{"gain_db", "delay_ms"} {
		rep.Numbers = append(rep.Numbers, repair.Number{Key: "least_" + key, Value: lo[key]}, repair.Number{Key: "most_" + key, Value: hi[key]})
	}
	return rep, nil
}

// learnNoise learns each channel's noise; nil where there is too little.
func (p *pass) learnNoise(tell func(float64)) ([]*repair.NoiseProfile, error) {
	out := make([]*repair.NoiseProfile, p.in.channels)
	learners := make([]*repair.NoiseLearner, p.in.channels)
	for c := range learners {
		var err error
		if learners[c], err = repair.NewNoiseLearner(p.rate); err != nil {
			return nil, err
		}
	}
	err := p.in.each(p.ctx, tell, func(x [][]float64, _ int64) error {
		for c := range x {
			learners[c].Write(x[c])
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	var x [][]float64
	for c, l := range learners {
		for _, at := range l.Quiet() {
			if err := p.ctx.Err(); err != nil {
				return nil, err
			}
			if x, err = p.in.read(x, at, at+int64(l.FrameLen())); err != nil {
				return nil, err
			}
			l.Add(x[c])
		}
		out[c] = l.Profile()
	}
	return out, nil
}

// denoise says false where there was no noise to learn, and nothing was changed.
func (p *pass) denoise(d repair.Denoise) (m repair.Measured, learnt bool, err error) {
	profiles, err := p.learnNoise(p.part(0, 0.3))
	if err != nil {
		return m, false, err
	}
	procs := make([]repair.Processor, p.in.channels)
	late := 0
	for c, pr := range profiles {
		if pr == nil {
			continue
		}
		learnt = true
		d.Profile = pr
		if procs[c], err = d.Processor(p.rate); err != nil {
			return m, false, err
		}
		late = procs[c].Latency()
	}
	if !learnt {
		return m, false, p.scale(p.in, p.out, 1, p.tell)
	}
	held := sounds.NewBlock(p.in.channels, late)
	err = p.later(p.in, p.out, late, p.part(0.3, 1), func(x [][]float64) {
		for c := range x {
			if procs[c] != nil {
				procs[c].Process(x[c])
				continue
			}
			n := len(x[c]) // a silent channel keeps in step
			all := append(held[c], x[c]...)
			copy(x[c], all)
			held[c] = append(held[c][:0], all[n:]...)
		}
	})
	if err != nil {
		return m, false, err
	}
	if m.QuietBefore, err = p.quiet(p.in); err == nil {
		m.QuietAfter, err = p.quiet(p.out)
	}
	return m, true, err
}

func (p *pass) quiet(t *tape) (float64, error) {
	q := repair.NewQuietMeter(p.rate)
	err := t.each(p.ctx, nil, func(x [][]float64, _ int64) error {
		q.Write(x)
		return nil
	})
	return q.MeanSquare(), err
}

// loudness measures a tape.
func (p *pass) loudness(t *tape, tell func(float64)) (repair.Loudness, error) {
	loud, err := meter.NewLoudness(p.rate, t.channels)
	if err != nil {
		return repair.Loudness{}, err
	}
	peaks := make([]*meter.TruePeak, t.channels)
	for c := range peaks {
		peaks[c] = meter.NewTruePeak(p.rate)
	}
	err = t.each(p.ctx, tell, func(x [][]float64, _ int64) error {
		loud.Write(x)
		for c := range x {
			peaks[c].Write(x[c])
		}
		return nil
	})
	got := repair.Loudness{LUFS: loud.Integrated(), DBTP: math.Inf(-1)}
	for _, q := range peaks {
		q.Flush()
		got.DBTP = max(got.DBTP, q.DB())
	}
	return got, err
}

func (p *pass) deliver(d repair.Deliver) (repair.Report, error) {
	in, err := p.loudness(p.in, p.part(0, 0.2))
	if err != nil {
		return repair.Report{}, err
	}
	var limited *tape
	defer func() {
		if limited != nil {
			limited.close()
		}
	}()
	at := 0.2
	plan, rep, err := d.Plan(in, func(gainDB, ceilingDBFS float64) (repair.Loudness, float64, error) {
		if limited != nil {
			limited.close()
		}
		limited = newTape(p.in.channels)
		l, err := repair.DeliveryLimit(ceilingDBFS, p.rate, p.in.channels)
		if err != nil {
			return repair.Loudness{}, 0, err
		}
		from := at
		at += (0.8 - at) / 3
		g := sim.DB(gainDB).Lin()
		err = p.later(p.in, limited, l.Latency(), p.part(from, (from+at)/2), func(x [][]float64) {
			for _, c := range x {
				for i := range c {
					c[i] *= g
				}
			}
			l.Process(x)
		})
		if err != nil {
			return repair.Loudness{}, 0, err
		}
		got, err := p.loudness(limited, p.part((from+at)/2, at))
		return got, l.ReductionDB(), err
	})
	if err != nil {
		return rep, err
	}
	if plan.Limited {
		return rep, p.scale(limited, p.out, sim.DB(plan.TrimDB).Lin(), p.part(at, 1))
	}
	return rep, p.scale(p.in, p.out, sim.DB(plan.GainDB).Lin(), p.part(at, 1))
}

// distance measures both tapes against a truth of the same length.
func distance(ctx context.Context, truth, before, after *tape, tell func(float64)) (repair.Distance, error) {
	ends := [2]*tape{before, after}
	var gain, err2 [2]float64
	tt := 0.0
	for round := range 2 {
		var tx, xx [2]float64
		tt = 0
		var y [2][][]float64
		err := truth.each(ctx, func(s float64) { tell((float64(round) + s) / 2) }, func(x [][]float64, at int64) error {
			for k, t := range ends {
				var err error
				if y[k], err = t.read(y[k], at, at+int64(len(x[0]))); err != nil {
					return err
				}
			}
			for c := range x {
				for i, v := range x[c] {
					tt += v * v
					for k := range ends {
						w := y[k][c][i]
						if round == 0 {
							tx[k] += v * w
							xx[k] += w * w
						} else {
							e := v - gain[k]*w
							err2[k] += e * e
						}
					}
				}
			}
			return nil
		})
		if err != nil {
			return repair.Distance{}, err
		}
		if round == 0 {
			for k := range gain {
				if gain[k] = 1; xx[k] > 0 {
					gain[k] = tx[k] / xx[k]
				}
			}
		}
	}
	sdr := func(k int) float64 {
		if tt == 0 {
			return math.NaN()
		}
		return 10 * math.Log10(tt/err2[k])
	}
	d := repair.Distance{BeforeDB: sdr(0), AfterDB: sdr(1)}
	if d.GainDB = d.AfterDB - d.BeforeDB; math.IsInf(d.BeforeDB, 1) && math.IsInf(d.AfterDB, 1) {
		d.GainDB = 0
	}
	return d, nil
}

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
