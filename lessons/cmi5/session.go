package cmi5

import (
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"time"

	"gainwright/lessons/model"
	"gainwright/lessons/run"
	"gainwright/lessons/xapi"
)

// A Launch is what a learning system says when it opens the lesson: in the address
// (section 8.1) and in the document LMS.LaunchData (section 10.2).
type Launch struct {
	Actor        xapi.Actor
	Registration string
	ActivityID   string
	Data         LaunchData
}

// LaunchData is the document LMS.LaunchData.
type LaunchData struct {
	ContextTemplate json.RawMessage `json:"contextTemplate"`
	LaunchMode      string          `json:"launchMode"`
	MasteryScore    json.Number     `json:"masteryScore"`
	MoveOn          string          `json:"moveOn"`
	ReturnURL       string          `json:"returnURL"`
}

// The launch modes.
const (
	Normal = "Normal"
	Browse = "Browse" // to look around: nothing is recorded, and nothing kept
	Review = "Review" // to look again at what was done: nothing is recorded
)

// ReadLaunch checks what a learning system has said.
func ReadLaunch(actor, registration, activityID string, data []byte) (*Launch, error) {
	l := &Launch{Registration: registration, ActivityID: activityID}
	if err := json.Unmarshal([]byte(actor), &l.Actor); err != nil || l.Actor.Account.Name == "" || l.Actor.Account.HomePage == "" {
		return nil, errors.Join(errors.New("the learning system names nobody: the actor has no account"), err)
	}
	l.Actor.ObjectType = "Agent"
	if registration == "" || activityID == "" {
		return nil, errors.New("the learning system names no registration or no activity")
	}
	if err := json.Unmarshal(data, &l.Data); err != nil {
		return nil, fmt.Errorf("the learning system's launch data cannot be read: %w", err)
	}
	if len(l.Data.ContextTemplate) > 0 {
		var c map[string]json.RawMessage
		if err := json.Unmarshal(l.Data.ContextTemplate, &c); err != nil {
			return nil, fmt.Errorf("the learning system's context template cannot be read: %w", err)
		}
	}
	if l.Data.LaunchMode == "" {
		l.Data.LaunchMode = Normal
	}
	return l, nil
}

// state is the document in which a registration's progress is kept between visits.
type state struct {
	Progress  json.RawMessage `json:"progress,omitempty"`
	Completed bool            `json:"completed,omitempty"` // told, which is done once
	Passed    bool            `json:"passed,omitempty"`    // told, which is done once
	Told      string          `json:"told,omitempty"`      // the attempt whose outcome was told
}

// News is what is to be sent: first the statements, in their order, then the state.
type News struct {
	Statements []xapi.Statement `json:"statements,omitempty"`
	State      json.RawMessage  `json:"state,omitempty"`
}

// A Session is one visit to a lesson. It is told how the lesson stands and tells what is
// to be sent; it sends nothing itself.
type Session struct {
	l      *model.Lesson
	launch *Launch
	now    func() time.Time
	kept   state

	began, last time.Time       // of the first and the latest statement
	attempt     string          // of which steps are told
	steps       map[string]bool // that are told
	judged      bool            // passed or failed was said, which is done once a session
	ended       bool
}

// NewSession begins a visit; kept is the document that an earlier one has left, or nil.
func NewSession(l *model.Lesson, launch *Launch, kept []byte, now func() time.Time) *Session {
	s := &Session{l: l, launch: launch, now: now, steps: map[string]bool{}}
	if launch.Data.LaunchMode != Browse && json.Unmarshal(kept, &s.kept) != nil {
		s.kept = state{} // of no use
	}
	return s
}

// Saved is the progress to go on from, nil if there is none.
func (s *Session) Saved() []byte { return s.kept.Progress }

// Judged reports whether this visit has told that the lesson was passed or failed, of
// which a visit tells one at most (section 9.3).
func (s *Session) Judged() bool { return s.judged }

// Passed reports whether the record store has been told that the lesson was passed, which
// is said once a registration.
func (s *Session) Passed() bool { return s.kept.Passed }

// Stands takes how the lesson stands now, which is first done when it is shown; res is
// nil until it is finished.
func (s *Session) Stands(p run.Progress, saved []byte, res *run.Result) (n News) {
	if s.ended {
		return n
	}
	normal := s.launch.Data.LaunchMode == Normal
	first := s.began.IsZero()
	if first {
		n.Statements = append(n.Statements, s.defined("initialized", nil))
		s.began = s.last
	}
	if !normal {
		return n
	}
	if s.attempt != p.Attempt {
		s.attempt = p.Attempt
		clear(s.steps)
	}
	for i := range p.Steps {
		sp := &p.Steps[i]
		// A prediction is open until the take that decides it.
		if i >= p.At || s.steps[sp.ID] || sp.Verdict == run.Open {
			continue
		}
		s.steps[sp.ID] = true
		if step, r, ok := xapi.Answered(xapi.HomePage, sp, s.l, s.launch.ActivityID); ok && !(first && len(s.kept.Progress) > 0) {
			n.Statements = append(n.Statements, s.allowed("answered", step, r))
		}
	}
	if res != nil && s.kept.Told != p.Attempt && !s.judged {
		n.Statements = append(n.Statements, s.outcome(res)...)
		s.kept.Told = p.Attempt
	}
	s.kept.Progress = saved
	n.State, _ = json.Marshal(s.kept)
	return n
}

// End ends the visit, once.
func (s *Session) End() (n News) {
	if s.ended || s.began.IsZero() {
		return n
	}
	s.ended = true
	n.Statements = []xapi.Statement{s.defined("terminated", &xapi.Result{Duration: xapi.Duration(s.now().Sub(s.began).Seconds())})}
	return n
}

// outcome tells what came of the lesson, as far as it was not told yet.
func (s *Session) outcome(res *run.Result) (out []xapi.Statement) {
	seconds := 0.0
	for i := range res.Steps {
		seconds += res.Steps[i].Seconds
	}
	took := xapi.Duration(seconds)
	if !s.kept.Completed {
		s.kept.Completed = true
		out = append(out, s.defined("completed", &xapi.Result{Completion: new(true), Duration: took}))
	}
	if !Judged(s.l) || s.kept.Passed {
		return out // nothing to judge; or judged for good
	}
	s.judged = true
	passed, score := s.judge(res)
	r := &xapi.Result{Success: new(passed), Score: score, Duration: took}
	if !passed {
		return append(out, s.defined("failed", r))
	}
	s.kept.Passed = true
	return append(out, s.defined("passed", r))
}

// judge holds a result against the learning system's mastery score, if it has set one,
// else against the lesson's own; what must be right must be so either way. Where the
// points would do and a task was missed the score is left out, since it must not speak
// against the verdict (section 9.5.1).
func (s *Session) judge(res *run.Result) (passed bool, score *xapi.Score) {
	if res.Of == 0 {
		return res.Passed, nil
	}
	scaled := places(min(1, max(0, res.Points/res.Of)))
	score = &xapi.Score{Scaled: &scaled}
	if isWhole(res.Points) && isWhole(res.Of) && res.Points >= 0 && res.Points <= res.Of {
		score.Raw, score.Min, score.Max = new(res.Points), new(0.0), new(res.Of)
	}
	mastery, err := s.launch.Data.MasteryScore.Float64()
	if err != nil {
		return res.Passed, score
	}
	enough, missed := scaled >= mastery-1e-9, false
	for i, st := range s.l.Steps {
		missed = missed || st.Must && res.Steps[i].Verdict != run.Right
	}
	if enough && missed {
		score = nil
	}
	return enough && !missed, score
}

// The activities and extensions of the specification (sections 9.6.2, 9.6.3).
const (
	categoryCmi5     = "https://w3id.org/xapi/cmi5/context/categories/cmi5"
	categoryMoveOn   = "https://w3id.org/xapi/cmi5/context/categories/moveon"
	extensionMastery = "https://w3id.org/xapi/cmi5/context/extensions/masteryscore"
)

// defined is a statement that the specification defines.
func (s *Session) defined(verb string, r *xapi.Result) xapi.Statement {
	st := s.allowed(verb, xapi.Object{ObjectType: "Activity", ID: s.launch.ActivityID}, r)
	c := st.Context
	c.Activities = &xapi.Activities{Category: []xapi.Object{{ObjectType: "Activity", ID: categoryCmi5}}}
	if r != nil && (r.Success != nil || r.Completion != nil) {
		c.Activities.Category = append(c.Activities.Category, xapi.Object{ObjectType: "Activity", ID: categoryMoveOn})
	}
	if m := s.launch.Data.MasteryScore; m != "" && r != nil && r.Success != nil {
		c.Extensions = map[string]json.RawMessage{extensionMastery: json.RawMessage(m)}
	}
	return st
}

// allowed is any statement.
func (s *Session) allowed(verb string, o xapi.Object, r *xapi.Result) xapi.Statement {
	// What came first bears the earlier time.
	at := s.now().Truncate(time.Millisecond)
	if !at.After(s.last) {
		at = s.last.Add(time.Millisecond)
	}
	s.last = at
	c := &xapi.Context{Registration: s.launch.Registration, Platform: xapi.Platform, Template: s.launch.Data.ContextTemplate}
	if o.ID != s.launch.ActivityID {
		c.Activities = &xapi.Activities{Parent: []xapi.Object{{ObjectType: "Activity", ID: s.launch.ActivityID}}}
	}
	return xapi.Statement{ID: newUUID(), Actor: s.launch.Actor, Verb: xapi.NewVerb(verb), Object: o, Result: r, Context: c, Timestamp: xapi.Timestamp(at)}
}

func newUUID() string {
	b := make([]byte, 16)
	rand.Read(b) // never fails
	b[6], b[8] = b[6]&0x0f|0x40, b[8]&0x3f|0x80
	return fmt.Sprintf("%x-%x-%x-%x-%x", b[:4], b[4:6], b[6:8], b[8:10], b[10:])
}

// places cuts to the four places that scores have, which never makes a score pass.
func places(x float64) float64 { return math.Floor(x*1e4+1e-6) / 1e4 }

func isWhole(x float64) bool { return x == math.Trunc(x) }
