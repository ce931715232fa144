package repaircmd

import (
	"gainwright/sim/repair"
	"gainwright/sounds"
)

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
