package kit

import (
	"fmt"

	"gainwright/scenes/ink"
	"gainwright/scenes/ui"
)

// Shown is how a scene shows one idea. It is given when one is shown, so that what draws
// the whole scene need not know of it.
type Shown struct {
	Layout func(th *ui.Theme, area ink.Rect)
	Draw   func(l *ink.List, th *ui.Theme)
	// Sync hides what the idea does not speak of, of the controls given.
	Sync func(cs []ui.Control)
	// Ideas is how many there are.
	Ideas func() int
	// Whole, if it is given, tells that the idea shown is the scene as it is.
	Whole func() bool
	// Say, if it is given, is what the idea says beside its sentence.
	Say func() string
	// Scroll, if it is given, scrolls.
	Scroll func(dy float32)
}

// Slides shows the ideas of a scene one at a time: a sentence, and below it the panels
// that it speaks of. The zero value shows the scene whole.
type Slides struct {
	How   Shown
	at    int // the idea, counted from 1; 0: the whole scene
	words string
	box   ink.Rect
	para  ui.Para
}

// Show shows idea i, counted from 0, and the whole scene for −1.
func (s *Slides) Show(i int) { s.at = max(0, i+1) }

// On tells whether one idea is shown, Alone whether it takes the scene's place; At is
// which, counted from 0.
func (s *Slides) On() bool    { return s.at > 0 }
func (s *Slides) Alone() bool { return s.On() && (s.How.Whole == nil || !s.How.Whole()) }
func (s *Slides) At() int     { return s.at - 1 }

// Restart goes back to the first idea, if one is shown.
func (s *Slides) Restart() { s.at = min(s.at, 1) }

// Sync hides what an idea that is shown alone does not speak of.
func (s *Slides) Sync(cs []ui.Control) {
	if s.Alone() {
		s.How.Sync(cs)
	}
}

// Lay puts the sentence at the top of area and returns the room below it.
func (s *Slides) Lay(th *ui.Theme, area ink.Rect, words string) ink.Rect {
	r := ui.Pad(area, min(20, area.W/40), 10)
	s.words = words
	s.box = ink.Rect{}
	if words != "" {
		st := th.Style(ui.Big, ink.Bold, ink.Left, th.Say)
		s.box = ui.Top(&r, s.para.Height(words, st, r.W, th.Row(ui.Big)))
		ui.Top(&r, 10)
	}
	return r
}

// Draw writes the sentence.
func (s *Slides) Draw(l *ink.List, th *ui.Theme) {
	if s.box.H > 0 {
		s.para.Draw(l, s.box, s.words, th.Style(ui.Big, ink.Bold, ink.Left, th.Say), th.Row(ui.Big))
	}
}

// Nodes tells which idea of how many is shown, if one is.
func (s *Slides) Nodes(dst []ui.Node) []ui.Node {
	if !s.On() {
		return dst
	}
	n := ui.Node{ID: IDIdea, Role: ui.RoleHeading, Name: fmt.Sprintf("Idea %d of %d", s.at, s.How.Ideas()), Bounds: s.box}
	if s.Alone() {
		n.Name += ": " + s.words
	}
	if s.How.Say != nil {
		n.Value = s.How.Say()
	}
	return append(dst, n)
}

// Slot is a panel below an idea's picture and how high it is, at a width.
type Slot struct {
	To     *ink.Rect
	Height func(width float32) float32
	Least  float32 // the width that it wants to stand beside the picture
}

// Panels shares r: main, at least so high, takes what the slots leave, which lie at its
// right or below it, there side by side or one below the other, as there is room. Without room for all of
// it the pane scrolls. A nil main leaves the slots alone.
func (s *Slides) Panels(th *ui.Theme, p *Pane, r ink.Rect, main *ink.Rect, least float32, slots ...Slot) {
	if main != nil && s.beside(th, p, r, main, least, slots) {
		return
	}
	cols := 1
	if len(slots) > 1 && r.W >= 640*th.Text {
		cols = len(slots)
	}
	w := (r.W - GapDP*float32(cols-1)) / float32(cols)
	low := float32(0)
	for _, b := range slots {
		h := b.Height(w)
		if cols > 1 {
			low = max(low, h)
		} else {
			low += h + GapDP
		}
	}
	need := low
	if main != nil {
		need += least + GapDP
	}
	p.Wide = need <= r.H
	c := r
	if p.Wide {
		p.Scroll, p.View = 0, r
	} else {
		c = p.Stack(r, need)
	}
	if main != nil {
		*main = ui.Top(&c, c.H-low-GapDP)
		ui.Top(&c, GapDP)
	}
	if cols > 1 {
		c.H = low
	}
	for i, b := range slots {
		if cols > 1 {
			*b.To = ui.Column(c, i, cols, GapDP)
			continue
		}
		*b.To = ui.Top(&c, b.Height(w))
		ui.Top(&c, GapDP)
	}
}

// beside puts the slots at the right of main, if they have the room.
func (s *Slides) beside(th *ui.Theme, p *Pane, r ink.Rect, main *ink.Rect, least float32, slots []Slot) bool {
	w := min(max(r.W*0.34, 230*th.Text), 560*th.Text)
	need := float32(0)
	for _, b := range slots {
		need += b.Height(w) + GapDP
		if w < b.Least {
			return false
		}
	}
	if len(slots) == 0 || r.H < least || r.W-w < 380*th.Text || need > r.H {
		return false
	}
	p.Wide, p.Scroll, p.View = true, 0, r
	right := ui.Right(&r, w)
	ui.Right(&r, GapDP)
	*main = r
	for _, b := range slots {
		*b.To = ui.Top(&right, b.Height(w))
		ui.Top(&right, GapDP)
	}
	return true
}

// Only hides all controls but those kept, which stay as they are.
func (s *Slides) Only(all []ui.Control, keep ...ui.Control) {
	for _, c := range all {
		kept := false
		for _, k := range keep {
			kept = kept || k == c
		}
		if !kept {
			c.Common().Hidden = true
		}
	}
}
