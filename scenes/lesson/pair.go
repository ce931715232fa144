package lesson

import (
	"errors"
	"fmt"
	"strings"

	"gainwright/lessons/builtin"
	"gainwright/scenes/ui"
	"gainwright/sounds/equipment"
)

const (
	// pairLesson is the lesson that leaves the limiter of a strip to the user's recorder.
	pairLesson = "where-does-your-limiter-sit"
	// pairKept is where the recorder is kept that a pair told of.
	pairKept = "lesson.pair"
)

// recallPair puts the lesson on the user's limiter back into the list.
func (s *Scene) recallPair() {
	if text := s.shell.Host().Load(pairKept); text != "" {
		if r, err := equipment.Read("", []byte(text)); err == nil {
			_, _ = s.addPair(r) // of no use to a changed lesson
		}
	}
}

// addPair puts the lesson into the list as it is on a recorder.
func (s *Scene) addPair(r *equipment.Recorder) (*lessonItem, error) {
	l, err := builtin.LoadOn(r, pairLesson)
	if err != nil {
		return nil, err
	}
	it := s.add(l, true)
	it.on = r
	it.stand(s.given.kept(s.shell.Host(), l))
	return it, nil
}

// beginPair begins the lesson on a recorder whose limiter is known, as an equipment file.
func (s *Scene) beginPair(it ui.Intent) error {
	if s.given.by != nil {
		return errors.New("this page is for the lesson of your course")
	}
	r, err := equipment.Read("", []byte(it.Text))
	if err != nil {
		return err
	}
	return s.onPair(r)
}

func (s *Scene) onPair(r *equipment.Recorder) error {
	if !r.PlaceKnown() {
		return errors.New("the lesson wants a limiter that is known to act before or after the converter")
	}
	text, err := r.Write()
	if err != nil {
		return err
	}
	item, err := s.addPair(r)
	if err != nil {
		return err
	}
	if s.item != nil {
		s.closeLesson()
	}
	s.shell.Host().Store(pairKept, string(text))
	return s.begin(item, false)
}

// equipmentOf reads a file that is dropped as one of a recorder with a limiter.
func equipmentOf(d ui.Drop) (*equipment.Recorder, bool) {
	if d.Err != nil || d.Long != nil {
		return nil, false
	}
	r, err := equipment.Read(d.Name, d.Data)
	return r, err == nil && r.Limiter != nil
}

// saveRecorder hands out what a result on the user's recorder is graded with.
func (s *Scene) saveRecorder(result string) error {
	if s.item == nil || s.item.on == nil {
		return nil
	}
	text, err := s.item.on.Write()
	if err != nil {
		return err
	}
	name := strings.TrimSuffix(result, ".json") + "-recorder.yaml"
	s.shell.Save(name, text)
	s.status = fmt.Sprintf("The result, and %s, which it is graded with.", name)
	return nil
}
