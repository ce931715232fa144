package lesson

import (
	"errors"
	"slices"

	"gainwright/lessons/run"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
	"gainwright/scenes/work"
	voices "gainwright/sounds/own"
)

// taker is who gives the takes of a lesson that allows a voice of one's own.
type taker struct {
	you   *voices.Guest // or nil: the talker
	tried string        // the name that was asked for by itself, since the lesson was begun with it
}

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

// checkBy has the sound check be of whoever gives the takes: who sets a gain by it sets it for them.
func (s *Scene) checkBy() error {
	if s.stage.Rolling() {
		return nil
	}
	b, g := s.shell.Bench(), s.taker.you
	v := b.Voice()
	switch {
	case g == nil && v != nil:
		return b.SetTalker(s.scn.Source.Talker)
	case g == nil:
		return nil
	case v == nil || v.Perf.Name != g.Perf.Name:
		if err := b.PerformOwn(g.Perf, g.Look); err != nil {
			return err
		}
	}
	s.g.Say("Sound check: you, with your voice “" + g.Perf.Name + "”.")
	return nil
}

// whoAnew is for a lesson that is begun or gone on with: nobody's voice is at hand yet.
func (s *Scene) whoAnew() {
	s.taker = taker{}
	if s.who.Is = ""; s.r.Voice() != nil {
		s.who.Is = s.r.Voice().Name
	}
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

// syncWho brings the choice of who talks up: until a take was recorded, and while the voice that
// the lesson was begun with is missing.
func (s *Scene) syncWho(wait string) {
	s.who.Sync(s.item.l.OwnVoice && s.v.State != run.Finished && (s.r.MayLend() == "" || s.r.Lacks() != ""), wait)
}

// layoutWho places it, with what is to be known of the voice.
func (s *Scene) layoutWho(th *ui.Theme, f *kit.Flow) {
	if !s.item.l.OwnVoice || s.v.State == run.Finished {
		return
	}
	shown := s.who.Flow(f, th)
	if w := s.whoWords(); w != "" {
		f.Note(w)
		f.Gap(6)
	} else if shown {
		f.Gap(2)
	}
}

func (s *Scene) whoWords() string {
	switch name := s.r.Lacks(); {
	case name != "":
		return "This lesson was begun with your voice “" + name + "”, which is not at hand: it has to be kept in this browser, by the same name, before another take."
	case s.taker.you != nil:
		return s.who.Words(s.taker.you) + " Hand its file in with the result."
	}
	return ""
}

// saveVoice hands the voice out that gave the takes, without which the result is not verified.
func (s *Scene) saveVoice(name string) error {
	if s.taker.you == nil {
		return nil
	}
	data, err := s.taker.you.Perf.Pack()
	if err == nil {
		s.shell.Save(name, data)
	}
	return err
}
