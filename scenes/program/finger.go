package program

import (
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
)

// How far a finger goes before it scrolls, and sideways before it turns a page, dp.
const (
	slackDP = 8
	swipeDP = 40
)

// finger follows a finger that began on no control: up and down it scrolls, sideways it
// goes to what is beside.
type finger struct {
	id          int
	on, moved   bool
	start, last ink.Point
}

// take takes over what fingers did, and what closes the small panel, and reports whether anything moved.
func (f *finger) take(in *ui.Input, cs []ui.Control, sc kit.Scene, e *explain) (moved bool) {
	if e.take(in) {
		return true
	}
	for _, p := range in.Pointers {
		switch {
		case p.Kind == ui.Down && p.ID != 0 && !f.on && ui.Free(cs, p.At):
			*f = finger{id: p.ID, on: true, start: p.At, last: p.At}
		case !f.on || p.ID != f.id:
		case p.Kind == ui.Up || p.Kind == ui.Cancel:
			f.on = false
		case p.Kind == ui.Move:
			moved = f.move(p.At, sc, e) || moved
		}
	}
	return moved
}

func (f *finger) move(at ink.Point, sc kit.Scene, e *explain) bool {
	dx, dy := at.X-f.start.X, at.Y-f.start.Y
	ax, ay := max(dx, -dx), max(dy, -dy)
	if sw, ok := sc.(kit.Swiped); ok && !f.moved && !e.on && ax > swipeDP && ax > 2*ay {
		f.on = false
		if dx < 0 {
			sw.Swipe(1)
		} else {
			sw.Swipe(-1)
		}
		return true
	}
	if !f.moved && ay <= slackDP {
		return false
	}
	by := f.last.Y - at.Y
	f.moved, f.last = true, at
	if !e.on {
		sc.Scroll(by)
	} else if e.scroll.By(by) {
		e.moved()
	}
	return true
}
