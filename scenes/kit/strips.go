package kit

import "gainwright/sim"

// The range of every preamp's gain, dB, and how far a knob turns for each dp.
const (
	GainMin, GainMax = 0, 70
	KnobDBPerDP      = 0.2
)

// Where a limiter can be, and what that is called.
var (
	Places     = [3]sim.LimiterPlace{sim.LimiterOff, sim.LimiterBefore, sim.LimiterAfter}
	PlaceWords = [3]string{"off", "before converter", "after converter"}
)

// LimiterHints tell what a limiter does at each of Places.
var LimiterHints = [3]string{
	"No limiter.",
	"An analogue limiter on the preamp's output: it turns peaks down before the converter can run out of codes.",
	"A digital limiter behind the converter: it turns down what the converter has already cut off.",
}
