// Package xapi has the statements that tell a record store what came of a lesson (xAPI
// 1.0.3, which IEEE 9274.1.1 takes over): their shape, and those of a finished result.
package xapi

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"math"
	"net/url"
	"slices"
	"strings"
	"time"

	"gainwright/lessons/markup"
	"gainwright/lessons/model"
	"gainwright/lessons/names"
	"gainwright/lessons/run"
	"gainwright/sim/meter"
)

// Duration writes seconds as ISO 8601: PT4M10S.
func Duration(seconds float64) string {
	d := time.Duration(math.Round(max(seconds, 0)*100) * float64(10*time.Millisecond))
	h, m := int(d.Hours()), int(d.Minutes())%60
	s := (d % time.Minute).Seconds()
	out := "PT"
	if h > 0 {
		out += fmt.Sprintf("%dH", h)
	}
	if m > 0 {
		out += fmt.Sprintf("%dM", m)
	}
	if s > 0 || out == "PT" {
		out += strings.TrimSuffix(strings.TrimRight(fmt.Sprintf("%.2f", s), "0"), ".") + "S"
	}
	return out
}

// Version is what a request to a record store names in its header
// X-Experience-API-Version.
const Version = "1.0.3"

// HomePage names the naming system of accounts and activities unless another is
// given; nothing is there.
const HomePage = "https://example.org/gainwright"

// ReadHomePage checks the home page of a naming system of accounts, an IRI as xAPI
// wants it (an absolute address on the web), and gives it without a last slash.
func ReadHomePage(s string) (string, error) {
	u, err := url.Parse(s)
	switch {
	case err != nil || strings.ContainsFunc(s, func(r rune) bool { return r <= ' ' || r == 0x7f || strings.ContainsRune("<>\"{}|\\^`", r) }):
		return "", errors.New("is no address (an IRI)")
	case u.Scheme != "https" && u.Scheme != "http" || u.Host == "":
		return "", errors.New("want an address on the web, as in https://school.example")
	case u.User != nil || u.RawQuery != "" || u.Fragment != "" || u.ForceQuery:
		return "", errors.New("want an address alone, without a login, ? or #")
	}
	return strings.TrimRight(s, "/"), nil
}

// A Statement is one xAPI statement: who did what with what result.
type Statement struct {
	ID        string   `json:"id"`
	Actor     Actor    `json:"actor"`
	Verb      Verb     `json:"verb"`
	Object    Object   `json:"object"`
	Result    *Result  `json:"result,omitempty"`
	Context   *Context `json:"context,omitempty"`
	Timestamp string   `json:"timestamp"`
}

// An Actor is who did it: an account.
type Actor struct {
	ObjectType string  `json:"objectType"`
	Name       string  `json:"name,omitempty"`
	Account    Account `json:"account"`
}

// An Account is a name in the system that HomePage tells.
type Account struct {
	HomePage string `json:"homePage"`
	Name     string `json:"name"`
}

// Words are a text by language.
type Words map[string]string

// A Verb is what was done; NewVerb makes one.
type Verb struct {
	ID      string `json:"id"`
	Display Words  `json:"display"`
}

// An Object is what it was done to: an activity.
type Object struct {
	ObjectType string      `json:"objectType,omitempty"`
	ID         string      `json:"id"`
	Definition *Definition `json:"definition,omitempty"`
}

// A Definition tells what an activity is.
type Definition struct {
	Type            string      `json:"type"`
	Name            Words       `json:"name"`
	Description     Words       `json:"description,omitempty"`
	InteractionType string      `json:"interactionType,omitempty"`
	Correct         []string    `json:"correctResponsesPattern,omitempty"`
	Choices         []Component `json:"choices,omitempty"`
}

// A Component is one of the answers to choose from.
type Component struct {
	ID          string `json:"id"`
	Description Words  `json:"description"`
}

// A Result is what came of it.
type Result struct {
	Score      *Score  `json:"score,omitempty"`
	Success    *bool   `json:"success,omitempty"`
	Completion *bool   `json:"completion,omitempty"`
	Response   *string `json:"response,omitempty"`
	Duration   string  `json:"duration,omitempty"`
	// Extensions are by their IRIs.
	Extensions map[string]any `json:"extensions,omitempty"`
}

// A Score has what is known of it: the share from 0 to 1, and points.
type Score struct {
	Scaled *float64 `json:"scaled,omitempty"`
	Raw    *float64 `json:"raw,omitempty"`
	Min    *float64 `json:"min,omitempty"`
	Max    *float64 `json:"max,omitempty"`
}

// A Context is what it belongs to. Template is a context that somebody else asks for:
// what it says stands, and the rest is added.
type Context struct {
	Registration string                     `json:"registration,omitempty"`
	Platform     string                     `json:"platform,omitempty"`
	Language     string                     `json:"language,omitempty"`
	Activities   *Activities                `json:"contextActivities,omitempty"`
	Extensions   map[string]json.RawMessage `json:"extensions,omitempty"`

	Template json.RawMessage `json:"-"`
}

// Activities are those around the one that a statement is about.
type Activities struct {
	Parent   []Object `json:"parent,omitempty"`
	Grouping []Object `json:"grouping,omitempty"`
	Category []Object `json:"category,omitempty"`
}

// MarshalJSON writes the context laid over its template.
func (c *Context) MarshalJSON() ([]byte, error) {
	type plain Context
	own, err := json.Marshal((*plain)(c))
	if err != nil || len(c.Template) == 0 {
		return own, err
	}
	var under, over map[string]json.RawMessage
	if err := json.Unmarshal(c.Template, &under); err != nil {
		return nil, fmt.Errorf("the context template: %w", err)
	}
	if err := json.Unmarshal(own, &over); err != nil {
		return nil, err
	}
	out := map[string]json.RawMessage{}
	maps.Copy(out, over)
	maps.Copy(out, under)
	for _, key := range []string{"contextActivities", "extensions"} {
		if under[key] == nil || over[key] == nil {
			continue
		}
		if out[key], err = joined(under[key], over[key]); err != nil {
			return nil, fmt.Errorf("the context template's %s: %w", key, err)
		}
	}
	return json.Marshal(out)
}

// joined has what both objects have: lists one after the other, of anything else what
// under says.
func joined(under, over json.RawMessage) (json.RawMessage, error) {
	var a, b map[string]json.RawMessage
	if err := json.Unmarshal(under, &a); err != nil {
		return nil, err
	}
	if err := json.Unmarshal(over, &b); err != nil {
		return nil, err
	}
	if a == nil {
		a = map[string]json.RawMessage{}
	}
	for k, more := range b {
		var list, also []json.RawMessage
		switch {
		case a[k] == nil:
			a[k] = more
		case json.Unmarshal(more, &also) != nil: // no list: what stands there stands
		default:
			if json.Unmarshal(a[k], &list) != nil { // one by itself, as xAPI 1.0 allows
				list = []json.RawMessage{a[k]}
			}
			a[k], _ = json.Marshal(append(list, also...))
		}
	}
	return json.Marshal(a)
}

// NewVerb is one of the verbs that the specification's authors keep.
func NewVerb(word string) Verb {
	return Verb{"http://adlnet.gov/expapi/verbs/" + word, Words{"en": word}}
}

// nameUUID makes a UUID of a name (version 8 of RFC 9562, SHA-256), so that the
// same result always gives the same statements and a record store keeps one.
func nameUUID(parts ...string) string {
	s := sha256.Sum256([]byte(strings.Join(parts, "\x00")))
	b := s[:16]
	b[6], b[8] = b[6]&0x0f|0x80, b[8]&0x3f|0x80
	h := hex.EncodeToString(b)
	return h[:8] + "-" + h[8:12] + "-" + h[12:16] + "-" + h[16:20] + "-" + h[20:]
}

// Statements tells a result as xAPI statements: the attempt, every answer and
// task, and passed or failed. The actor is an account with the result's student
// name, a random one unless the student gave another. l adds the questions' texts
// and right answers; it may be nil.
func Statements(res *run.Result, l *model.Lesson) []Statement {
	return StatementsAt(HomePage, res, l)
}

// StatementsAt is Statements with the home page of a naming system of one's own, as
// ReadHomePage gives it.
func StatementsAt(home string, res *run.Result, l *model.Lesson) []Statement {
	actor := Actor{ObjectType: "Agent", Account: Account{home, res.Student}}
	reg := res.Attempt
	if !isUUID(reg) {
		reg = nameUUID("attempt", res.Attempt)
	}
	lesson := Activity(LessonID(home, res.Lesson.ID), res.Lesson.Title)
	at := func(seconds float64) string {
		return Timestamp(res.Started.Add(time.Duration(seconds * float64(time.Second))))
	}
	ctx := func(parent bool) *Context {
		c := &Context{Registration: reg, Platform: Platform}
		if parent {
			c.Activities = &Activities{Parent: []Object{{"Activity", lesson.ID, nil}}}
		}
		return c
	}
	id := func(what string) string {
		if home != HomePage {
			what += "\x00" + home // another statement, by a name of its own
		}
		return nameUUID(res.Attempt, res.Signature.Value, what)
	}
	out := []Statement{{ID: id("attempted"), Actor: actor, Verb: NewVerb("attempted"), Object: lesson, Context: ctx(false), Timestamp: at(0)}}
	seconds := 0.0
	for i := range res.Steps {
		sp := &res.Steps[i]
		seconds += sp.Seconds
		step, r, ok := Answered(home, sp, l, lesson.ID)
		if !ok {
			continue
		}
		out = append(out, Statement{
			ID: id("step " + sp.ID), Actor: actor, Verb: NewVerb("answered"), Object: step,
			Result: r, Context: ctx(true), Timestamp: at(seconds),
		})
	}
	word := "failed"
	if res.Passed {
		word = "passed"
	}
	end := &Result{Success: new(res.Passed), Completion: new(true), Duration: Duration(seconds)}
	if res.Of > 0 {
		end.Score = &Score{Scaled: new(Scaled(res)), Raw: new(res.Points), Min: new(0.0), Max: new(res.Of)}
	}
	return append(out, Statement{ID: id(word), Actor: actor, Verb: NewVerb(word), Object: lesson, Result: end, Context: ctx(false), Timestamp: at(seconds)})
}

// Platform is what a context names as the program.
const Platform = "Gainwright"

// Timestamp writes a time as statements have it.
func Timestamp(t time.Time) string { return t.UTC().Format(time.RFC3339Nano) }

// LessonID names a lesson in the naming system that home tells.
func LessonID(home, id string) string { return home + "/lesson/" + url.PathEscape(id) }

// Activity is a lesson as the object of a statement.
func Activity(id, title string) Object {
	return Object{"Activity", id, &Definition{Type: "http://adlnet.gov/expapi/activities/lesson", Name: Words{"en": title}}}
}

// Scaled is a result's share of the points, 0 to 1, to four places.
func Scaled(res *run.Result) float64 { return names.Round(min(1, max(0, res.Points/res.Of)), 4) }

// Answered tells of a step that asked or had something done: what it was, and with what
// result. of is the lesson's activity, below which the step's is; home names the
// extensions.
func Answered(home string, sp *run.StepProgress, l *model.Lesson, of string) (step Object, r *Result, ok bool) {
	if len(sp.Answers) == 0 && sp.Kind != model.Do {
		return Object{}, nil, false
	}
	var st *model.Step
	if l != nil {
		st = l.Step(sp.ID)
	}
	def := &Definition{Type: "http://adlnet.gov/expapi/activities/cmi.interaction", Name: Words{"en": sp.ID}}
	response := strings.Join(sp.Answers, "[,]")
	question := sp.Kind == model.Ask || sp.Kind == model.Listen && (sp.Verdict == run.Right || sp.Verdict == run.Wrong)
	if question && len(sp.Answers) > 0 {
		response = sp.Answers[len(sp.Answers)-1]
	}
	describe(def, st, sp, &response)
	r = &Result{Response: &response, Duration: Duration(sp.Seconds)}
	if sp.Verdict == run.Right || sp.Verdict == run.Wrong || sp.Verdict == run.Skipped {
		r.Success = new(sp.Verdict == run.Right)
	}
	if !question && (sp.Kind == model.Listen || sp.Kind == model.Mend) {
		r.blind(home, sp)
	}
	return Object{"Activity", of + "/" + url.PathEscape(sp.ID), def}, r, true
}

// blind tells how many blind trials were right. It is a score, of which xAPI has a
// field; what guessing gives is an extension.
func (r *Result) blind(home string, sp *run.StepProgress) {
	n := len(sp.Answers)
	hits := min(max(sp.Hits, 0), n)
	r.Score = &Score{Scaled: new(names.Round(float64(hits)/float64(n), 4)), Raw: new(float64(hits)), Min: new(0.0), Max: new(float64(n))}
	r.Extensions = map[string]any{
		home + "/result/blind-hits":     hits,
		home + "/result/blind-trials":   n,
		home + "/result/blind-guessing": names.Round(meter.BinomialP(hits, n), 4),
	}
}

// describe fills in what kind of interaction a step was.
func describe(def *Definition, st *model.Step, sp *run.StepProgress, response *string) {
	if st != nil {
		def.Description = Words{"en": markup.Words(st.Text.Blank(nil))}
	}
	// A result of another text may answer a step that asks nothing here.
	if st != nil && st.Question == nil {
		st = nil
	}
	switch {
	case sp.Kind == model.Do:
		def.InteractionType = "performance"
		*response = settingsMade(sp)
	case sp.Kind == model.Explain:
		def.InteractionType = "long-fill-in"
	case st != nil:
		describeQuestion(def, st.Question, sp)
	default:
		def.InteractionType = "other"
	}
}

// settingsMade writes a take's settings as the steps of a performance.
func settingsMade(sp *run.StepProgress) string {
	var parts []string
	if sp.Take != nil {
		for _, k := range slices.Sorted(maps.Keys(sp.Take.Settings)) {
			parts = append(parts, k+"[.]"+names.ValueText(sp.Take.Settings[k]))
		}
	}
	return strings.Join(parts, "[,]")
}

// describeQuestion fills in how a question is answered and what is right.
func describeQuestion(def *Definition, q *model.Question, sp *run.StepProgress) {
	switch {
	case q.Choices != nil:
		def.InteractionType = "choice"
		for i, c := range q.Choices {
			def.Choices = append(def.Choices, Component{model.Letter(i), Words{"en": c.Text}})
			if c.Right {
				def.Correct = append(def.Correct, model.Letter(i))
			}
		}
	case q.Number != nil:
		def.InteractionType = "numeric"
		if v, _, ok := names.ReadNumber(sp.Truth); ok {
			t := q.Number.Tolerance
			def.Correct = []string{names.ValueText(names.Round(v-t, 3)) + "[:]" + names.ValueText(names.Round(v+t, 3))}
		}
	case q.IsText:
		def.InteractionType = "fill-in"
		for _, a := range q.Accept {
			def.Correct = append(def.Correct, "{case_matters=false}"+a)
		}
	default:
		def.InteractionType = "other"
	}
}

func isUUID(s string) bool {
	if len(s) != 36 {
		return false
	}
	for i, r := range s {
		if i == 8 || i == 13 || i == 18 || i == 23 {
			if r != '-' {
				return false
			}
		} else if !strings.ContainsRune("0123456789abcdef", r) {
			return false
		}
	}
	return true
}

// File writes statements one a line.
func File(all []Statement) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	for i := range all {
		if err := e.Encode(&all[i]); err != nil {
			return nil, err
		}
	}
	return b.Bytes(), nil
}
