package lessoncmd

import (
	"bytes"
	_ "embed"
	"fmt"
	"html/template"
	"path/filepath"
	"slices"
	"strings"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/lessons/grade"
	"gainwright/lessons/model"
	"gainwright/lessons/names"
)

//go:embed classpage.html
var classPageText string

var classPage = template.Must(template.New("class").Funcs(template.FuncMap{
	"bar":    bar,
	"number": func(v float64) string { return names.Format(v, "") },
}).Parse(classPageText))

// pageData is what the page of a class is filled with.
type pageData struct {
	Title   string
	Passed  int
	Rows    []pageRow
	Missing []grade.Absence
	Lessons []pageLesson
}

type pageRow struct {
	*grade.Grade
	File, Verdict, Points string
	Flags, Notes          []string
}

type pageLesson struct {
	*grade.Report
	Steps []pageStep
}

type pageStep struct {
	grade.StepReport
	Kind     string
	Summary  string
	Figures  []pageFigure
	NoRights bool // nothing is right or wrong here
}

type pageFigure struct {
	Caption string
	Picture template.HTML
}

// classReport makes one page of grades that needs nothing else.
func classReport(grades []*grade.Grade, missing []grade.Absence) ([]byte, error) {
	d := pageData{Title: "A class’s results", Missing: missing}
	reports := grade.Reports(grades)
	if len(reports) == 1 {
		d.Title = reports[0].Title
	}
	for _, g := range grades {
		r := pageRow{Grade: g, File: filepath.Base(g.Path), Verdict: verdictOf(g), Points: names.Format(g.Points, "") + " of " + names.Format(g.Of, "")}
		if g.Passed {
			d.Passed++
		}
		for _, f := range g.Flags {
			r.Flags = append(r.Flags, f.String())
		}
		for _, f := range g.Notes {
			r.Notes = append(r.Notes, f.String())
		}
		d.Rows = append(d.Rows, r)
	}
	slices.SortStableFunc(d.Rows, func(a, b pageRow) int {
		return strings.Compare(strings.ToLower(a.Student), strings.ToLower(b.Student))
	})
	for _, r := range reports {
		l := pageLesson{Report: r}
		for i := range r.Steps {
			if sr := &r.Steps[i]; sr.Answered > 0 {
				l.Steps = append(l.Steps, newPageStep(sr))
			}
		}
		d.Lessons = append(d.Lessons, l)
	}
	var b bytes.Buffer
	err := classPage.Execute(&b, d)
	return b.Bytes(), err
}

func newPageStep(sr *grade.StepReport) pageStep {
	p := pageStep{StepReport: *sr, Kind: model.KindTitle(sr.Kind), Summary: summaryOf(sr)}
	p.NoRights = !slices.ContainsFunc(sr.Choices, func(c grade.Chosen) bool { return c.RightFor > 0 })
	if sr.Numbers != nil && len(sr.Numbers.Values) > 0 {
		f := pageFigure{spreadWords(sr.Numbers), answersPicture(sr.Numbers).SVG()}
		if _, off := sr.Numbers.Missed(); off {
			f.Caption += " The picture shows how far off each is: what is right differs from seed to seed."
		}
		p.Figures = append(p.Figures, f)
	}
	for i := range sr.Settings {
		s := &sr.Settings[i]
		if len(s.Values) == 0 {
			continue
		}
		h := &histogram{title: fmt.Sprintf("%s of %d takes", s.Name, len(s.Values)), unit: s.Unit, bins: grade.Histogram(s.Values, nil, 16)}
		p.Figures = append(p.Figures, pageFigure{s.Name + ": " + spreadWords(s), h.SVG()})
	}
	if b := sr.Blind; b != nil && b.Of > 0 {
		var hits []float64
		for _, n := range b.Hits {
			hits = append(hits, float64(n))
		}
		half := float64(b.Trials) / 2
		h := &histogram{title: fmt.Sprintf("Hits in %d blind trials, of %d students", b.Trials, len(hits)), bins: hitBins(hits, b.Trials), mark: &half, marked: "guessing gives"}
		p.Figures = append(p.Figures, pageFigure{"", h.SVG()})
	}
	return p
}

// hitBins has a column around each number of hits there can be.
func hitBins(hits []float64, trials int) []grade.Bin {
	out := make([]grade.Bin, trials+1)
	for i := range out {
		out[i].From, out[i].To = float64(i)-0.5, float64(i)+0.5
	}
	for _, v := range hits {
		out[min(max(int(v), 0), trials)].N++
	}
	return out
}

func verdictOf(g *grade.Grade) string {
	switch {
	case !g.OK():
		return "flagged"
	case g.Passed:
		return "passed"
	}
	return "not passed"
}

// summaryOf says in one line how a step went.
func summaryOf(sr *grade.StepReport) string {
	var parts []string
	add := func(format string, a ...any) { parts = append(parts, fmt.Sprintf(format, a...)) }
	switch {
	case sr.Kind == model.Do:
		add("%d of %d met", sr.Right, sr.Answered)
	case sr.Right+sr.Wrong > 0:
		add("%d of %d right", sr.Right, sr.Answered)
	default:
		add("%s", cli.Counted(sr.Answered, map[bool]string{true: "take", false: "answer"}[sr.Kind == model.Record], map[bool]string{true: "takes", false: "answers"}[sr.Kind == model.Record]))
	}
	if sr.GivenUp > 0 {
		add("%d given up", sr.GivenUp)
	}
	if n := len(sr.Takes); n > 0 && slices.Max(sr.Takes) > 1 {
		t := slices.Sorted(slices.Values(sr.Takes))
		add("%d to %d takes each, %d in the middle", t[0], t[n-1], t[n/2])
	}
	if sr.Dropped > 0 {
		add("%s given up", cli.Counted(sr.Dropped, "take", "takes"))
	}
	if b := sr.Blind; b != nil && b.Of > 0 {
		add("%d of %d blind trials; guessing gives so many or more with a probability of %.2g", b.AllHits, b.Of, b.P)
	}
	return strings.Join(parts, ", ") + "."
}

func spreadWords(s *grade.Spread) string {
	out := fmt.Sprintf("%s to %s, in the middle %s.", names.Format(s.Low, s.Unit), names.Format(s.High, s.Unit), names.Format(s.Median, s.Unit))
	if s.Low == s.High {
		out = "All " + names.Format(s.Low, s.Unit) + "."
	}
	return out
}
