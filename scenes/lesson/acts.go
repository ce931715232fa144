package lesson

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"strings"

	"gainwright/lessons/review"
	"gainwright/lessons/run"
	"gainwright/scenes/bench"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
)

// lessonActs are what the controls of a step do.
func (s *Scene) lessonActs() kit.Acts {
	a := kit.Acts{
		s.back.ID: func(it ui.Intent) error {
			to := "to go back to the list"
			if s.given.by != nil {
				to = "to leave"
			}
			if w := s.Rolls(); w == "" || s.shell.Sure(it.ID, "Choose it once more "+to+" and "+w+".") {
				s.closeLesson()
			}
			return nil
		},
		s.write.ID: func(it ui.Intent) error {
			if !s.v.Asked {
				return run.ErrCommitted
			}
			s.write.SetText(it.Text)
			return nil
		},
		s.commit.ID: kit.Try(s.answer),
		s.next.ID:   kit.Try(func() error { return s.goOn(s.r.Next()) }),
		s.giveUp.ID: kit.Try(func() error { return s.goOn(s.r.GiveUp()) }),
		s.record.ID: kit.Try(s.toggleTake),
		s.more.ID:   kit.Press(func() { s.showAll = !s.showAll; s.shell.Relayout() }),
		s.save.ID:   kit.Try(s.saveResult),
		s.anew.ID:   kit.Try(func() error { return s.begin(s.item, true) }),
	}
	a[s.name.ID] = s.rename
	a[s.forget.ID] = s.forgetMe
	a[s.way.begin.ID] = kit.Try(s.beginReview)
	a[s.look.ID] = kit.Press(func() { s.pictures = !s.pictures; s.shell.Relayout() })
	return a
}

// actsOfList are what the controls of the list do, besides the lessons themselves.
func (s *Scene) actsOfList() kit.Acts {
	none := kit.Try(func() error { return errors.New("choose a lesson first") })
	return kit.Acts{
		s.open.ID:      kit.Press(func() { s.shell.Choose(".yaml,.yml") }),
		s.name.ID:      s.rename,
		s.way.begin.ID: kit.Try(s.beginReview),
		kit.IDRecord:   none,
		kit.IDPlay:     none,
	}
}

func (s *Scene) applyList(it ui.Intent) error {
	for _, x := range s.items {
		if x.card.ID == it.ID {
			return s.begin(x, false)
		}
	}
	if ok, err := s.listActs.Apply(it); ok {
		return err
	}
	return fmt.Errorf("there is no control %q", it.ID)
}

func (s *Scene) apply(it ui.Intent) error {
	if it.ID == kit.IDLessonPair {
		return s.beginPair(it.Text)
	}
	if s.item == nil {
		return s.applyList(it)
	}
	if !strings.HasPrefix(it.ID, idLesson) {
		return s.applyBench(it)
	}
	if s.job != nil && it.ID != idPictures {
		return errors.New(s.doing + "; wait a moment")
	}
	for _, f := range []func(ui.Intent) (bool, error){s.acts.Apply, s.mark, s.turn} {
		if ok, err := f(it); ok {
			return err
		}
	}
	if ok, err := s.who.Apply(it, s.talkerIs); ok {
		return err
	}
	if n, ok := strings.CutPrefix(it.ID, idHear); ok {
		return s.hear(n)
	}
	if n, ok := strings.CutPrefix(it.ID, idTrial); ok {
		return s.answerTrial(n)
	}
	id := it.ID
	it.ID = strings.TrimPrefix(id, idLesson)
	if ok, err := s.deck.Apply(it); ok {
		if err == nil && s.deck.Playing() {
			s.shell.Hear(s.deck.Player)
		}
		return err
	}
	return fmt.Errorf("there is no control %q", id)
}

// mark marks an answer; it is not committed by that.
func (s *Scene) mark(it ui.Intent) (ok bool, err error) {
	a, ok := strings.CutPrefix(it.ID, idAnswer)
	if !ok {
		return false, nil
	}
	for i, x := range s.answers {
		if x.Letter == a {
			if !s.v.Asked {
				return true, run.ErrCommitted
			}
			s.chosen = i
			return true, nil
		}
	}
	return false, nil
}

// turn changes a setting that the step unlocks.
func (s *Scene) turn(it ui.Intent) (ok bool, err error) {
	key, ok := strings.CutPrefix(it.ID, idSet)
	if !ok {
		return false, nil
	}
	for i := range s.sets {
		set := &s.sets[i]
		switch {
		case set.field != nil && set.c.Key == key:
			v, err := kit.Number(it, set.field.Value, set.field.Default, set.field.Step, set.field.Min, set.field.Max)
			if err != nil {
				return true, err
			}
			return true, s.set(key, v)
		case set.check != nil && set.c.Key == key:
			return true, s.set(key, !set.check.On)
		}
		for _, w := range set.c.Choices {
			if set.places != nil && key == set.c.Key+"."+w {
				return true, s.set(set.c.Key, w)
			}
		}
	}
	return false, nil
}

// heardSeconds is for how long a trial has to have sounded before it is answered.
const heardSeconds = 1

// listen counts for how long the present trial has sounded until now, seconds.
func (s *Scene) listen(now float64) {
	if s.blind && s.deck.Playing() {
		s.sounded += min(max(now-s.played, 0), 0.5)
	}
	s.played = now
}

// unheard tells why the present trial cannot be answered yet, or "".
func (s *Scene) unheard() string {
	least := float64(heardSeconds)
	if n := s.deck.Player.Frames(); n > 0 {
		least = min(least, 0.8*float64(n)/bench.Rate)
	}
	if s.sounded < least {
		return "play the trial first, for a second or longer"
	}
	return ""
}

// answerTrial answers a trial of a comparison by ear, and lets the next be heard.
func (s *Scene) answerTrial(n string) error {
	if _, ok := s.trial(); !ok {
		return errors.New("there is no trial to answer")
	}
	if why := s.unheard(); why != "" {
		return errors.New(why)
	}
	if _, err := s.r.Answer(n); err != nil {
		return err
	}
	s.dirty = true
	s.deck.Player.Pause()
	s.deck.Player.SeekTo(0)
	s.sounded = 0
	s.view()
	s.status = fmt.Sprintf("Trial answered: %s.", n)
	if len(s.v.Feedback) > 0 {
		s.status = kit.PlainWords(strings.Join(s.v.Feedback, " "))
	}
	if !s.blind {
		return nil
	}
	if _, ok := s.trial(); ok {
		return s.hear(trialName)
	}
	return s.hear(s.v.Step.Strips[0])
}

// beginReview begins the next task that is due.
func (s *Scene) beginReview() error {
	s.stand()
	draw := rand.New(rand.NewPCG(s.draw(), 1))
	for _, id := range s.way.state.Due(s.way.today(), draw) {
		it := called(s.items, id)
		if it == nil {
			continue
		}
		i, ok := s.way.state.Pick(it.l, draw)
		if !ok {
			continue
		}
		if s.item != nil {
			s.closeLesson()
		}
		return s.begin(&lessonItem{l: review.Task(it.l, i), asked: &asked{id, it.l.Steps[i].ID}, card: &kit.CardButton{}}, true)
	}
	return errors.New("nothing is due before " + s.way.state.Next())
}
