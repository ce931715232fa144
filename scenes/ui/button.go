package ui

import (
	"math"

	"gainwright/scenes/ink"
)

// Look is how a button or a choice is drawn.
type Look uint8

// The looks.
const (
	Plain   Look = iota // a frame with a word
	Quiet               // less prominent than Plain
	Chip                // of a row of choices: a mark and a word
	TabLook             // of the tabs: underlined when chosen
	Strike              // an event to trigger: a word, lit while it lasts
	Tile                // of a row of choices, without a mark: a bar under the chosen one
	Bare                // a thin frame around what the scene writes
)

// Icon is a small drawing before a button's word.
type Icon uint8

// The icons.
const (
	NoIcon Icon = iota
	IconRecord
	IconStop
	IconPlay
	IconPause
	IconLoop
	IconSound
	IconSoundOff
	IconFile
	IconUndo
	IconRedo
	IconMenu
	IconClose
	IconLess
	IconMore
	IconTheme
	IconText
)

// Button is pressed and does one thing.
type Button struct {
	Base
	Label string
	Look  Look
	Icon  Icon
	On    bool // pressed in, or its event is going on
	// Toggle makes it a two-state button in the semantics. One that changes its name
	// instead is none.
	Toggle bool
	Size   Size
}

func NewButton(id, name, hint, label string, look Look, icon Icon) *Button {
	return &Button{Base: Base{ID: id, Name: name, Hint: hint}, Label: label, Look: look, Icon: icon, Size: Body}
}

// Node tells the semantics.
func (b *Button) Node() Node {
	n := b.node(RoleButton)
	n.Checked = b.On && b.Toggle
	return n
}

// Point presses on release, if that is still over the button.
func (b *Button) Point(p Pointer, g *Grip, out *Out) bool {
	if p.Kind == Wheel {
		return false
	}
	if p.Kind == Up && Reach(b.Bounds).Contains(p.At) {
		out.Emit(Intent{ID: b.ID, Do: DoPress})
	}
	return true
}

// Key presses on Enter and the space bar.
func (b *Button) Key(k KeyPress, out *Out) bool {
	if !press(k.Key) {
		return false
	}
	out.Emit(Intent{ID: b.ID, Do: DoPress})
	return true
}

func iconWidth(th *Theme, i Icon) float32 {
	if i == NoIcon {
		return 0
	}
	return th.Px(16) + 6
}

// Square is the width of a button that has only an icon.
func Square(th *Theme) float32 { return max(38, th.Px(30), th.Least) }

// Width is what the button needs for its word.
func (b *Button) Width(th *Theme) float32 {
	if b.Label == "" {
		return Square(th)
	}
	return ink.Measure(b.Label, th.Style(b.Size, ink.Bold, ink.Left, th.Say)) + iconWidth(th, b.Icon) + 26
}

func (b *Button) Draw(l *ink.List, th *Theme, st State) {
	r := b.Bounds
	fill, edge, say := th.Raised, th.Line, th.Say
	switch {
	case b.Disabled:
		fill, edge, say = th.Panel, th.Grid, th.SayDim.Mix(th.Panel, 0.3)
	case b.On && b.Look == Strike:
		fill, edge, say = th.Ceiling, th.Ceiling, ink.RGB(0x12161b)
	case b.On && b.Icon == IconStop:
		fill, edge, say = th.Lost.Mix(ink.RGB(0), 0.25), th.Lost, th.OnLost
	case b.On:
		fill, edge = th.Signal.Mix(th.Panel, 0.75), th.Signal
	case st.Pressed:
		fill = th.Raised.Mix(th.Signal, 0.25)
	case st.Hover:
		fill = th.Raised.Mix(th.Say, 0.08)
	case b.Look == Quiet || b.Look == Bare:
		fill, edge, say = th.Panel, th.Grid, th.SayDim
	}
	if b.Look == Bare {
		// The scene's words lie below.
		switch {
		case b.On:
			l.Fill(r, 6, th.Signal.Alpha(0.2))
		case st.Hover || st.Pressed:
			l.Fill(r, 6, th.Say.Alpha(0.08))
		}
		l.Frame(r.Inset(0.5), 5.5, 1, edge)
		return
	}
	l.Fill(r, 7, fill)
	l.Frame(r.Inset(0.5), 6.5, 1, edge)
	iw := iconWidth(th, b.Icon)
	if b.Label == "" {
		iw -= 6
	}
	w := ink.Measure(b.Label, th.Style(b.Size, ink.Bold, ink.Left, say))
	in := Pad(r, 6, 0)
	x := in.X + max(0, (in.W-w-iw)/2)
	if b.Icon != NoIcon {
		s := th.Px(16)
		drawIcon(l, th, b.Icon, ink.Rect{X: x, Y: r.Y + (r.H-s)/2, W: s, H: s}, say, b.Disabled)
		x += iw
	}
	if b.Label != "" {
		l.TextIn(ink.Rect{X: x, Y: r.Y, W: in.Right() - x, H: r.H}, b.Label, th.Style(b.Size, ink.Bold, ink.Left, say))
	}
}

func drawIcon(l *ink.List, th *Theme, i Icon, r ink.Rect, c ink.Color, off bool) {
	mid := r.Center()
	switch i {
	case IconRecord:
		hue := th.Lost
		if off {
			hue = c
		}
		l.Disc(mid, r.W/2, hue)
	case IconStop:
		l.Fill(r.Inset(r.W*0.12), 2, c)
	case IconPlay:
		l.Polygon(c, ink.Point{X: r.X + r.W*0.14, Y: r.Y}, ink.Point{X: r.Right(), Y: mid.Y}, ink.Point{X: r.X + r.W*0.14, Y: r.Bottom()})
	case IconPause:
		w := r.W * 0.3
		l.Fill(ink.Rect{X: r.X + r.W*0.1, Y: r.Y, W: w, H: r.H}, 1, c)
		l.Fill(ink.Rect{X: r.Right() - r.W*0.1 - w, Y: r.Y, W: w, H: r.H}, 1, c)
	case IconLoop:
		l.Arc(mid, r.W*0.4, -0.5, 4.4, 2, c)
		x, y := mid.X+r.W*0.35, mid.Y-r.W*0.2
		l.Polygon(c, ink.Point{X: x - 5, Y: y + 1}, ink.Point{X: x + 3, Y: y - 4}, ink.Point{X: x + 3, Y: y + 4})
	case IconSound, IconSoundOff:
		h := r.H * 0.3
		l.Fill(ink.Rect{X: r.X, Y: mid.Y - h/2, W: r.W * 0.25, H: h}, 0, c)
		l.Polygon(c, ink.Point{X: r.X + r.W*0.2, Y: mid.Y - h/2}, ink.Point{X: r.X + r.W*0.5, Y: r.Y + 1},
			ink.Point{X: r.X + r.W*0.5, Y: r.Bottom() - 1}, ink.Point{X: r.X + r.W*0.2, Y: mid.Y + h/2})
		if i == IconSound {
			l.Arc(ink.Point{X: r.X + r.W*0.5, Y: mid.Y}, r.W*0.22, -0.9, 0.9, 1.5, c)
			l.Arc(ink.Point{X: r.X + r.W*0.5, Y: mid.Y}, r.W*0.42, -0.9, 0.9, 1.5, c)
		} else {
			l.Line(1.8, c, ink.Point{X: r.X + r.W*0.64, Y: mid.Y - 4}, ink.Point{X: r.Right(), Y: mid.Y + 4})
			l.Line(1.8, c, ink.Point{X: r.X + r.W*0.64, Y: mid.Y + 4}, ink.Point{X: r.Right(), Y: mid.Y - 4})
		}
	case IconUndo, IconRedo:
		d := float32(1)
		if i == IconRedo {
			d = -1
		}
		a0, a1 := float32(-2.6), float32(1.2)
		if i == IconRedo {
			a0, a1 = math.Pi-1.2, math.Pi+2.6
		}
		l.Arc(ink.Point{X: mid.X, Y: mid.Y + r.H*0.1}, r.W*0.34, a0, a1, 2, c)
		x, y := mid.X-d*r.W*0.3, mid.Y-r.H*0.12
		l.Polygon(c, ink.Point{X: x - d*r.W*0.16, Y: y + r.H*0.16}, ink.Point{X: x - d*r.W*0.12, Y: y - r.H*0.32}, ink.Point{X: x + d*r.W*0.3, Y: y - r.H*0.02})
	case IconMenu:
		for k := range 3 {
			y := r.Y + r.H*(0.2+0.3*float32(k))
			l.Line(2, c, ink.Point{X: r.X + 1, Y: y}, ink.Point{X: r.Right() - 1, Y: y})
		}
	case IconClose:
		e := r.W * 0.2
		l.Line(2, c, ink.Point{X: r.X + e, Y: r.Y + e}, ink.Point{X: r.Right() - e, Y: r.Bottom() - e})
		l.Line(2, c, ink.Point{X: r.X + e, Y: r.Bottom() - e}, ink.Point{X: r.Right() - e, Y: r.Y + e})
	case IconLess, IconMore:
		l.Line(2.2, c, ink.Point{X: r.X + r.W*0.15, Y: mid.Y}, ink.Point{X: r.Right() - r.W*0.15, Y: mid.Y})
		if i == IconMore {
			l.Line(2.2, c, ink.Point{X: mid.X, Y: r.Y + r.H*0.15}, ink.Point{X: mid.X, Y: r.Bottom() - r.H*0.15})
		}
	case IconTheme: // half of it in the light
		l.Disc(mid, r.W*0.44, c)
		dark := th.Raised
		l.Strip(dark, dark, ink.Point{X: mid.X, Y: mid.Y - r.H*0.3}, ink.Point{X: mid.X, Y: mid.Y + r.H*0.3},
			ink.Point{X: mid.X + r.W*0.2, Y: mid.Y - r.H*0.22}, ink.Point{X: mid.X + r.W*0.2, Y: mid.Y + r.H*0.22},
			ink.Point{X: mid.X + r.W*0.3, Y: mid.Y - r.H*0.05}, ink.Point{X: mid.X + r.W*0.3, Y: mid.Y + r.H*0.05})
	case IconText: // a small and a large letter
		for _, k := range [2]struct{ x, h, w float32 }{{0.02, 0.5, 0.34}, {0.4, 0.95, 0.6}} {
			x, base := r.X+r.W*k.x, r.Bottom()-r.H*0.04
			l.Line(1.8, c, ink.Point{X: x, Y: base}, ink.Point{X: x + r.W*k.w/2, Y: base - r.H*k.h}, ink.Point{X: x + r.W*k.w, Y: base})
			l.Line(1.6, c, ink.Point{X: x + r.W*k.w*0.2, Y: base - r.H*k.h*0.33}, ink.Point{X: x + r.W*k.w*0.8, Y: base - r.H*k.h*0.33})
		}
	case IconFile:
		b := ink.Rect{X: r.X + r.W*0.15, Y: r.Y, W: r.W * 0.7, H: r.H}
		l.Frame(b.Inset(0.75), 2, 1.5, c)
		for k := range 3 {
			y := b.Y + b.H*(0.3+0.2*float32(k))
			l.Line(1.2, c, ink.Point{X: b.X + 3.5, Y: y}, ink.Point{X: b.Right() - 3.5, Y: y})
		}
	}
}

// Check is a box to tick.
type Check struct {
	Base
	Label string
	On    bool
}

// NewCheck makes a check box.
func NewCheck(id, name, hint, label string) *Check {
	return &Check{Base: Base{ID: id, Name: name, Hint: hint}, Label: label}
}

// Node tells the semantics.
func (c *Check) Node() Node {
	n := c.node(RoleCheckbox)
	n.Checked = c.On
	return n
}

// Point ticks on release.
func (c *Check) Point(p Pointer, g *Grip, out *Out) bool {
	if p.Kind == Wheel {
		return false
	}
	if p.Kind == Up && Reach(c.Bounds).Contains(p.At) {
		out.Emit(Intent{ID: c.ID, Do: DoPress})
	}
	return true
}

// Key ticks on Enter and the space bar.
func (c *Check) Key(k KeyPress, out *Out) bool {
	if !press(k.Key) {
		return false
	}
	out.Emit(Intent{ID: c.ID, Do: DoPress})
	return true
}

// Width is what the box needs with its word.
func (c *Check) Width(th *Theme) float32 {
	return ink.Measure(c.Label, th.Style(Small, ink.Regular, ink.Left, th.Say)) + th.Px(16) + 9
}

// Draw draws the box, its tick and its word.
func (c *Check) Draw(l *ink.List, th *Theme, st State) {
	r := c.Bounds
	s := th.Px(16)
	box := ink.Rect{X: r.X, Y: r.Y + (r.H-s)/2, W: s, H: s}
	edge, say := th.SayDim, th.Say
	if c.Disabled {
		edge, say = th.Line, th.SayDim.Mix(th.Panel, 0.3)
	}
	fill := th.Well
	if st.Hover {
		fill = th.Raised
	}
	if c.On && !c.Disabled {
		fill, edge = th.Signal, th.Signal
	}
	l.Fill(box, 4, fill)
	l.Frame(box.Inset(0.75), 3.5, 1.5, edge)
	if c.On {
		hue := ink.RGB(0x0b0e12)
		if !th.Dark {
			hue = ink.RGB(0xffffff)
		}
		l.Line(2.2, hue, ink.Point{X: box.X + s*0.24, Y: box.Y + s*0.52},
			ink.Point{X: box.X + s*0.43, Y: box.Y + s*0.72}, ink.Point{X: box.X + s*0.78, Y: box.Y + s*0.3})
	}
	l.TextIn(ink.Rect{X: box.Right() + 8, Y: r.Y, W: r.Right() - box.Right() - 8, H: r.H}, c.Label,
		th.Style(Small, ink.Regular, ink.Left, say))
}

// Choice is one of a group of which one is chosen: a radio button or a tab.
// Arrow keys go from one to the next of the group.
type Choice struct {
	Base
	Group   string
	Label   string
	Checked bool
	Look    Look // Chip or TabLook
	Size    Size
	Lit     bool // marked as going on, beside being chosen or not
}

// NewChoice makes a radio button.
func NewChoice(group, id, name, hint, label string) *Choice {
	return &Choice{Base: Base{ID: id, Name: name, Hint: hint}, Group: group, Label: label, Look: Chip, Size: Small}
}

// NewTab makes a choice that looks like a tab; one of its group is on.
func NewTab(group, id, name, hint, label string) *Choice {
	return &Choice{Base: Base{ID: id, Name: name, Hint: hint}, Group: group, Label: label, Look: TabLook, Size: Body}
}

// Node tells the semantics.
func (c *Choice) Node() Node {
	n := c.node(RoleRadio)
	if c.Look == TabLook {
		n.Role = RoleTab
	}
	n.Checked = c.Checked
	return n
}

// Point chooses on release.
func (c *Choice) Point(p Pointer, g *Grip, out *Out) bool {
	if p.Kind == Wheel {
		return false
	}
	if p.Kind == Up && Reach(c.Bounds).Contains(p.At) {
		out.Emit(Intent{ID: c.ID, Do: DoPress})
	}
	return true
}

// Key chooses on Enter and the space bar.
func (c *Choice) Key(k KeyPress, out *Out) bool {
	if !press(k.Key) {
		return false
	}
	out.Emit(Intent{ID: c.ID, Do: DoPress})
	return true
}

// neighbour is where an arrow key leads within the group.
func (c *Choice) neighbour(k Key, cs []Control) string {
	dir := 0
	switch k {
	case "ArrowRight", "ArrowDown":
		dir = 1
	case "ArrowLeft", "ArrowUp":
		dir = -1
	default:
		return ""
	}
	at := -1
	n := len(cs)
	for i := range cs {
		if cs[i] == Control(c) {
			at = i
		}
	}
	for k := 1; k <= n; k++ {
		i := ((at+dir*k)%n + n) % n
		if o, ok := cs[i].(*Choice); ok && o != c && o.Group == c.Group && usable(o) {
			return o.ID
		}
	}
	return ""
}

func (c *Choice) style(th *Theme) ink.Style {
	f := ink.Regular
	if c.Checked {
		f = ink.Bold
	}
	return th.Style(c.Size, f, ink.Left, th.Say)
}

// Width is what the choice needs for its word, chosen or not.
func (c *Choice) Width(th *Theme) float32 {
	w := ink.Measure(c.Label, th.Style(c.Size, ink.Bold, ink.Left, th.Say))
	if c.Look == TabLook {
		return w + 24
	}
	if c.Look == Tile {
		return w + 16
	}
	return w + th.Px(12) + 7 + 20
}

func (c *Choice) Draw(l *ink.List, th *Theme, st State) {
	r := c.Bounds
	stl := c.style(th)
	switch {
	case c.Disabled:
		stl.Color = th.SayDim.Mix(th.Panel, 0.3)
	case !c.Checked:
		stl.Color = th.SayDim
		if st.Hover {
			stl.Color = th.Say
		}
	}
	if c.Look == TabLook {
		stl.Align = ink.Middle
		l.TextIn(Pad(r, 2, 0), c.Label, stl)
		if c.Checked {
			w := ink.Measure(c.Label, stl)
			l.Fill(ink.Rect{X: r.X + (r.W-w)/2, Y: r.Bottom() - 7, W: w, H: 3}, 1.5, th.Signal)
		}
		return
	}
	fill, edge := th.Panel, th.Line
	switch {
	case c.Disabled:
		edge = th.Grid
	case c.Checked:
		fill, edge = th.Signal.Mix(th.Panel, 0.78), th.Signal
	case st.Pressed:
		fill = th.Raised.Mix(th.Signal, 0.2)
	case st.Hover:
		fill = th.Raised
	}
	l.Fill(r, 7, fill)
	l.Frame(r.Inset(0.5), 6.5, 1, edge)
	if c.Look == Tile {
		stl.Align = ink.Middle
		l.TextIn(Pad(r, 3, 0), c.Label, stl)
		if c.Checked {
			w := min(ink.Measure(c.Label, stl), r.W-8)
			l.Fill(ink.Rect{X: r.X + (r.W-w)/2, Y: r.Bottom() - 5, W: w, H: 2.5}, 1, th.Signal)
		}
		return
	}
	d := th.Px(12)
	w := ink.Measure(c.Label, stl)
	in := Pad(r, 7, 0)
	x := in.X + max(0, (in.W-w-d-7)/2)
	m := ink.Point{X: x + d/2, Y: r.Y + r.H/2}
	if c.Checked {
		l.Disc(m, d/2, th.Signal)
		l.Disc(m, d/2-2, fill)
		l.Disc(m, d/2-3.5, th.Signal)
	} else {
		l.Disc(m, d/2, stl.Color.Mix(th.Panel, 0.35))
		l.Disc(m, d/2-1.4, fill)
	}
	x += d + 7
	l.TextIn(ink.Rect{X: x, Y: r.Y, W: in.Right() - x, H: r.H}, c.Label, stl)
}
