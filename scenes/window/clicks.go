//go:build js || window

package window

import (
	"time"

	"gainwright/scenes/ink"
)

// clicks counts presses that follow each other in one place.
type clicks struct {
	at   ink.Point
	when time.Time
	n    int
}

const (
	clickWithin = 400 * time.Millisecond
	clickNear   = 6 // dp
)

// press returns 1 for a single press, 2 for the second of a double click.
func (c *clicks) press(at ink.Point, now time.Time) int {
	dx, dy := at.X-c.at.X, at.Y-c.at.Y
	if c.n == 1 && now.Sub(c.when) <= clickWithin && dx*dx+dy*dy <= clickNear*clickNear {
		c.n = 2
	} else {
		c.n = 1
	}
	c.at, c.when = at, now
	return c.n
}
