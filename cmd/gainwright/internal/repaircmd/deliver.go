package repaircmd

import (
	"math"

	"gainwright/sim"
	"gainwright/sim/meter"
	"gainwright/sim/repair"
)

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
