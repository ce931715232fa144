package window

import (
	"math"
	"runtime"
	"strconv"
	"syscall/js"
	"time"

	"gainwright/scenes/ink"
	"gainwright/scenes/ui"
)

// mirror keeps a real element for each node that the app's semantics list, at
// its place over the canvas and invisible, so that keyboards, assistive
// technology and tests reach the same controls as a pointer. Pointers go
// through it to the canvas.
type mirror struct {
	root, live js.Value
	items      map[string]*item
	order      []*item
	inbox      inbox // with the keys that were pressed here
	when       time.Time
	fit        float32
	spoken     string
	focused    string // what the app said last
	round      int
	told       bool // that it is there
	arranging  bool // the focus is given back to what was moved
	event      js.Func
}

// item is one mirrored node and its element.
type item struct {
	node  ui.Node
	el    js.Value
	group js.Value // the element that holds it
	round int      // when it was last in the list
}

// every is the least time between updates of the page: DOM calls from wasm are
// slow.
const every = 100 * time.Millisecond

func (m *mirror) open(g *game) {
	m.items = make(map[string]*item)
	m.root = document.Call("createElement", "div")
	m.root.Set("id", "gainwright-controls")
	style(m.root, "position:absolute;inset:0;overflow:clip;pointer-events:none;opacity:0;z-index:1")
	m.live = document.Call("createElement", "div")
	m.live.Set("id", "gainwright-live")
	m.live.Call("setAttribute", "role", "status")
	m.live.Call("setAttribute", "aria-live", "polite")
	style(m.live, unseen)
	// What there is on the page is its main part, and has a name.
	main := document.Call("createElement", "main")
	name := document.Call("createElement", "h1")
	name.Set("textContent", g.app.Title())
	style(name, unseen)
	main.Call("appendChild", name)
	main.Call("appendChild", m.root)
	main.Call("appendChild", m.live)
	document.Get("body").Call("appendChild", main)

	// One listener for all elements: events bubble up to the root.
	m.event = js.FuncOf(func(_ js.Value, args []js.Value) any {
		defer report("a control's event")
		e := args[0]
		it := m.itemOf(e.Get("target"))
		if it == nil {
			return nil
		}
		switch e.Get("type").String() {
		case "input":
			switch it.node.Role {
			case ui.RoleSlider:
				m.put(ui.Intent{ID: it.node.ID, Do: "set", Value: it.el.Get("valueAsNumber").Float()})
			case ui.RoleTextbox:
				m.put(ui.Intent{ID: it.node.ID, Do: "set", Text: it.el.Get("value").String()})
			}
		case "click":
			switch it.node.Role {
			case ui.RoleButton, ui.RoleRadio, ui.RoleCheckbox, ui.RoleTab:
				m.put(ui.Intent{ID: it.node.ID, Do: "press"})
			}
		case "focusin":
			if (it.node.ID != m.focused || m.inbox.waiting()) && !m.arranging {
				m.put(ui.Intent{ID: it.node.ID, Do: "focus"})
			}
		}
		return nil
	})
	for _, ev := range []string{"input", "click", "focusin"} {
		m.root.Call("addEventListener", ev, m.event)
	}
}

func (m *mirror) put(it ui.Intent) { m.inbox.put(it) }

func (m *mirror) holds(el js.Value) bool { return m.root.Call("contains", el).Bool() }

func (m *mirror) itemOf(el js.Value) *item {
	id := el.Call("getAttribute", "data-id")
	if id.Type() != js.TypeString {
		return nil
	}
	return m.items[id.String()]
}

// style gives an element all of its style at once: each call into the page takes time.
func style(el js.Value, css string) { el.Get("style").Set("cssText", css) }

// Styles of what is there to be told, and of what is there to be reached as well.
const (
	unseen = "position:fixed;width:1px;height:1px;margin:0;overflow:hidden;opacity:0;pointer-events:none"
	placed = "position:absolute;margin:0;padding:0;border:0;overflow:hidden;box-sizing:border-box;appearance:none;"
)

// reflect brings the page up to date. now asks for it at once: something was
// done, and whoever did it waits for the answer.
func (g *game) reflect(now bool) {
	m := &g.mirror
	if focus := g.app.Focused(); focus != m.focused {
		m.focused, now = focus, true
	}
	if !now && time.Since(m.when) < every {
		return
	}
	m.when = time.Now()
	defer report("the accessible mirror")
	defer func() { smooth(&g.mirrorTime, &g.mirrorMost, m.when) }()
	m.update(g.app.Semantics(), g.fit)
	// What was pressed since and waits for its frame may have moved the focus on.
	if !m.inbox.waiting() {
		m.refocus(g.canvas)
	}
	if !m.told {
		m.told = true
		global.Get("gainwright").Set("ready", true)
		global.Call("dispatchEvent", global.Get("Event").New("gainwright-ready"))
	}
	if s := g.app.Announce(); s != m.spoken {
		m.spoken = s
		m.live.Set("textContent", s)
	}
}

func (m *mirror) update(nodes []ui.Node, fit float32) {
	m.round++
	moved := fit != m.fit
	m.fit = fit
	changed := len(nodes) != len(m.order)
	for i := range nodes {
		n := &nodes[i]
		it := m.items[n.ID]
		if it != nil && it.node.Role != n.Role {
			m.drop(it)
			it = nil
		}
		if it == nil {
			it = m.make(n)
			m.items[n.ID] = it
			m.set(it, n, true)
			changed = true
		} else if moved || it.node != *n {
			m.set(it, n, moved)
		}
		it.round = m.round
		if !changed && m.order[i] != it {
			changed = true
		}
	}
	if !changed {
		return
	}
	for _, it := range m.items {
		if it.round != m.round {
			m.drop(it)
		}
	}
	m.order = m.order[:0]
	for i := range nodes {
		m.order = append(m.order, m.items[nodes[i].ID])
	}
	m.arrange()
}

func (m *mirror) drop(it *item) {
	it.el.Call("remove")
	delete(m.items, it.node.ID)
}

// arrange puts the elements in order: tabs that follow each other in a list of
// tabs, what lies within a group inside of it.
func (m *mirror) arrange() {
	// Moving an element takes the focus from it.
	active := document.Get("activeElement")
	old := m.root.Call("querySelectorAll", "[data-wrap]")
	cursor := map[string]js.Value{} // the last child placed, by holder
	place := func(holder js.Value, key string, el js.Value) {
		prev, ok := cursor[key]
		next := holder.Get("firstChild")
		if ok {
			next = prev.Get("nextSibling")
		}
		if !next.Equal(el) {
			holder.Call("insertBefore", el, next)
		}
		cursor[key] = el
	}
	var tabs js.Value
	inTabs := false
	var group *item
	for _, it := range m.order {
		if group != nil && !group.node.Bounds.Contains(it.node.Bounds.Center()) {
			group = nil
		}
		holder, key := m.root, ""
		if group != nil {
			holder, key = group.el, group.node.ID
		}
		switch {
		case it.node.Role == ui.RoleTab:
			if !inTabs {
				tabs = document.Call("createElement", "div")
				tabs.Call("setAttribute", "role", "tablist")
				tabs.Call("setAttribute", "data-wrap", "")
				place(holder, key, tabs)
				inTabs = true
			}
			tabs.Call("appendChild", it.el)
			continue
		case it.node.Role == ui.RoleGroup:
			group = it
			place(m.root, "", it.el)
		default:
			place(holder, key, it.el)
		}
		inTabs = false
	}
	for i := range old.Length() {
		old.Index(i).Call("remove")
	}
	if m.holds(active) && !active.Equal(document.Get("activeElement")) {
		// Nobody asked for it: the app may just have sent the focus elsewhere.
		m.arranging = true
		active.Call("focus", map[string]any{"preventScroll": true})
		m.arranging = false
	}
}

// make creates the element for a node.
func (m *mirror) make(n *ui.Node) *item {
	tag, role, kind := "div", "", ""
	switch n.Role {
	case ui.RoleSlider:
		tag, kind = "input", "range"
	case ui.RoleRadio:
		tag, kind = "input", "radio"
	case ui.RoleCheckbox:
		tag, kind = "input", "checkbox"
	case ui.RoleTextbox:
		tag = "textarea"
	case ui.RoleButton:
		tag = "button"
	case ui.RoleTab:
		tag, role = "button", "tab"
	case ui.RoleHeading:
		tag = "h2"
	case ui.RoleText, ui.RoleStatus:
		// There is one live region for all; this is only where the text is.
		tag = "p"
	default:
		role = string(n.Role) // group, meter, img
	}
	el := document.Call("createElement", tag)
	if tag == "button" {
		el.Set("type", "button")
	}
	if kind != "" {
		el.Set("type", kind)
	}
	if role != "" {
		el.Call("setAttribute", "role", role)
	}
	el.Call("setAttribute", "data-id", n.ID)
	return &item{el: el}
}

// set brings an element's attributes up to its node; all asks for every one.
func (m *mirror) set(it *item, n *ui.Node, all bool) {
	was := &it.node
	el := it.el
	attr := func(name, value string) { el.Call("setAttribute", name, value) }
	text := n.Role == ui.RoleHeading || n.Role == ui.RoleText || n.Role == ui.RoleStatus
	if all || was.Name != n.Name || was.Value != n.Value {
		switch {
		case text:
			s := n.Name
			if n.Value != "" && n.Value != n.Name {
				if s != "" {
					s += ": "
				}
				s += n.Value
			}
			el.Set("textContent", s)
		case n.Role == ui.RoleSlider, n.Role == ui.RoleMeter:
			attr("aria-label", n.Name)
			attr("aria-valuetext", n.Value)
		case n.Value != "" && n.Role != ui.RoleTextbox:
			attr("aria-label", n.Name+", "+n.Value)
		default:
			attr("aria-label", n.Name)
		}
	}
	if all || was.Hint != n.Hint || was.Why != n.Why || was.Disabled != n.Disabled {
		hint := n.Hint
		if n.Disabled && n.Why != "" {
			hint = n.Why
		}
		if hint != "" {
			attr("aria-description", hint)
		} else {
			el.Call("removeAttribute", "aria-description")
		}
		// Not the attribute "disabled", which would keep the reason from those
		// who reach controls with Tab.
		if n.Disabled {
			attr("aria-disabled", "true")
		} else {
			el.Call("removeAttribute", "aria-disabled")
		}
	}
	switch n.Role {
	case ui.RoleSlider:
		if all || was.Min != n.Min || was.Max != n.Max || was.Step != n.Step {
			attr("min", attribute(n.Min))
			attr("max", attribute(n.Max))
			step := "any"
			if n.Step > 0 {
				step = attribute(n.Step)
			}
			attr("step", step)
		}
		if all || was.Now != n.Now || el.Get("valueAsNumber").Float() != n.Now {
			el.Set("value", attribute(n.Now))
		}
	case ui.RoleTextbox:
		// While it is being written in, the element is ahead of the node.
		if v := el.Get("value").String(); v != n.Value && (all || was.Value != n.Value) {
			el.Set("value", n.Value)
		}
	case ui.RoleMeter:
		if all || was.Now != n.Now || was.Min != n.Min || was.Max != n.Max {
			attr("aria-valuemin", attribute(n.Min))
			attr("aria-valuemax", attribute(n.Max))
			attr("aria-valuenow", attribute(min(max(n.Now, n.Min), n.Max)))
		}
	case ui.RoleRadio, ui.RoleCheckbox:
		// A click has changed the element already; what counts is the node.
		el.Set("checked", n.Checked)
	case ui.RoleTab:
		if all || was.Checked != n.Checked {
			attr("aria-selected", strconv.FormatBool(n.Checked))
		}
	case ui.RoleButton:
		if was.Checked != n.Checked {
			attr("aria-pressed", strconv.FormatBool(n.Checked))
		}
	}
	if all || was.Focus != n.Focus {
		switch {
		case n.Focus:
			attr("tabindex", "0")
		case n.Role == ui.RoleSlider, n.Role == ui.RoleRadio, n.Role == ui.RoleCheckbox, n.Role == ui.RoleButton, n.Role == ui.RoleTab, n.Role == ui.RoleTextbox:
			attr("tabindex", "-1")
		default:
			el.Call("removeAttribute", "tabindex")
		}
	}
	if n.Role != ui.RoleGroup && (all || was.Bounds != n.Bounds) {
		b := n.Bounds
		px := func(v float32) string {
			return strconv.FormatFloat(math.Round(float64(v*m.fit)*10)/10, 'f', -1, 64) + "px"
		}
		style(el, placed+"left:"+px(b.X)+";top:"+px(b.Y)+";width:"+px(max(b.W, 1))+";height:"+px(max(b.H, 1)))
	}
	it.node = *n
}

// writes reports whether what is typed into an element belongs to the element: it
// then tells by itself what is written.
func (m *mirror) writes(el js.Value, key string) bool {
	it := m.itemOf(el)
	return it != nil && it.node.Role == ui.RoleTextbox && key != "Escape"
}

// refocus gives the page's focus to what has the app's.
func (m *mirror) refocus(canvas js.Value) {
	active := document.Get("activeElement")
	body := document.Get("body")
	if !active.Equal(canvas) && !active.Equal(body) && !m.holds(active) {
		return // somewhere else on the page: not ours to take
	}
	it := m.items[m.focused]
	switch {
	case it != nil && !active.Equal(it.el):
		it.el.Call("focus", map[string]any{"preventScroll": true})
	case it == nil && m.holds(active):
		canvas.Call("focus", map[string]any{"preventScroll": true})
	}
}

// expose puts what tests and the console need on the page: window.gainwright.
func (g *game) expose() {
	fn := func(f func(args []js.Value) any) js.Func {
		w := js.FuncOf(func(_ js.Value, args []js.Value) any {
			defer report("window.gainwright")
			return f(args)
		})
		g.funcs = append(g.funcs, w)
		return w
	}
	o := global.Get("Object").New()
	o.Set("ready", false) // becomes true when the first picture and the mirror of it are there
	// nodes returns the app's semantics as they are now, in focus order.
	o.Set("nodes", fn(func([]js.Value) any {
		if !g.mu.TryLock() {
			return js.Null() // in the middle of a frame
		}
		defer g.mu.Unlock()
		nodes := g.app.Semantics()
		out := make([]any, len(nodes))
		for i, n := range nodes {
			out[i] = nodeObject(&n)
		}
		return out
	}))
	// apply carries out {id, do, value, text} and returns the error, or "".
	o.Set("apply", fn(func(args []js.Value) any {
		if len(args) != 1 || args[0].Type() != js.TypeObject {
			return "apply wants one object {id, do, value, text}"
		}
		if !g.mu.TryLock() {
			return "busy"
		}
		defer g.mu.Unlock()
		it := ui.Intent{ID: text(args[0], "id"), Do: text(args[0], "do"), Text: text(args[0], "text")}
		if v := args[0].Get("value"); v.Type() == js.TypeNumber {
			it.Value = v.Float()
		}
		if err := g.app.Apply(it); err != nil {
			return err.Error()
		}
		g.dirty = true
		g.mirror.when = time.Time{}
		return ""
	}))
	// breathe lets the app do what cannot wait, for a test that holds the page up.
	o.Set("breathe", fn(func([]js.Value) any { g.breathe(); return nil }))
	o.Set("focused", fn(func([]js.Value) any { return g.mirror.focused }))
	o.Set("size", fn(func([]js.Value) any {
		return map[string]any{"width": g.size.X, "height": g.size.Y, "scale": g.scale, "fit": g.fit}
	}))
	o.Set("stats", fn(func([]js.Value) any {
		var mem runtime.MemStats
		runtime.ReadMemStats(&mem)
		out := map[string]any{
			"frame_s": g.frameSum.Seconds(), "goroutines": runtime.NumGoroutine(), "collections": float64(mem.NumGC),
			"frames": g.frames, "paints": g.paints, "pressed": len(g.down), "cancels": g.cancels, "touches": g.touches,
			"triangles": g.painter.mesh.Triangles(), "batches": g.painter.mesh.N, "glyphs": g.painter.mesh.Atlas.Glyphs(),
			"frame_ms": 1000 * g.frameTime, "draw_ms": 1000 * g.drawTime, "paint_ms": 1000 * g.paintTime, "mirror_ms": 1000 * g.mirrorTime,
			"frame_most_ms": 1000 * g.frameMost, "draw_most_ms": 1000 * g.drawMost, "paint_most_ms": 1000 * g.paintMost, "mirror_most_ms": 1000 * g.mirrorMost,
			"heap_mb": float64(mem.HeapAlloc) / 1e6, "memory_mb": float64(mem.Sys) / 1e6,
			"allocations": float64(mem.Mallocs), "allocated_mb": float64(mem.TotalAlloc) / 1e6,
		}
		g.frameMost, g.drawMost, g.paintMost, g.mirrorMost = 0, 0, 0, 0
		if c, ok := g.app.(Counted); ok {
			for k, v := range c.Counters() {
				out[k] = v
			}
		}
		return out
	}))
	// collect returns the bytes that are still used after a collection.
	o.Set("collect", fn(func([]js.Value) any {
		runtime.GC()
		var mem runtime.MemStats
		runtime.ReadMemStats(&mem)
		return float64(mem.HeapAlloc)
	}))
	global.Set("gainwright", o)
}

// showed tells the page that the first picture is there.
func (g *game) showed() {
	global.Call("dispatchEvent", global.Get("Event").New("gainwright-picture"))
}

func text(o js.Value, name string) string {
	if v := o.Get(name); v.Type() == js.TypeString {
		return v.String()
	}
	return ""
}

func nodeObject(n *ui.Node) map[string]any {
	return map[string]any{
		"id": n.ID, "role": string(n.Role), "name": n.Name, "value": n.Value, "hint": n.Hint,
		"now": n.Now, "min": n.Min, "max": n.Max, "step": n.Step,
		"checked": n.Checked, "disabled": n.Disabled, "why": n.Why, "focus": n.Focus,
		"bounds": rectObject(n.Bounds),
	}
}

func rectObject(r ink.Rect) map[string]any {
	return map[string]any{"x": r.X, "y": r.Y, "w": r.W, "h": r.H}
}
