package mine

import (
	"errors"
	"fmt"

	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
	"gainwright/scenes/work"
	"gainwright/sounds/own"
)

// sceneActs are what the controls do.
func (s *Scene) sceneActs() kit.Acts {
	a := kit.Acts{
		s.ask.ID:     kit.Try(s.openMic),
		s.file.ID:    kit.Press(func() { s.shell.Choose(work.AcceptSound) }),
		s.stop.ID:    kit.Try(s.micOff),
		s.begin.ID:   kit.Try(s.beginOrEnd),
		s.back.ID:    kit.Try(s.goBack),
		s.skip.ID:    kit.Try(s.leaveOut),
		s.again.ID:   kit.Try(s.laughAgain),
		s.anew.ID:    kit.Try(s.beginAnew),
		s.keep.ID:    kit.Try(s.keepIt),
		s.delete.ID:  kit.Try(s.deleteIt),
		s.wav.ID:     kit.Try(s.saveWAV),
		s.perform.ID: kit.Try(func() error { return s.withMine(s.toBench) }),
		s.plan.ID:    kit.Try(func() error { return s.withMine(s.toPlan) }),
		kit.IDUndo:   kit.Try(func() error { return s.step(&s.log.Past, &s.log.Future, "there is nothing to undo") }),
		kit.IDRedo:   kit.Try(func() error { return s.step(&s.log.Future, &s.log.Past, "there is nothing to do again") }),
		s.name.ID: func(it ui.Intent) error {
			return s.withMine(func() error {
				s.name.SetText(it.Text)
				s.mine.Name = s.name.Text()
				return nil
			})
		},
		s.louder.ID: func(it ui.Intent) error {
			return s.place(it, func() error { return number(it, s.louder, &s.mine.LouderDB) })
		},
		s.level.ID: func(it ui.Intent) error {
			return s.place(it, func() error { return number(it, s.level, &s.mine.MeasuredDBSPL) })
		},
	}
	for i, c := range s.placed {
		a[c.ID] = func(it ui.Intent) error {
			return s.place(it, func() error {
				s.mine.MeasuredDBSPL = float64(i) * own.OrdinaryDBSPL
				return nil
			})
		}
	}
	return a
}

// Apply carries an intent out.
func (s *Scene) Apply(it ui.Intent) error {
	defer s.sync()
	if ok, err := s.deck.Apply(it); ok {
		return err
	}
	if ok, err := s.acts.Apply(it); ok {
		return err
	}
	return fmt.Errorf("there is nothing called %q here", it.ID)
}

// withMine does what needs a performance.
func (s *Scene) withMine(do func() error) error {
	if s.mine == nil {
		return errNothing
	}
	return do()
}

// number sets one of the numbers that place the level.
func number(it ui.Intent, f *kit.Field, to *float64) error {
	v, err := kit.Number(it, *to, f.Default, f.Step, f.Min, f.Max)
	if err == nil {
		*to = v
	}
	return err
}

// at is where the level is placed now.
func (s *Scene) at() placed { return placed{s.mine.LouderDB, s.mine.MeasuredDBSPL} }

// place has do place the level, which can be taken back.
func (s *Scene) place(it ui.Intent, do func() error) error {
	return s.withMine(func() error {
		was := s.at()
		if err := do(); err != nil || s.at() == was {
			return err
		}
		s.log.Note(was, it.ID, s.shell.Now())
		s.placedAnew()
		return nil
	})
}

// placedAnew has everything follow that goes by the level: what is kept is then another.
func (s *Scene) placedAnew() {
	s.read.Place(s.mine)
	s.saved = ""
	s.relay()
}

// step takes a change of the level back, or makes it again.
func (s *Scene) step(from, to *[]placed, none string) error {
	return s.withMine(func() error {
		p, ok := s.log.Step(from, to, s.at())
		if !ok {
			return errors.New(none)
		}
		s.mine.LouderDB, s.mine.MeasuredDBSPL = p.louderDB, p.measuredDBSPL
		s.placedAnew()
		s.say("Your talk is taken for "+ui.Decimal(s.read.TalkDBSPL, 1)+" dB SPL at 1 m.", false)
		return nil
	})
}

// Undos tells how many changes of the level can be taken back, and made again.
func (s *Scene) Undos() (back, forth int) {
	if s.stage != atCard {
		return 0, 0
	}
	return len(s.log.Past), len(s.log.Future)
}

// micOff lets the microphone go.
func (s *Scene) micOff() error {
	if s.rec.mic == nil {
		return errors.New("the microphone is off")
	}
	words := "The microphone is off."
	if s.rec.step > 0 && !s.rec.once {
		words += " What you have recorded so far is still here: ask for it again to go on."
	}
	s.letGo(words)
	return nil
}

// beginAnew goes back to the start.
func (s *Scene) beginAnew() error {
	if s.mine == nil {
		return errNothing
	}
	if s.saved == "" && !s.shell.Sure(s.anew.ID, "This voice is not kept and is gone then. Press again to begin anew.") {
		return nil
	}
	s.deck.Load(true)
	s.mine, s.spoken, s.read, s.saved, s.stage, s.rec = nil, nil, nil, "", atStart, recording{}
	s.say("Nothing has been asked of your microphone.", false)
	s.shell.Voices().Look()
	s.relay()
	return nil
}
