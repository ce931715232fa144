package bench

import (
	"fmt"
	"slices"

	"gainwright/sim"
	"gainwright/sounds/voice"
)

// Change is a change of a strip's settings during a take.
type Change struct {
	At    int64     `json:"at"` // frame of the take
	Strip int       `json:"strip"`
	Chain sim.Chain `json:"chain"`
}

// Recipe is what it takes to make a take again: who did what, and what was set.
// A take without changes while it ran comes out the same to the sample.
type Recipe struct {
	Number  int         `json:"number"`
	Frames  int64       `json:"frames"`
	Perf    Performance `json:"performance"`
	N       int         `json:"strips"`
	Chain   []sim.Chain `json:"chains"`
	Changes []Change    `json:"changes,omitempty"`
	// Told is what was told of each strip before.
	Told [MaxStrips]Told `json:"told,omitzero"`
}

const (
	MaxRecipes = 12
	maxChanges = 400
)

// Validate returns nil, or why nothing can be made of the recipe.
func (r *Recipe) Validate() error {
	if r.Number < 1 || r.Frames < 1 || r.Frames > maxFrames || r.N < MinStrips || r.N > MaxStrips || len(r.Chain) != r.N {
		return fmt.Errorf("take %d: a length or a number of strips that there is not", r.Number)
	}
	if r.Perf.File != "" {
		return fmt.Errorf("take %d was made of the recording %s, which is not kept", r.Number, r.Perf.File)
	}
	if r.Perf.Live {
		return fmt.Errorf("take %d was live: it cannot be made again", r.Number)
	}
	if _, err := voice.Find(r.Perf.Talker); err != nil {
		return fmt.Errorf("take %d: %w", r.Number, err)
	}
	if d := r.Perf.DistanceM; !(d > 0 && d < 100) || !(r.Perf.Effort >= 0 && r.Perf.Effort <= 1) {
		return fmt.Errorf("take %d: a distance or an effort that there is not", r.Number)
	}
	last := int64(0)
	for _, d := range r.Perf.Do {
		if !slices.Contains(Events, d.What) && (d.What != Shout || r.Perf.Own == "") || d.At < last {
			return fmt.Errorf("take %d: something that a talker cannot do", r.Number)
		}
		last = d.At
	}
	for i := range r.Chain {
		if err := r.Chain[i].Validate(); err != nil {
			return fmt.Errorf("take %d, strip %s: %w", r.Number, StripNames[i], err)
		}
	}
	last = 0
	for i := range r.Changes {
		c := &r.Changes[i]
		if c.Strip < 0 || c.Strip >= r.N || c.At < last {
			return fmt.Errorf("take %d: a change of a strip that there is not", r.Number)
		}
		last = c.At
		if err := c.Chain.Validate(); err != nil {
			return fmt.Errorf("take %d: %w", r.Number, err)
		}
	}
	return nil
}
