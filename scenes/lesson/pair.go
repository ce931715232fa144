package lesson

import (
	"errors"
	"fmt"
	"strings"

	"gainwright/lessons/builtin"
	"gainwright/lessons/model"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
	"gainwright/sounds/equipment"
)

const (
	// pairLesson is the lesson that leaves the limiter of a strip to the user's recorder.
	pairLesson = "where-does-your-limiter-sit"
	// pairKept is where the recorder is kept that a pair told of.
	pairKept = "lesson.pair"
)

// onPair is the lesson as it is on the limiter of an equipment file, with the recorder.
func onPair(text string) (*model.Lesson, *equipment.Recorder, error) {
	r, err := equipment.Read("", []byte(text))
	if err != nil {
		return nil, nil, err
	}
	if !r.PlaceKnown() {
		return nil, nil, errors.New("the lesson wants a limiter that is known to act before or after the converter")
	}
	l, err := builtin.LoadOn(r, pairLesson)
	return l, r, err
}

// isEquipment tells whether a file that is dropped is one of a recorder with a limiter.
func isEquipment(d ui.Drop) bool {
	if d.Err != nil || d.Long != nil {
		return false
	}
	r, err := equipment.Read(d.Name, d.Data)
	return err == nil && r.Limiter != nil
}

// saveRecorder hands out what a result on the user's recorder is graded with, and says so
// in place of status; nothing if the lesson is on no recorder.
func (it *lessonItem) saveRecorder(sh kit.Shell, result, status string) (words string, err error) {
	if it == nil || it.on == nil {
		return status, nil
	}
	text, err := it.on.Write()
	if err != nil {
		return status, err
	}
	name := strings.TrimSuffix(result, ".json") + "-recorder.yaml"
	sh.Save(name, text)
	return fmt.Sprintf("The result, and %s, which it is graded with.", name), nil
}
