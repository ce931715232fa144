package practice

import (
	"errors"
	"fmt"
	"strings"

	"gainwright/lessons/names"
	"gainwright/lessons/practice"
	"gainwright/scenes/kit"
	"gainwright/scenes/stage"
	"gainwright/scenes/ui"
)

// sceneActs are what the scene's own controls do.
func (s *Scene) sceneActs() kit.Acts {
	a := kit.Acts{
		s.talk.ID:   s.whenQuiet(kit.Try(s.toggle)),
		s.next.ID:   s.whenQuiet(kit.Try(s.nextGuest)),
		s.forget.ID: s.whenQuiet(kit.Try(s.forgetAll)),
	}
	a[s.look.ID] = kit.Press(func() { s.pictures = !s.pictures; s.shell.Relayout() })
	return a
}

// whenQuiet is what a control does that touches the practice: nothing while something is
// worked out, or before there is a guest.
func (s *Scene) whenQuiet(do func(ui.Intent) error) func(ui.Intent) error {
	return func(it ui.Intent) error {
		if s.job != nil {
			return errors.New(s.doing + "; wait a moment")
		}
		if s.pr == nil {
			return errors.New("the first guest is on the way")
		}
		return do(it)
	}
}

// Of the bench, the scene has one strip, and its gain by two names.
const (
	firstStrip = "A."
	keyGain    = "preamp.gain_db"
)

// benchActs are what those controls of the bench do that are the guest's business.
func (s *Scene) benchActs() kit.Acts {
	a := kit.Acts{kit.IDRecord: s.whenQuiet(kit.Try(s.toggle))}
	for _, id := range []string{kit.IDStripGain, keyGain} {
		a[firstStrip+id] = s.whenQuiet(s.setGain)
	}
	for _, pl := range kit.Places {
		a[firstStrip+kit.IDStripLimiter+string(pl)] = s.whenQuiet(kit.Try(func() error { return s.set(names.LimiterPlace, string(pl)) }))
	}
	return a
}

const whyHappened = "this conversation has happened"

// locked tells why a control of the bench cannot be used, or "".
func (s *Scene) locked(id string) string {
	if s.job != nil && !stage.Looks(id) {
		return s.doing
	}
	ours := s.ours[id] != nil
	switch over := s.out != nil; {
	case over && id == kit.IDRecord:
		return whyHappened + ": a guest says it once"
	case over && (ours || id == kit.IDCheck):
		return whyHappened
	case ours, strings.HasSuffix(id, "."+kit.IDStripMeter):
		return ""
	}
	for _, p := range stage.BenchFree {
		if strings.HasPrefix(id, p) {
			return ""
		}
	}
	return "the guest, the microphone and its stand are as they are: only the gain and the limiter are yours"
}

func (s *Scene) apply(it ui.Intent) error {
	if it.ID != idForget {
		s.sure = false
	}
	if !strings.HasPrefix(it.ID, own) {
		return s.applyBench(it)
	}
	if ok, err := s.acts.Apply(it); ok {
		return err
	}
	if ok, err := s.who.Apply(it, s.guestIs); ok {
		return err
	}
	return fmt.Errorf("there is no control %q", it.ID)
}

// applyBench carries out an intent on the bench.
func (s *Scene) applyBench(it ui.Intent) error {
	if why := s.locked(it.ID); why != "" {
		return fmt.Errorf("%s: %s", it.ID, why)
	}
	if ok, err := s.ours.Apply(it); ok {
		return err
	}
	if it.ID == kit.IDCheck && s.stage.Rolling() {
		return errRolls
	}
	return s.g.Apply(it)
}

var errRolls = errors.New("the conversation rolls")

func (s *Scene) setGain(it ui.Intent) error {
	v, err := kit.Number(it, s.shell.Bench().Chain(0).Preamp.GainDB, practiceGain, 1, 0, practiceGainMax)
	if err != nil {
		return err
	}
	return s.set(keyGain, v)
}

func (s *Scene) nextGuest() error {
	if err := s.pr.Next(); err != nil {
		return err
	}
	s.out = nil
	s.stage.Show(nil)
	s.shell.Bench().StartCheck()
	s.sit()
	return nil
}

// forgetAll drops the history, once it is asked for again.
func (s *Scene) forgetAll() error {
	if s.stage.Rolling() {
		return errRolls
	}
	if !s.sure {
		s.sure = true
		s.status = "Press again to forget all scores."
		return nil
	}
	s.sure = false
	s.shell.Host().Store(storeKey, "")
	s.pr, s.out, s.hist, s.you, s.who.Is = nil, nil, practice.History{}, nil, ""
	s.start()
	return nil
}
