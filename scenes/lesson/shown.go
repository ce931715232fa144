package lesson

import (
	"gainwright/scenes/ink"
	"gainwright/scenes/lesson/still"
	"gainwright/sim"
)

// shown is the picture beside the step's words, if it has one.
type shown struct {
	still.Picture
	box ink.Rect
	key shownOf // what it was made of
}

// shownOf tells whether a picture is still that of the bench.
type shownOf struct {
	step, takes int
	chain       sim.Chain // as it stands, where nothing was recorded in this step
}
