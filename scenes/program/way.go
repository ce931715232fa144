package program

import (
	"strings"

	"gainwright/scenes/kit"
)

// way is the user's way through the scenes, as the host remembers it.
type way struct {
	host   kit.Wayfarer // nil: nobody does
	scenes []kit.Scene
	going  bool // the way itself leads to what is shown next
}

// newWay is that of a host, if it remembers one.
func newWay(host kit.Host, scenes []kit.Scene) way {
	w, _ := host.(kit.Wayfarer)
	return way{host: w, scenes: scenes}
}

// place is how the way names scene i.
func (w *way) place(i int) string {
	if i == 0 {
		return ""
	}
	return strings.TrimPrefix(w.scenes[i].ID(), "tab.")
}

// at is the scene that a place names, −1 if none.
func (w *way) at(place string) int {
	for i := range w.scenes {
		if w.place(i) == place || strings.TrimPrefix(w.scenes[i].ID(), "tab.") == place {
			return i
		}
	}
	return -1
}

// begin shows the scene that the address names, else scene i.
func (w *way) begin(i int, show func(int)) {
	if w.host != nil {
		if place := w.host.Place(); place != "" && w.at(place) >= 0 {
			i = w.at(place)
		}
	}
	if i > 0 {
		w.lead(i, show)
	}
	if w.host != nil {
		w.host.Mark(w.place(i), false)
	}
}

func (w *way) lead(i int, show func(int)) {
	w.going = true
	show(i)
	w.going = false
}

// mark notes that scene i is shown now, unless the way itself led there.
func (w *way) mark(i int) {
	if w.host != nil && !w.going {
		w.host.Mark(w.place(i), true)
	}
}

// next is the scene that the user went back or on to, −1 if none. An address that names
// none gets the name of what is shown.
func (w *way) next(now int) int {
	if w.host == nil {
		return -1
	}
	place, ok := w.host.Went()
	if !ok {
		return -1
	}
	i := w.at(place)
	if i < 0 {
		w.host.Mark(w.place(now), false)
		return now
	}
	return i
}
