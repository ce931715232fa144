package recorder

import "gainwright/scenes/work"

// progress hands a series' progress on.
type progress struct {
	h     *work.Context
	stage string
	from  float64 // what came before, as a share of all
}

func (p *progress) Begin(stage string) { p.stage = stage }

func (p *progress) At(share float64) { p.h.Report(p.stage, p.from+(1-p.from)*min(share, 1)) }
