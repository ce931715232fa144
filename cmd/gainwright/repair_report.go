package main

import (
	"bytes"
	"context"
	_ "embed"
	"encoding/base64"
	"fmt"
	"html/template"
	"math"
	"path/filepath"

	"gainwright/cmd/gainwright/internal/picture"
)

//go:embed repair_report.html.tmpl
var repairReportText string

var repairReportPage = parsePage("repair report", repairReportText)

// page is the report: it needs no other file.
func (res *repaired) page(ctx context.Context, before, after, truth *tape) ([]byte, error) {
	places, err := worstPlaces(ctx, before, after, res.RateHz)
	if err != nil {
		return nil, err
	}
	pic := &picture.Repair{
		Title: filepath.Base(res.In), Line: res.Steps[0].Back, Rate: res.RateHz, Seconds: res.Seconds,
		Lo: res.Before.overview.lo, Hi: res.Before.overview.hi,
		AfterLo: res.After.overview.lo, AfterHi: res.After.overview.hi,
	}
	if len(res.Steps) > 1 {
		pic.Line = fmt.Sprintf("%d treatments", len(res.Steps))
	}
	half := int64(zoomS * float64(res.RateHz) / 2)
	for i, q := range places {
		z := picture.RepairZoom{Name: []string{"Where most was changed", "The loudest moment"}[i], StartS: float64(max(0, q[0]-half)) / float64(res.RateHz)}
		for _, t := range []struct {
			from *tape
			to   *[]float64
		}{{before, &z.Before}, {after, &z.After}, {truth, &z.Truth}} {
			if t.from == nil {
				continue
			}
			x, err := t.from.read(nil, q[0]-half, max(0, q[0]-half)+2*half)
			if err != nil {
				return nil, err
			}
			*t.to = x[q[1]]
		}
		if len(z.Truth) > 0 && res.Distance != nil {
			fitGain(z.Truth, z.After)
		}
		pic.Zooms = append(pic.Zooms, z)
	}
	var b bytes.Buffer
	if err := pic.Draw(&b, picture.PNG); err != nil {
		return nil, err
	}
	data := struct {
		Title, Facts, Caution, Alt string
		Verdict                    []string
		Steps                      []mending
		Rows                       [][3]string
		Picture                    template.URL
		Excerpts                   []pageExcerpt
		Out                        string
	}{
		Title: "What became of " + filepath.Base(res.In), Facts: res.Before.facts(), Caution: res.caution, Verdict: res.Verdict,
		Steps: res.Steps, Rows: res.rows(), Out: fmt.Sprintf("%s, %s", filepath.Base(res.Out), res.Format),
		Alt:     "The recording before and after, and close views of the wave at two places, before dashed and after as a full line. The table and the text say the same.",
		Picture: template.URL("data:image/png;base64," + base64.StdEncoding.EncodeToString(b.Bytes())),
	}
	if len(places) > 0 {
		q := places[0]
		length := int64(excerptS * float64(res.RateHz))
		start := max(0, q[0]-length*2/5)
		for i, t := range []*tape{before, after} {
			x, err := t.read(nil, start, start+length)
			if err != nil {
				return nil, err
			}
			s, err := (&excerpt{x: x[q[1]]}).sound(res.RateHz)
			if err != nil {
				return nil, err
			}
			data.Excerpts = append(data.Excerpts, pageExcerpt{Label: []string{"Before", "After"}[i] + fmt.Sprintf(", from %s on", picture.Clock(float64(start)/float64(res.RateHz))), Sound: s})
		}
	}
	var out bytes.Buffer
	err = repairReportPage.Execute(&out, data)
	return out.Bytes(), err
}

// fitGain gives x the level at which it is nearest to y: a truth may be at another.
func fitGain(x, y []float64) {
	var xx, xy float64
	for i := range x {
		xx += x[i] * x[i]
		xy += x[i] * y[i]
	}
	if xx == 0 || math.IsNaN(xy) {
		return
	}
	for i := range x {
		x[i] *= xy / xx
	}
}
