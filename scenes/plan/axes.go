package plan

import (
	"math"

	"gainwright/scenes/ink"
	"gainwright/scenes/ui"
)

// riskAxis is logarithmic: ten times the risk is always the same step. Its levels
// are 10·log10 of the share.
var riskAxis = ui.Axis{{DB: -33, At: 0}, {DB: 0, At: 1}}

var riskTicks = [...]struct {
	share float64
	word  string
}{{1, "100 %"}, {0.3, "30 %"}, {0.1, "10 %"}, {0.03, "3 %"}, {0.01, "1 %"}, {0.003, "0.3 %"}, {0.001, "0.1 %"}}

const noiseTop, noiseBottom = -20, -80

var noiseAxis = ui.Axis{{DB: noiseBottom, At: 0}, {DB: noiseTop, At: 1}}

func riskY(r ink.Rect, share float64) float32 {
	if share <= 0 {
		return r.Bottom()
	}
	return riskAxis.Y(r, 10*math.Log10(share))
}
