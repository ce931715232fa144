package lesson

import (
	"math"
	"strings"

	"gainwright/lessons/run"
)

const (
	lessonWords = "This lesson has gone on in another tab; here it stands where it stands there."
	lessonLost  = "This lesson has gone on in another tab meanwhile, and stands where it stands there: what was done here just now does not count."
)

// Rolls says what leaving does to the take.
func (s *Scene) Rolls() string {
	if s.stage.Rolling() {
		return "give the take up: it does not count"
	}
	return ""
}

// Keep stores the progress when the program may end; else Update does.
func (s *Scene) Keep(now float64) {
	if math.IsInf(now, 1) {
		s.store()
	}
}

// Elsewhere notices that another tab has gone on with a lesson.
func (s *Scene) Elsewhere(key string) {
	if s.item != nil && key == storeKey(s.item.l) {
		s.foreign = true
	}
	for _, it := range s.items {
		if key == storeKey(it.l) && it != s.item {
			it.stand(s.given.kept(s.shell.Host(), it.l))
		}
	}
}

// Agree takes over where the other tab has got.
func (s *Scene) Agree(shown bool) {
	if !s.foreign || s.item == nil || s.job != nil || s.stage.Rolling() || !shown {
		return
	}
	s.foreign = false
	words := lessonWords
	if s.dirty {
		words = lessonLost
	}
	s.dirty = false
	r, err := run.Resume(s.item.l, []byte(s.given.kept(s.shell.Host(), s.item.l)), run.Options{Student: strings.TrimSpace(s.name.Text())})
	if err != nil {
		// What the other tab has left is of no use: this one goes on.
		s.dirty = true
		return
	}
	s.r = r
	s.arrive()
	s.shell.Notify(words)
}
