package lesson

import (
	"gainwright/lessons/model"
	"gainwright/lessons/run"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
	"strconv"
)

// lessonItem is one lesson of the list.
type lessonItem struct {
	l     *model.Lesson
	own   bool
	card  *kit.CardButton
	saved *run.Progress
	res   *run.Result // of a finished one
}

// lessonSet is one control that a step unlocks.
type lessonSet struct {
	c      model.Control
	field  *kit.Field   // of a number
	places []*ui.Choice // of a word
	check  *ui.Check    // of a switch
}

const maxOwnLessons = 8

// storeKey is where the progress of a lesson is kept: that of a changed lesson is
// another.
func storeKey(l *model.Lesson) string {
	return "lesson." + l.ID + "." + l.Hash[:min(12, len(l.Hash))]
}

func placeWord(w string) string {
	for i, pl := range kit.Places {
		if string(pl) == w {
			return kit.PlaceWords[i]
		}
	}
	return w
}

func countFaults(n int) string {
	if n == 1 {
		return "a fault"
	}
	return strconv.Itoa(n) + " faults"
}
