package stage

import (
	"gainwright/scenes/ink"
	"gainwright/scenes/ui"
)

// Verdict is a tick or a cross at its place.
type Verdict struct {
	At   ink.Point
	Good bool
}

// Points writes a number of points.
func Points(v float64) string {
	if v == float64(int(v)) {
		return ui.Decimal(v, 0)
	}
	return ui.Decimal(v, 1)
}
