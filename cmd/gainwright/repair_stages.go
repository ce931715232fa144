package main

import (
	"context"
	"fmt"
	"math"
	"slices"
	"sort"

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
}

// part is tell for the share from a to b.
func (p *pass) part(a, b float64) func(float64) {
	return func(s float64) { p.tell(a + (b-a)*s) }
}

var emptyTake = repair.Verdict{Outcome: repair.EmptyTake, Back: "The take is empty: there is nothing to treat."}

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
	rep := repair.Report{Treatment: m.kind}
	if before == 0 {
		rep.Verdict = emptyTake
		return rep, p.scale(p.in, p.out, 1, p.tell)
	}
	done := func(format string, a ...any) repair.Verdict {
		return repair.Verdict{Outcome: repair.Done, Usable: true, Back: fmt.Sprintf(format, a...)}
	}
	peaks := func(after float64) {
		rep.Numbers = append(rep.Numbers, repair.Number{Key: "peak_before_dbfs", Value: meter.DB(before)}, repair.Number{Key: "peak_after_dbfs", Value: meter.DB(after)})
	}
	switch t := m.t.(type) {
	case repair.Declip:
		rep, err = p.declip(t)
	case repair.Splice:
		rep, err = p.splice(t, safety)
	case repair.Denoise:
		rep, err = p.denoise(t)
	case repair.Deliver:
		if !m.given["loudness_lufs"] && p.in.channels == 2 {
			t.LoudnessLUFS += 3 // two channels are heard, and counted, together
		}
		rep, err = p.deliver(t)
	case repair.HighPass:
		err = p.alone(t, p.tell)
		rep.Verdict = done("What lies below %.0f Hz was taken away.", t.FrequencyHz)
	case repair.Gain:
		err = p.alone(t, p.tell)
		peaks(before * sim.DB(t.GainDB).Lin())
		rep.Verdict = done("The level was changed by %+.1f dB.", t.GainDB)
	case repair.TurnDown:
		c := sim.DB(t.CeilingDBFS).Lin()
		if before <= c {
			rep.Verdict = done("No peak passes the ceiling; nothing was changed.")
			rep.Verdict.Outcome = repair.Nothing
			err = p.scale(p.in, p.out, 1, p.tell)
			break
		}
		err = p.hold(p.in, p.out, c/before, c, p.tell)
		peaks(c)
		rep.Verdict = done("The take was turned down by %.1f dB so that its highest peak fits.", meter.DB(before/c))
	case repair.Limit:
		rep, err = p.dynamics(t, 0)
	case repair.Compress:
		rep, err = p.dynamics(t, t.MakeUpDB)
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

// linked runs a limiter or compressor on the higher of the channels and gives all
// of them its gain, so that nobody moves to the side. It returns the deepest
// reduction, in dB.
func (p *pass) linked(t repair.Streaming, from, to *tape, before, makeUp float64, tell func(float64)) (float64, error) {
	proc, err := t.Processor(p.rate)
	if err != nil {
		return 0, err
	}
	late := proc.Latency()
	held := sounds.NewBlock(from.channels, late)
	var key []float64
	least := 1.0
	scale := sim.DB(before).Lin()
	up := sim.DB(makeUp).Lin()
	err = p.later(from, to, late, tell, func(x [][]float64) {
		n := len(x[0])
		key = append(key[:0], make([]float64, n)...)
		for c := range x {
			for i, v := range x[c] {
				v *= scale
				x[c][i] = v
				key[i] = max(key[i], math.Abs(v))
			}
		}
		proc.Process(key)
		for c := range x {
			all := append(held[c], x[c]...)
			copy(x[c], all)
			held[c] = append(held[c][:0], all[n:]...)
		}
		for i, k := range key {
			m := 0.0
			for c := range x {
				m = max(m, math.Abs(x[c][i]))
			}
			if m == 0 {
				continue
			}
			g := k / m
			least = min(least, g/up)
			for c := range x {
				if v := x[c][i]; math.Abs(v) == m {
					x[c][i] = math.Copysign(k, v) // to the last bit what one channel would get
				} else {
					x[c][i] = min(max(v*g, -k), k)
				}
			}
		}
	})
	return -meter.DB(least), err
}

func (p *pass) dynamics(t repair.Streaming, makeUp float64) (repair.Report, error) {
	var rep repair.Report
	red, err := p.linked(t, p.in, p.out, 0, makeUp, p.tell)
	if err != nil {
		return rep, err
	}
	top, bottom, err := p.out.peak(p.ctx)
	rep.Numbers = []repair.Number{{Key: "reduction_max_db", Value: red}, {Key: "peak_after_dbfs", Value: meter.DB(max(top, -bottom))}}
	rep.Verdict = repair.Verdict{Outcome: repair.Done, Usable: true,
		Back: fmt.Sprintf("Levels were turned down by up to %.1f dB.", red),
		Lost: "Tops that were flat before are flat still, only lower."}
	if red < 0.005 {
		rep.Verdict = repair.Verdict{Outcome: repair.Nothing, Usable: true, Back: "No level reached the threshold; nothing was turned down."}
	}
	return rep, err
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
			// The least certain kind met speaks for the whole.
			order := []repair.Flatness{"", repair.NotFlat, repair.Rounded, repair.FlatHard, repair.FlatMoving, repair.FlatNoisy}
			if slices.Index(order, got.Kind) > slices.Index(order, a.Kind) {
				a.Kind = got.Kind
			}
			a.Ripple = max(a.Ripple, got.Ripple)
		}
		tell(float64(to) / float64(p.in.frames))
	}
	for c := range all {
		a := &all[c]
		// A ceiling found elsewhere holds where too little touched it to be told.
		if a.Kind == repair.FlatHard {
			top, bottom := levels(a.Runs)
			for _, b := range bare[c] {
				var err error
				if x, err = p.in.read(x, b.from, b.to); err != nil {
					return nil, err
				}
				for i, v := range x[c] {
					sign, level := int8(1), top
					if v < 0 {
						sign, level = -1, bottom
					}
					if level == 0 || math.Abs(v) < level*(1-1e-9) {
						continue
					}
					at := int(b.from) + i
					if k := len(a.Runs) - 1; k >= 0 && a.Runs[k].End == at && a.Runs[k].Sign == sign {
						a.Runs[k].End++
					} else {
						a.Runs = append(a.Runs, repair.ClipRun{Start: at, End: at + 1, Sign: sign, Level: level})
					}
				}
			}
		}
		sort.SliceStable(a.Runs, func(i, j int) bool { return a.Runs[i].Start < a.Runs[j].Start })
		total(a, p.in.frames)
	}
	return all, nil
}

// levels are the median levels of tops and bottoms.
func levels(runs []repair.ClipRun) (top, bottom float64) {
	var t, b []float64
	for _, r := range runs {
		if r.Sign > 0 {
			t = append(t, r.Level)
		} else {
			b = append(b, r.Level)
		}
	}
	mid := func(v []float64) float64 {
		if len(v) == 0 {
			return 0
		}
		slices.Sort(v)
		return v[len(v)/2]
	}
	return mid(t), mid(b)
}

// total sums the runs up.
func total(c *repair.Clips, frames int64) {
	c.Samples, c.Longest = 0, 0
	for _, r := range c.Runs {
		c.Samples += r.End - r.Start
		c.Longest = max(c.Longest, r.End-r.Start)
	}
	c.Top, c.Bottom = levels(c.Runs)
	c.Share = float64(c.Samples) / float64(max(1, frames))
	if len(c.Runs) == 0 && c.Kind != repair.Rounded {
		c.Kind = repair.NotFlat
	}
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

// within gives the part of c in [start, end), counted from start.
func within(c *repair.Clips, start, end int64) repair.Clips {
	q := repair.Clips{Kind: c.Kind, Ripple: c.Ripple}
	i := sort.Search(len(c.Runs), func(i int) bool { return int64(c.Runs[i].End) > start })
	for ; i < len(c.Runs) && int64(c.Runs[i].Start) < end; i++ {
		r := c.Runs[i]
		r.Start, r.End = max(0, r.Start-int(start)), min(r.End, int(end))-int(start)
		q.Runs = append(q.Runs, r)
	}
	total(&q, end-start)
	return q
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
			if own := within(&all[c], from, to); len(own.Runs) > 0 {
				base := float64(from)/float64(p.in.frames) + share*float64(c)
				var rep repair.Report
				y, rep, err = do(c, x[c], start, within(&all[c], start, end), func(s float64) { tell(base + share*s) })
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
	find := repair.Detect
	if d.KnownCeiling {
		// A hair of slack, as the treatment itself has.
		level := sim.DB(d.CeilingDBFS - 0.001).Lin()
		find = func(x []float64) repair.Clips { return repair.Known(x, level) }
	}
	all, err := p.findClips(find, p.part(0, 0.1))
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
	if len(list) == 0 { // nothing found: the treatment has the words for it
		kind := repair.Clips{Kind: repair.NotFlat}
		for _, c := range all {
			if c.Kind == repair.Rounded {
				kind = repair.Clips{Kind: repair.Rounded}
			}
		}
		d.Clips = &kind
		_, rep, err = d.Apply(p.ctx, []float64{0.5}, p.rate, repair.Run{})
		return rep, err
	}
	// What was added is what the method thinks was missing.
	var e, s, peakIn, peakOut float64
	var y [][]float64
	err = p.out.each(p.ctx, nil, func(x [][]float64, at int64) error {
		var err error
		if y, err = before.read(y, at, at+int64(len(x[0]))); err != nil {
			return err
		}
		for c := range x {
			for i, v := range x[c] {
				e += (v - y[c][i]) * (v - y[c][i])
				s += v * v
				peakIn, peakOut = max(peakIn, math.Abs(y[c][i])), max(peakOut, math.Abs(v))
			}
		}
		return nil
	})
	if err != nil {
		return rep, err
	}
	runs, samples, longest, level := 0, 0, 0, 0.0
	for _, c := range all {
		runs += len(c.Runs)
		samples += c.Samples
		longest = max(longest, c.Longest)
		level = max(level, c.Top, c.Bottom)
	}
	numbers := []repair.Number{
		{Key: "clipped_percent", Value: 100 * float64(samples) / float64(p.in.frames*int64(p.in.channels))},
		{Key: "runs", Value: float64(runs)},
		{Key: "longest_run_ms", Value: 1000 * float64(longest) / float64(p.rate)},
		{Key: "clip_level_dbfs", Value: meter.DB(level)},
		{Key: "peak_before_dbfs", Value: meter.DB(peakIn)},
		{Key: "peak_after_dbfs", Value: meter.DB(peakOut)},
		{Key: "estimated_input_sdr_db", Value: meter.PowerDB(s / e)},
	}
	if len(list) == 1 && p.in.channels == 1 {
		rep = list[0].rep
		rep.Numbers = numbers
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
	rep.Numbers = numbers
	v := repair.Verdict{Outcome: worst.rep.Verdict.Outcome, Usable: usable}
	if left == len(list) {
		rep.Verdict = worst.rep.Verdict
		return rep, nil
	}
	v.Back = fmt.Sprintf("%d clipped passages were filled with a guess; peaks now reach %+.1f dBFS.", runs, meter.DB(peakOut))
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
		rep.Verdict = repair.Verdict{Outcome: repair.Nothing, Usable: true, Back: "No clipped passage was found; nothing was changed."}
		return rep, nil
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

// mostNoiseFrames is how many quiet frames the noise is learnt from.
const mostNoiseFrames = 3000

// learnNoise finds each channel's noise in the quietest tenth of its frames; what
// the choice of quiet ones takes off is put back. Nil where there is too little.
func (p *pass) learnNoise(tell func(float64)) ([]*repair.NoiseProfile, error) {
	// The frame is the treatment's own.
	probe := make([]float64, p.rate)
	probe[0] = 1
	for i := range probe {
		probe[i] = float64(i%7) - 3
	}
	pr := repair.LearnNoise(probe, p.rate)
	n := int64(2 * (len(pr.Power) - 1))
	hop := n / 2
	hp := repair.DefaultHighPass() // rumble is not what tells speech
	filters := make([]repair.Processor, p.in.channels)
	power := make([][]float64, p.in.channels) // of half frames
	for c := range filters {
		var err error
		if filters[c], err = hp.Processor(p.rate); err != nil {
			return nil, err
		}
	}
	err := p.in.each(p.ctx, tell, func(x [][]float64, at int64) error {
		for c := range x {
			filters[c].Process(x[c])
			for i, v := range x[c] {
				k := int((at + int64(i)) / hop)
				if k == len(power[c]) {
					power[c] = append(power[c], 0)
				}
				power[c][k] += v * v
			}
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	out := make([]*repair.NoiseProfile, p.in.channels)
	for c := range out {
		type frame struct {
			k int
			e float64
		}
		var list []frame
		for k := 0; k+1 < len(power[c]) && int64(k)*hop+n <= p.in.frames; k++ {
			if e := power[c][k] + power[c][k+1]; e > 1e-18*float64(n) { // digital silence is an edit
				list = append(list, frame{k, e})
			}
		}
		if len(list) < 4 {
			continue
		}
		sort.SliceStable(list, func(i, j int) bool { return list[i].e < list[j].e })
		quiet := list[:max(2, len(list)/10)]
		mean := 0.0
		for _, f := range quiet {
			mean += f.e / float64(len(quiet))
		}
		near := list[:sort.Search(len(list), func(i int) bool { return list[i].e >= 2*mean })]
		up := 1.0
		if len(near) > 0 && mean > 0 {
			up = max(1, near[(len(near)-1)/2].e/mean)
		}
		step := max(1, len(quiet)/mostNoiseFrames)
		sum := &repair.NoiseProfile{Rate: p.rate, Power: make([]float64, n/2+1)}
		used := 0.0
		var x [][]float64
		for i := 0; i < len(quiet); i += step {
			if err := p.ctx.Err(); err != nil {
				return nil, err
			}
			at := int64(quiet[i].k) * hop
			if x, err = p.in.read(x, at, at+n); err != nil {
				return nil, err
			}
			one := repair.LearnNoise(x[c], p.rate)
			if one == nil {
				continue
			}
			used++
			for k, v := range one.Power {
				sum.Power[k] += v
			}
		}
		if used == 0 {
			continue
		}
		for k := range sum.Power {
			sum.Power[k] *= up / used
		}
		out[c] = sum
	}
	return out, nil
}

func (p *pass) denoise(d repair.Denoise) (repair.Report, error) {
	var rep repair.Report
	profiles, err := p.learnNoise(p.part(0, 0.3))
	if err != nil {
		return rep, err
	}
	procs := make([]repair.Processor, p.in.channels)
	late, told := 0, false
	for c, pr := range profiles {
		if pr == nil {
			continue
		}
		told = true
		d.Profile = pr
		if procs[c], err = d.Processor(p.rate); err != nil {
			return rep, err
		}
		late = procs[c].Latency()
	}
	if !told {
		rep.Verdict = repair.Verdict{Outcome: repair.Hopeless, Back: "The take is too short to tell noise from sound; nothing was changed."}
		return rep, p.scale(p.in, p.out, 1, p.tell)
	}
	held := sounds.NewBlock(p.in.channels, late)
	err = p.later(p.in, p.out, late, p.part(0.3, 0.9), func(x [][]float64) {
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
		return rep, err
	}
	before, err := p.quiet(p.in)
	if err != nil {
		return rep, err
	}
	after, err := p.quiet(p.out)
	if err != nil {
		return rep, err
	}
	red := meter.PowerDB(before / after)
	rep.Numbers = []repair.Number{{Key: "quiet_before_dbfs", Value: meter.SineDB(math.Sqrt(before))}, {Key: "quiet_after_dbfs", Value: meter.SineDB(math.Sqrt(after))}}
	rep.Verdict = repair.Verdict{Outcome: repair.Done, Usable: true,
		Back: fmt.Sprintf("Where nobody speaks the take is now %.1f dB quieter.", red),
		Lost: "Noise under the words is still there, and the faintest sounds went with the rest."}
	if !(red >= 0.5) {
		rep.Verdict = repair.Verdict{Outcome: repair.Nothing, Usable: true, Back: "No steady noise stood out; little was changed."}
	}
	return rep, nil
}

// quiet is the mean square of the quietest tenth of 50 ms, all channels together.
func (p *pass) quiet(t *tape) (float64, error) {
	size := int64(max(1, p.rate/20))
	var e []float64
	err := t.each(p.ctx, nil, func(x [][]float64, at int64) error {
		for i := range x[0] {
			k := int((at + int64(i)) / size)
			if k == len(e) {
				e = append(e, 0)
			}
			for c := range x {
				e[k] += x[c][i] * x[c][i]
			}
		}
		return nil
	})
	if err != nil {
		return 0, err
	}
	if len(e) > 1 && t.frames%size != 0 {
		e = e[:len(e)-1]
	}
	slices.Sort(e)
	i, _ := slices.BinarySearch(e, math.SmallestNonzeroFloat64)
	if e = e[i:]; len(e) == 0 {
		return 0, nil
	}
	n := max(1, len(e)/10)
	sum := 0.0
	for _, v := range e[:n] {
		sum += v
	}
	return sum / float64(n) / float64(size) / float64(t.channels), nil
}

// loudness measures a tape turned up by gain dB.
func (p *pass) loudness(t *tape, gain float64, tell func(float64)) (lufs, dbtp float64, err error) {
	loud, err := meter.NewLoudness(p.rate, t.channels)
	if err != nil {
		return 0, 0, err
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
	dbtp = math.Inf(-1)
	for _, q := range peaks {
		q.Flush()
		dbtp = max(dbtp, q.DB())
	}
	return loud.Integrated() + gain, dbtp + gain, err
}

func (p *pass) deliver(d repair.Deliver) (repair.Report, error) {
	var rep repair.Report
	loud, tp, err := p.loudness(p.in, 0, p.part(0, 0.2))
	if err != nil {
		return rep, err
	}
	if math.IsInf(loud, -1) {
		rep.Verdict = repair.Verdict{Outcome: repair.Hopeless, Back: "The take has no loudness: it is too low, or shorter than 0.4 s.", Lost: "No gain was chosen."}
		return rep, p.scale(p.in, p.out, 1, p.tell)
	}
	gain := d.LoudnessLUFS - loud
	over := tp + gain - d.CeilingDBTP
	reduction, got, peak := 0.0, 0.0, 0.0
	switch {
	case over <= 0 || d.LimitDB == 0:
		gain -= max(0, over)
		got, peak = loud+gain, tp+gain
		if err := p.scale(p.in, p.out, sim.DB(gain).Lin(), p.part(0.2, 1)); err != nil {
			return rep, err
		}
		rep.Verdict = repair.Verdict{Outcome: repair.Done, Usable: true, Back: fmt.Sprintf("The take is at %.1f LUFS after %+.1f dB; its peaks stay under the ceiling.", got, gain)}
		if over > 0 {
			rep.Verdict = repair.Verdict{Outcome: repair.Partly, Usable: true,
				Back: fmt.Sprintf("The take is at %.1f LUFS after %+.1f dB.", got, gain),
				Lost: fmt.Sprintf("Its peaks reach the ceiling before the loudness is reached; it is %.1f LU quieter than asked for.", over)}
		}
	default:
		// Limiting lowers the loudness a little, and the wave between limited
		// samples may still pass the ceiling: both are measured and corrected.
		short := max(0, over-d.LimitDB)
		gain -= short
		margin := 0.0
		var limited *tape
		for round := 0; ; round++ {
			if limited != nil {
				limited.close()
			}
			limited = newTape(p.in.channels)
			a := 0.2 + 0.1*float64(round)
			reduction, err = p.linked(repair.Limit{CeilingDBFS: max(d.CeilingDBTP-margin, -60), LookAheadMS: 3, ReleaseMS: 120}, p.in, limited, gain, 0, p.part(a, a+0.05))
			if err == nil {
				got, peak, err = p.loudness(limited, 0, p.part(a+0.05, a+0.1))
			}
			if err != nil {
				limited.close()
				return rep, err
			}
			missing := min(d.LoudnessLUFS-got, d.LimitDB-reduction)
			if beyond := peak - d.CeilingDBTP; beyond > 0 {
				margin += beyond + 0.02
			} else if missing < 0.05 || short > 0 {
				break
			} else {
				gain += missing
			}
			if round == 5 {
				break
			}
		}
		g := 1.0
		if beyond := peak - d.CeilingDBTP; beyond > 0 {
			g = sim.DB(-beyond - 0.001).Lin()
			got, peak = got-beyond-0.001, d.CeilingDBTP-0.001
		}
		err := p.scale(limited, p.out, g, p.part(0.8, 1))
		limited.close()
		if err != nil {
			return rep, err
		}
		rep.Verdict = repair.Verdict{Outcome: repair.Done, Usable: true, Back: fmt.Sprintf("The take is at %.1f LUFS; peaks were limited by up to %.1f dB.", got, reduction)}
		if got < d.LoudnessLUFS-0.15 {
			rep.Verdict.Outcome = repair.Partly
			rep.Verdict.Lost = fmt.Sprintf("More limiting than %.1f dB would be needed; it is %.1f LU quieter than asked for.", d.LimitDB, d.LoudnessLUFS-got)
		}
	}
	rep.Numbers = []repair.Number{{Key: "gain_db", Value: gain}, {Key: "loudness_before_lufs", Value: loud}, {Key: "loudness_after_lufs", Value: got},
		{Key: "true_peak_after_dbtp", Value: peak}, {Key: "reduction_max_db", Value: reduction}}
	return rep, nil
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
