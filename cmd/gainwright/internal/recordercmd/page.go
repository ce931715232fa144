package recordercmd

import (
	"bytes"
	_ "embed"
	"html/template"
	"io"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/cmd/gainwright/internal/metercmd"
	"gainwright/scenes/curves"
	"gainwright/scenes/ink"
	"gainwright/scenes/svg"
	"gainwright/scenes/ui"
	"gainwright/sounds/series"
)

//go:embed report.html.tmpl
var reportText string

var reportPage = cli.ParsePage("recorder", reportText)

// Size of a picture on the page, dp.
var pictureSize = ink.Point{X: 600, Y: 300}

// picture draws one of the curves of what was found as an SVG element; empty where there
// is nothing to draw.
func picture(f *series.Found, of curves.Curve) (template.HTML, error) {
	if !of.Known(f) {
		return "", nil
	}
	th := ui.NewTheme(false, 1)
	var l ink.List
	box := ink.Rect{W: pictureSize.X, H: pictureSize.Y}
	l.Fill(box, 0, th.Panel)
	of.Draw(&l, &th, box, f)
	var b bytes.Buffer
	if err := svg.Write(&b, &l, pictureSize, of.Title, of.Words(f)); err != nil {
		return "", err
	}
	return template.HTML(b.String()), nil
}

// page writes the report.
func (l *learnt) page(w io.Writer) error {
	type row struct{ Mark, Gain, Full string }
	d := struct {
		Marks           []row
		Pictures        []template.HTML
		Rows            []series.Row
		Limiter         []string
		PairBy          string
		Notes, Supposed []string
		SourceRows      [][3]string
	}{Rows: l.Rows(), Notes: l.Notes, Supposed: l.Assumed()}
	for _, c := range curves.All {
		p, err := picture(l.Found, c)
		if err != nil {
			return err
		}
		if p != "" {
			d.Pictures = append(d.Pictures, p)
		}
	}
	for _, m := range l.Gains.Marks {
		d.Marks = append(d.Marks, row{series.Mark(m.Mark), series.Within(m.Gain, "dB"), series.Within(l.FullScale(m), "dB SPL")})
	}
	if l.Limiter != nil {
		d.Limiter, d.PairBy = metercmd.PairLines(l.Limiter), l.PairBy()
	}
	for _, s := range l.Sources {
		d.SourceRows = append(d.SourceRows, [3]string{s.What(), s.File, s.SHA256[:12]})
	}
	return reportPage.Execute(w, d)
}
