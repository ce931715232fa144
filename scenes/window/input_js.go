package window

import (
	"syscall/js"
	"time"

	"gainwright/scenes/ink"
	"gainwright/scenes/ui"
)

// platform is what a page keeps between frames. Events are read from the DOM
// itself and not from ebiten, which has no pointer capture and takes the Tab key
// from the browser.
type platform struct {
	canvas  js.Value
	mirror  mirror
	pending ui.Input // what happened since the last frame
	// down are the pointers that are pressed, by the DOM's id.
	down    map[int]ink.Point
	clicks  clicks
	chooser js.Value
	unload  js.Func // asks before the page is left
	funcs   []js.Func
	// Kept by events: asking the page every frame makes garbage.
	hidden, reduced bool
	cancels         int // presses that ended without effect
	touches         int // presses that were not the mouse's
	// unread is how many files are being read.
	unread int
}

var (
	global   = js.Global()
	document = global.Get("document")
)

// report keeps what the browser throws in the middle of something from ending the
// program: it goes to the console as an error. Where the program itself is wrong, it
// ends, and the page tells that.
func report(doing string) {
	if e := recover(); e != nil {
		thrown, ok := e.(js.Error)
		if !ok {
			panic(e)
		}
		global.Get("console").Call("error", doing, thrown.Value)
	}
}

// on listens in the capturing phase, before ebiten's own listeners on the
// canvas.
func (g *game) on(target js.Value, event string, f func(e js.Value)) {
	fn := js.FuncOf(func(_ js.Value, args []js.Value) any {
		defer report(event)
		f(args[0])
		return nil
	})
	g.funcs = append(g.funcs, fn)
	target.Call("addEventListener", event, fn, map[string]any{"capture": true, "passive": false})
}

func (g *game) open() {
	g.down = make(map[int]ink.Point)
	g.hidden = document.Get("hidden").Bool()
	reduced := global.Call("matchMedia", "(prefers-reduced-motion: reduce)")
	g.reduced = reduced.Get("matches").Bool()
	g.on(reduced, "change", func(e js.Value) { g.reduced = e.Get("matches").Bool() })
	coarse := global.Call("matchMedia", "(pointer: coarse)")
	g.coarse = coarse.Get("matches").Bool()
	g.on(coarse, "change", func(e js.Value) { g.coarse = e.Get("matches").Bool() })
	g.canvas = document.Call("querySelector", "canvas")
	// The mirror's elements take the focus, in the order of the page.
	g.canvas.Call("setAttribute", "tabindex", "-1")
	g.canvas.Call("setAttribute", "aria-hidden", "true")
	// Two fingers zoom the page; one is ours, and two quick taps zoom nothing.
	g.canvas.Get("style").Set("touchAction", "pinch-zoom")
	for _, event := range []string{"touchstart", "touchmove", "touchend", "touchcancel"} {
		g.on(g.canvas, event, func(e js.Value) {
			// ebiten would keep the page's zoom from the browser.
			e.Call("stopImmediatePropagation")
			if event == "touchend" && e.Get("cancelable").Bool() && e.Get("touches").Length() == 0 {
				e.Call("preventDefault") // no mouse is made of the finger
			}
		})
	}
	// ebiten brings a viewport of its own, which knows nothing of a screen's corners.
	views := document.Call("querySelectorAll", "meta[name=viewport]")
	for i := 1; i < views.Length(); i++ {
		views.Index(i).Call("remove")
	}
	g.mirror.open(g)

	g.on(g.canvas, "pointerdown", func(e js.Value) {
		if e.Get("button").Int() != 0 {
			return
		}
		// Whatever happens outside of the canvas until release belongs to this
		// press.
		id := e.Get("pointerId")
		at := g.place(e)
		g.down[id.Int()] = at
		g.pointer(ui.Down, e, at)
		g.canvas.Call("setPointerCapture", id)
	})
	g.on(g.canvas, "pointermove", func(e js.Value) {
		at := g.place(e)
		if _, ok := g.down[e.Get("pointerId").Int()]; ok {
			g.down[e.Get("pointerId").Int()] = at
			if e.Get("buttons").Int() == 0 {
				// Released where nobody told us.
				g.lift(ui.Cancel, e, at)
				return
			}
		}
		// Only the last of several moves within a frame counts.
		p := g.pending.Pointers
		if n := len(p); n > 0 && p[n-1].Kind == ui.Move && p[n-1].ID == pointerID(e) {
			p[n-1].At, p[n-1].Fine = at, e.Get("shiftKey").Bool()
			return
		}
		g.pointer(ui.Move, e, at)
	})
	g.on(g.canvas, "pointerup", func(e js.Value) { g.lift(ui.Up, e, g.place(e)) })
	g.on(g.canvas, "pointercancel", func(e js.Value) { g.lift(ui.Cancel, e, g.place(e)) })
	g.on(g.canvas, "lostpointercapture", func(e js.Value) { g.lift(ui.Cancel, e, g.place(e)) })
	g.on(g.canvas, "wheel", func(e js.Value) {
		e.Call("stopImmediatePropagation") // ebiten would keep the browser's zoom from it
		if e.Get("ctrlKey").Bool() {
			return // the browser's zoom
		}
		e.Call("preventDefault")
		y := e.Get("deltaY").Float()
		switch e.Get("deltaMode").Int() {
		case 0: // pixels; a notch of a wheel is about a hundred
			y /= 100
		case 1: // lines
			y /= 3
		}
		g.pending.Pointers = append(g.pending.Pointers, ui.Pointer{
			Kind: ui.Wheel, ID: pointerID(e), At: g.place(e), WheelY: float32(-y), Fine: e.Get("shiftKey").Bool()})
	})
	g.on(global, "keydown", g.keydown)
	g.on(global, "keypress", func(e js.Value) {
		// A button acts at Enter's second event as well. What is typed into a text field is
		// written by this very event.
		at := e.Get("target")
		if g.ours(at) && !(g.mirror.holds(at) && g.mirror.writes(at, e.Get("key").String())) {
			e.Call("preventDefault")
		}
	})
	g.on(global, "keyup", func(e js.Value) {
		// A button acts when Space is let go; the press has been dealt with.
		if g.ours(e.Get("target")) && e.Get("key").String() == " " {
			e.Call("preventDefault")
		}
		// It goes on: the sound library waits for it as a sign of the user.
	})
	g.on(global, "blur", func(e js.Value) {
		// Elements that lose the focus to another are heard here as well.
		if e.Get("target").Equal(global) {
			g.cancelAll()
		}
	})
	g.on(document, "visibilitychange", func(js.Value) {
		if g.hidden = document.Get("hidden").Bool(); !g.hidden {
			return
		}
		g.cancelAll()
		// No frame will come while the page is hidden: tell the app now. Not in
		// the event's own turn, where waiting for the lock would block all.
		go func() {
			g.mu.Lock()
			defer g.mu.Unlock()
			g.in.Pointers, g.in.Keys, g.in.Drops = g.in.Pointers[:0], g.in.Keys[:0], nil
			g.gather(&g.in)
			g.frame()
		}()
	})
	g.on(global, "pagehide", func(js.Value) {
		// The page may end with this event. Where a frame is just being made, what
		// it does is lost with it.
		if g.mu.TryLock() {
			defer g.mu.Unlock()
			g.leaving()
		}
	})
	g.unload = js.FuncOf(func(_ js.Value, args []js.Value) any {
		args[0].Call("preventDefault")
		args[0].Set("returnValue", "a take is being recorded") // older browsers want a value
		return nil
	})
	g.funcs = append(g.funcs, g.unload)
	g.on(global, "dragover", func(e js.Value) { e.Call("preventDefault") })
	g.on(global, "drop", func(e js.Value) {
		e.Call("preventDefault")
		e.Call("stopPropagation") // ebiten reads whole folders
		g.read(e.Get("dataTransfer").Get("files"))
	})

	g.chooser = document.Call("createElement", "input")
	g.chooser.Set("type", "file")
	g.chooser.Set("hidden", true)
	g.chooser.Set("id", "gainwright-file")
	document.Get("body").Call("appendChild", g.chooser)
	g.on(g.chooser, "change", func(js.Value) {
		g.read(g.chooser.Get("files"))
		g.chooser.Set("value", "")
	})
	g.expose()
}

// hold lets the browser ask before it leaves the page. Listening only then keeps the
// page fit for being gone back to.
func (g *game) hold(on bool) {
	if on {
		global.Call("addEventListener", "beforeunload", g.unload)
	} else {
		global.Call("removeEventListener", "beforeunload", g.unload)
	}
}

func (g *game) close() {
	for _, f := range g.funcs {
		f.Release()
	}
}

func (g *game) retitle(t string) { document.Set("title", t) }

// place is where an event is, in dp of the picture.
func (g *game) place(e js.Value) ink.Point {
	return ink.Point{X: float32(e.Get("offsetX").Float()) / g.fit, Y: float32(e.Get("offsetY").Float()) / g.fit}
}

// pointerID is 0 for the mouse, the DOM's own number for pens and fingers.
func pointerID(e js.Value) int {
	if t := e.Get("pointerType"); t.Type() != js.TypeString || t.String() == "mouse" {
		return 0
	}
	return e.Get("pointerId").Int()
}

func (g *game) pointer(k ui.PointerKind, e js.Value, at ink.Point) {
	p := ui.Pointer{Kind: k, ID: pointerID(e), At: at, Fine: e.Get("shiftKey").Bool()}
	if k == ui.Down {
		if p.ID != 0 {
			g.touches++
		}
		p.Clicks = g.clicks.press(at, time.Now())
	}
	g.pending.Pointers = append(g.pending.Pointers, p)
}

// lift ends a press, once.
func (g *game) lift(k ui.PointerKind, e js.Value, at ink.Point) {
	id := e.Get("pointerId").Int()
	if _, ok := g.down[id]; ok {
		delete(g.down, id)
		g.pointer(k, e, at)
		if k == ui.Cancel {
			g.cancels++
		}
	}
}

func (g *game) cancelAll() {
	for id, at := range g.down {
		delete(g.down, id)
		g.cancels++
		// Which pointers are fingers is not known here: a scene ignores the end
		// of a press it did not see.
		g.pending.Pointers = append(g.pending.Pointers,
			ui.Pointer{Kind: ui.Cancel, ID: id, At: at}, ui.Pointer{Kind: ui.Cancel, ID: 0, At: at})
	}
}

// ours reports whether an element is the canvas, one of the mirror's, or none
// in particular.
func (g *game) ours(target js.Value) bool {
	return target.Equal(g.canvas) || target.Equal(document.Get("body")) || g.mirror.holds(target)
}

func (g *game) keydown(e js.Value) {
	// Nothing gets to ebiten, which would keep it from the browser.
	e.Call("stopPropagation")
	if !g.ours(e.Get("target")) {
		return
	}
	key := e.Get("key").String()
	mod := e.Get("ctrlKey").Bool() || e.Get("metaKey").Bool() || e.Get("altKey").Bool()
	// A text field undoes what was written in it.
	if (e.Get("ctrlKey").Bool() || e.Get("metaKey").Bool()) && !e.Get("altKey").Bool() && undoKeys[key] &&
		!(g.mirror.holds(e.Get("target")) && g.mirror.writes(e.Get("target"), key)) {
		e.Call("preventDefault")
		g.mirror.inbox.key(ui.KeyPress{Key: ui.Key(key), Shift: e.Get("shiftKey").Bool(), Ctrl: true})
		return
	}
	switch {
	case key == "Tab", mod, e.Get("isComposing").Bool():
		return // the browser's
	case g.mirror.holds(e.Get("target")) && g.mirror.writes(e.Get("target"), key):
		return // the text field's
	case len(key) > 1 && !handled[key] && !printable(key):
		return // F5, media keys, dead keys
	}
	e.Call("preventDefault")
	g.mirror.inbox.key(ui.KeyPress{Key: ui.Key(key), Shift: e.Get("shiftKey").Bool()})
}

// undoKeys, with Ctrl or Cmd, undo and do again.
var undoKeys = map[string]bool{"z": true, "Z": true, "y": true}

// handled are the named keys that scenes understand.
var handled = map[string]bool{
	"ArrowUp": true, "ArrowDown": true, "ArrowLeft": true, "ArrowRight": true,
	"PageUp": true, "PageDown": true, "Home": true, "End": true,
	"Enter": true, "Escape": true, "Backspace": true, "Delete": true,
}

// printable reports whether a key's name is one character.
func printable(key string) bool {
	n := 0
	for range key {
		n++
	}
	return n == 1
}

func (g *game) gather(in *ui.Input) {
	in.Pointers = append(in.Pointers, g.pending.Pointers...)
	in.Drops = append(in.Drops, g.pending.Drops...)
	in.Hidden, in.Reduced, in.Coarse = g.hidden, g.reduced, g.coarse
	g.pending.Pointers, g.pending.Drops = g.pending.Pointers[:0], nil
	g.intents, in.Keys = g.mirror.inbox.take(g.intents, in.Keys)
}

// read takes over the contents of a FileList. Short files are read whole; of longer
// ones pieces are read when they are asked for.
func (g *game) read(files js.Value) {
	for i := range files.Length() {
		file := files.Index(i)
		g.unread++
		go func() {
			d := readFile(file)
			g.pending.Drops = append(g.pending.Drops, d)
			g.unread--
		}()
	}
}

// choose opens the browser's file dialogue. Browsers allow that for a moment
// after a click or a key.
func (g *game) choose(accept string, many bool) {
	defer report("asking for a file")
	g.chooser.Set("accept", accept)
	g.chooser.Set("multiple", many)
	g.chooser.Call("click")
}

// save hands a file to the browser's downloads.
func (g *game) save(name string, data []byte) (where string, err error) {
	defer func() {
		if e := recover(); e != nil {
			thrown, ok := e.(js.Error)
			if !ok {
				panic(e)
			}
			err = thrown
		}
	}()
	bytes := global.Get("Uint8Array").New(len(data))
	js.CopyBytesToJS(bytes, data)
	blob := global.Get("Blob").New([]any{bytes}, map[string]any{"type": "application/octet-stream"})
	url := global.Get("URL").Call("createObjectURL", blob)
	a := document.Call("createElement", "a")
	a.Set("href", url)
	a.Set("download", name)
	a.Call("click")
	// The download has its own reference once it has begun.
	var free js.Func
	free = js.FuncOf(func(js.Value, []js.Value) any {
		global.Get("URL").Call("revokeObjectURL", url)
		free.Release()
		return nil
	})
	global.Call("setTimeout", free, 60000)
	return "the browser's downloads", nil
}
