package main

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"syscall/js"

	"gainwright/cmd/gainwright-scene/archive"
	"gainwright/scenes/kit"
)

var (
	_ kit.Tabbed   = (*host)(nil)
	_ kit.Wayfarer = (*host)(nil)
)

// host is a page in a browser.
type host struct {
	public  string          // see Public
	carried string          // what the link that was followed carries
	still   js.Value        // whether little motion is asked for, which may change at any time
	others  []string        // keys that other tabs have stored
	fresh   bool            // a new version of the site has come
	went    []string        // places that the user went back or on to
	course  *course         // what a learning system has opened, or nil
	archive archive.Archive // of what is too large for the browser's small memory
}

func newHost() (*host, error) {
	c, err := newCourse()
	if err != nil {
		return nil, err
	}
	h := &host{course: c, carried: carried()}
	if f := js.Global().Get("matchMedia"); f.Type() == js.TypeFunction {
		h.still = js.Global().Call("matchMedia", "(prefers-reduced-motion: reduce)")
	}
	// Only other tabs' changes come as events.
	js.Global().Call("addEventListener", "storage", js.FuncOf(func(_ js.Value, args []js.Value) any {
		k := args[0].Get("key")
		if k.Type() != js.TypeString || !args[0].Get("storageArea").Equal(storage("localStorage")) {
			return nil
		}
		if key, ok := strings.CutPrefix(k.String(), prefix); ok && !slices.Contains(h.others, key) {
			h.others = append(h.others, key)
		}
		return nil
	}))
	js.Global().Call("addEventListener", "popstate", js.FuncOf(func(js.Value, []js.Value) any {
		if l := js.Global().Get("location"); strings.Contains(l.Get("hash").String(), "=") {
			l.Call("reload") // a link was followed within the page
			return nil
		}
		h.went = append(h.went, h.Place())
		return nil
	}))
	h.public = h.findPublic()
	h.listenToSite()
	return h, nil
}

// Place is what the address names; what it carries to be taken over has a "=".
func (*host) Place() string {
	hash := js.Global().Get("location").Get("hash").String()
	if strings.Contains(hash, "=") {
		return ""
	}
	return strings.TrimPrefix(hash, "#")
}

// Mark writes the place into the address, as a step of the browser's history or in
// place of the present one.
func (h *host) Mark(place string, step bool) {
	how := "replaceState"
	if step {
		how = "pushState"
	} else if place == h.Place() {
		return
	}
	l := js.Global().Get("location")
	url := l.Get("pathname").String() + l.Get("search").String()
	if place != "" {
		url += "#" + place
	}
	defer func() { _ = recover() }() // too many in a while: the address lags behind
	js.Global().Get("history").Call(how, js.Null(), "", url)
}

// Went gives a place that the user went back or on to.
func (h *host) Went() (place string, ok bool) {
	if len(h.went) == 0 {
		return "", false
	}
	place, h.went = h.went[0], h.went[1:]
	return place, true
}

// Elsewhere gives the keys that other tabs have stored.
func (h *host) Elsewhere() (key string, ok bool) {
	if len(h.others) == 0 {
		return "", false
	}
	key, h.others = h.others[0], h.others[1:]
	return key, true
}

// Calm is whether the user has asked the system for little motion.
func (h *host) Calm() bool { return h.still.Truthy() && h.still.Get("matches").Bool() }

// prefix keeps our settings apart from those of other programs that are served
// from the same address at another time.
const prefix = "gainwright."

// storage is the browser's memory for this address, localStorage, or this tab's,
// sessionStorage; undefined where the user forbids it: then even asking throws.
func storage(name string) (s js.Value) {
	defer func() {
		if recover() != nil {
			s = js.Undefined()
		}
	}()
	return js.Global().Get(name)
}

func (*host) Load(key string) string { return load("localStorage", key) }

func (*host) Store(key, value string) { store("localStorage", key, value) }

func (*host) LoadOwn(key string) string { return load("sessionStorage", key) }

func (*host) StoreOwn(key, value string) { store("sessionStorage", key, value) }

func load(name, key string) (value string) {
	defer func() { _ = recover() }() // forbidden meanwhile
	if s := storage(name); s.Truthy() {
		if v := s.Call("getItem", prefix+key); v.Type() == js.TypeString {
			return v.String()
		}
	}
	return ""
}

func store(name, key, value string) {
	s := storage(name)
	if !s.Truthy() {
		return
	}
	defer func() { _ = recover() }() // full, or forbidden: the setting is for this session
	s.Call("setItem", prefix+key, value)
}

// Address is where the page is, without what a link carries.
func (*host) Address() string {
	l := js.Global().Get("location")
	return l.Get("origin").String() + l.Get("pathname").String() + l.Get("search").String()
}

// Carried is what the link that was followed carries.
func (h *host) Carried() string { return h.carried }

// carried takes it out of the address, so that a reload shows what was done since.
func carried() string {
	l := js.Global().Get("location")
	h := l.Get("hash").String()
	if len(h) < 2 || !strings.Contains(h, "=") {
		return "" // nothing, or the place to begin at
	}
	if hist := js.Global().Get("history"); hist.Truthy() {
		hist.Call("replaceState", js.Null(), "", l.Get("pathname").String()+l.Get("search").String())
	}
	return h
}

// Chance is another number each time.
func (*host) Chance() uint64 { return rand.Uint64() }

// Copy asks the browser, which allows it for a moment after a click or a key.
func (*host) Copy(text string) <-chan error {
	answer := make(chan error, 1)
	defer func() {
		if e := recover(); e != nil {
			answer <- fmt.Errorf("the browser did not copy it: %v", e) // what it threw
		}
	}()
	c := js.Global().Get("navigator").Get("clipboard")
	if !c.Truthy() {
		answer <- errors.New("this browser gives no clipboard to pages")
		return answer
	}
	var done, refused js.Func
	end := func(err error) {
		done.Release()
		refused.Release()
		answer <- err
	}
	done = js.FuncOf(func(js.Value, []js.Value) any { end(nil); return nil })
	refused = js.FuncOf(func(js.Value, []js.Value) any {
		end(errors.New("the browser does not let this page write to the clipboard: allow it for this address, or save the set-up to a file"))
		return nil
	})
	c.Call("writeText", text).Call("then", done, refused)
	return answer
}
