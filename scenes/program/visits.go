package program

import "gainwright/scenes/kit"

// visits knows whether the user was here before. A first visit, at which the host has
// nothing of an earlier one, begins with the first guest alone; who has seen that, or
// asked for everything, has all scenes at every visit.
type visits struct {
	host kit.Host
	all  bool // all scenes are shown
}

const keyEvery = "everything" // what the host keeps of that

// newVisits asks the host; a set-up that somebody sent along is no first visit either.
func newVisits(h kit.Host) visits {
	v := visits{host: h}
	for _, key := range []string{keyEvery, "setup", "takes", "practice", "student"} {
		v.all = v.all || h.Load(key) != ""
	}
	if _, as := kit.AssignedBy(h); as != nil {
		v.all = true
	}
	v.all = v.all || kit.Followed(h) != ""
	return v
}

// showAll shows all scenes from now on, and remembers that.
func (v *visits) showAll() {
	if !v.all {
		v.all = true
		v.host.Store(keyEvery, "1")
	}
}

// alone reports whether sc is shown without the other scenes.
func (v *visits) alone(sc kit.Scene) bool {
	l, ok := sc.(kit.Loner)
	return ok && l.Alone() && !v.all
}

// seen notes that a scene is left.
func (v *visits) seen(sc kit.Scene) {
	if _, ok := sc.(kit.Loner); ok {
		v.showAll()
	}
}
