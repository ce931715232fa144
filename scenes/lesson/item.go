package lesson

import (
	"encoding/json"
	"fmt"

	"gainwright/lessons/model"
	"gainwright/lessons/run"
	"gainwright/scenes/kit"
	"gainwright/scenes/stage"
	"gainwright/scenes/ui"
	"gainwright/sounds/equipment"
)

// lessonItem is one lesson of the list.
type lessonItem struct {
	l     *model.Lesson
	own   bool
	sites bool // of the site
	card  *kit.CardButton
	saved *run.Progress
	res   *run.Result         // of a finished one
	asked *asked              // it is a task of the review; nil: a lesson
	on    *equipment.Recorder // of the user, whose limiter it is about; nil: of the lesson
}

const stored = "lesson." // what the keys of all progress begin with

// storeKey is where the progress of a lesson is kept: that of a changed lesson is
// another.
func storeKey(l *model.Lesson) string {
	return stored + l.ID + "." + l.Hash[:min(12, len(l.Hash))]
}

// stand takes how far the lesson has got: what is kept of it, or empty.
func (it *lessonItem) stand(text string) {
	it.saved, it.res = nil, nil
	if text != "" {
		var p run.Progress
		if json.Unmarshal([]byte(text), &p) == nil && len(p.Steps) == len(it.l.Steps) {
			it.saved = &p
			if p.At >= len(p.Steps) {
				if r, err := run.Resume(it.l, []byte(text), run.Options{}); err == nil {
					it.res, _ = r.Result(nil)
				}
			}
		}
	}
	c := it.card
	c.Name, c.Title, c.Under = it.l.Title, it.l.Title, it.under()
	switch {
	case it.res != nil:
		c.Mark = kit.CardWrong
		c.State = stage.Points(it.res.Points) + " of " + stage.Points(it.res.Of) + " points"
		if it.res.Passed {
			c.Mark = kit.CardRight
			c.State += ", passed"
		} else {
			c.State += ", not passed"
		}
	case it.saved != nil && it.saved.At < len(it.l.Steps):
		c.Mark, c.State = kit.CardBegun, fmt.Sprintf("at step %d of %d", it.saved.At+1, len(it.l.Steps))
	default:
		c.Mark, c.State = kit.CardNone, fmt.Sprintf("about %s minutes, %d steps", ui.Decimal(it.l.Minutes, 0), len(it.l.Steps))
	}
}

// under is what the card says of the lesson itself.
func (it *lessonItem) under() string {
	out := "For " + it.l.For + "."
	switch {
	case it.on != nil:
		return "On the limiter of your own recorder. " + out
	case it.own:
		return "Your own. " + out
	case it.sites:
		return "Of this site. " + out
	}
	return out
}
