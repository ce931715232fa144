package ui

import "gainwright/scenes/ink"

const (
	maxGrips = 12
	maxEdit  = 16
)

type grip struct {
	Grip
	pointer int
	id      string
	used    bool
}

// Router gives each event to the control it belongs to: a press to the top
// control under it, and everything of that press until it ends, to the same
// control; keys to the control that has the focus. The zero Router is ready.
type Router struct {
	focus string
	ring  bool // the focus came by key or mirror, so it is shown
	hover string
	grips [maxGrips]grip
	edit  [maxEdit]byte
	editN int
	typed string // edit as text, made when it changes
	on    string // the control being typed into
	out   Out

	// Unused are the keys of the last Update that no control wanted, WheelLeft
	// the wheel's notches that none did, and Pressed the presses on no control.
	Unused    []KeyPress
	WheelLeft float32
	Pressed   int
}

// Focused is the ID of the control that has the keyboard focus, or empty.
func (r *Router) Focused() string { return r.focus }

// RingOn reports whether the focus is to be shown.
func (r *Router) RingOn() bool { return r.ring && r.focus != "" }

// Typing reports whether a value is being typed.
func (r *Router) Typing() bool { return r.on != "" }

// SetFocus moves the focus to id (to none, if empty) and shows it.
func (r *Router) SetFocus(id string) {
	if id != r.focus {
		r.stopTyping()
	}
	r.focus, r.ring = id, id != ""
}

// Update routes the input to controls, which are listed in focus order and
// from the bottom up; it returns the intents, in memory that the next call
// reuses.
func (r *Router) Update(in *Input, cs []Control) []Intent {
	r.out.List = r.out.List[:0]
	r.Unused = r.Unused[:0]
	r.WheelLeft, r.Pressed = 0, 0
	r.forget(cs)
	for i := range in.Pointers {
		r.point(in.Pointers[i], cs)
	}
	for _, k := range in.Keys {
		if !r.key(k, cs) {
			r.Unused = append(r.Unused, k)
		}
	}
	if in.Hidden {
		for i := range r.grips {
			if r.grips[i].used {
				r.release(i, Pointer{Kind: Cancel, ID: r.grips[i].pointer, At: r.grips[i].Last}, cs)
			}
		}
	}
	return r.out.List
}

// forget lets go of controls that are gone or can no longer be used.
func (r *Router) forget(cs []Control) {
	if r.focus != "" && !usable(find(cs, r.focus)) {
		r.focus = ""
	}
	if r.on != "" && r.on != r.focus {
		r.stopTyping()
	}
	if r.hover != "" && find(cs, r.hover) == nil {
		r.hover = ""
	}
	for i := range r.grips {
		if g := &r.grips[i]; g.used && !usable(find(cs, g.id)) {
			g.Dead = true
		}
	}
}

func usable(c Control) bool {
	return c != nil && !c.Common().Hidden && !c.Common().Disabled
}

func find(cs []Control, id string) Control {
	for _, c := range cs {
		if c.Common().ID == id {
			return c
		}
	}
	return nil
}

// under finds the top control at p: one drawn there, else the nearest of those
// whose reach covers it.
func under(cs []Control, p ink.Point) Control {
	var near Control
	best := float32(0)
	for i := len(cs) - 1; i >= 0; i-- {
		b := cs[i].Common()
		if b.Hidden || b.Clip.W > 0 && !b.Clip.Contains(p) {
			continue
		}
		if b.Bounds.Contains(p) {
			return cs[i]
		}
		if Reach(b.Bounds).Contains(p) {
			d := distance(b.Bounds, p)
			if near == nil || d < best {
				near, best = cs[i], d
			}
		}
	}
	return near
}

// Free reports whether a press at p would be on no control.
func Free(cs []Control, p ink.Point) bool { return under(cs, p) == nil }

// Pressed tells whether the control at a point is one that is only pressed, and not dragged:
// a finger that goes on from there means the page.
func Pressed(cs []Control, p ink.Point) bool {
	c := under(cs, p)
	return c != nil && (c.Node().Role == RoleButton || c.Node().Role == RoleRadio)
}

func distance(r ink.Rect, p ink.Point) float32 {
	dx := max(r.X-p.X, p.X-r.Right(), 0)
	dy := max(r.Y-p.Y, p.Y-r.Bottom(), 0)
	return dx*dx + dy*dy
}

func (r *Router) gripOf(pointer int) int {
	for i := range r.grips {
		if r.grips[i].used && r.grips[i].pointer == pointer {
			return i
		}
	}
	return -1
}

func (r *Router) point(p Pointer, cs []Control) {
	i := r.gripOf(p.ID)
	switch p.Kind {
	case Wheel:
		if c := under(cs, p.At); usable(c) && c.Point(p, &Grip{}, &r.out) {
			return
		}
		r.WheelLeft += p.WheelY
	case Down:
		if i >= 0 { // the end of the last press never came
			r.release(i, Pointer{Kind: Cancel, ID: p.ID, At: p.At}, cs)
		}
		c := under(cs, p.At)
		if c == nil {
			r.Pressed++
		}
		if !usable(c) {
			r.SetFocus("")
			return
		}
		id := c.Common().ID
		if c.Node().Focus {
			r.SetFocus(id)
			r.ring = false
		}
		for i := range r.grips {
			if g := &r.grips[i]; !g.used {
				*g = grip{Grip{Start: p.At, Last: p.At}, p.ID, id, true}
				c.Point(p, &g.Grip, &r.out)
				break
			}
		}
	case Move:
		if i < 0 {
			if p.ID == 0 {
				r.hover = ""
				if c := under(cs, p.At); usable(c) {
					r.hover = c.Common().ID
				}
			}
			return
		}
		g := &r.grips[i]
		if c := find(cs, g.id); c != nil && !g.Dead {
			c.Point(p, &g.Grip, &r.out)
		}
		g.Last = p.At
	case Up, Cancel:
		if i >= 0 {
			r.release(i, p, cs)
		}
	}
}

func (r *Router) release(i int, p Pointer, cs []Control) {
	g := &r.grips[i]
	if c := find(cs, g.id); c != nil && !g.Dead {
		c.Point(p, &g.Grip, &r.out)
	}
	*g = grip{}
}

// editable is a control whose value can be typed.
type editable interface{ editable() bool }

func (r *Router) key(k KeyPress, cs []Control) bool {
	if k.Ctrl || k.Alt {
		return false
	}
	if r.on != "" {
		if r.typing(k) {
			return true
		}
	}
	if k.Key == "Tab" {
		r.step(cs, k.Shift)
		return true
	}
	c := find(cs, r.focus)
	if !usable(c) {
		return false
	}
	if k.Key == "Escape" {
		r.SetFocus("")
		return true
	}
	if e, ok := c.(editable); ok && e.editable() {
		if k.Key == "Enter" {
			r.ring = true
			r.startTyping("")
			return true
		}
		if len(k.Key) == 1 && (k.Key[0] >= '0' && k.Key[0] <= '9' || k.Key == "-") {
			r.ring = true
			r.startTyping(string(k.Key))
			return true
		}
	}
	if ch, ok := c.(*Choice); ok {
		if id := ch.neighbour(k.Key, cs); id != "" {
			r.focus, r.ring = id, true
			r.out.Emit(Intent{ID: id, Do: DoPress})
			return true
		}
	}
	if c.Key(k, &r.out) {
		r.ring = true
		return true
	}
	return false
}

func (r *Router) startTyping(s string) {
	r.on = r.focus
	r.editN = copy(r.edit[:], s)
	r.typed = s
}

func (r *Router) stopTyping() { r.on, r.editN, r.typed = "", 0, "" }

func (r *Router) typing(k KeyPress) bool {
	commit := func() {
		if v, ok := ParseNumber(r.typed); ok {
			r.out.Emit(Intent{ID: r.on, Do: DoSet, Value: v})
		}
		r.stopTyping()
	}
	switch k.Key {
	case "Enter":
		commit()
	case "Escape":
		r.stopTyping()
	case "Tab":
		commit()
		return false
	case "Backspace":
		if r.editN > 0 {
			r.editN--
		}
		r.typed = string(r.edit[:r.editN])
	default:
		if len(k.Key) == 1 && r.editN < maxEdit {
			if c := k.Key[0]; c >= '0' && c <= '9' || c == '.' || c == ',' || c == '-' || c == '+' {
				r.edit[r.editN] = c
				r.editN++
				r.typed = string(r.edit[:r.editN])
			}
		}
	}
	return true
}

// step moves the focus to the next or last control that takes it.
func (r *Router) step(cs []Control, back bool) {
	at := -1
	for i, c := range cs {
		if c.Common().ID == r.focus {
			at = i
		}
	}
	n := len(cs)
	if at < 0 && back {
		at = n
	}
	for k := 1; k <= n; k++ {
		i := at + k
		if back {
			i = at - k
		}
		i = (i%n + n) % n
		if c := cs[i]; usable(c) && c.Node().Focus && stops(c, cs) {
			r.SetFocus(c.Common().ID)
			return
		}
	}
}

// stops reports whether Tab stops at c: of a group of choices only the chosen
// one does, or the first if none is chosen.
func stops(c Control, cs []Control) bool {
	ch, ok := c.(*Choice)
	if !ok {
		return true
	}
	if ch.Checked {
		return true
	}
	for _, o := range cs {
		if oc, ok := o.(*Choice); ok && oc.Group == ch.Group && usable(oc) {
			if oc.Checked {
				return false
			}
		}
	}
	for _, o := range cs {
		if oc, ok := o.(*Choice); ok && oc.Group == ch.Group && usable(oc) {
			return oc == ch
		}
	}
	return false
}

// Semantics appends the nodes of the controls that can be reached.
func Semantics(dst []Node, cs []Control) []Node {
	for _, c := range cs {
		if c.Common().Hidden {
			continue
		}
		n := c.Node()
		n.Focus = n.Focus && stops(c, cs)
		dst = append(dst, n)
	}
	return dst
}

// State tells how to draw c.
func (r *Router) State(c Control) State {
	id := c.Common().ID
	st := State{Hover: r.hover == id, Focused: r.focus == id}
	if r.on != "" && r.on == id {
		st.Editing, st.Edit = true, r.typed
	}
	for i := range r.grips {
		if g := &r.grips[i]; g.used && !g.Dead && g.id == id {
			st.Pressed = true
		}
	}
	return st
}

// Draw draws the controls and, last, the focus ring.
func (r *Router) Draw(l *ink.List, th *Theme, cs []Control) {
	for _, c := range cs {
		b := c.Common()
		if b.Hidden {
			continue
		}
		if b.Clip.W > 0 {
			if in := b.Bounds.Intersect(b.Clip); in.W == 0 {
				continue
			}
			l.Clip(b.Clip)
		}
		c.Draw(l, th, r.State(c))
		if b.Clip.W > 0 {
			l.Unclip()
		}
	}
	r.drawRing(l, th, cs)
}

func (r *Router) drawRing(l *ink.List, th *Theme, cs []Control) {
	if !r.RingOn() {
		return
	}
	c := find(cs, r.focus)
	if c == nil || c.Common().Hidden {
		return
	}
	b := c.Common()
	if b.Clip.W > 0 {
		l.Clip(b.Clip.Inset(-4))
		defer l.Unclip()
	}
	out := b.Bounds.Inset(-3)
	// A dark line under the bright one keeps it visible on any ground.
	l.Frame(out, 8, 4, th.Ground)
	l.Frame(out, 8, 2, th.Focus)
}
