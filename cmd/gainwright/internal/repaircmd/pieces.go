package repaircmd

import (
	"fmt"
	"math"
	"slices"

	"gainwright/cmd/gainwright/internal/picture"
	"gainwright/sim/repair"
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
			a.Ride = a.Ride.With(got.Ride)
		}
		tell(float64(to) / float64(p.in.frames))
	}
	for c := range all {
		a := &all[c]
		a.Total(int(p.in.frames))
		if a.Kind == repair.FlatNoisy {
			a.Ride = nil // what rides on such tops would pass for a gain
		}
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

// pieces treats stretch by stretch, channel by channel, where something is clipped, and
// everywhere in a channel of which all says so, if it is not nil. It returns those in which
// something is clipped.
func (p *pass) pieces(clips []repair.Clips, around float64, all func(c int) bool, tell func(float64), do func(c int, x []float64, start int64, own repair.Clips, tell func(float64)) ([]float64, repair.Report, error)) ([]piece, error) {
	side := int64(math.Ceil(around * float64(p.rate)))
	var list []piece
	var x [][]float64
	from := int64(0)
	for _, to := range p.cuts(clips) {
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
			if own := clips[c].Within(int(from), int(to)); len(own.Runs) > 0 || all != nil && all(c) {
				base := float64(from)/float64(p.in.frames) + share*float64(c)
				var rep repair.Report
				y, rep, err = do(c, x[c], start, clips[c].Within(int(start), int(end)), func(s float64) { tell(base + share*s) })
				if err != nil {
					return nil, err
				}
				if len(own.Runs) > 0 {
					list = append(list, piece{from, c, rep})
				}
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
