package program

import (
	"strings"
	"unicode"

	"gainwright/lessons/glossary"
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
)

// explained are the words that a newcomer meets first, and how each is written in a scene.
var explained = [...]struct {
	id string
	as []string
}{
	{"db-spl", []string{"dB SPL"}}, {"dba", []string{"dBA"}}, {"dbu", []string{"dBu"}}, {"dbfs", []string{"dBFS"}},
	{"dbtp", []string{"dBTP"}}, {"lufs", []string{"LUFS"}}, {"ein", []string{"EIN"}},
	{"gain", []string{"gain"}}, {"gain-window", []string{"window", "gain, dB"}},
	{"noise-after-delivery", []string{"noise after delivery", "noise in pauses", "noise, LUFS", "noise:"}},
	{"headroom", []string{"headroom", "dB left"}}, {"overs", []string{"overs"}},
}

// explain is the small panel that tells what the units mean which stand in the scene. It
// lies over the scene; what it covers cannot be reached meanwhile.
type explain struct {
	on         bool
	at         int // of explained
	from       string
	open, shut *ui.Button
	words      [len(explained)]*ui.Choice
	there      [len(explained)]bool
	box, head  ink.Rect
	flow       kit.Flow
	scroll     kit.Scroller
	list       ink.List // the scene, to see what stands there

	own    []ui.Control
	router *ui.Router
	th     *ui.Theme
	scene  func() kit.Scene
	moved  func() // everything is to be laid out anew
}

func newExplain(router *ui.Router, th *ui.Theme, scene func() kit.Scene, moved func()) explain {
	e := explain{router: router, th: th, scene: scene, moved: moved,
		open: ui.NewButton(idExplain, "What do these units mean?", "Opens what the units and words in this scene mean.", "?", ui.Quiet, ui.NoIcon),
		shut: ui.NewButton(idExplainClose, "Close", "Back to the scene.", "", ui.Quiet, ui.IconClose),
	}
	e.open.Toggle = true
	for i, w := range explained {
		t, _ := glossary.ByID(w.id)
		c := ui.NewChoice("explain", idExplain+"."+w.id, "What is "+t.Name+"?", t.Say, t.Name)
		c.Look = ui.Tile
		e.words[i] = c
	}
	return e
}

// acts are what the panel's controls do.
func (e *explain) acts() kit.Acts {
	a := kit.Acts{
		idExplain:      kit.Press(func() { e.set(!e.on) }),
		idExplainClose: kit.Press(func() { e.set(false) }),
	}
	for i, c := range e.words {
		a[c.ID] = kit.Press(func() {
			e.set(true)
			e.at, e.scroll.Scroll = i, 0
			e.moved()
		})
	}
	return a
}

// set opens and closes the panel.
func (e *explain) set(on bool) {
	if on == e.on {
		return
	}
	e.on = on
	e.moved()
	if !on {
		if f := e.router.Focused(); strings.HasPrefix(f, idExplain) {
			e.router.SetFocus(e.from)
		}
		return
	}
	e.look()
	for e.at = range e.there {
		if e.there[e.at] {
			break
		}
	}
	if e.scroll.Scroll, e.from = 0, e.router.Focused(); e.from != "" {
		e.router.SetFocus(idExplainClose)
	}
}

// look finds which of the words stand in the scene.
func (e *explain) look() {
	e.list.Reset()
	e.scene().Draw(&e.list, e.th)
	e.router.Draw(&e.list, e.th, e.scene().Controls())
	e.there = [len(explained)]bool{}
	for i := range e.list.Ops {
		e.find(e.list.Ops[i].Text)
	}
	for _, n := range e.scene().Nodes(nil) {
		e.find(n.Value)
	}
	if e.there == [len(explained)]bool{} {
		e.there[7] = true // gain is what all is about
	}
}

// find notes the words that stand in a text.
func (e *explain) find(s string) {
	for i, w := range explained {
		for _, as := range w.as {
			e.there[i] = e.there[i] || stands(s, as)
		}
	}
}

// stands reports whether a text has the word, in any case of its first letter.
func stands(s, word string) bool {
	if len(s) < len(word) {
		return false
	}
	for _, w := range [2]string{word, kit.Capital(word)} {
		for from := 0; ; {
			i := strings.Index(s[from:], w)
			if i < 0 {
				break
			}
			i += from
			before, after := []rune(s[:i]), []rune(s[i+len(w):])
			if (len(before) == 0 || !unicode.IsLetter(before[len(before)-1])) && (len(after) == 0 || !unicode.IsLetter(after[0])) {
				return true
			}
			from = i + 1
		}
	}
	return false
}

// controls lists the panel's, in focus order.
func (e *explain) controls(dst []ui.Control) []ui.Control {
	dst = append(dst, e.shut)
	for _, c := range e.words {
		dst = append(dst, c)
	}
	return dst
}

// sync shows what there is.
func (e *explain) sync() {
	e.open.On = e.on
	e.shut.Hidden = !e.on
	for i, c := range e.words {
		c.Hidden, c.Checked = !e.on || !e.there[i], i == e.at
	}
}

// layout puts the panel over area: below the button that opens it or, on a phone, as a
// sheet at the end where the thumb is.
func (e *explain) layout(th *ui.Theme, area ink.Rect, narrow bool) {
	e.box = ink.Rect{}
	if e.sync(); !e.on {
		return
	}
	w := min(400*th.Text, area.W-24)
	if narrow {
		w = area.W
	}
	box := ink.Rect{X: area.Right() - 12 - w, Y: area.Y, W: w, H: area.H - 8}
	if narrow {
		box.X = area.X
	}
	head := th.Tall(max(36, th.Row(ui.Strong)+8))
	place := func(c ink.Rect) float32 {
		f := &e.flow
		f.Begin(th, c, e.scroll.View)
		var cs []*ui.Choice
		for i, c := range e.words {
			if e.there[i] {
				cs = append(cs, c)
			}
		}
		f.Chips(cs)
		f.Gap(4)
		e.term().write(f, th)
		return f.Y
	}
	in := ui.Pad(box, 14, 6)
	ui.Top(&in, head)
	e.scroll.View = in
	need := place(ink.Rect{X: in.X, W: in.W - 8, H: 1e5})
	if h := head + need + 16; h < box.H {
		if narrow {
			box.Y += box.H - h + 8
		}
		box.H = h
	}
	e.box = box
	in = ui.Pad(box, 14, 6)
	e.head = ui.Top(&in, head)
	e.shut.Bounds = ui.Right(&e.head, ui.Square(th))
	e.scroll.Lay(in, place)
}

// term is what is explained.
func (e *explain) term() told {
	t, _ := glossary.ByID(explained[e.at].id)
	return told(t)
}

type told glossary.Term

func (t told) write(f *kit.Flow, th *ui.Theme) {
	f.Head(t.Name)
	f.Gap(2)
	for i, s := range glossary.Term(t).Paragraphs() {
		if i == 0 {
			f.Body(s)
		} else {
			f.Note(s)
		}
		f.Gap(4)
	}
}

// draw draws the panel over all that was drawn before it.
func (e *explain) draw(l *ink.List, th *ui.Theme) {
	l.Fill(e.box, 9, th.Panel)
	l.Frame(e.box, 9, 1.5, th.SayDim)
	l.TextIn(e.head, ui.Fit(th.Style(ui.Strong, ink.Bold, ink.Left, th.Say), e.head.W, "What these words mean", "What it means"), th.Style(ui.Strong, ink.Bold, ink.Left, th.Say))
	l.Clip(e.scroll.View)
	e.flow.Draw(l)
	l.Unclip()
	e.scroll.Bar(l, th)
	e.own = e.controls(e.own[:0])
	e.router.Draw(l, th, e.own)
}

// nodes tells what the panel says.
func (e *explain) nodes(dst []ui.Node) []ui.Node {
	if !e.on {
		return dst
	}
	t := e.term()
	return append(dst, ui.Node{ID: idExplainText, Role: ui.RoleText, Name: t.Name, Value: strings.Join(glossary.Term(t).Paragraphs(), " "), Bounds: e.box})
}

// take closes the panel on Escape and on a press beside it, and reports whether it did.
func (e *explain) take(in *ui.Input) bool {
	if !e.on {
		return false
	}
	for _, k := range in.Keys {
		if k.Key == "Escape" {
			e.set(false)
			in.Keys = nil
			return true
		}
	}
	for _, x := range in.Pointers {
		if x.Kind == ui.Down && !e.box.Contains(x.At) && !e.open.Bounds.Contains(x.At) {
			e.set(false)
			return true
		}
	}
	return false
}

// over gives all controls as they can be reached: those of the scene, which begin at n,
// where the panel does not cover them, then its own.
func (e *explain) over(cs []ui.Control, n int) []ui.Control {
	if e.sync(); !e.on {
		return cs
	}
	return e.controls(append(cs[:n], e.under(cs[n:])...))
}

// under leaves of a scene's controls those that the panel does not cover.
func (e *explain) under(cs []ui.Control) []ui.Control {
	n := 0
	for _, c := range cs {
		b := c.Common()
		r := b.Bounds
		if b.Clip.W > 0 {
			r = r.Intersect(b.Clip)
		}
		if in := r.Intersect(e.box); in.W > 0 && in.H > 0 {
			continue
		}
		cs[n] = c
		n++
	}
	return cs[:n]
}
