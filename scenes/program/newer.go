package program

import (
	"errors"

	"gainwright/scenes/kit"
)

// newer is what the user has said to a new version of the program.
type newer struct {
	later bool // not in this visit
}

const newerWords = "A new version of this site has come. Taking it loads the page again; settings and takes are kept."

// offerNew asks whether a new version that the host has is to be taken, once nothing else
// is asked and no take rolls.
func (p *Program) offerNew() {
	h, ok := p.host.(kit.Renewed)
	if !ok || p.newer.later || p.offer.on || p.present || p.Holds() || !h.Fresh() {
		return
	}
	p.offer.put(newerWords, "Take the new version", "Later", func() error {
		if p.Holds() {
			return errors.New("a take is being recorded: end it, then take the new version")
		}
		p.Leaving()
		h.Renew()
		return nil
	}, func() { p.newer.later = true })
}
