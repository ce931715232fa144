package lessoncmd

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"strings"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/lessons/grade"
	"gainwright/lessons/markup"
	"gainwright/lessons/model"
	"gainwright/lessons/names"
)

// stepTable writes step by step what a class did, for the terminal.
func stepTable(reports []*grade.Report) []byte {
	var b bytes.Buffer
	for _, r := range reports {
		fmt.Fprintf(&b, "%s: %s, %d passed", cut(r.Title, 60), cli.Counted(r.Results, "result", "results"), r.Passed)
		if r.LeftOut > 0 {
			fmt.Fprintf(&b, "; %d left out, which could not be played again", r.LeftOut)
		}
		b.WriteString("\n\n")
		for i := range r.Steps {
			if sr := &r.Steps[i]; sr.Answered > 0 {
				writeStep(&b, sr)
			}
		}
	}
	return b.Bytes()
}

func writeStep(b *bytes.Buffer, sr *grade.StepReport) {
	fmt.Fprintf(b, "%3d. %s (%s)\n", sr.Number, model.KindTitle(sr.Kind), sr.ID)
	for line := range strings.SplitSeq(markup.Plain(markup.Escape(sr.Asked), 72), "\n") {
		fmt.Fprintf(b, "     %s\n", line)
	}
	fmt.Fprintf(b, "     %s\n", summaryOf(sr))
	for _, c := range sr.Choices {
		fmt.Fprintf(b, "       %s) %-44s %4d%s\n", c.Letter, cut(c.Text, 44), c.Count, rightFor(c.RightFor))
	}
	if s := sr.Numbers; s != nil && len(s.Values) > 0 {
		fmt.Fprintf(b, "       %s\n", spreadWords(s))
		columns(b, answersPicture(s))
	}
	for i := range sr.Settings {
		if s := &sr.Settings[i]; len(s.Values) > 0 {
			fmt.Fprintf(b, "       %s: %s\n", s.Name, spreadWords(s))
		}
	}
	for _, h := range sr.Hints {
		if h.Times > 0 {
			fmt.Fprintf(b, "       hint told %s, to %d: %s\n", cli.Counted(h.Times, "time", "times"), h.To, cut(h.Text, 100))
		}
	}
	for _, s := range sr.Texts {
		fmt.Fprintf(b, "       %s: %s\n", cut(s.Student, 24), cut(s.Text, 300))
	}
	b.WriteByte('\n')
}

func rightFor(n int) string {
	if n == 0 {
		return ""
	}
	return fmt.Sprintf("   right for %d", n)
}

// columns writes a histogram as lines.
func columns(b *bytes.Buffer, h *histogram) {
	if h.mark != nil && *h.mark == 0 {
		fmt.Fprintf(b, "       each less what was right for its seed:\n")
	}
	for _, c := range h.bins {
		mark := ""
		if h.mark != nil && *h.mark >= c.From && *h.mark < c.To {
			mark = "  <- " + h.marked + " " + number(*h.mark)
		}
		if c.N > 0 || mark != "" {
			fmt.Fprintf(b, "       %8s %s %d%s\n", number((c.From+c.To)/2), strings.Repeat("=", min(c.N, 40)), c.N, mark)
		}
	}
}

// stepCSV writes one line for every figure, as spreadsheets sort and sum them.
func stepCSV(reports []*grade.Report) ([]byte, error) {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	w.Write([]string{"lesson", "step", "kind", "what", "item", "value"})
	for _, r := range reports {
		for i := range r.Steps {
			sr := &r.Steps[i]
			row := func(what, item string, value any) {
				text := fmt.Sprint(value)
				if _, number := value.(csvNumber); !number {
					text = plainCell(text)
				}
				w.Write([]string{plainCell(r.Lesson), plainCell(sr.ID), string(sr.Kind), what, plainCell(item), text})
			}
			row("answered", "", sr.Answered)
			row("right", "", sr.Right)
			row("wrong", "", sr.Wrong)
			row("given up", "", sr.GivenUp)
			stepRows(sr, row)
		}
	}
	w.Flush()
	return b.Bytes(), w.Error()
}

func stepRows(sr *grade.StepReport, row func(what, item string, value any)) {
	for _, c := range sr.Choices {
		row("chosen", c.Letter+") "+c.Text, c.Count)
		row("right for", c.Letter+") "+c.Text, c.RightFor)
	}
	spread := func(what string, s *grade.Spread) {
		for k, v := range s.Values {
			row(what, s.Unit, csvNumber(v))
			if len(s.Rights) > 0 {
				row(what+" less what is right", s.Unit, csvNumber(names.Round(v-s.Rights[k], 6)))
			}
		}
	}
	if sr.Numbers != nil {
		spread("number", sr.Numbers)
	}
	for i := range sr.Settings {
		spread(sr.Settings[i].Name, &sr.Settings[i])
	}
	for _, h := range sr.Hints {
		row("hint told", h.Text, h.Times)
		row("hint told to", h.Text, h.To)
	}
	for _, n := range sr.Takes {
		row("takes", "", n)
	}
	if sr.Dropped > 0 {
		row("takes given up", "", sr.Dropped)
	}
	if sr.Blind != nil {
		for _, n := range sr.Blind.Hits {
			row("blind hits", fmt.Sprintf("of %d", sr.Blind.Trials), n)
		}
	}
	for _, s := range sr.Texts {
		row("text", s.Student, s.Text)
	}
}

// csvNumber is a number as it stands in a cell: a sign before digits is no formula.
type csvNumber float64

func (n csvNumber) String() string { return names.ValueText(float64(n)) }
