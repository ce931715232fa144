//go:build !js

package handout

import (
	"fmt"
	"html/template"
	"strconv"
	"strings"

	"gainwright/lessons/glossary"
	"gainwright/lessons/markup"
	"gainwright/lessons/model"
	"gainwright/lessons/names"
	"gainwright/lessons/rules"
	"gainwright/lessons/take"
	"gainwright/sounds/scenario"
	"gainwright/sounds/scenario/plain"
)

// Options say what a handout holds; the zero value is the student's copy.
type Options struct {
	Answers bool    // the trainer's copy: right answers, rules and hints
	Seed    *uint64 // fills in what this student's seed draws; nil: gaps
	// Picture shows the bench as the lesson begins, an SVG element; "" for none.
	Picture template.HTML
	// Shown are the steps' pictures, by the step's place in the lesson, and
	// Played is what they are of, a phrase. The trainer's copy has them in their steps, the
	// student's on pages of their own, behind what is to be predicted first.
	Shown  map[int]Picture
	Played string
	// Link is where the lesson can be taken, an address on the web; "": not said.
	Link string
	// File is what "lesson run" is given to find the lesson, quoted for a shell; "": its id.
	File string
	// Code is Link as a picture that a phone reads, an SVG element; "" for none.
	Code template.HTML
}

// A Picture is an SVG element, with its title.
type Picture struct {
	SVG   template.HTML
	Title string
}

// Render renders the lesson as one HTML page that needs nothing else and prints
// well. Measured values are gaps to be filled in by hand, and so are drawn ones
// unless a seed is given.
func Render(l *model.Lesson, o Options) ([]byte, error) {
	data := document{Options: o, L: l, Answers: o.Answers, Minutes: names.Format(l.Minutes, ""), Of: names.Format(l.Of(), ""), Pass: fmt.Sprintf("%.0f", 100*l.Pass)}
	known := rules.Values{}
	if o.Seed != nil {
		if *o.Seed > scenario.MaxSeed {
			return nil, fmt.Errorf("seed %d is out of range: 0 to %d", *o.Seed, uint64(scenario.MaxSeed))
		}
		data.Seed = strconv.FormatUint(*o.Seed, 10)
		known = model.DrawnValues(l.Drawn(*o.Seed))
	}
	data.About = gaps(markup.HTML(l.About))
	for _, v := range l.Vary {
		data.Vary = append(data.Vary, drawnLine(v, known))
	}
	for i, s := range l.Steps {
		if s.Hears() {
			data.Ears = take.EarCaution
		}
		h := newStep(s, known, o.Answers)
		h.Number, h.Shown = i+1, o.Shown[i]
		data.Behind = data.Behind || h.Shown.SVG != "" && !o.Answers
		data.Steps = append(data.Steps, h)
	}
	data.Terms = terms(l, o.Answers)
	var b strings.Builder
	if err := page.Execute(&b, data); err != nil {
		return nil, err
	}
	return []byte(b.String()), nil
}

// document is what the page is filled with.
type document struct {
	Options
	L       *model.Lesson
	About   template.HTML
	Ears    string
	Answers bool
	Vary    []string
	Steps   []step
	Minutes string
	Of      string
	Pass    string
	Seed    string // written
	Terms   []glossary.Term
	Behind  bool // pictures stand on pages of their own
}

// terms are the words that what is printed links to.
func terms(l *model.Lesson, answers bool) []glossary.Term {
	all := l.About
	for _, s := range l.Steps {
		if s.Text != nil {
			all += "\n" + s.Text.Raw()
		}
		if answers && s.Question != nil && s.Question.Because != nil {
			all += "\n" + s.Question.Because.Raw()
		}
		if answers {
			for _, h := range s.Hints {
				all += "\n" + h.Text.Raw()
			}
		}
	}
	return glossary.Linked(all)
}

type step struct {
	Number             int
	ID, What, Points   string
	Text               template.HTML
	Choices            []row
	Gap                string // label of an answer line
	Lines              int    // of writing space
	Controls, Rule     string
	Hints              []template.HTML
	Answer, Note, Take string
	Because            template.HTML
	Shown              Picture
}

// row is one choice: its letter and its words.
type row struct{ Mark, Text string }

func newStep(s *model.Step, known rules.Values, answers bool) step {
	h := step{ID: s.ID, What: model.KindTitle(s.Kind), Text: render(s.Text, known)}
	if s.Points > 0 {
		h.Points = names.Format(s.Points, "") + map[bool]string{true: " point", false: " points"}[s.Points == 1]
	}
	if s.Must {
		h.Points = strings.TrimPrefix(h.Points+", must be met", ", ")
	}
	if s.Question != nil {
		h.question(s.Question, known, answers)
	}
	switch s.Kind {
	case model.Explain:
		h.Lines = 4
	case model.Do, model.Record:
		h.task(s, known, answers)
	case model.Listen, model.Mend, model.Twin:
		h.Note = listenNote(s)
	case model.Plan:
		h.Note = "The plan of an hour with this guest, for strip " + s.From
	}
	return h
}

func (h *step) question(q *model.Question, known rules.Values, answers bool) {
	for k, c := range q.Choices {
		h.Choices = append(h.Choices, row{model.Letter(k), c.Text})
	}
	if q.Number != nil {
		h.Gap = "Answer" + names.Gap(strings.TrimSpace(brackets(q.Number.Unit)))
	}
	if q.IsText {
		h.Gap = "Answer"
	}
	if answers {
		h.Answer, h.Because = rightAnswer(q), render(q.Because, known)
	}
}

func (h *step) task(s *model.Step, known rules.Values, answers bool) {
	var c []string
	for _, x := range s.Controls {
		c = append(c, x.Label)
	}
	h.Controls = strings.Join(c, ", ")
	if answers && s.Rule != nil {
		h.Rule = s.Rule.Text
		for _, x := range s.Hints {
			h.Hints = append(h.Hints, render(x.Text, known))
		}
	}
	h.Take = s.Take
	var notes []string
	if s.Attempts == 1 {
		notes = append(notes, "One take counts")
	} else if s.Attempts > 1 {
		notes = append(notes, fmt.Sprintf("At most %d takes", s.Attempts))
	}
	if s.Riding {
		notes = append(notes, "Settings may be changed while a take runs")
	}
	h.Note = strings.Join(notes, ". ")
}

func listenNote(s *model.Step) string {
	note := "Compare " + plain.Listed(s.Strips, "and")
	if s.Matched {
		note += ", at one loudness"
	}
	if s.Trials > 0 {
		note += fmt.Sprintf(", %d blind trials", s.Trials)
	}
	return note
}

// drawnLine lists what a quantity is drawn from, and what a seed drew.
func drawnLine(v model.Draw, known rules.Values) string {
	var w []string
	for _, x := range v.Values {
		w = append(w, names.ValueText(x))
	}
	if x, ok := known["drawn."+v.Key]; ok {
		return fmt.Sprintf("%s: %s %s (of %s)", v.Key, names.ValueText(x), v.Unit, strings.Join(w, ", "))
	}
	return strings.TrimSpace(fmt.Sprintf("%s: %s %s", v.Key, strings.Join(w, ", "), v.Unit))
}

// render sets a text with a gap where a value is not known yet.
func render(t *rules.Text, known rules.Values) template.HTML {
	if t == nil {
		return ""
	}
	return gaps(markup.HTML(t.Blank(known)))
}

// gaps draws the blanks of a page as lines to write on.
func gaps(page string) template.HTML {
	var b strings.Builder
	for page != "" {
		text, rest := page, ""
		if i := strings.IndexByte(page, '<'); i >= 0 {
			text, rest = page[:i], page[i:]
		}
		b.WriteString(markup.Gap.ReplaceAllString(text, `<span class="gap here" role="img" aria-label="a blank to fill in">&nbsp;</span>`))
		end := strings.IndexByte(rest, '>') + 1
		if end == 0 {
			end = len(rest)
		}
		b.WriteString(rest[:end])
		page = rest[end:]
	}
	return template.HTML(b.String())
}

func brackets(u string) string {
	if u == "" {
		return ""
	}
	return "(" + u + ")"
}

// rightAnswer tells a trainer what is right.
func rightAnswer(q *model.Question) string {
	var out []string
	for i, c := range q.Choices {
		switch {
		case c.Right:
			out = append(out, model.Letter(i))
		case c.When != nil:
			out = append(out, fmt.Sprintf("%s when %s", model.Letter(i), c.When.Text))
		}
	}
	switch {
	case q.Number != nil && q.Number.Answer != nil:
		return fmt.Sprintf("%s%s, within %s", q.Number.Answer.Text, names.Gap(q.Number.Unit), names.Format(q.Number.Tolerance, q.Number.Unit))
	case q.IsText:
		out = q.Accept
	}
	return strings.Join(out, "; ")
}

var page = template.Must(template.New("handout").Parse(`<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{{.L.Title}}</title>
<style>
:root { color-scheme: light; }
body { font: 16px/1.5 "Liberation Sans", Arial, sans-serif; color: #111; background: #fff; max-width: 44em; margin: 2em auto; padding: 0 1em; }
h1 { line-height: 1.2; margin-bottom: .2em; }
.for { color: #444; margin-top: 0; }
.ears { border: 2px solid #111; padding: .5em .8em; margin: 1.2em 0; }
.step { border-top: 1px solid #888; padding-top: .6em; margin-top: 1.2em; break-inside: avoid; }
.step h2 { font-size: 1em; margin: 0 0 .3em; display: flex; gap: .6em; }
.step h2 .points { margin-left: auto; font-weight: normal; color: #444; }
ol.choices { list-style: none; padding-left: 0; }
ol.choices li { margin: .2em 0; }
.box { display: inline-block; width: 1.1em; height: 1.1em; border: 1px solid #111; vertical-align: -.2em; margin-right: .5em; }
.gap { border-bottom: 1px solid #111; display: inline-block; min-width: 12em; }
.here { min-width: 5em; }
.bench svg { width: 100%; height: auto; }
.bench { margin: 1em 0; break-inside: avoid; }
figcaption { font-size: .9em; color: #444; }
.see { font-size: .9em; color: #444; }
.behind { break-before: page; break-inside: auto; }
.bench svg { print-color-adjust: exact; -webkit-print-color-adjust: exact; }
.take { display: flex; gap: 1em; align-items: center; break-inside: avoid; }
.take svg { width: 7em; height: 7em; flex: none; }
.take a { overflow-wrap: anywhere; }
.line { border-bottom: 1px solid #888; height: 2em; }
.answer { background: #f0f0f0; border-left: 4px solid #111; padding: .3em .7em; margin: .5em 0; }
code { font-family: "Liberation Mono", monospace; font-size: .92em; }
table { border-collapse: collapse; } td, th { border: 1px solid #888; padding: .2em .6em; text-align: left; }
.sources { font-size: .9em; }
@media print { body { margin: 0; font-size: 11pt; } a { color: inherit; } .answer { background: none; } }
</style>
</head>
<body>
<main>
<h1>{{.L.Title}}</h1>
<p class="for">For {{.L.For}}. About {{.Minutes}} minutes. {{.Of}} points, {{.Pass}} % pass{{if .Answers}}. <strong>Trainer’s copy</strong>{{end}}.</p>
{{.About}}
{{if not .Answers}}<p>Name: <span class="gap">&nbsp;</span> &nbsp; Seed: {{if .Seed}}{{.Seed}}{{else}}<span class="gap" style="min-width:6em">&nbsp;</span>{{end}}</p>{{end}}
{{if .Link}}<div class="take">{{.Code}}<p>Take the lesson at <a href="{{.Link}}">{{.Link}}</a></p></div>{{else}}<p>Take the lesson in the scene <em>Lessons</em> of <code>gainwright</code>, or in a terminal: <code>gainwright lesson run {{or .File .L.ID}}{{if .Seed}} --seed {{.Seed}}{{end}}</code></p>{{end}}
{{if .L.OwnVoice}}<p>{{if .Answers}}Students may{{else}}You may{{end}} take it with a voice of {{if .Answers}}their{{else}}your{{end}} own, recorded in the scene <em>Your voice</em>: it then talks and laughs in the talker’s place. Hand its file (WAV), saved with the result, in with it; without it the result cannot be verified.</p>{{end}}
{{if .Picture}}<figure class="bench">{{.Picture}}<figcaption>The bench as the lesson begins: what each station can take, and the noise below it. The take is yours to draw in.</figcaption></figure>{{end}}
{{if .Ears}}<p class="ears"><strong>Your ears.</strong> {{.Ears}}</p>{{end}}
{{if and .Answers .Vary}}<p>Drawn for {{if .Seed}}seed {{.Seed}}{{else}}each student{{end}}:</p><ul>{{range .Vary}}<li>{{.}}</li>{{end}}</ul>{{end}}
{{range .Steps}}<section class="step">
<h2><span>{{.Number}}.</span><span>{{.What}}</span>{{if $.Answers}}<code>{{.ID}}</code>{{end}}<span class="points">{{.Points}}</span></h2>
{{.Text}}
{{if .Shown.SVG}}{{if $.Answers}}<figure class="bench">{{.Shown.SVG}}<figcaption>{{.Shown.Title}}. Here the step shows this, {{$.Played}}.</figcaption></figure>{{else}}<p class="see">Here the step shows a picture: <a href="#picture-{{.Number}}">at the end of this handout</a>.</p>{{end}}{{end}}
{{if .Controls}}<p>You may change: {{.Controls}}.</p>{{end}}
{{if .Note}}<p>{{.Note}}.</p>{{end}}
{{if .Choices}}<ol class="choices">{{range .Choices}}<li><span class="box"></span>{{.Mark}}) {{.Text}}</li>{{end}}</ol>{{end}}
{{if and .Gap (not $.Answers)}}<p>{{.Gap}}: <span class="gap">&nbsp;</span></p>{{end}}
{{if and .Lines (not $.Answers)}}{{if .Lines}}<div class="line"></div><div class="line"></div><div class="line"></div><div class="line"></div>{{end}}{{end}}
{{if .Answer}}<p class="answer">Right: {{.Answer}}</p>{{end}}
{{if .Rule}}<p class="answer">Met when <code>{{.Rule}}</code></p>{{end}}
{{if .Hints}}<div class="answer">Hints:{{range .Hints}}{{.}}{{end}}</div>{{end}}
{{if .Because}}<div class="answer">{{.Because}}</div>{{end}}
</section>
{{end}}
{{if .Terms}}<section class="step"><h2>Words</h2><dl>{{range .Terms}}<dt id="term-{{.ID}}"><strong>{{.Name}}</strong></dt><dd>{{.Say}}</dd>{{end}}</dl></section>{{end}}
{{if .L.Sources}}<section class="step sources"><h2>Where the values can be checked</h2><ul>{{range .L.Sources}}<li>{{.Says}} <em>{{.Source}}</em></li>{{end}}</ul></section>{{end}}
{{if .Behind}}<section class="step behind"><h2>Pictures</h2><p>To be looked at when the step is there. Each is {{.Played}}: yours may differ.</p>
{{range .Steps}}{{if .Shown.SVG}}<figure class="bench" id="picture-{{.Number}}">{{.Shown.SVG}}<figcaption>Step {{.Number}}. {{.Shown.Title}}.</figcaption></figure>{{end}}{{end}}</section>{{end}}
</main>
</body>
</html>
`))
