package plan

import (
	"fmt"
	"strings"

	"gainwright/scenes/bench"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
	"gainwright/sim"
	"gainwright/sim/plan"
)

// sceneActs are what the controls do.
func (s *Scene) sceneActs() kit.Acts {
	a := kit.Acts{
		idGain:  s.setGain,
		idUse:   kit.Try(s.takeOver),
		idReset: kit.Press(s.startAgain),
	}
	for i, m := range plan.Microphones() {
		a[s.mics[i].ID] = kit.Try(func() error {
			s.mic = i
			c := m.On(s.setup.Chain)
			if m.WornM > 0 {
				c.DistanceM = m.WornM
			}
			return s.chain(c)
		})
	}
	for i, r := range plan.Recorders() {
		a[s.recs[i].ID] = kit.Try(func() error {
			s.rec = i
			return s.chain(r.On(s.setup.Chain))
		})
	}
	a[idAny] = kit.Press(func() { s.guestIs(nil) })
	a[idTry] = kit.Try(func() error { return s.shell.Visit(kit.IDTabVoice) })
	a[s.ownRec.ID] = kit.Try(s.useOwn)
	for i, pl := range kit.Places {
		a[s.places[i].ID] = kit.Try(func() error { return s.chain(s.setup.Chain.WithPlace(pl)) })
	}
	for i, p := range plan.Presets() {
		a[s.guests[i].ID] = kit.Try(func() error {
			if err := s.setup.Model.SetPreset(p.Name); err != nil {
				return err
			}
			s.changed(true)
			return nil
		})
	}
	for i, c := range s.views {
		a[c.ID] = kit.Press(func() {
			s.view = planView(i)
			s.list.Scroll = 0
			s.shell.Relayout()
		})
	}
	for key, f := range s.byKey {
		a[f.ID] = func(it ui.Intent) error { return s.setField(f, key, it) }
	}
	return a
}

func (s *Scene) apply(it ui.Intent) error {
	if ok, err := s.acts.Apply(it); ok {
		return err
	}
	if name, ok := strings.CutPrefix(it.ID, kit.IDPlanYou); ok && name != "" {
		s.beGuest(name)
		return nil
	}
	if it.ID == kit.IDRecord || it.ID == kit.IDPlay {
		return fmt.Errorf("there is nothing to %s here; go to “Set the gain”", it.ID)
	}
	return fmt.Errorf("there is no control %q", it.ID)
}

func (s *Scene) setGain(it ui.Intent) error {
	v, err := kit.Number(it, s.gain.Value, s.suggestion(), 1, kit.GainMin, kit.GainMax)
	if err != nil {
		return err
	}
	s.gainOn = it.Do != ui.DoDefault
	s.setup.Chain.Preamp.GainDB = v
	s.look()
	return nil
}

// useOwn plans for the user's own recorder.
func (s *Scene) useOwn() error {
	s.own = s.shell.Bench().Recorder()
	if s.own == nil {
		return fmt.Errorf("no recorder of your own is known; put one to use in “Your recorder”")
	}
	f, err := s.own.On(s.setup.Chain)
	if err != nil {
		return err
	}
	s.rec = len(s.recs)
	return s.chain(f.Chain)
}

// followOwn takes notice of a recorder that was put to use, or is used no more.
func (s *Scene) followOwn() {
	r := s.shell.Bench().Recorder()
	if r == s.own {
		return
	}
	if s.own = r; r == nil {
		if s.rec == len(s.recs) {
			s.rec = 0
			_ = s.chain(plan.Recorders()[0].On(s.setup.Chain)) // a class is always possible
		}
	} else if err := s.useOwn(); err != nil {
		s.shell.Fail(err)
	}
	s.sync()
	s.shell.Relayout()
}

func (s *Scene) startAgain() {
	s.setup.Chain, s.setup.Model, s.setup.Limits = sim.Default(), plan.Default(), plan.DefaultLimits()
	s.mic, s.rec, s.gainOn = 0, 0, false
	s.guestIs(nil)
}

// setField sets what f shows: a part of the chain, an assumption or a limit.
func (s *Scene) setField(f *kit.Field, key string, it ui.Intent) error {
	v, err := kit.Number(it, f.Value, f.Default, f.Step, f.Min, f.Max)
	if err != nil {
		return err
	}
	v /= planScale(key)
	c := s.setup.Chain
	switch key {
	case keyDistance:
		c.DistanceM = v
		return s.chain(c)
	case keyRoom:
		c.Room.NoiseDBA = v
		return s.chain(c)
	}
	m, l := s.setup.Model, s.setup.Limits
	if e := m.Set(key, v); e == nil {
		again := m != s.setup.Model
		s.setup.Model = m
		s.changed(again)
		return nil
	}
	if err := l.Set(key, v); err != nil {
		return err
	}
	s.setup.Limits = l
	s.changed(false)
	return nil
}

// beGuest has the learner be the guest, as soon as the voice is ready.
func (s *Scene) beGuest(name string) {
	s.shell.Voices().Load(name, func(v *bench.Voice, err error) {
		if err != nil {
			s.shell.Fail(err)
			return
		}
		s.guestIs(v)
		s.sync()
	})
}

// guestIs plans for a guest that was heard, or for anybody.
func (s *Scene) guestIs(v *bench.Voice) {
	s.guest.is, s.setup.Check = v, plan.Heard{}
	if v != nil {
		s.setup.Check = v.Look.Heard()
	}
	s.changed(true)
	s.shell.Relayout()
}
