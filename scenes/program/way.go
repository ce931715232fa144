package program

import (
	"strings"

	"gainwright/scenes/kit"
)

// place is how the host's way names scene i.
func (p *Program) place(i int) string {
	if i == 0 {
		return ""
	}
	return strings.TrimPrefix(p.scenes[i].ID(), "tab.")
}

// sceneAt is the scene that a place names, −1 if none.
func (p *Program) sceneAt(place string) int {
	for i := range p.scenes {
		if p.place(i) == place || strings.TrimPrefix(p.scenes[i].ID(), "tab.") == place {
			return i
		}
	}
	return -1
}

// setOut shows the scene that the address names.
func (p *Program) setOut() {
	w, ok := p.host.(kit.Wayfarer)
	if !ok {
		return
	}
	if i := p.sceneAt(w.Place()); i > 0 {
		p.going = true
		p.show(i)
		p.going = false
	}
	w.Mark(p.place(p.now), false)
}

// mark notes that another scene is shown, unless the way itself led there.
func (p *Program) mark() {
	if w, ok := p.host.(kit.Wayfarer); ok && !p.going {
		w.Mark(p.place(p.now), true)
	}
}

// goAlong follows the user back and on. Where that would end a take it asks first, as a
// tab does, and the way gets the step back that was not gone.
func (p *Program) goAlong() {
	w, ok := p.host.(kit.Wayfarer)
	if !ok {
		return
	}
	for {
		place, ok := w.Went()
		if !ok {
			return
		}
		p.changed = true
		i := p.sceneAt(place)
		switch {
		case i < 0:
			w.Mark(p.place(p.now), false)
		case i == p.now:
			p.sheetOn, p.laid = false, false
		case p.mayGo(i):
			p.going = true
			p.show(i)
			p.going = false
		default:
			w.Mark(p.place(p.now), true)
		}
	}
}
