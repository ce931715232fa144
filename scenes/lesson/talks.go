package lesson

import (
	"errors"
	"slices"

	"gainwright/scenes/work"
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
	s.who.Load(name, func(do func(h *work.Context) error, took func(err error)) {
		if s.job != nil {
			took(errors.New(s.doing + "; choose your voice again in a moment"))
			return
		}
		s.work("Your voice is made ready", do, took)
	}, func(g *voices.Guest, err error) {
		if r != s.r { // another lesson meanwhile
			return
		}
		if err == nil {
			err = s.lend(g)
		}
		if err != nil {
			s.shell.Fail(err)
		}
	})
	return nil
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
