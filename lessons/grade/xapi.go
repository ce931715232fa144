package grade

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

// isoDuration writes seconds as ISO 8601: PT4M10S.
func isoDuration(seconds float64) string {
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

// XAPIVersion is what a request to a record store names in its header
// X-Experience-API-Version: xAPI 1.0.3, whose statements IEEE 9274.1.1 takes over.
const XAPIVersion = "1.0.3"

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
	ID        string    `json:"id"`
	Actor     xActor    `json:"actor"`
	Verb      xVerb     `json:"verb"`
	Object    xObject   `json:"object"`
	Result    *xResult  `json:"result,omitempty"`
	Context   *xContext `json:"context,omitempty"`
	Timestamp string    `json:"timestamp"`
}

type xActor struct {
	ObjectType string   `json:"objectType"`
	Account    xAccount `json:"account"`
}

type xAccount struct {
	HomePage string `json:"homePage"`
	Name     string `json:"name"`
}

type words map[string]string // by language

type xVerb struct {
	ID      string `json:"id"`
	Display words  `json:"display"`
}

type xObject struct {
	ObjectType string       `json:"objectType"`
	ID         string       `json:"id"`
	Definition *xDefinition `json:"definition,omitempty"`
}

type xDefinition struct {
	Type            string       `json:"type"`
	Name            words        `json:"name"`
	Description     words        `json:"description,omitempty"`
	InteractionType string       `json:"interactionType,omitempty"`
	Correct         []string     `json:"correctResponsesPattern,omitempty"`
	Choices         []xComponent `json:"choices,omitempty"`
}

type xComponent struct {
	ID          string `json:"id"`
	Description words  `json:"description"`
}

type xResult struct {
	Score      *xScore `json:"score,omitempty"`
	Success    *bool   `json:"success,omitempty"`
	Completion *bool   `json:"completion,omitempty"`
	Response   *string `json:"response,omitempty"`
	Duration   string  `json:"duration,omitempty"`
	// Extensions are by their IRIs.
	Extensions map[string]any `json:"extensions,omitempty"`
}

type xScore struct {
	Scaled float64 `json:"scaled"`
	Raw    float64 `json:"raw"`
	Min    float64 `json:"min"`
	Max    float64 `json:"max"`
}

type xContext struct {
	Registration string              `json:"registration,omitempty"`
	Platform     string              `json:"platform,omitempty"`
	Parents      *xContextActivities `json:"contextActivities,omitempty"`
}

type xContextActivities struct {
	Parent []xObject `json:"parent,omitempty"`
}

var verbs = map[string]string{
	"attempted": "http://adlnet.gov/expapi/verbs/attempted",
	"answered":  "http://adlnet.gov/expapi/verbs/answered",
	"passed":    "http://adlnet.gov/expapi/verbs/passed",
	"failed":    "http://adlnet.gov/expapi/verbs/failed",
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
	actor := xActor{"Agent", xAccount{home, res.Student}}
	reg := res.Attempt
	if !isUUID(reg) {
		reg = nameUUID("attempt", res.Attempt)
	}
	lesson := xObject{"Activity", home + "/lesson/" + url.PathEscape(res.Lesson.ID), &xDefinition{
		Type: "http://adlnet.gov/expapi/activities/lesson", Name: words{"en": res.Lesson.Title},
	}}
	at := func(seconds float64) string {
		return res.Started.Add(time.Duration(seconds * float64(time.Second))).UTC().Format(time.RFC3339Nano)
	}
	verb := func(w string) xVerb { return xVerb{verbs[w], words{"en": w}} }
	ctx := func(parent bool) *xContext {
		c := &xContext{Registration: reg, Platform: "Gainwright"}
		if parent {
			c.Parents = &xContextActivities{Parent: []xObject{{"Activity", lesson.ID, nil}}}
		}
		return c
	}
	id := func(what string) string {
		if home != HomePage {
			what += "\x00" + home // another statement, by a name of its own
		}
		return nameUUID(res.Attempt, res.Signature.Value, what)
	}
	out := []Statement{{ID: id("attempted"), Actor: actor, Verb: verb("attempted"), Object: lesson, Context: ctx(false), Timestamp: at(0)}}
	seconds := 0.0
	for i := range res.Steps {
		sp := &res.Steps[i]
		seconds += sp.Seconds
		if len(sp.Answers) == 0 && sp.Kind != model.Do {
			continue
		}
		var st *model.Step
		if l != nil {
			st = l.Step(sp.ID)
		}
		def := &xDefinition{Type: "http://adlnet.gov/expapi/activities/cmi.interaction", Name: words{"en": sp.ID}}
		response := strings.Join(sp.Answers, "[,]")
		if sp.Kind == model.Ask && len(sp.Answers) > 0 {
			response = sp.Answers[len(sp.Answers)-1]
		}
		describe(def, st, sp, &response)
		r := &xResult{Response: &response, Duration: isoDuration(sp.Seconds)}
		if sp.Verdict == run.Right || sp.Verdict == run.Wrong || sp.Verdict == run.Skipped {
			ok := sp.Verdict == run.Right
			r.Success = &ok
		}
		if sp.Kind == model.Listen {
			r.blind(home, sp)
		}
		out = append(out, Statement{
			ID: id("step " + sp.ID), Actor: actor, Verb: verb("answered"),
			Object: xObject{"Activity", lesson.ID + "/" + url.PathEscape(sp.ID), def},
			Result: r, Context: ctx(true), Timestamp: at(seconds),
		})
	}
	word := "failed"
	if res.Passed {
		word = "passed"
	}
	yes, okay := true, res.Passed
	end := &xResult{Success: &okay, Completion: &yes, Duration: isoDuration(seconds)}
	if res.Of > 0 {
		end.Score = &xScore{Scaled: names.Round(min(1, max(0, res.Points/res.Of)), 4), Raw: res.Points, Min: 0, Max: res.Of}
	}
	return append(out, Statement{ID: id(word), Actor: actor, Verb: verb(word), Object: lesson, Result: end, Context: ctx(false), Timestamp: at(seconds)})
}

// blind tells how many blind trials were right. It is a score, of which xAPI has a
// field; what guessing gives is an extension.
func (r *xResult) blind(home string, sp *run.StepProgress) {
	n := len(sp.Answers)
	hits := min(max(sp.Hits, 0), n)
	r.Score = &xScore{Scaled: names.Round(float64(hits)/float64(n), 4), Raw: float64(hits), Min: 0, Max: float64(n)}
	r.Extensions = map[string]any{
		home + "/result/blind-hits":     hits,
		home + "/result/blind-trials":   n,
		home + "/result/blind-guessing": names.Round(meter.BinomialP(hits, n), 4),
	}
}

// describe fills in what kind of interaction a step was.
func describe(def *xDefinition, st *model.Step, sp *run.StepProgress, response *string) {
	if st != nil {
		def.Description = words{"en": markup.Words(st.Text.Blank(nil))}
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
	case sp.Kind == model.Listen:
		def.InteractionType = "other"
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
func describeQuestion(def *xDefinition, q *model.Question, sp *run.StepProgress) {
	switch {
	case q.Choices != nil:
		def.InteractionType = "choice"
		for i, c := range q.Choices {
			def.Choices = append(def.Choices, xComponent{model.Letter(i), words{"en": c.Text}})
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

// StatementsFile writes statements one a line.
func StatementsFile(all []Statement) ([]byte, error) {
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
