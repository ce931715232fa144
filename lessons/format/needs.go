package format

import (
	"slices"

	"gainwright/sounds/scenario/plain"
)

// maxNeeds is on how many lessons one builds at most.
const maxNeeds = 12

// needs reads the ids of the lessons that this one builds on. They need not be at hand.
func (d *decoder) needs(p pair) (out []string) {
	for _, v := range d.list(p.node, "needs", "the ids of lessons to be taken before, as in [gain-and-headroom]") {
		w := d.line(v, "needs", 60)
		switch {
		case !idPattern().MatchString(w):
			d.fault(v.GetToken(), "needs", "%s: want a lesson's id, lower-case words joined by \"-\", as in gain-and-headroom", plain.Quote(w))
		case w == d.l.ID:
			d.fault(v.GetToken(), "needs", "the lesson cannot need itself")
		case slices.Contains(out, w):
			d.fault(v.GetToken(), "needs", "%s stands there twice", plain.Quote(w))
		case len(out) == maxNeeds:
			d.fault(v.GetToken(), "needs", "more than %d: name those that come right before", maxNeeds)
			return out
		default:
			out = append(out, w)
		}
	}
	return out
}
