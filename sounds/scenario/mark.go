package scenario

import (
	"math"

	"gainwright/sim"
	"gainwright/sounds/equipment"
)

const (
	recorderKey = "recorder" // the section: an equipment file's, or the name of one
	markKey     = "mark"     // of a strip: its knob, by the recorder's own marks
)

// gainAt is the gain of c at a mark; why says that there is no such mark.
func gainAt(f *equipment.Fit, c sim.Chain, mark float64) (gainDB float64, why string) {
	if f == nil || f.Knob == nil {
		return 0, "a mark belongs to a recorder whose marks are known: name an equipment file in the section recorder, or with --recorder"
	}
	g, err := f.Knob.Gain(c, mark)
	if err != nil {
		return 0, err.Error()
	}
	return math.Round(g*1000) / 1000, ""
}
