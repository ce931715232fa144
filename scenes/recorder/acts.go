package recorder

import (
	"context"
	"errors"
	"fmt"
	"time"

	"gainwright/scenes/bench"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
	"gainwright/scenes/work"
	"gainwright/sim/identify"
	"gainwright/sounds/series"
)

// sceneActs are what the controls do.
func (s *Scene) sceneActs() kit.Acts {
	a := kit.Acts{
		s.marks.ID:  func(it ui.Intent) error { s.marks.SetText(it.Text); return nil },
		s.sheet.ID:  kit.Try(s.handOutSheet),
		s.open.ID:   kit.Press(func() { s.shell.ChooseMany(work.AcceptSound + ",.yaml,.yml") }),
		s.stop.ID:   kit.Try(s.stopWork),
		s.forget.ID: kit.Try(s.forgetAll),
		s.mark.ID: func(it ui.Intent) error {
			s.isMark = it.Text
			s.mark.SetText(it.Text)
			return nil
		},
		s.reread.ID: kit.Try(s.readSo),
		s.out.ID: kit.Press(func() {
			e := s.chosen
			s.takeOut(func(o *entry) bool { return o == e })
			s.tell()
		}),
		s.level.ID:  s.setLevel,
		s.save.ID:   kit.Try(s.equipmentFile),
		s.use.ID:    kit.Try(s.useIt),
		s.lesson.ID: kit.Try(s.takeLesson),
		s.unuse.ID:  kit.Try(s.useNoMore),
	}
	for i, c := range s.isKind {
		a[c.ID] = kit.Press(func() { s.is = i })
	}
	for i, c := range s.anchor {
		a[c.ID] = kit.Press(func() {
			s.anchorAt, s.stale = i, s.found != nil
			s.shell.Relayout()
		})
	}
	a.Add(s.hear.acts())
	return a
}

// Apply carries an intent out.
func (s *Scene) Apply(it ui.Intent) error {
	defer s.sync()
	if ok, err := s.hear.deck.Apply(it); ok {
		return err
	}
	if ok, err := s.acts.Apply(it); ok {
		return err
	}
	return fmt.Errorf("there is nothing called %q here", it.ID)
}

// lessonHas tells whether there is a limiter that the lesson can be taken on.
func (s *Scene) lessonHas() bool {
	return s.known() && s.found.Limiter != nil && (s.found.Limiter.Place == identify.Before || s.found.Limiter.Place == identify.After)
}

// takeLesson begins the lesson on the limiter that was found.
func (s *Scene) takeLesson() error {
	if s.shell.Bench().Mode() == bench.ModeRecord {
		return errTaking
	}
	r := s.found.LimiterAlone(time.Now())
	if r == nil {
		return errors.New("the limiter's place is not known")
	}
	text, err := r.Write()
	if err != nil {
		return err
	}
	return s.shell.Go(kit.IDTabLessons, ui.Intent{ID: kit.IDLessonPair, Do: ui.DoSet, Text: string(text)})
}

// setLevel sets the level that is known.
func (s *Scene) setLevel(it ui.Intent) error {
	v, err := kit.Number(it, s.level.Value, s.level.Default, s.level.Step, s.level.Min, s.level.Max)
	if err != nil {
		return err
	}
	s.levels[s.anchorAt], s.stale = v, s.found != nil
	return nil
}

// readSo reads the chosen recording as what was said of it.
func (s *Scene) readSo() error {
	t, err := s.told()
	if err != nil {
		return err
	}
	e := s.chosen
	if s.reading == e {
		s.giveUp()
	}
	s.store.anew(e)
	e.told, e.reading, e.why, e.err, s.chosen = &t, nil, "", nil, nil
	s.status = "It is read again."
	s.shell.Relayout()
	return nil
}

// stopWork gives up what goes on: of a recording being read, all that wait too.
func (s *Scene) stopWork() error {
	if s.job == nil {
		return errors.New("nothing is going on")
	}
	took := s.took
	s.giveUp()
	took(context.Canceled)
	for _, e := range s.files {
		if e.waits() {
			e.why = "not read; press, to say what it is and read it"
		}
	}
	s.hear.stopped = true
	s.status = "Stopped. What was read before stays."
	s.shell.Relayout()
	return nil
}

func (s *Scene) forgetAll() error {
	if len(s.files) == 0 && s.learnt == nil {
		return errors.New("there are no recordings")
	}
	if !s.shell.Sure(s.forget.ID, "All recordings are taken out, what is kept in this browser is deleted, and nothing is known any more. Press again to do so.") {
		return nil
	}
	s.takeOut(func(*entry) bool { return true })
	s.tell()
	return nil
}

// handOutSheet makes the page and the sounds, beside the screen.
func (s *Scene) handOutSheet() error {
	marks, err := series.ParseMarks(s.marks.Text())
	if err != nil {
		return err
	}
	if s.job != nil {
		return errors.New(whyBusy)
	}
	all := series.List(marks)
	var data []byte
	s.start(func(h *work.Context) (err error) {
		data, err = archive(h, all)
		return err
	}, func(err error) {
		switch {
		case errors.Is(err, context.Canceled):
		case err != nil:
			s.shell.Fail(err)
		default:
			s.shell.Save("recorder-series.zip", data)
			s.status = fmt.Sprintf("The page and %d sounds are in one archive. Open its page first.", len(all))
		}
	})
	s.status = "The page and the sounds are made."
	return nil
}
