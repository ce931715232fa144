package scorm

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"time"

	"gainwright/lessons/model"
	"gainwright/lessons/run"
)

// A Launch is what the learning system's data model has at the start.
type Launch struct {
	Status  string `json:"status"`  // cmi.core.lesson_status
	Mode    string `json:"mode"`    // cmi.core.lesson_mode: normal, browse, review
	Suspend string `json:"suspend"` // cmi.suspend_data
	Student string `json:"student"` // cmi.core.student_name
}

// News is what is to be set in the data model, in this order.
type News struct {
	Set [][2]string `json:"set,omitempty"`
	// Notice is what the user should know, or empty.
	Notice string `json:"-"`
}

// A Session is one visit to a lesson. It is told how the lesson stands and tells what is
// to be set; it sets nothing itself.
type Session struct {
	l      *model.Lesson
	launch Launch
	now    func() time.Time
	began  time.Time
	warned bool
	ended  bool
}

// NewSession begins a visit.
func NewSession(l *model.Lesson, launch Launch, now func() time.Time) *Session {
	return &Session{l: l, launch: launch, now: now, began: now()}
}

// Saved is the progress to go on from, nil if there is none.
func (s *Session) Saved() []byte {
	if s.launch.Mode == "browse" {
		return nil
	}
	b, err := Unpack(s.launch.Suspend)
	if err != nil {
		return nil // of no use
	}
	return b
}

// Passed reports whether the lesson has been passed, which stands.
func (s *Session) Passed() bool { return s.launch.Status == "passed" }

// Stands takes how the lesson stands now, which is first done when it is shown; res is
// nil until it is finished.
func (s *Session) Stands(p run.Progress, res *run.Result) (n News) {
	set := func(element, value string) { n.Set = append(n.Set, [2]string{element, value}) }
	status := func(to string) {
		if s.launch.Status != to {
			s.launch.Status = to
			set("cmi.core.lesson_status", to)
		}
	}
	fresh := s.launch.Status == "" || s.launch.Status == "not attempted" || s.launch.Status == "unknown"
	switch {
	case s.ended || s.launch.Mode == "review":
		return n
	case s.launch.Mode == "browse":
		if fresh {
			status("browsed")
		}
		return n
	case fresh || s.launch.Status == "browsed":
		status("incomplete")
	}
	if data, ok := Pack(p); ok {
		set("cmi.suspend_data", data)
	} else if !s.warned {
		s.warned = true
		n.Notice = "This learning system keeps too little for the progress of this lesson: finish it in one go."
	}
	set("cmi.core.exit", "suspend")
	// Who has passed stays so.
	if res != nil && s.launch.Status != "passed" {
		if res.Of > 0 {
			set("cmi.core.score.min", "0")
			set("cmi.core.score.max", "100")
			set("cmi.core.score.raw", strconv.FormatFloat(math.Floor(min(1, max(0, res.Points/res.Of))*1e4+1e-6)/100, 'f', -1, 64))
		}
		must := slices.ContainsFunc(s.l.Steps, func(st *model.Step) bool { return st.Must })
		switch {
		case res.Of == 0 && !must:
			status("completed")
		case res.Passed:
			status("passed")
		default:
			status("failed")
		}
	}
	set("cmi.core.session_time", span(s.now().Sub(s.began)))
	return n
}

// End ends the visit, once.
func (s *Session) End() (n News) {
	if s.ended || s.launch.Mode == "review" || s.launch.Mode == "browse" {
		return n
	}
	s.ended = true
	n.Set = [][2]string{{"cmi.core.exit", "suspend"}, {"cmi.core.session_time", span(s.now().Sub(s.began))}}
	return n
}

// span writes a time as CMITimespan does: HHHH:MM:SS.SS.
func span(d time.Duration) string {
	c := min(max(d.Milliseconds()/10, 0), 9999*360000)
	return fmt.Sprintf("%04d:%02d:%02d.%02d", c/360000, c/6000%60, c/100%60, c%100)
}
