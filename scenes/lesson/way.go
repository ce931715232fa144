package lesson

import (
	"time"

	"gainwright/lessons/review"
	"gainwright/scenes/ui"
)

// way is where one stands on the way through the lessons, and the mixed review of those
// taken.
type way struct {
	state  *review.State
	text   string           // of which it was read
	today  func() time.Time // for tests
	begin  *ui.Button       // the review, or its next task
	due    int              // tasks
	passed int              // lessons
	next   string           // the title of the lesson to take next, or empty
}

const reviewKept = "review" // where the state is kept

// asked is the task that an item of the review is.
type asked struct{ id, step string }

func newWay() way {
	b := ui.NewButton(idReview, "Mixed review", "", "Mixed review", ui.Plain, ui.NoIcon)
	b.Size = ui.Small
	return way{today: time.Now, begin: b}
}
