package main

import (
	"strings"
	"syscall/js"

	"gainwright/scenes/kit"
)

var (
	_ kit.Published = (*host)(nil)
	_ kit.Stocked   = (*host)(nil)
	_ kit.Renewed   = (*host)(nil)
)

// site is the page's gainwrightSite, where it lies among static files; see site.js of
// cmd/gainwright/internal/site.
func site() js.Value { return js.Global().Get("gainwrightSite") }

// listenToSite has the host hear of a new version.
func (h *host) listenToSite() {
	s := site()
	if !s.Truthy() {
		return
	}
	h.fresh = s.Get("fresh").Truthy()
	js.Global().Call("addEventListener", "gainwright-fresh", js.FuncOf(func(js.Value, []js.Value) any {
		h.fresh = true
		return nil
	}))
}

// Fresh reports whether a new version of the site has come.
func (h *host) Fresh() bool { return h.fresh }

// Renew loads it.
func (*host) Renew() { site().Call("take") }

// Lessons are those that the site brings.
func (*host) Lessons() []kit.LessonFile {
	s := site()
	if !s.Truthy() {
		return nil
	}
	list := s.Get("lessons")
	var out []kit.LessonFile
	for i := range list.Length() {
		l := list.Index(i)
		out = append(out, kit.LessonFile{Name: l.Get("name").String(), Text: l.Get("text").String()})
	}
	return out
}

// Public is the address that the page was told of, else the page's own if others can
// reach it.
func (h *host) Public() string { return h.public }

func (h *host) findPublic() string {
	doc := js.Global().Get("document")
	if !doc.Truthy() {
		return ""
	}
	if m := doc.Call("querySelector", "meta[name=gainwright-public]"); m.Truthy() {
		return m.Get("content").String()
	}
	l := js.Global().Get("location")
	name := l.Get("hostname").String()
	if name == "" || name == "localhost" || name == "[::1]" || strings.HasPrefix(name, "127.") {
		return ""
	}
	return h.Address()
}
