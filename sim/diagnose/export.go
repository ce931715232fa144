package diagnose

// What the training program needs and nobody else.

// Learned is the histories between which the model decides, in its order.
func Learned() []History { return learned[:] }

// Finish looks at what has been written last; nothing may be written after it.
func (c *Channel) Finish() { c.finish() }

// Walled reports whether the upper or lower half ends in a wall, so that no model
// is asked.
func (c *Channel) Walled(half int) bool { return c.wall(&c.sides[half]) }

// Level is R of a half, see Features.
func (c *Channel) Level(half int) float64 { return c.view(half).r }

// OverFeatures are those of a half.
func (c *Channel) OverFeatures(half int) OverFeatures { return c.overFeatures(half) }
