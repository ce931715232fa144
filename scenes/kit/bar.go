package kit

import "gainwright/scenes/ink"

// Bar is a bar of a list: from one level to another around zero.
type Bar struct {
	Box      ink.Rect
	From, To float32 // x
	Zero     float32
	Good     bool // wider; else narrower, hatched
	TwoSided bool
}
