package bench

import (
	"gainwright/sim"
	"gainwright/sounds/equipment"
)

// owned is the user's own recorder, whose marks the bench shows beside its gains.
type owned struct {
	recorder *equipment.Recorder
	knob     *equipment.Knob // nil unless marks and levels are known
	marked   []marked        // by strip
}

// marked is what was last said of a strip.
type marked struct {
	of  sim.Chain
	say string
}
