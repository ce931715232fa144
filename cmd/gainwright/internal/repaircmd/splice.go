package repaircmd

import (
	"fmt"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/sim/repair"
)

func (p *pass) splice(s repair.Splice, safety *tape) (repair.Report, error) {
	var rep repair.Report
	all, err := p.findClips(repair.Detect, p.part(0, 0.2))
	if err != nil {
		return rep, err
	}
	around := s.MaxDelayMS/1000 + mendAround
	list, err := p.pieces(all, around, nil, p.part(0.2, 1), func(c int, x []float64, start int64, clips repair.Clips, tell func(float64)) ([]float64, repair.Report, error) {
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
		v.Lost = sentence(v.Lost, fmt.Sprintf("In %s the second track does not match; what is clipped there is as it was.", cli.Counted(n, "stretch", "stretches")))
	}
	rep.Verdict = v
	rep.Numbers = []repair.Number{{Key: "passages", Value: passages}, {Key: "agreement_db", Value: lo["agreement_db"]}}
	for _, key := range []string{"gain_db", "delay_ms"} {
		rep.Numbers = append(rep.Numbers, repair.Number{Key: "least_" + key, Value: lo[key]}, repair.Number{Key: "most_" + key, Value: hi[key]})
	}
	return rep, nil
}
