package repaircmd

import (
	"fmt"
	"math"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/sim/repair"
)

func (p *pass) declip(d repair.Declip) (repair.Report, error) {
	var rep repair.Report
	all, err := p.findClips(d.Find, p.part(0, 0.1))
	if err != nil {
		return rep, err
	}
	before := p.in
	// A limiter works where nothing was clipped, too.
	undoes := func(c int) bool { return d.Reduction == repair.UndoReduction && all[c].Ride != nil }
	list, err := p.pieces(all, mendAround, undoes, p.part(0.1, 1), func(c int, x []float64, _ int64, clips repair.Clips, tell func(float64)) ([]float64, repair.Report, error) {
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
	for i := range list {
		sum.Heed(list[i].rep)
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
		rep.Numbers = p.withReduction(sum.Numbers(p.rate), list, &list[0])
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
	rep.Numbers = p.withReduction(sum.Numbers(p.rate), list, worst)
	v := repair.Verdict{Outcome: worst.rep.Verdict.Outcome, Usable: usable}
	if left == len(list) {
		rep.Verdict = worst.rep.Verdict
		return rep, nil
	}
	v.Back = sum.Filled() + sum.Promised()
	if db, ok := rep.Number(repair.ReductionKey); ok {
		v.Back += " " + repair.Ridden(db, d.Reduction)
	} else if d.Reduction == repair.UndoReduction {
		v.Back += " " + repair.Unridden
	}
	v.Lost = fmt.Sprintf("The worst stretch lies %s, where the voice stands an estimated %.0f dB over what was cut off: %s",
		worst.place(p), sdr(worst), lowerFirst(worst.rep.Verdict.Lost))
	if left > 0 {
		v.Outcome = repair.Partly
		v.Lost += fmt.Sprintf(" In %s there was too little to go by; nothing was changed there.", cli.Counted(left, "stretch", "stretches"))
	}
	rep.Verdict = v
	return rep, nil
}

// withReduction adds the deepest of the gains that moved after the clipping, and the
// estimate made behind it: the samples themselves differ by the gain, too.
func (p *pass) withReduction(numbers []repair.Number, list []piece, worst *piece) []repair.Number {
	deepest, any := 0.0, false
	for i := range list {
		if db, ok := list[i].rep.Number(repair.ReductionKey); ok {
			deepest, any = max(deepest, db), true
		}
	}
	if !any {
		return numbers
	}
	for i := range numbers {
		if v, ok := worst.rep.Number(numbers[i].Key); ok && numbers[i].Key == "estimated_input_sdr_db" {
			numbers[i].Value = v
		}
	}
	return append(numbers, repair.Number{Key: repair.ReductionKey, Value: deepest})
}
