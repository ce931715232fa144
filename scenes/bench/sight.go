package bench

import (
	"gainwright/scenes/ui"
	"gainwright/sim"
)

// Sight is what of a bench pictures show: one of its strips.
type Sight struct {
	Bench *Session
	Shown int // the strip
}

// Chain gives the settings to draw for strip i: those of the take while it is
// looked at, else those of now, with the talker where they are.
func (v *Sight) Chain(i int) sim.Chain {
	if t := v.Bench.Shown(); t != nil && i < t.N {
		return t.End[i]
	}
	return v.Bench.Running(i)
}

// Absent reports whether a take is shown that has no strip i.
func (v *Sight) Absent(i int) bool {
	t := v.Bench.Shown()
	return t != nil && i >= t.N
}

// LoudestWords tells when the take was loudest, and during what.
func (v *Sight) LoudestWords() string {
	t := v.Bench.Take()
	if t == nil || !t.Done {
		return ""
	}
	at := float64(t.Loudest) / Rate
	s := "at " + ui.Decimal(at, 1) + " s"
	for i := len(t.Marks) - 1; i >= 0; i-- {
		if m := t.Marks[i]; m.At <= at && at-m.At < 3 && m.Text != "talk" {
			return s + ", after \u201c" + m.Text + "\u201d"
		}
	}
	return s
}

// Has reports whether the strip has a station; what is none counts as had.
func (v *Sight) Has(st sim.Station) bool {
	return st < 0 || st >= sim.NumStations || st.In(v.Chain(v.Shown))
}
