package run

import (
	"fmt"
	"slices"
	"strings"
	"unicode"

	"gainwright/lessons/markup"
	"gainwright/lessons/model"
	"gainwright/lessons/names"
	"gainwright/lessons/rules"
	"gainwright/lessons/take"
)

// Missed tells why a task is not met, or "": every part of its rule that does not
// hold, with what was measured.
func (v *View) Missed() string {
	if v.Step == nil || v.Step.Kind != model.Do || v.Met {
		return ""
	}
	if v.Take == nil {
		return "nothing was recorded"
	}
	var out []string
	for _, c := range v.Checks {
		if !c.OK {
			out = append(out, fmt.Sprintf("%s (wanted: %s)", c.Got, c.Text))
		}
	}
	return strings.Join(out, "; ")
}

// A View is everything to show of the present step.
type View struct {
	Number, Of int // of the step, counted from 1
	State      State
	Step       *model.Step // nil when finished
	Text       string      // Markdown, values filled in
	Choices    []string
	Controls   []model.Control
	Take       map[string]names.Measured // of the last take, by strip; nil if there is none
	Checks     []rules.Check             // how the last take stands to the rule
	Met        bool
	TakesLeft  int  // −1: any number
	Owed       bool // every take was given up; the one left is the last of them, as it was set
	Feedback   []string
	// Predictions are those of a reveal step, and those that the step just left has decided.
	Predictions []Outcome
	Cautions    []string
	Blocked     string // why Next is refused
	Asked       bool   // an answer is waited for, Runner.Asked
}

// An Outcome is a prediction held against what came.
type Outcome struct {
	ID, Asked, Answer, Truth string // plain text
	Because                  string // Markdown
	Verdict                  Verdict
	Step                     int // its place in the lesson, counted from 0
}

// View returns what to show now.
func (r *Runner) View() View {
	v := View{Number: r.p.At + 1, Of: len(r.l.Steps), State: r.State(), Blocked: r.Blocked(), TakesLeft: -1, Asked: r.Asked()}
	s := r.step()
	if s == nil {
		v.Number = v.Of
		return v
	}
	sp := r.here()
	v.Step = s
	v.Text = s.Text.Fill(r.values(r.p.At - 1))
	if s.Question != nil {
		for _, c := range s.Question.Choices {
			v.Choices = append(v.Choices, names.InWords(c.Text))
		}
	}
	v.Controls = append(v.Controls, s.Controls...)
	v.Checks, v.Feedback, v.Met = r.checks, r.said, sp.Verdict == Right
	if r.heardBlind(r.p.At) {
		v.Feedback = []string{blindResult(sp.Hits, s.Trials)}
	}
	if sp.Mended != nil {
		v.Feedback = append(slices.Clone(v.Feedback), workedWords(s, sp)...)
	}
	if sp.Take != nil {
		v.Take = sp.Take.Readings
	}
	if s.Attempts > 0 {
		v.TakesLeft = max(0, s.Attempts-sp.Takes-len(sp.Dropped))
		if v.Owed = r.owed(s); v.Owed {
			v.TakesLeft = 1
		}
	}
	for _, id := range s.Of {
		v.Predictions = append(v.Predictions, r.outcome(r.index(id)))
	}
	for _, o := range r.Resolved() {
		if !slices.Contains(s.Of, o.ID) {
			v.Predictions = append(v.Predictions, o)
		}
	}
	if s.Hears() {
		v.Cautions = r.cautions(s)
	}
	return v
}

// workedWords tell what a step has worked out.
func workedWords(s *model.Step, sp *StepProgress) []string {
	if s.Kind == model.Mend {
		return []string{mendedWords(s, sp)}
	}
	m := sp.Mended[s.From]
	out := []string{"| | " + markup.Escape(s.From) + " |", "|---|---|"}
	for _, k := range model.FiguresOf(s.Kind) {
		n, _ := names.Figure(k)
		out = append(out, "| "+n.Label+" | "+names.Show(k, float64(m[k]))+" |")
	}
	told := []string{strings.Join(out, "\n")}
	switch {
	case s.Kind == model.Plan && m["low_gain_db"] > m["high_gain_db"]:
		told = append(told, "No gain is both quiet and safe enough: the one advised is safe, and noisier than wanted.")
	case s.Kind == model.Twin && m["free_percent"] == 0:
		told = append(told, "There is no twin: no sample was lost at the converter, or a limiter or rail before it heard them all, so the file leaves nothing free.")
	case s.Kind == model.Twin && m["differing_samples"] != 0:
		told = append(told, "No twin was found: the second performance leaves another file.")
	}
	return told
}

// mendedWords tell what was measured of every way, as a table in Markdown.
func mendedWords(s *model.Step, sp *StepProgress) string {
	head, rule := "| |", "|---|"
	for _, k := range rules.MendedReadings {
		n, _ := names.Reading(k)
		head, rule = head+" "+n.Label+" |", rule+"---|"
	}
	out := []string{head, rule}
	for _, w := range s.WayNames() {
		row := "| " + markup.Escape(w) + " |"
		for _, k := range rules.MendedReadings {
			row += " " + names.Show(k, float64(sp.Mended[w][k])) + " |"
		}
		out = append(out, row)
	}
	return strings.Join(out, "\n")
}

func (r *Runner) outcome(i int) Outcome {
	s, sp := r.l.Steps[i], &r.p.Steps[i]
	o := Outcome{ID: s.ID, Asked: markup.Words(s.Text.Fill(r.values(i - 1))), Truth: names.InWords(sp.Truth), Verdict: sp.Verdict, Step: i}
	if len(sp.Answers) == 0 {
		return o
	}
	a := sp.Answers[len(sp.Answers)-1]
	o.Answer = names.InWords(s.Question.Say(a))
	if at, v := r.decided(i); at >= 0 {
		o.Because = strings.Join(s.Question.Why(a, v), "\n\n")
	}
	return o
}

// Outcomes lists all predictions made so far.
func (r *Runner) Outcomes() []Outcome {
	var out []Outcome
	for i, s := range r.l.Steps {
		if s.Kind == model.Predict && len(r.p.Steps[i].Answers) > 0 {
			out = append(out, r.outcome(i))
		}
	}
	return out
}

// Blind tells what came of the blind trials of step i, or "".
func (r *Runner) Blind(i int) string {
	if !r.heardBlind(i) {
		return ""
	}
	return blindResult(r.p.Steps[i].Hits, r.l.Steps[i].Trials)
}

func (r *Runner) cautions(s *model.Step) []string {
	var out []string
	if !slices.ContainsFunc(r.l.Steps[:r.p.At], func(x *model.Step) bool { return x.Hears() }) {
		out = append(out, take.EarCaution)
	}
	if id := r.lastTake(); id != "" {
		m := r.takeOf(id).Readings
		for _, n := range s.Strips {
			if s.Way(n) != nil || n == model.Other {
				continue // told beside its sound
			}
			if c := take.Caution(n, m[n]); c != "" {
				out = append(out, c)
			}
		}
	}
	return out
}

// fewReadings are shown of every take.
var fewReadings = []string{"gain_db", "talk_peak_dbfs", "headroom_db", "overs", "loudness_lufs"}

// Few lists the readings that matter at the present step, of those that Readings
// has and in its order: the few of every take, those that the step's text, rule and
// hints name, and those that the steps up to the next take, or about this one, ask
// about.
func (r *Runner) Few() []names.Name {
	s := r.step()
	if s == nil {
		return nil
	}
	named := mentioned{}
	for _, k := range fewReadings {
		named[k] = true
	}
	named.rules(s, "")
	named.text(s.Text)
	for _, h := range s.Hints {
		named.text(h.Text)
	}
	after := false // the next take
	for _, x := range r.l.Steps[r.p.At+1:] {
		after = after || x.IsTake()
		if after {
			named.rules(x, s.ID)
			continue
		}
		named.rules(x, "")
		if x.Asks() {
			named.text(x.Text)
		}
	}
	for i := range r.p.At {
		if x := r.l.Steps[i]; x.Kind == model.Predict && r.p.Steps[i].Verdict == Open {
			named.rules(x, "")
		}
	}
	var out []names.Name
	for _, n := range names.Readings() {
		if named[n.Key] {
			out = append(out, n)
		}
	}
	return out
}

// mentioned gathers the readings that steps speak of, by their last part: of
// "A.headroom_db" it is headroom_db.
type mentioned map[string]bool

// rules adds the names in a step's rules: all, or those of one take.
func (m mentioned) rules(s *model.Step, take string) {
	for _, n := range s.Names() {
		if take == "" || strings.HasPrefix(n, take+".") {
			m[n[strings.LastIndexByte(n, '.')+1:]] = true
		}
	}
}

// text adds every word of a text, which may speak of **headroom_db**.
func (m mentioned) text(t *rules.Text) {
	for _, w := range strings.FieldsFunc(t.Raw(), func(c rune) bool { return c != '_' && !unicode.IsLetter(c) && !unicode.IsDigit(c) }) {
		m[w] = true
	}
}

// Resolved lists the predictions whose outcome the step just left has shown.
func (r *Runner) Resolved() []Outcome {
	var out []Outcome
	for i := range max(r.p.At-1, 0) {
		if v := r.p.Steps[i].Verdict; r.l.Steps[i].Kind != model.Predict || v != Right && v != Wrong {
			continue
		}
		if at, _ := r.decided(i); at == r.p.At-1 {
			out = append(out, r.outcome(i))
		}
	}
	return out
}
