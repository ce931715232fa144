package scenetest

import (
	"strings"
	"testing"

	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/program"
	"gainwright/scenes/ui"
)

// cell is the side of the squares that a picture is looked at in, dp.
const cell = 16

// idle tells of the squares of the picture below its header, column by column, whether
// nothing stands there, or only what cannot be used. What is drawn over a panel's ground
// counts as something; a panel's ground does not.
func idle(p *program.Program, from float32) (cols [][]bool) {
	var l ink.List
	p.Draw(&l)
	size := p.Size()
	nx, ny := int(size.X/cell), int((size.Y-from)/cell)
	cols = make([][]bool, nx)
	for x := range cols {
		cols[x] = make([]bool, ny)
		for y := range cols[x] {
			cols[x][y] = true
		}
	}
	mark := func(r ink.Rect, dead bool) {
		for x := max(0, int(r.X/cell)); x < nx && float32(x)*cell < r.Right(); x++ {
			for y := max(0, int((r.Y-from)/cell)); y < ny && from+float32(y)*cell < r.Bottom(); y++ {
				cols[x][y] = dead
			}
		}
	}
	clip, clips := ink.Rect{W: size.X, H: size.Y}, []ink.Rect(nil)
	for i := range l.Ops {
		switch op := &l.Ops[i]; op.Kind {
		case ink.KClip:
			clips, clip = append(clips, clip), clip.Intersect(op.Rect)
		case ink.KUnclip:
			clip, clips = clips[len(clips)-1], clips[:len(clips)-1]
		case ink.KText:
			at, w := l.Points(op)[0], ink.Measure(op.Text, op.Style)
			switch op.Style.Align {
			case ink.Middle:
				at.X -= w / 2
			case ink.Right:
				at.X -= w
			}
			// With the air that belongs to a line, and that at the ragged end of it.
			mark(ink.Rect{X: at.X - 4*cell, Y: at.Y - 1.7*op.Style.Size, W: w + 8*cell, H: 2.6 * op.Style.Size}.Intersect(clip), false)
		case ink.KRect:
			if op.Color == p.Theme().Well {
				mark(op.Rect.Intersect(clip), false) // a picture
			}
		}
	}
	// What can be used is something, what cannot is nothing, its words included.
	for _, off := range []bool{true, false} {
		for _, c := range p.Controls() {
			b := c.Common()
			// Waves are a picture, whether they can be moved or not; an answer that stands is read.
			dead := b.Disabled && !strings.HasPrefix(b.ID, "lesson.answer.")
			if b.Hidden || dead != off || off && strings.HasPrefix(b.ID, kit.Scopes) {
				continue
			}
			r := b.Bounds
			if b.Clip.W > 0 {
				r = r.Intersect(b.Clip)
			}
			mark(r, off)
		}
	}
	return cols
}

// CheckFilled: over no more than a quarter of the window's width, in one piece, is more
// than half of the height below the header empty or cannot be used.
func CheckFilled(t *testing.T, name string, b *Driver) {
	t.Helper()
	b.Wait(2.0 / 60)
	from := float32(0)
	for _, c := range b.P.Controls() {
		if c, ok := c.(*ui.Choice); ok && len(c.ID) > 4 && c.ID[:4] == "tab." {
			from = max(from, c.Bounds.Bottom())
		}
	}
	cols := idle(b.P, from)
	run, worst, end := 0, 0, 0
	for x, col := range cols {
		dead := 0
		for _, d := range col {
			if d {
				dead++
			}
		}
		if dead*2 > len(col) {
			run++
		} else {
			run = 0
		}
		if run > worst {
			worst, end = run, x
		}
	}
	if w := float32(worst * cell); w > b.Size.X/4 {
		t.Errorf("%s, %gx%g: from %d to %d dp more than half of the height is empty or cannot be used", name, b.Size.X, b.Size.Y, (end-worst+1)*cell, (end+1)*cell)
	} else {
		t.Logf("%s, %gx%g: at most %.0f %% of the width", name, b.Size.X, b.Size.Y, 100*w/b.Size.X)
	}
}

// DeskSizes are the windows of a desk that rooms are looked at in.
var DeskSizes = []ink.Point{{X: 1024, Y: 768}, {X: 1280, Y: 720}, {X: 1440, Y: 900}}

// PhoneSizes are those of phones: held upright, a small one, and one on its side.
var PhoneSizes = []ink.Point{{X: 390, Y: 844}, {X: 360, Y: 640}, {X: 844, Y: 390}}

// CheckInView: controls and nodes are whole on the page, with nothing scrolled.
func CheckInView(t *testing.T, name string, b *Driver, ids ...string) {
	t.Helper()
	page := ink.Rect{W: b.Size.X, H: b.Size.Y}
	for _, id := range ids {
		found := false
		for _, c := range b.P.Controls() {
			x := c.Common()
			if x.ID != id || x.Hidden {
				continue
			}
			found = true
			r := x.Bounds.Intersect(page)
			if x.Clip.W > 0 {
				r = r.Intersect(x.Clip)
			}
			if r.H < x.Bounds.H-0.5 || r.W < x.Bounds.W-0.5 {
				t.Errorf("%s, %gx%g: %s at %v is seen at %v only", name, b.Size.X, b.Size.Y, id, x.Bounds, r)
			}
		}
		if !found {
			t.Errorf("%s, %gx%g: %s is not on the page", name, b.Size.X, b.Size.Y, id)
		}
	}
}
