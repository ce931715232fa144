package format

import (
	"slices"
	"strings"

	"gainwright/lessons/model"
	"gainwright/sounds/scenario/plain"
)

// show reads which picture of the bench stands beside step i: waves, or B.waves of a strip
// that is not the first.
func (d *decoder) show(p pair, at string, i int) (s model.Shown) {
	w := d.line(p.node, at, 64)
	s.Strip, s.What = d.l.Base.StripNames()[0], w
	if strip, what, ok := strings.Cut(w, "."); ok {
		if s.Strip, s.What = strip, what; d.l.Base.Strip(strip) == nil {
			d.fault(p.node.GetToken(), at, "there is no strip %s%s", plain.Quote(strip), plain.DidYouMean(strip, d.l.Base.StripNames()))
			return model.Shown{}
		}
	}
	if !slices.Contains(model.Pictures, s.What) {
		d.fault(p.node.GetToken(), at, "there is no picture %s: want %s, or of a strip, as in %s.waves%s", plain.Quote(w), plain.Listed(model.Pictures, "or"), s.Strip, plain.DidYouMean(s.What, model.Pictures))
		return model.Shown{}
	}
	if s.What == model.Waves && !d.recorded(i) {
		d.fault(p.node.GetToken(), at, "there is no take yet whose waves could be shown: put a record or do step before")
		return model.Shown{}
	}
	return s
}

// recorded tells whether step i, or one before it, records.
func (d *decoder) recorded(i int) bool {
	for _, at := range d.takeAt {
		if at <= i {
			return true
		}
	}
	return false
}
