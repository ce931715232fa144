// Package review is what comes after lessons: where one stands on the way through them, and
// the mixed review, one task of each lesson taken, at intervals of days.
//
// The rule is expanding retrieval practice: a task that was right comes again after twice
// the days, one that was not, after a day. That spacing helps is well shown (Latimier, Peyre
// and Ramus, "A Meta-Analytic Review of the Benefit of Spacing out Retrieval Practice
// Episodes on Retention", Educational Psychology Review 33, 2021, 959: g = 0.74 against
// massed practice). That intervals should grow was proposed by Landauer and Bjork ("Optimum
// rehearsal patterns and name learning", in Practical Aspects of Memory, 1978, cited from
// memory); Kang, Lindsey, Mozer and Pashler ("Retrieval practice over the long term: Should
// spacing be expanding or equal-interval?", Psychonomic Bulletin & Review, 2014, doi
// 10.3758/s13423-014-0636-z) found growing intervals to leave no more at the end than equal
// ones, and much more on the way, which is where somebody stands who has to set a gain
// tomorrow. That they double, and end at 64 days, is common practice, no source.
package review

import (
	"bytes"
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"slices"
	"time"

	"gainwright/lessons/model"
	"gainwright/sounds/scenario/plain"
)

// Rule says the rule for people, with its source.
const (
	Rule   = "Expanding retrieval practice: what was right comes again after twice the days, what was not, after a day."
	Source = "Landauer and Bjork 1978; Kang, Lindsey, Mozer and Pashler, Psychonomic Bulletin & Review 2014"
)

// Intervals, days.
const (
	first = 1
	most  = 64
)

// Day is a day of the calendar as states write it: 2026-05-31.
const Day = time.DateOnly

// A Standing is where one stands with a lesson that was taken. Days are those of the
// calendar where the student is.
type Standing struct {
	Days  int    `json:"interval_days"`  // until it comes again
	Due   string `json:"due"`            // the day
	Last  string `json:"last"`           // when it was asked last, or the lesson was taken
	Asked string `json:"step,omitempty"` // which step of it was asked last
	Right int    `json:"right"`
	Wrong int    `json:"wrong"`
}

// A State is where one stands with the lessons taken, by their ids. The zero value is of
// somebody who has taken none.
type State struct {
	Format  int                  `json:"gainwright_review"` // 1
	Lessons map[string]*Standing `json:"lessons"`
}

const maxStateBytes = 1 << 20

// Read reads what Marshal writes; nothing is the state of somebody who has taken none.
func Read(b []byte) (*State, error) {
	s := &State{Format: 1, Lessons: map[string]*Standing{}}
	if len(bytes.TrimSpace(b)) == 0 {
		return s, nil
	}
	if len(b) > maxStateBytes {
		return nil, errors.New("is too long for what a review keeps")
	}
	d := json.NewDecoder(bytes.NewReader(b))
	d.DisallowUnknownFields()
	if err := d.Decode(s); err != nil {
		return nil, fmt.Errorf("is not what a review keeps: %w", err)
	}
	if _, err := d.Token(); err != io.EOF {
		return nil, errors.New("is not what a review keeps: something follows after its end")
	}
	if s.Format != 1 {
		return nil, fmt.Errorf("has format %d; this program knows format 1", s.Format)
	}
	if s.Lessons == nil {
		s.Lessons = map[string]*Standing{}
	}
	for id, x := range s.Lessons {
		if x == nil || !isDay(x.Due) || !isDay(x.Last) || x.Days < first || x.Days > most {
			return nil, fmt.Errorf("is not what a review keeps: of %s there is no day, or no interval of %d to %d days", plain.Quote(id), first, most)
		}
	}
	return s, nil
}

func isDay(s string) bool {
	_, err := time.Parse(Day, s)
	return err == nil
}

// Marshal writes the state.
func (s *State) Marshal() ([]byte, error) {
	b, err := json.MarshalIndent(s, "", " ")
	return append(b, '\n'), err
}

// Taken notes that a lesson was taken, if that is new: it comes again a day later.
func (s *State) Taken(id string, on time.Time) {
	if s.Lessons[id] == nil {
		s.Lessons[id] = &Standing{Days: first, Due: on.AddDate(0, 0, first).Format(Day), Last: on.Format(Day)}
	}
}

// Answered notes how the task of a lesson went. One that was asked before its day moves
// nothing when it is right.
func (s *State) Answered(id, step string, right bool, on time.Time) {
	x := s.Lessons[id]
	if x == nil {
		return
	}
	today := on.Format(Day)
	early := today < x.Due
	x.Last, x.Asked = today, step
	switch {
	case !right:
		x.Wrong++
		x.Days = first
	case early:
		x.Right++
		return
	default:
		x.Right++
		x.Days = min(2*x.Days, most)
	}
	x.Due = on.AddDate(0, 0, x.Days).Format(Day)
}

// Due lists the lessons of which a task is due, the longest overdue first; of those of one
// day the order is by what draw gives, so that a review is mixed.
func (s *State) Due(on time.Time, draw *rand.Rand) []string {
	return s.order(draw, func(x *Standing) bool { return x.Due <= on.Format(Day) })
}

// All lists all lessons taken, in the order in which they come.
func (s *State) All(draw *rand.Rand) []string {
	return s.order(draw, func(*Standing) bool { return true })
}

func (s *State) order(draw *rand.Rand, want func(*Standing) bool) []string {
	var out []string
	for id, x := range s.Lessons {
		if want(x) {
			out = append(out, id)
		}
	}
	slices.Sort(out)
	draw.Shuffle(len(out), func(i, j int) { out[i], out[j] = out[j], out[i] })
	slices.SortStableFunc(out, func(a, b string) int { return cmp.Compare(s.Lessons[a].Due, s.Lessons[b].Due) })
	return out
}

// Next is the first day on which a task is due, "" if there is no lesson.
func (s *State) Next() string {
	next := ""
	for _, x := range s.Lessons {
		if next == "" || x.Due < next {
			next = x.Due
		}
	}
	return next
}

// Pick draws one of the tasks of a lesson, if there is another one not that of last time.
func (s *State) Pick(l *model.Lesson, draw *rand.Rand) (step int, ok bool) {
	all := Tasks(l)
	if x := s.Lessons[l.ID]; x != nil && len(all) > 1 {
		all = slices.DeleteFunc(all, func(i int) bool { return l.Steps[i].ID == x.Asked })
	}
	if len(all) == 0 {
		return 0, false
	}
	return all[draw.IntN(len(all))], true
}
