package lesson

import (
	"gainwright/lessons/run"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
)

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
