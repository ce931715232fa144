package program

import (
	"fmt"
	"math"
	"strings"

	"gainwright/scenes/bench"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
)

// This file is about what a way out would lose: of the page, of a scene, of a step.

// question is something that has to be pressed twice, since it loses something.
type question struct {
	id    string
	at    float64
	words string
	rolls bool // a take that is being recorded would be lost
}

// Sure reports whether the intent id was pressed a second time while the words about
// what it loses still stand; the first time it says them.
func (p *Program) Sure(id, words string) bool {
	if p.asked.id == id && p.last <= p.asked.at+noticeSeconds {
		p.asked = question{}
		return true
	}
	p.asked = question{id, p.last, words, p.session != nil && p.session.Mode() == bench.ModeRecord}
	p.Notify(words)
	return false
}

// unask takes the question away when the take that it is about has ended by itself.
func (p *Program) unask() {
	if !p.asked.rolls || p.session.Mode() == bench.ModeRecord || p.goTo > 0 {
		return
	}
	if p.err == p.asked.words {
		p.err, p.changed = "", true
	}
	p.asked = question{}
}

// Holds reports whether closing the program would lose a take.
func (p *Program) Holds() bool { return p.session.Mode() == bench.ModeRecord }

// MayClose is asked when the user closes the window; the first time, in a running
// take, it says what that loses.
func (p *Program) MayClose() bool {
	if !p.Holds() {
		return true
	}
	p.changed = true
	return p.Sure("close", "A take is being recorded. Close the window once more to lose it.")
}

// Leaving keeps what is not kept yet, as the program may end.
func (p *Program) Leaving() { p.keep(math.Inf(1)) }

// keep lets the scenes store what they have.
func (p *Program) keep(now float64) {
	for _, sc := range p.scenes {
		if k, ok := sc.(kit.Keeper); ok {
			k.Keep(now)
		}
	}
}

// mayGo reports whether scene i may be shown now. A way out that ends a take has to be
// pressed twice.
func (p *Program) mayGo(i int) bool {
	if i == p.now || p.session.Mode() != bench.ModeRecord {
		return true
	}
	id, title := p.scenes[i].ID(), p.scenes[i].Title()
	if sc, ok := p.scenes[p.now].(kit.Borrower); ok {
		if w := sc.Rolls(); w != "" {
			return p.Sure(id, fmt.Sprintf("Choose “%s” once more to go there and %s.", title, w))
		}
	}
	if _, ok := p.scenes[i].(kit.Borrower); ok {
		// The bench's own take ends, and is kept, before the bench is lent.
		if p.Sure(id, fmt.Sprintf("Take %d is being recorded. Choose “%s” once more to end it and go there; the take is kept.", p.session.Take().Number, title)) {
			p.session.Stop()
			p.goTo = i + 1
		}
		return false
	}
	return true
}

// goOnTo shows the scene that waited for the take to end.
func (p *Program) goOnTo() {
	if t := p.session.Take(); p.goTo > 0 && (t == nil || t.Done) {
		i := p.goTo - 1
		p.goTo = 0
		p.show(i)
	}
}

// asks forgets the question when something else is done.
func (p *Program) asks(it ui.Intent) {
	if it.Do != ui.DoFocus && it.ID != p.asked.id && !strings.HasPrefix(it.ID, kit.IDListen) {
		p.asked = question{}
	}
}
