package plan

import (
	"cmp"
	"gainwright/scenes/work"
	"gainwright/sim"
	"gainwright/sim/plan"
	"slices"
)

// planStep is how many sessions are simulated between two places to stop.
const planStep = 16

// reliefKey is what the limiter's relief depends on.
type reliefKey struct {
	l    sim.InputLimiter
	dual float64
}

func reliefOf(c sim.Chain) reliefKey { return reliefKey{c.InputLimiter, c.Converter.DualRangeDB} }

// simulate runs sessions of the conversation beside the screen.
func simulate(h *work.Context, m plan.Model, sessions int, progress func(float64)) (*plan.Result, error) {
	r, err := plan.NewRun(m, sessions, planSeed)
	if err != nil {
		return nil, err
	}
	for !r.Step(planStep) {
		if progress != nil {
			progress(r.Done())
		}
		if err := h.Err(); err != nil {
			return nil, err
		}
	}
	return r.Result(), nil
}

// planSpreads varies every assumption over its plausible range, the others held,
// as plan.Setup.Sensitivity does, but with places to stop.
func planSpreads(h *work.Context, t plan.Setup) ([]plan.Swing, error) {
	ps := t.Model.Params()
	var out []plan.Swing
	for i, p := range ps {
		if p.Low == p.High {
			continue
		}
		sw := plan.Swing{Param: p}
		for k, v := range []float64{p.Low, p.High} {
			u := t
			if err := u.Model.Set(p.Key, v); err != nil {
				return nil, err
			}
			r, err := simulate(h, u.Model, planSwings, nil)
			if err != nil {
				return nil, err
			}
			risk, _, _ := r.Over(u.CeilingDB(t.Chain.Preamp.GainDB))
			if high := u.Window(r).HighDB; k == 0 {
				sw.LowHighDB, sw.LowRisk = high, risk
			} else {
				sw.HighHighDB, sw.HighRisk = high, risk
			}
		}
		out = append(out, sw)
		h.Report("", float64(i+1)/float64(len(ps)))
	}
	slices.SortStableFunc(out, func(a, b plan.Swing) int { return cmp.Compare(b.SpanDB(), a.SpanDB()) })
	return out, nil
}
