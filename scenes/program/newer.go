package program

import (
	"errors"

	"gainwright/scenes/kit"
	"gainwright/sounds"
)

// newer is what the user has said to a new version of the program.
type newer struct {
	later bool // not in this visit
}

const newerWords = "A new version of this site has come. Taking it loads the page again; settings and takes are kept."

// ask asks whether a new version that the host has is to be taken, once nothing else is
// asked and no take rolls. keep keeps what there is.
func (n *newer) ask(host kit.Host, o *offer, rolls func() bool, keep func()) {
	h, ok := host.(kit.Renewed)
	if !ok || n.later || o.on || rolls() || !h.Fresh() {
		return
	}
	o.put(newerWords, "Take the new version", "Later", func() error {
		if rolls() {
			return errors.New("a take is being recorded: end it, then take the new version")
		}
		keep()
		h.Renew()
		return nil
	}, func() { n.later = true })
}

// late tells once, when the sound is on, why it comes late, if it does.
type late struct{ told bool }

func (t *late) say(dev sounds.Device, running bool) string {
	d, ok := dev.(sounds.Delayed)
	if !ok || t.told || !running || d.Late() == "" {
		return ""
	}
	t.told = true
	return d.Late()
}
