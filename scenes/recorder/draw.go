package recorder

import (
	"gainwright/scenes/curves"
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
	"gainwright/sounds/series"
)

// Draw draws panels, curves and words; the controls come after.
func (s *Scene) Draw(l *ink.List, th *ui.Theme) {
	g := &s.pane
	if s.show.On() {
		s.show.How.Draw(l, th)
		return
	}
	if !g.wide {
		l.Clip(g.page.View)
	}
	kit.Panel(l, th, g.leftBox)
	kit.Panel(l, th, g.right)
	if g.rest.H > 0 {
		kit.Panel(l, th, g.rest)
	}
	if g.wide {
		l.Clip(g.left.View)
	}
	g.lf.Draw(l)
	for _, m := range g.marks {
		drawMark(l, th, m)
	}
	s.drawProgress(l, th)
	if g.wide {
		l.Unclip()
		l.Clip(g.list.View)
	}
	g.rf.Draw(l)
	for i := range g.plots {
		s.drawCurve(l, th, i)
	}
	l.Unclip()
	if g.wide {
		g.left.Bar(l, th)
		g.list.Bar(l, th)
	} else {
		g.page.Bar(l, th)
	}
	s.hear.deck.Draw(l, th, s.strong)
}

// drawProgress draws what is being done, and how much of it is done.
func (s *Scene) drawProgress(l *ink.List, th *ui.Theme) {
	r := s.pane.progress
	if s.job == nil || r.W <= 0 {
		return
	}
	stage, share := s.progress()
	pc := ui.Decimal(100*share, 0) + " %"
	st := th.Style(ui.Tiny, ink.Regular, ink.Left, th.SayDim)
	kit.ProgressBar(l, th, r, share, ui.Fit(st, r.W*0.6, stage+", "+pc, pc))
}

// drawMark draws the sign before a part: a tick, or an empty ring.
func drawMark(l *ink.List, th *ui.Theme, m mark) {
	if m.done {
		ui.Verdict(l, th, m.at, m.size, true)
		return
	}
	l.Disc(m.at, m.size/2, th.SayDim)
	l.Disc(m.at, m.size/2-1.4, th.Panel)
}

// drawCurve draws a curve, or what is missing to know it.
func (s *Scene) drawCurve(l *ink.List, th *ui.Theme, i int) {
	box := s.pane.plots[i].box
	if box.W <= 0 {
		return
	}
	if c := curves.All[i]; s.known() && c.Known(s.found) {
		c.Draw(l, th, box, s.found)
		return
	}
	l.Fill(box, 5, th.Well)
	st := th.Style(ui.Small, ink.Regular, ink.Left, th.SayDim)
	in := ui.Pad(box, 12, 10)
	var p ui.Para
	p.Draw(l, in, curveMissing(curves.All[i]), st, th.Row(ui.Small))
}

// Nodes tells what the pictures and words show.
func (s *Scene) Nodes(dst []ui.Node) []ui.Node {
	g := &s.pane
	dst = s.show.Nodes(dst)
	dst = append(dst, ui.Node{ID: kit.IDStatus, Role: ui.RoleStatus, Name: "Result", Value: s.shell.Announce(), Bounds: s.hear.deck.Result})
	if stage, share := s.progress(); s.job != nil {
		dst = append(dst, ui.Node{ID: idWork, Role: ui.RoleText, Name: "Work", Value: stage + ", " + ui.Decimal(100*share, 0) + " %", Bounds: g.leftBox})
	}
	if s.show.Alone() {
		return dst
	}
	if w := s.keptWords(); w != "" {
		dst = append(dst, ui.Node{ID: idKept, Role: ui.RoleText, Name: "What is kept", Value: w, Bounds: g.leftBox})
	}
	for i, p := range series.Parts {
		st := s.stands().state(p)
		dst = append(dst, ui.Node{ID: idPart + partWords[i], Role: ui.RoleText, Name: p.Title, Value: st.said(p), Hint: "Tells " + p.Tells + ".", Bounds: g.leftBox})
	}
	told := func(id, name, value string, role ui.Role, box ink.Rect) {
		dst = append(dst, ui.Node{ID: idTells + id, Role: role, Name: name, Value: value, Bounds: box})
	}
	if !s.known() {
		return dst
	}
	f := s.found
	told("gain", curves.Gain.Title, curves.Gain.Words(f), ui.RoleImage, g.plots[0].box)
	told("noise", curves.Noise.Title, curves.Noise.Words(f), ui.RoleImage, g.plots[1].box)
	limiter := "Not known: record the pair."
	if f.Limiter != nil {
		t := series.TellLimiter(f.Limiter)
		limiter = t.Title + " " + t.Why
		for _, r := range t.Law {
			limiter += " " + kit.Capital(r.Name) + " " + r.Value + "."
		}
	}
	told("limiter", "The limiter", limiter, ui.RoleImage, g.plots[2].box)
	clip, words := f.ClipRow(), f.WordsRow()
	told("clip", "Clips at", clip.Value, ui.RoleText, g.right)
	told("words", "Word length", words.Value, ui.RoleText, g.right)
	notes := ""
	for _, n := range append(append([]string{}, f.Notes...), f.Assumed()...) {
		notes += kit.Capital(n) + dot(n) + " "
	}
	return append(dst, ui.Node{ID: idNotes, Role: ui.RoleText, Name: "Notes, and what is assumed", Value: notes, Bounds: g.right})
}

// Scroll moves the column under the pointer.
func (s *Scene) Scroll(dy float32) {
	g := &s.pane
	p := &g.page
	if g.wide {
		p = &g.list
		if s.pointer.X < g.leftBox.Right() && s.pointer.X > 0 {
			p = &g.left
		}
	}
	if p.By(dy) {
		s.Layout(s.shell.Theme(), g.area)
	}
}

// Reveal scrolls until r can be seen.
func (s *Scene) Reveal(r ink.Rect) {
	g := &s.pane
	p := &g.page
	if g.wide {
		switch {
		case g.left.Holds(r):
			p = &g.left
		case g.list.Holds(r):
			p = &g.list
		default:
			return
		}
	}
	if r.Y < s.hear.deck.Top() && p.Reveal(r) {
		s.Layout(s.shell.Theme(), g.area)
	}
}
