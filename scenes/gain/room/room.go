// Package room is where "Set the gain" stands when it is lent: in the rooms that a lesson or
// practice has for it on its own page.
package room

import (
	"gainwright/scenes/bench"
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
)

// Room is where a lent bench stands on its holder's page. What its holder does itself
// (record, choose who talks and what they do) is not on it, and what has no room neither.
type Room struct {
	// Strip is where the strip that is shown stands alone, its knob beside its meter; it
	// is seen through Clip, unless that is empty.
	Strip, Clip ink.Rect
	// Column is where the pictures and the take stand below one another, and scroll where
	// they have to; with Strips all strips stand first.
	Column ink.Rect
	Strips bool
	// Under is where the lower picture and the take stand, if not in the column.
	Under ink.Rect
	// Take tells that only the take has room there.
	Take bool
}

// Needs are the least heights of what stands in the column, dp.
type Needs struct {
	Strips         int
	Strip, Compact float32 // of a strip, and where there are several rows of them
	Diagram        float32
	Lower, Take    float32
	Open           bool // the lower picture is a drawer, which needs no more than that
}

// Places are where all that stands in the column is.
type Places struct {
	Strips               [bench.MaxStrips]ink.Rect
	Compact              bool
	Diagram, Lower, Take ink.Rect
	Bottom               float32
}

// The least width of a strip, of one of several rows, and of one beside the diagram, dp at
// a text of 1.
const (
	stripWidth   = 255
	compactWidth = 330
	besideWidth  = 620
)

// Place places what stands in the column from the top of c down; it fills high dp where it
// needs less.
func (r *Room) Place(th *ui.Theme, c ink.Rect, high float32, n Needs) (p Places) {
	most := func(least float32) int { return max(1, min(n.Strips, int(c.W/(least*th.Text)))) }
	cols, sh := most(stripWidth), n.Strip
	rows := (n.Strips + cols - 1) / cols
	if p.Compact = rows > 1; p.Compact {
		cols, sh = most(compactWidth), n.Compact
		rows = (n.Strips + cols - 1) / cols
	}
	beside := n.Strips == 1 && c.W >= besideWidth*th.Text // the diagram
	if beside || !r.Strips {
		rows = 0
	}
	need := n.Diagram + float32(rows)*(sh+kit.GapDP)
	lower, played := r.Under.W == 0 || r.Take, r.Under.W == 0
	if lower {
		need += n.Lower + kit.GapDP
	}
	if played {
		need += n.Take + kit.GapDP
	}
	if spare := high - need; spare > 0 {
		share := float32(0.6)
		switch {
		case !lower:
			share = 1
		case n.Open:
			share = 0.8
		}
		n.Diagram += spare * share
		n.Lower += spare * (1 - share)
	}
	y := c.Y
	take := func(h float32) ink.Rect {
		b := ink.Rect{X: c.X, Y: y, W: c.W, H: h}
		y += h + kit.GapDP
		return b
	}
	for i := range rows {
		row, first := take(sh), i*cols
		k := min(cols, n.Strips-first)
		for j := range k {
			p.Strips[first+j] = ui.Column(row, j, k, kit.GapDP)
		}
	}
	p.Diagram = take(n.Diagram)
	if r.Strips && beside {
		p.Strips[0] = ui.Left(&p.Diagram, min(c.W*0.4, compactWidth*th.Text))
		ui.Left(&p.Diagram, kit.GapDP)
	}
	if lower {
		p.Lower = take(n.Lower)
	}
	if played {
		p.Take = take(n.Take)
	}
	p.Bottom = y - kit.GapDP
	return p
}
