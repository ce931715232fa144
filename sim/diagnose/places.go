package diagnose

import (
	"cmp"
	"math"
	"slices"
)

// A Place is a stretch of a recording that is worth a look.
type Place struct {
	AtS     float64 `json:"at_s"` // its middle, s
	Channel int     `json:"channel"`
	// LostDB is about how much of a cut top is gone there, 0 where nothing was cut;
	// PeakDBFS is the highest sample.
	LostDB   float64 `json:"lost_db"`
	PeakDBFS float64 `json:"peak_dbfs"`
}

// Worst lists at most so many places of a recording after Diagnose, the worst
// first: those at which most was cut off, and after them the loudest ones. Two of
// them lie at least apartS apart.
func Worst(channels []*Channel, most int, apartS float64) []Place {
	var all []Place
	for i, c := range channels {
		v := c.judgeWave()
		top := max(c.sides[0].peak, c.sides[1].peak)
		w := float64(c.slots.width) / c.rate
		end := float64(c.total) / c.rate
		for k := range c.slots.used {
			s := &c.slots.list[k]
			p := Place{AtS: min((float64(k)+0.5)*w, end), Channel: i + 1, PeakDBFS: db(float64(s.peak))}
			if float64(s.peak) < lowest {
				continue
			}
			if v.main.flattened() && s.flats > 0 && float64(s.peak) >= 0.3*top {
				p.LostDB = float64(s.excess)
			}
			all = append(all, p)
		}
	}
	slices.SortStableFunc(all, func(a, b Place) int {
		return cmp.Or(cmp.Compare(b.LostDB, a.LostDB), cmp.Compare(b.PeakDBFS, a.PeakDBFS))
	})
	var out []Place
	for _, p := range all {
		if len(out) == most {
			break
		}
		if !slices.ContainsFunc(out, func(o Place) bool { return math.Abs(o.AtS-p.AtS) < apartS }) {
			out = append(out, p)
		}
	}
	return out
}
