package repair

import "slices"

// Flatness is what the tops of a recording look like.
type Flatness string

// The kinds of tops, from the clearest to the least certain.
const (
	NotFlat    Flatness = "none"    // no flat tops found
	FlatHard   Flatness = "hard"    // runs of equal samples at one level
	FlatMoving Flatness = "moving"  // flat tops whose level moves: a gain changed after the clipping
	FlatNoisy  Flatness = "noisy"   // flat tops with dither, noise or a lossy codec's ripple on them
	Rounded    Flatness = "rounded" // bent rather than cut; nothing says which samples are wrong
)

// certainty orders kinds from the clearest to the least certain.
var certainty = []Flatness{"", NotFlat, Rounded, FlatHard, FlatMoving, FlatNoisy}

// LessCertain returns that of two kinds that says less: what is true of the whole
// when its parts differ.
func LessCertain(a, b Flatness) Flatness {
	if slices.Index(certainty, b) > slices.Index(certainty, a) {
		return b
	}
	return a
}
