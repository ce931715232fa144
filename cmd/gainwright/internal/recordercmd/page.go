package recordercmd

import (
	_ "embed"
	"fmt"
	"io"
	"strings"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/cmd/gainwright/internal/metercmd"
)

//go:embed report.html.tmpl
var reportText string

var reportPage = cli.ParsePage("recorder", reportText)

// A curve is the gain law as a picture: points in a box of 600 by 300.
type curve struct {
	Line  string
	Dots  []dot
	Ticks []dot
}

type dot struct {
	X, Y, Low, High float64
	Label           string
}

const boxW, boxH = 600.0, 300.0

// picture draws the gain law; nil with fewer than two marks.
func (l *learnt) picture() *curve {
	m := l.gains.Marks
	if len(m) < 2 {
		return nil
	}
	a, b := m[0].Mark, m[len(m)-1].Mark
	lo, hi := 0.0, 1.0
	for _, k := range m {
		lo, hi = min(lo, k.Gain.Low), max(hi, k.Gain.High)
	}
	x := func(v float64) float64 { return 50 + (boxW-70)*(v-a)/(b-a) }
	y := func(v float64) float64 { return boxH - 40 - (boxH-60)*(v-lo)/(hi-lo) }
	c := &curve{}
	var line []string
	const steps = 120
	for i := range steps + 1 {
		v := a + (b-a)*float64(i)/steps
		if i == steps {
			v = b
		}
		line = append(line, fmt.Sprintf("%.1f,%.1f", x(v), y(l.gains.At(v))))
	}
	c.Line = strings.Join(line, " ")
	for _, k := range m {
		c.Dots = append(c.Dots, dot{x(k.Mark), y(k.Gain.Value), y(k.Gain.Low), y(k.Gain.High), mark(k.Mark)})
	}
	step := 10.0
	for (hi-lo)/step > 8 {
		step *= 2
	}
	for v := 0.0; v <= hi; v += step {
		c.Ticks = append(c.Ticks, dot{Y: y(v), Label: fmt.Sprintf("%.0f dB", v)})
	}
	return c
}

// page writes the report.
func (l *learnt) page(w io.Writer) error {
	type row struct{ Mark, Gain, Full string }
	d := struct {
		Marks          []row
		Curve          *curve
		Rows           [][3]string
		Limiter        []string
		PairBy         string
		Notes, Assumed []string
		SourceRows     [][3]string
	}{Curve: l.picture(), Rows: l.rows(), Notes: l.notes, Assumed: l.assumed(), PairBy: l.pairBy}
	for _, m := range l.gains.Marks {
		d.Marks = append(d.Marks, row{mark(m.Mark), within(m.Gain, "dB"), within(l.fullScale(m), "dB SPL")})
	}
	if l.limiter != nil {
		d.Limiter = metercmd.PairLines(l.limiter, l.limiter.Rate)
	}
	for _, s := range l.sources {
		d.SourceRows = append(d.SourceRows, [3]string{s.what, s.path, s.sum[:12]})
	}
	return reportPage.Execute(w, d)
}
