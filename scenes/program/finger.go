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
	pressDP = 16 // on something to press, which is not pressed then
)

// finger follows a finger that began on no control: up and down it scrolls, sideways it
// goes to what is beside. One that began on something to press scrolls, too.
type finger struct {
	id          int
	on, moved   bool
	press       bool // it began on something to press
	start, last ink.Point
}

// take takes over what fingers did, and what closes the small panel, and reports whether anything moved.
func (f *finger) take(in *ui.Input, cs []ui.Control, sc kit.Scene, e *explain) (moved bool) {
	if e.take(in) {
		return true
	}
	for i, p := range in.Pointers {
		free := p.Kind == ui.Down && ui.Free(cs, p.At)
		switch {
		case p.Kind == ui.Down && p.ID != 0 && !f.on && (free || ui.Pressed(cs, p.At)):
			*f = finger{id: p.ID, on: true, press: !free, start: p.At, last: p.At}
		case !f.on || p.ID != f.id:
		case p.Kind == ui.Up || p.Kind == ui.Cancel:
			f.on = false
		case p.Kind == ui.Move:
			was := f.moved
			moved = f.move(p.At, sc, e) || moved
			if f.press && f.moved && !was {
				in.Pointers[i].Kind = ui.Cancel // it is let go unpressed
			}
		}
	}
	return moved
}

func (f *finger) move(at ink.Point, sc kit.Scene, e *explain) bool {
	dx, dy := at.X-f.start.X, at.Y-f.start.Y
	ax, ay := max(dx, -dx), max(dy, -dy)
	if sw, ok := sc.(kit.Swiped); ok && !f.press && !f.moved && !e.on && ax > swipeDP && ax > 2*ay {
		f.on = false
		if dx < 0 {
			sw.Swipe(1)
		} else {
			sw.Swipe(-1)
		}
		return true
	}
	slack := float32(slackDP)
	if f.press {
		slack = pressDP
	}
	if !f.moved && ay <= slack {
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
