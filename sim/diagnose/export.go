package diagnose

// What the training program needs and nobody else.

// Learned is the histories between which the model decides, in its order.
func Learned() []History { return learned[:] }

// A Look is what training wants to know of a channel that is finished.
type Look struct {
	Features [2]Features
	Over     [2]OverFeatures
	Level    [2]float64 // R of the halves
	Wall     History    // by walls alone; Whole where there are none
	Clipped  bool       // restored peaks pass it by more than a limiter shaves off
}

// LookAt gathers it.
func LookAt(c *Channel) (l Look) {
	c.finish()
	for k := range c.sides {
		v := c.view(k)
		l.Features[k], l.Over[k], l.Level[k] = c.features(v), c.overFeatures(k), v.r
	}
	v := c.walls()
	if l.Wall = v.main; v.main != Whole {
		rise, ok := c.restored(&v)
		l.Clipped = !ok || rise >= leastRise
	}
	return l
}

// RiseAs returns by how much restored peaks pass what is left of the ceiling, dB, for a
// history whose cut still shows; false where nothing could be restored.
func RiseAs(c *Channel, h History) (dB float64, ok bool) {
	c.finish()
	v := c.walls()
	v.main = h
	return c.restored(&v)
}
