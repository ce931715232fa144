package practice

import (
	"errors"

	voices "gainwright/sounds/own"
)

// guestIs has a voice that is kept sit in the guest's place, "" the stranger, as soon as it is
// ready.
func (s *Scene) guestIs(name string) error {
	switch {
	case s.pr == nil:
		return errors.New("the first guest is on the way")
	case s.job != nil:
		return errors.New(s.doing + "; wait a moment")
	case s.stage.Rolling():
		return errRolls
	case s.out != nil:
		return errors.New(whyHappened + ": choose when the next guest is there")
	case name == s.who.Is:
		return nil
	case name == "":
		return s.lend(nil)
	}
	s.status = "Your voice “" + name + "” is being made ready."
	visit := s.stage.Visit
	s.who.Load(name, s.busy, s.work, func() bool {
		return visit == s.stage.Visit && s.stage.Lent() && s.out == nil && !s.stage.Rolling()
	}, s.lend)
	return nil
}

// busy is what is done beside the screen, or "".
func (s *Scene) busy() string {
	if s.job == nil {
		return ""
	}
	return s.doing
}

// lend sits the voice down, or the stranger.
func (s *Scene) lend(g *voices.Guest) error {
	if err := s.pr.Lend(g); err != nil {
		return err
	}
	s.you, s.who.Is = g, ""
	if g != nil {
		s.who.Is = g.Perf.Name
	}
	s.sit()
	return nil
}

// syncWho brings the choice of the guest up.
func (s *Scene) syncWho(wait string, rolling bool) {
	if rolling {
		wait = errRolls.Error()
	}
	s.who.Sync(s.pr != nil && s.out == nil && s.rooms.Words.W > 0, wait)
}
