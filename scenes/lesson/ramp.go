package lesson

import (
	"fmt"
	"math/rand/v2"
	"strings"

	"gainwright/lessons/model"
	"gainwright/lessons/review"
	"gainwright/lessons/run"
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/stage"
	"gainwright/scenes/ui"
)

// stand brings up to date where one stands, and what the cards say of it.
func (s *Scene) stand() {
	w := &s.way
	s.readWay()
	before, _ := w.state.Marshal()
	var ls []*model.Lesson
	passed, title := map[string]bool{}, map[string]string{}
	for _, it := range s.items {
		ls, title[it.l.ID] = append(ls, it.l), it.l.Title
		if it.res != nil && it.res.Ended != nil {
			passed[it.l.ID] = passed[it.l.ID] || it.res.Passed
			w.state.Taken(it.l.ID, it.res.Ended.Local())
		}
	}
	if after, _ := w.state.Marshal(); string(after) != string(before) {
		s.keepWay()
	}
	w.passed = 0
	for _, p := range passed {
		if p {
			w.passed++
		}
	}
	places, next := review.Places(ls), review.Next(ls, func(id string) bool { return passed[id] })
	w.next = title[next]
	for _, it := range s.items {
		it.leads(places[it.l.ID], title, it.l.ID == next && w.passed > 0)
	}
	w.due = 0
	for _, id := range w.state.Due(w.today(), rand.New(rand.NewPCG(0, 0))) {
		if it := called(s.items, id); it != nil && len(review.Tasks(it.l)) > 0 {
			w.due++
		}
	}
}

// leads says on the card what the lesson builds on and leads to.
func (it *lessonItem) leads(p review.Place, title map[string]string, next bool) {
	words := func(ids []string) string {
		var out []string
		for _, id := range ids {
			out = append(out, title[id])
		}
		return strings.Join(out, "; ")
	}
	under := it.under()
	if len(p.Needs) > 0 {
		under += " Builds on: " + words(p.Needs) + "."
	}
	if len(p.LeadsTo) > 0 {
		under += " Leads to: " + words(p.LeadsTo) + "."
	}
	it.card.Under = under
	it.card.State = strings.TrimPrefix(it.card.State, nextWord)
	if next && it.card.Mark == kit.CardNone {
		it.card.State = nextWord + it.card.State
	}
}

const nextWord = "next: "

// readWay reads what is kept; what is of no use is dropped.
func (s *Scene) readWay() {
	w := &s.way
	text := s.shell.Host().Load(reviewKept)
	if w.state != nil && text == w.text {
		return
	}
	st, err := review.Read([]byte(text))
	if err != nil {
		st, _ = review.Read(nil)
	}
	w.state, w.text = st, text
}

func (s *Scene) keepWay() {
	if b, err := s.way.state.Marshal(); err == nil {
		s.way.text = string(b)
		s.shell.Host().Store(reviewKept, s.way.text)
	}
}

// standing says where one stands; empty before anything is passed.
func (s *Scene) standing() string {
	w := &s.way
	if w.passed == 0 || len(s.unread) > 0 {
		return ""
	}
	out := fmt.Sprintf("%d of %d passed.", w.passed, len(s.items))
	if w.next != "" {
		out += " Next: " + w.next + "."
	}
	return out
}

// syncReview brings up the review's button.
func (s *Scene) syncReview() {
	b := s.way.begin
	b.Hidden = s.given.by != nil || s.way.state == nil || len(s.way.state.Lessons) == 0
	why := ""
	switch {
	case b.Hidden:
	case s.item != nil:
		b.Hidden = s.item.asked == nil || s.v.State != run.Finished || s.way.due == 0
		b.Name, b.Label = "The next task of the review", "Next task"
	default:
		b.Name, b.Label = fmt.Sprintf("Mixed review, %d due", s.way.due), fmt.Sprintf("Mixed review: %d due", s.way.due)
		if s.way.due == 0 {
			b.Name, b.Label = "Mixed review", "Mixed review"
			why = "nothing is due before " + s.way.state.Next()
		}
	}
	b.Hint = "One task of each lesson taken, with another guest. " + review.Rule
	off(why, b)
}

// reviewed notes how the task of the review went.
func (s *Scene) reviewed() {
	a := s.item.asked
	if a == nil || s.v.State != run.Finished {
		return
	}
	s.readWay()
	right := s.here().Verdict == run.Right
	s.way.state.Answered(a.id, a.step, right, s.way.today())
	s.keepWay()
	s.stand()
	s.status = s.reviewWords()
}

// reviewWords say how a task of the review went, and when it comes again.
func (s *Scene) reviewWords() string {
	out := "Not right yet."
	if s.here().Verdict == run.Right {
		out = "Right."
	}
	if x := s.way.state.Lessons[s.item.asked.id]; x != nil {
		out += fmt.Sprintf(" A task of this lesson comes again on %s.", x.Due)
	}
	return out
}

// layoutReviewed is the end of a task of the review.
func (s *Scene) layoutReviewed(th *ui.Theme, f *kit.Flow) {
	right := s.here().Verdict == run.Right
	s.verdicts = append(s.verdicts, stage.Verdict{At: ink.Point{X: f.X + th.Px(9), Y: f.Y + th.Row(ui.Title)/2}, Good: right})
	f.X += th.Px(26)
	f.Width -= th.Px(26)
	word := "Not right yet"
	if right {
		word = "Right"
	}
	f.Say(word, ui.Title, ink.Bold, th.Say)
	f.X -= th.Px(26)
	f.Width += th.Px(26)
	f.Gap(4)
	if x := s.way.state.Lessons[s.item.asked.id]; x != nil {
		f.Body("A task of this lesson comes again on " + x.Due + ".")
	}
	if sp := s.here(); sp.Truth != "" && !right {
		f.Body("Right is: " + sp.Truth)
	}
	f.Gap(6)
	if s.way.due > 0 {
		f.Note(fmt.Sprintf("Due today: %d more.", s.way.due))
	} else {
		f.Note("Nothing else is due today.")
	}
	f.Gap(6)
	f.Tiny(review.Rule)
	f.Tiny(review.Source + ".")
}
