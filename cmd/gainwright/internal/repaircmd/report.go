package repaircmd

import (
	"bytes"
	"context"
	_ "embed"
	"encoding/base64"
	"fmt"
	"html/template"
	"math"
	"path/filepath"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/cmd/gainwright/internal/metercmd"
	"gainwright/cmd/gainwright/internal/picture"
)

// worstPlaces are the samples at which a repair changed most, and the loudest one
// away from there, with the channel.
func worstPlaces(ctx context.Context, before, after *tape, rate int) (places [][2]int64, err error) {
	type peak struct {
		at, ch int64
		v      float64
	}
	// A peak a second, of the change and of the level.
	n := int(after.frames/int64(rate)) + 1
	diff, loud := make([]peak, n), make([]peak, n)
	// A change of level is no change of the wave.
	var bb, ba float64
	var y [][]float64
	for round := range 2 {
		g := 1.0
		if bb > 0 && ba > 0 {
			g = ba / bb
		}
		err := after.each(ctx, nil, func(x [][]float64, at int64) error {
			var err error
			if y, err = before.read(y, at, at+int64(len(x[0]))); err != nil {
				return err
			}
			for c := range x {
				for i, v := range x[c] {
					if round == 0 {
						bb += y[c][i] * y[c][i]
						ba += y[c][i] * v
						continue
					}
					p := at + int64(i)
					k := p / int64(rate)
					if d := math.Abs(v - g*y[c][i]); d > diff[k].v {
						diff[k] = peak{p, int64(c), d}
					}
					if d := math.Abs(v); d > loud[k].v {
						loud[k] = peak{p, int64(c), d}
					}
				}
			}
			return nil
		})
		if err != nil {
			return nil, err
		}
	}
	best := func(list []peak, away int64) peak {
		var b peak
		for _, p := range list {
			if p.v > b.v && (away < 0 || max(p.at-away, away-p.at) > int64(rate)/10) {
				b = p
			}
		}
		return b
	}
	one := best(diff, -1)
	if one.v == 0 {
		one = best(loud, -1)
	}
	if one.v == 0 {
		return nil, nil
	}
	places = append(places, [2]int64{one.at, one.ch})
	if two := best(loud, one.at); two.v > 0 {
		places = append(places, [2]int64{two.at, two.ch})
	}
	return places, nil
}

//go:embed report.html.tmpl
var repairReportText string

var repairReportPage = cli.ParsePage("repair report", repairReportText)

// page is the report: it needs no other file.
func (res *repaired) page(ctx context.Context, before, after, truth *tape) ([]byte, error) {
	places, err := worstPlaces(ctx, before, after, res.RateHz)
	if err != nil {
		return nil, err
	}
	pic := &picture.Repair{
		Title: filepath.Base(res.In), Line: res.Steps[0].Back, Rate: res.RateHz, Seconds: res.Seconds,
		Lo: res.Before.Overview.Lo, Hi: res.Before.Overview.Hi,
		AfterLo: res.After.Overview.Lo, AfterHi: res.After.Overview.Hi,
	}
	if len(res.Steps) > 1 {
		pic.Line = fmt.Sprintf("%d treatments", len(res.Steps))
	}
	half := int64(metercmd.ZoomS * float64(res.RateHz) / 2)
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
		Excerpts                   []metercmd.PageExcerpt
		Out                        string
	}{
		Title: "What became of " + filepath.Base(res.In), Facts: res.Before.Facts(), Caution: res.caution, Verdict: res.Verdict,
		Steps: res.Steps, Rows: res.rows(), Out: fmt.Sprintf("%s, %s", filepath.Base(res.Out), res.Format),
		Alt:     "The recording before and after, and close views of the wave at two places, before dashed and after as a full line. The table and the text say the same.",
		Picture: template.URL("data:image/png;base64," + base64.StdEncoding.EncodeToString(b.Bytes())),
	}
	if len(places) > 0 {
		q := places[0]
		length := int64(metercmd.ExcerptS * float64(res.RateHz))
		start := max(0, q[0]-length*2/5)
		for i, t := range []*tape{before, after} {
			x, err := t.read(nil, start, start+length)
			if err != nil {
				return nil, err
			}
			s, err := (&metercmd.Excerpt{X: x[q[1]]}).Sound(res.RateHz)
			if err != nil {
				return nil, err
			}
			data.Excerpts = append(data.Excerpts, metercmd.PageExcerpt{Label: []string{"Before", "After"}[i] + fmt.Sprintf(", from %s on", picture.Clock(float64(start)/float64(res.RateHz))), Sound: s})
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
