package program

import (
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
)

// narrowDP is the width below which a window is a phone's, held upright: then the header
// is one row, the tabs are a bar at the thumb's end, and what else concerns all scenes is
// on the page behind the menu.
const narrowDP = 600

// lowDP is the height below which a window under a finger is a phone's on its side: then
// header and tabs are one row.
const lowDP = 480

// tabWords are the tabs' words where each has an eighth of a phone's width.
var tabWords = map[string]string{
	kit.IDTabGain: "Gain", kit.IDTabTwin: "Talkers", kit.IDTabMend: "Mend",
	kit.IDTabPlan: "Plan", kit.IDTabLessons: "Lessons", kit.IDTabPractice: "Practice", kit.IDTabRecorder: "Gear", kit.IDTabVoice: "Voice",
}

// tightWords are the tabs' words where all of them in full leave no room for the rest of
// the header in one row.
var tightWords = map[string]string{kit.IDTabTwin: "Two talkers", kit.IDTabRecorder: "Recorder", kit.IDTabVoice: "Voice", kit.IDTabMend: "Mend", kit.IDTabPlan: "Plan"}

// fit takes notice of the width, and of a finger for the pointer.
func (h *bar) fit(th *ui.Theme, size ink.Point, coarse bool) {
	h.low = coarse && size.X >= narrowDP && size.Y < lowDP
	h.narrow = size.X < narrowDP || h.low
	th.Narrow, th.Least = h.narrow, 0
	if h.narrow || coarse {
		th.Least = ui.Touch
	}
	for _, t := range h.tabs {
		t.Label, t.Size = t.Name, ui.Body
		if w := tabWords[t.ID]; h.narrow && w != "" {
			t.Label, t.Size = w, ui.Small
		}
	}
	for _, c := range h.moved() {
		c.Common().Clip = ink.Rect{}
	}
	h.level.Label = levelWord
	h.undo.Label, h.redo.Label, h.text.Label, h.theme.Label = "", "", "", ""
	if h.narrow && !h.plain {
		h.undo.Label, h.redo.Label = "Undo", "Do again"
		h.text.Label, h.theme.Label = h.text.Name, h.theme.Name
	}
}

// moved are the controls that a narrow window has on the page behind the menu.
func (h *bar) moved() []ui.Control { return []ui.Control{h.undo, h.redo, h.level, h.text, h.theme} }

// layoutLow takes one row off the top of r: the tabs, sound, and the menu.
func (h *bar) layoutLow(th *ui.Theme, r *ink.Rect) {
	row := ui.Pad(ui.Top(r, max(ui.Touch+6, th.Row(ui.Body)+16)), 12, 3)
	h.more.Bounds = ui.Right(&row, ui.Square(th))
	ui.Right(&row, 6)
	h.ask.Bounds = ui.Right(&row, ui.Square(th))
	ui.Right(&row, 6)
	h.small, h.sound.Bounds = true, ui.Right(&row, ui.Square(th))
	ui.Right(&row, 10)
	h.name, h.foot = ink.Rect{}, ink.Rect{}
	for i, t := range h.tabs {
		t.Bounds = ui.Column(row, i, len(h.tabs), 0)
	}
}

// layoutNarrow takes one row off the top of r, and the tabs off the bottom.
func (h *bar) layoutNarrow(th *ui.Theme, r *ink.Rect, name float32) {
	rowH := max(ui.Touch+8, th.Row(ui.Title)+8)
	row := ui.Pad(ui.Top(r, rowH), 14, 4)
	h.more.Bounds = ui.Right(&row, ui.Square(th))
	ui.Right(&row, 6)
	h.ask.Bounds = ui.Right(&row, ui.Square(th))
	ui.Right(&row, 6)
	said := *h.sound // with its word, which it may have lost to a smaller window
	said.Label = "Sound off"
	h.sound.Bounds = ui.Right(&row, min(max(said.Width(th), th.Px(118)), max(row.W-name-8, ui.Square(th))))
	if h.small = h.sound.Bounds.W < said.Width(th); h.small {
		h.sound.Bounds.X = h.sound.Bounds.Right() - ui.Square(th)
		h.sound.Bounds.W = ui.Square(th)
	}
	h.name = row
	h.name.W = h.sound.Bounds.X - 8 - row.X
	n := len(h.tabs)
	cols := h.columns(th, r.W)
	rows := (n + cols - 1) / cols
	tab := max(ui.Touch+4, th.Row(h.tabs[0].Size)+12)
	h.foot = ui.Bottom(r, tab*float32(rows)+4)
	spare := (h.foot.W - h.needs(th)) / float32(n)
	x := h.foot.X
	for i, t := range h.tabs {
		if cols == n {
			t.Bounds = ink.Rect{X: x, Y: h.foot.Y + 2, W: need(th, t) + spare, H: tab}
			x += t.Bounds.W
			continue
		}
		c := ui.Column(h.foot, i%cols, cols, 0)
		t.Bounds = ink.Rect{X: c.X, Y: h.foot.Y + 2 + tab*float32(i/cols), W: c.W, H: tab}
	}
}

// need is the least width of a tab in one row: a thumb's, or its word's.
func need(th *ui.Theme, t *ui.Choice) float32 {
	return max(ui.Touch, ink.Measure(t.Label, th.Style(t.Size, ink.Bold, ink.Left, th.Say))+4)
}

func (h *bar) needs(th *ui.Theme) (w float32) {
	for _, t := range h.tabs {
		w += need(th, t)
	}
	return w
}

// columns is how many tabs stand side by side in a width; their words get smaller before
// there is a row more.
func (h *bar) columns(th *ui.Theme, width float32) int {
	n := len(h.tabs)
	for _, size := range [...]ui.Size{ui.Small, ui.Tiny} {
		for _, t := range h.tabs {
			t.Size = size
		}
		if h.needs(th) <= width {
			return n
		}
	}
	for _, cols := range [...]int{(n + 1) / 2, min(3, n), min(2, n)} {
		if h.fitsIn(th, width/float32(cols), ui.Small, 8) || h.fitsIn(th, width/float32(cols), ui.Tiny, 4) {
			return cols
		}
	}
	return 1
}

// fitsIn gives the tabs' words a size, and reports whether each fits into a width, with
// air beside it.
func (h *bar) fitsIn(th *ui.Theme, width float32, size ui.Size, air float32) bool {
	for _, t := range h.tabs {
		t.Size = size
	}
	for _, t := range h.tabs {
		if ink.Measure(t.Label, th.Style(size, ink.Bold, ink.Left, th.Say))+air > width {
			return false
		}
	}
	return true
}

// drawNarrow draws what lies behind the tabs.
func (h *bar) drawNarrow(l *ink.List, th *ui.Theme) {
	if !h.narrow || h.plain || h.low {
		return
	}
	l.Fill(h.foot, 0, th.Panel)
	l.Line(1, th.Grid, ink.Point{X: h.foot.X, Y: h.foot.Y + 0.5}, ink.Point{X: h.foot.Right(), Y: h.foot.Y + 0.5})
}
