package program

import (
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
)

// bar is the header: the program's name, the tabs, and what concerns all scenes.
type bar struct {
	tabs         []*ui.Choice
	sound, theme *ui.Button
	text         *ui.Button
	undo, redo   *ui.Button
	more, ask    *ui.Button
	level        *ui.Slider

	sparing bool     // the scene has no unit to be explained
	plain   bool     // for a scene that stands alone
	paged   bool     // the page behind the menu is shown
	heard   bool     // sound is on
	small   bool     // there is room for the sound's icon only
	narrow  bool     // the window is a phone's
	low     bool     // which lies on its side
	foot    ink.Rect // the tabs there
	name    ink.Rect // of the program
}

// levelWord names how loud one hears.
const levelWord = "Listening"

func rowHeight(th *ui.Theme) float32 { return max(48, th.Row(ui.Body)+20, th.Least+6) }

// sync brings up what there is.
func (h *bar) sync() {
	kit.Hide(h.plain, h.undo, h.redo, h.more)
	kit.Hide(false, h.text, h.theme)
	kit.Hide(h.paged || h.sparing, h.ask)
	kit.Hide(h.plain && !h.heard, h.level)
	if h.narrow && !h.plain {
		kit.Hide(!h.paged, h.moved()...)
	}
	for _, t := range h.tabs {
		kit.Hide(h.plain, t)
	}
	if h.small {
		h.sound.Label = ""
	}
}

// layout takes the header off the top of r.
func (h *bar) layout(th *ui.Theme, r *ink.Rect, title string) {
	name := ink.Measure(title, th.Style(ui.Title, ink.Bold, ink.Left, th.Say)) + 18
	if h.plain {
		ui.Top(r, h.layoutPlain(th, ui.Pad(*r, 14, 0), name))
		return
	}
	if h.low {
		h.layoutLow(th, r)
		return
	}
	if h.narrow {
		h.layoutNarrow(th, r, name)
		return
	}
	ui.Top(r, h.layoutWhole(th, ui.Pad(*r, 14, 0), name))
}

// mid is the part of a row of the header that a control takes.
func mid(th *ui.Theme, r ink.Rect) ink.Rect {
	h := min(r.H, th.Tall(max(36, th.Row(ui.Body)+8)))
	return ui.Pad(r, 0, (r.H-h)/2)
}

// layoutPlain lays out the name, the sound and how things look; how loud one hears
// comes in with the sound, in a row of its own where there is no room beside.
func (h *bar) layoutPlain(th *ui.Theme, in ink.Rect, title float32) float32 {
	rowH := max(rowHeight(th), ui.Touch+8)
	sq := max(ui.Touch, ui.Square(th))
	first := ink.Rect{X: in.X, W: in.W, H: rowH}
	if h.name = (ink.Rect{}); title <= first.W-4*(sq+6) {
		h.name = ui.Left(&first, title)
	}
	cut := func(w float32) ink.Rect {
		c := ui.Right(&first, w)
		ui.Right(&first, 6)
		return ui.Pad(c, 0, (c.H-max(ui.Touch, th.Row(ui.Body)+8))/2)
	}
	h.ask.Bounds = cut(sq)
	h.theme.Bounds = cut(sq)
	h.text.Bounds = cut(sq)
	sound, level := max(h.sound.Width(th), th.Px(118)), th.Px(230)
	if h.small = sound+6 > first.W; h.small {
		sound = sq
	}
	h.sound.Bounds = cut(sound)
	if !h.heard {
		return rowH
	}
	if level+6 <= first.W {
		h.level.Bounds = cut(level)
		return rowH
	}
	h.level.Bounds = ink.Rect{X: in.X, Y: rowH, W: in.W, H: max(ui.Touch, th.Row(ui.Body)+8)}
	return h.level.Bounds.Bottom() + 4
}

// tabsWidth is what the tabs need, and tight what they need with their shorter words.
func (h *bar) tabsWidth(th *ui.Theme) (w float32) {
	for _, t := range h.tabs {
		w += t.Width(th)
	}
	return w
}

func (h *bar) tight(th *ui.Theme) (w float32) {
	for _, t := range h.tabs {
		said := *t
		if short := tightWords[t.ID]; short != "" {
			said.Label = short
		}
		w += said.Width(th)
	}
	return w
}

// tighten gives the tabs their shorter words and returns what they then need.
func (h *bar) tighten(th *ui.Theme, words map[string]string) float32 {
	for _, t := range h.tabs {
		if short := words[t.ID]; short != "" {
			t.Label = short
		}
	}
	return h.tabsWidth(th)
}

// layoutWhole takes as many rows as the parts need: the name and the buttons in the
// first; level and tabs beside them, or below.
func (h *bar) layoutWhole(th *ui.Theme, in ink.Rect, title float32) float32 {
	rowH := rowHeight(th)
	tabs := h.tabsWidth(th)
	soundW := max(h.sound.Width(th), th.Px(118))
	sq := min(ui.Square(th), in.W/7-6)
	buttons := soundW + 6*(sq+6) + 12
	level := th.Px(230)
	h.small = title+tabs+buttons+level+30 > in.W
	if h.small {
		buttons += sq - soundW
		soundW = sq
		level = th.Px(200)
	}
	h.level.Label = levelWord
	if w := h.tight(th); h.small && title+tabs+buttons+th.Px(136)+30 > in.W && title+w+buttons+th.Px(136)+30 <= in.W {
		tabs = h.tighten(th, tightWords)
	}
	// A row of their own holds all tabs, in fewer words if need be.
	for _, words := range []map[string]string{tightWords, tabWords} {
		if tabs > in.W {
			tabs = h.tighten(th, words)
		}
	}
	if h.small && title+tabs+buttons+level+30 > in.W && title+tabs+buttons+th.Px(136)+30 <= in.W {
		// Beside the sound's button, and in one row with all else.
		h.level.Label, level = "", th.Px(136)
	}
	y := float32(0)
	first := ink.Rect{X: in.X, Y: 0, W: in.W, H: rowH}
	if h.name = (ink.Rect{}); title <= first.W-7*(sq+6) {
		h.name = ui.Left(&first, title)
	}
	cut := func(r *ink.Rect, w float32) ink.Rect {
		c := ui.Right(r, w)
		ui.Right(r, 6)
		return mid(th, c)
	}
	h.more.Bounds = cut(&first, sq)
	h.ask.Bounds = cut(&first, sq)
	h.theme.Bounds = cut(&first, sq)
	h.text.Bounds = cut(&first, sq)
	h.redo.Bounds = cut(&first, sq)
	h.undo.Bounds = cut(&first, sq)
	levelPlaced := false
	if title+tabs+buttons+level+30 <= in.W || title+buttons+level+30 <= in.W && title+tabs+buttons+30 > in.W {
		h.level.Bounds, levelPlaced = cut(&first, level), true
	}
	h.sound.Bounds = cut(&first, soundW)
	x, row := first.X, first
	next := func() {
		y += rowH - 6
		row = ink.Rect{X: in.X, Y: y, W: in.W, H: rowH}
		x = row.X
	}
	if tabs > first.W {
		next()
	}
	for _, t := range h.tabs {
		w := min(t.Width(th), in.W)
		if x+w > row.Right()+0.5 {
			next()
		}
		t.Bounds = ui.Pad(ink.Rect{X: x, Y: row.Y, W: w, H: rowH}, 0, (rowH-min(44, rowH-6))/2)
		x += w
	}
	if !levelPlaced {
		if y == 0 || row.Right()-x < level+8 {
			next()
		}
		h.level.Bounds = mid(th, ui.Right(&row, min(level, row.W)))
	}
	return y + rowH
}
