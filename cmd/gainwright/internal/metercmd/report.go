package metercmd

import (
	"bytes"
	"context"
	_ "embed"
	"encoding/base64"
	"fmt"
	"html/template"
	"path/filepath"
	"strings"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/cmd/gainwright/internal/picture"
	"gainwright/sim/diagnose"
)

//go:embed report.html.tmpl
var meterReportText string

var meterReportPage = cli.ParsePage("meter report", meterReportText)

// Excerpts are short, so that the page stays small enough to send.
const (
	ExcerptS     = 4.0
	mostExcerpts = 2
	excerptLUFS  = -23.0
	excerptTop   = -6.0 // dBFS, no sample is higher
	fadeInS      = 0.4
	fadeOutS     = 0.2
	ZoomS        = 0.012
)

type pageFinding struct {
	Title, Confidence, Where, Means, Remedy, Treatments, Advice string
}

// A PageExcerpt is a sound in a page, and what it is.
type PageExcerpt struct {
	Label string
	Sound template.URL
}

type pageFile struct {
	Name, Facts, Verdict, Alt, Caution string
	Notes, General                     []string
	Picture                            template.URL
	Findings                           []pageFinding
	Excerpts                           []PageExcerpt
	Rows                               [][2]string
}

// writeDiagnosis writes a page on the files: whole or not at all.
func writeDiagnosis(ctx context.Context, path string, force bool, files []*Measured, w *cli.Watch) error {
	data := struct {
		Title, Made string
		Several     bool
		Files       []pageFile
	}{Title: "What happened to " + filepath.Base(files[0].Path), Several: len(files) > 1}
	if len(files) > 1 {
		data.Title = fmt.Sprintf("What happened to %d recordings", len(files))
	}
	data.Made = "Measured from the recording alone; nothing in this page comes from elsewhere."
	for _, m := range files {
		w.Begin("excerpts of " + m.Path)
		ex, err := m.excerpts(ctx, w)
		w.Done()
		if err != nil {
			return err
		}
		f, err := m.page(ex)
		if err != nil {
			return err
		}
		data.Files = append(data.Files, f)
	}
	var b bytes.Buffer
	if err := meterReportPage.Execute(&b, data); err != nil {
		return err
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	return cli.WriteFile(path, force, b.Bytes())
}

var zoomNames = map[diagnose.Kind]string{
	diagnose.FlatFull: "A top flattened at full scale", diagnose.FlatLower: "A flattened top, turned down since",
	diagnose.FlatMoving: "A flattened top under a moving gain", diagnose.FlatSoftened: "A flattened top, blurred since",
	diagnose.Bent: "A rounded top", diagnose.HeldDown: "A peak that was held", diagnose.NearlyFull: "The highest peak",
	diagnose.CannotTell: "One of the highest tops",
}

var laneNames = map[diagnose.Kind]string{
	diagnose.FlatFull: "flattened at full scale", diagnose.FlatLower: "flattened, turned down", diagnose.FlatMoving: "flattened, moving gain",
	diagnose.FlatSoftened: "flattened, blurred", diagnose.Bent: "rounded", diagnose.HeldDown: "held by a limiter", diagnose.NearlyFull: "near full scale",
	diagnose.CannotTell: "held or bent, not to be told",
}

func (m *Measured) page(ex []*Excerpt) (pageFile, error) {
	f := pageFile{Name: m.Path, Facts: m.Facts(), Verdict: m.Verdict, Notes: notes(m.Notes), General: m.general, Rows: m.Rows()}
	pic := &picture.Diagnosis{Title: filepath.Base(m.Path), Line: m.Verdict, Rate: m.RateHz, Seconds: m.Seconds, Lo: m.Overview.Lo, Hi: m.Overview.Hi}
	for i := range m.Findings {
		x := &m.Findings[i]
		f.Findings = append(f.Findings, pageFinding{
			Title: x.Title + channelText(x, m.Channels), Confidence: fmt.Sprintf("%.0f %%", 100*x.Confidence), Where: x.Places(12),
			Means: x.Means, Remedy: x.Remedy, Treatments: strings.Join(x.Treatments, ", "), Advice: nextTime(x.Advice),
		})
		if len(x.Where) > 0 {
			l := picture.Lane{Name: laneNames[x.Kind]}
			for _, s := range x.Where {
				l.Spans = append(l.Spans, [2]float64{s.StartS, s.EndS})
			}
			pic.Lanes = append(pic.Lanes, l)
		}
	}
	if m.lost() != nil || m.MeterOvers > 0 {
		f.Caution = "Mind your ears: this recording is clipped, which sounds harsh. Turn the volume down before you play, and up slowly."
	}
	for _, e := range ex {
		if z, ok := e.zoom(m.RateHz); ok {
			pic.Zooms = append(pic.Zooms, z)
		}
		s, err := e.Sound(m.RateHz)
		if err != nil {
			return f, err
		}
		label := "The loudest moment"
		if e.finding != nil {
			label = zoomNames[e.finding.Kind]
		}
		f.Excerpts = append(f.Excerpts, PageExcerpt{
			Label: fmt.Sprintf("%s: %.0f s from %s on", label, float64(len(e.X))/float64(m.RateHz), diagnose.Clock(float64(e.start)/float64(m.RateHz))),
			Sound: s,
		})
	}
	f.Alt = "The recording's wave over time, the places of each finding below it, and close views. The text below says the same in words."
	var b bytes.Buffer
	if err := pic.Draw(&b, picture.PNG); err != nil {
		return f, err
	}
	f.Picture = template.URL("data:image/png;base64," + base64.StdEncoding.EncodeToString(b.Bytes()))
	return f, nil
}
