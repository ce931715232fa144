// Package cards is "Set the gain" in a narrow window: one of its panels at a time, as a
// card between the strip at the top and the take at the bottom, so that whatever a press
// opens is in view.
package cards

import (
	"slices"

	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
)

// Card is a panel.
type Card uint8

// The cards. Lower is what the lower panel of a wide window shows.
const (
	Talker Card = iota
	Levels
	Lower
	Listen
	num
)

// Deck is the choice of cards, and the one chosen.
type Deck struct {
	// On tells that the window is narrow.
	On bool
	At Card
	// View is where the card is seen, Room what is left for it.
	View   ink.Rect
	tabs   [num]*ui.Choice // none for Lower
	scroll float32
	high   float32
	shown  [3]int
}

// New makes a deck; views are the choices of the lower panel, whose group it joins.
func New(group string) *Deck {
	d := &Deck{At: Levels}
	for i, w := range [num][4]string{
		Talker: {idTalker, "Talker", "Who talks, and what they do.", "talker"},
		Levels: {idLevels, "Levels", "The level from the talker's lips to the file.", "levels"},
		Listen: {idListen, "Listen", "What is heard, and where in the take.", "listen"},
	} {
		if w[0] != "" {
			d.tabs[i] = ui.NewChoice(group, w[0], w[1], w[2], w[3])
			d.tabs[i].Look, d.tabs[i].Hidden = ui.Tile, true
		}
	}
	return d
}

// Acts are what the choices do; then is done after each.
func (d *Deck) Acts(then func()) kit.Acts {
	a := kit.Acts{}
	for i, t := range d.tabs {
		if t != nil {
			a[t.ID] = kit.Press(func() { d.At = Card(i); then() })
		}
	}
	return a
}

// Controls lists the choices before those of the lower panel, and those after it.
func (d *Deck) Controls() (before, after []ui.Control) {
	return []ui.Control{d.tabs[Talker], d.tabs[Levels]}, []ui.Control{d.tabs[Listen]}
}

// Sync shows the choices unless a sheet lies over them, and hides what is of other cards.
func (d *Deck) Sync(sheet bool, views []*ui.Choice, of [num][]ui.Control) {
	for i, t := range d.tabs {
		if t != nil {
			t.Hidden, t.Checked = !d.On || sheet, Card(i) == d.At
		}
	}
	if !d.On {
		return
	}
	for _, v := range views {
		v.Checked = v.Checked && d.At == Lower
		v.Hidden = v.Hidden || sheet
	}
	for i, cs := range of {
		if sheet || Card(i) != d.At {
			kit.Hide(true, cs...)
		}
	}
}

// Choices lays the choices out at the top of r, in as many rows as they need, and takes
// them off.
func (d *Deck) Choices(th *ui.Theme, r *ink.Rect, views []*ui.Choice) {
	items := []Item{Of(th, d.tabs[Talker]), Of(th, d.tabs[Levels])}
	for _, v := range views {
		if !v.Hidden {
			items = append(items, Of(th, v))
		}
	}
	Flow(th, r, append(items, Of(th, d.tabs[Listen])))
}

// Beside is the choice after the one checked, or before it for a dir of −1; "" at the end.
func (d *Deck) Beside(views []*ui.Choice, dir int) string {
	all := append([]*ui.Choice{d.tabs[Talker], d.tabs[Levels]}, views...)
	all = slices.DeleteFunc(append(all, d.tabs[Listen]), func(c *ui.Choice) bool { return c.Hidden })
	i := slices.IndexFunc(all, func(c *ui.Choice) bool { return c.Checked }) + dir
	if !d.On || i < 0 || i >= len(all) {
		return ""
	}
	return all[i].ID
}

// Show puts a card of a height into view, scrolled as it was unless it is another one:
// key tells which. It returns the card's box.
func (d *Deck) Show(view ink.Rect, height float32, key [3]int) ink.Rect {
	d.View, d.high = view, max(height, view.H)
	if d.shown != key {
		d.shown, d.scroll = key, 0
	}
	d.scroll = min(max(d.scroll, 0), d.high-view.H)
	return ink.Rect{X: view.X, Y: view.Y - d.scroll, W: view.W, H: d.high}
}

// By scrolls the card, and reports whether that moved it.
func (d *Deck) By(dy float32) bool {
	was := d.scroll
	d.scroll = min(max(d.scroll+dy, 0), max(0, d.high-d.View.H))
	return d.scroll != was
}

// Bar draws where the card stands that is higher than its view.
func (d *Deck) Bar(l *ink.List, th *ui.Theme) {
	if d.high <= d.View.H+1 {
		return
	}
	b := ink.Rect{X: d.View.Right() + 3, Y: d.View.Y, W: 5, H: d.View.H}
	l.Fill(b, 2.5, th.Panel)
	l.Fill(ink.Rect{X: b.X, Y: b.Y + d.scroll/d.high*b.H, W: b.W, H: b.H * b.H / d.high}, 2.5, th.SayDim)
}

// Item is a control and the width that it needs.
type Item struct {
	C     ui.Control
	Width float32
}

// Of is a control with the width of its words.
func Of(th *ui.Theme, c ui.Control) Item {
	w := float32(0)
	if c, ok := c.(interface{ Width(*ui.Theme) float32 }); ok {
		w = c.Width(th)
	}
	return Item{c, max(w, th.Least)}
}

// gap is the room between two controls, dp.
const gap = 4

// Flow lays controls out in rows as wide as r, takes those off its top and leaves a gap
// below each; it returns their height.
func Flow(th *ui.Theme, r *ink.Rect, items []Item) float32 {
	h := th.Tall(th.Row(ui.Small) + 12)
	high := float32(0)
	for len(items) > 0 {
		n, w := 0, float32(-gap)
		for n < len(items) && (n == 0 || w+gap+items[n].Width <= r.W) {
			w += gap + items[n].Width
			n++
		}
		row := ui.Top(r, h)
		ui.Top(r, 6)
		high += h + 6
		kit.Share(row, n, gap, func(i int) float32 { return items[i].Width }, func(i int, b ink.Rect) { items[i].C.Common().Bounds = b })
		items = items[n:]
	}
	return high
}
