package lesson

import (
	"errors"
	"slices"

	voices "gainwright/sounds/own"
)

// talkerIs has a voice that is kept give the takes, "" the lesson's talker, as soon as it is ready.
func (s *Scene) talkerIs(name string) error {
	if s.stage.Rolling() {
		return errors.New("the take rolls: stop it first")
	}
	if name == s.who.Is && s.r.Lacks() == "" {
		return nil
	}
	if name == "" {
		return s.lend(nil)
	}
	if why := s.r.MayLend(); why != "" && s.r.Lacks() != name {
		return errors.New(why)
	}
	s.status = "Your voice “" + name + "” is being made ready."
	r := s.r
	s.who.Load(name, s.busy, s.work, func() bool { return r == s.r }, s.lend) // else another lesson is open
	return nil
}

// busy is what is done beside the screen, or "".
func (s *Scene) busy() string {
	if s.job == nil {
		return ""
	}
	return s.doing
}

// lend has the voice give the takes, or the talker.
func (s *Scene) lend(g *voices.Guest) error {
	if err := s.r.Lend(g); err != nil {
		return err
	}
	s.status = "The lesson’s talker gives the takes."
	if s.taker.you, s.who.Is = g, ""; g != nil {
		s.who.Is = g.Perf.Name
		s.status = "Your voice “" + g.Perf.Name + "” gives the takes."
	}
	s.dirty, s.waves = true, nil
	s.view()
	s.setBench()
	s.store()
	return nil
}

// fetchVoice asks once for the voice that the lesson was begun with, as soon as it is known to
// be kept here.
func (s *Scene) fetchVoice() {
	name := s.r.Lacks()
	if name == "" || name == s.taker.tried || s.job != nil || !slices.Contains(s.shell.Voices().Names(), name) {
		return
	}
	s.taker.tried = name
	if err := s.talkerIs(name); err != nil {
		s.shell.Fail(err)
	}
}
