package main

import (
	"bytes"
	"context"
	_ "embed"
	"encoding/base64"
	"errors"
	"fmt"
	"html/template"
	"io"
	"math"
	"path/filepath"
	"strings"

	"gainwright/cmd/gainwright/internal/picture"
	"gainwright/sim/diagnose"
	"gainwright/sim/meter"
	"gainwright/sounds"
)

//go:embed meter_report.html.tmpl
var meterReportText string

var meterReportPage = parsePage("meter report", meterReportText)

// Excerpts are short, so that the page stays small enough to send.
const (
	excerptS     = 4.0
	mostExcerpts = 2
	excerptLUFS  = -23.0
	excerptTop   = -6.0 // dBFS, no sample is higher
	fadeInS      = 0.4
	fadeOutS     = 0.2
	zoomS        = 0.012
)

type pageFinding struct {
	Title, Confidence, Where, Means, Remedy, Treatments, Advice string
}

type pageExcerpt struct {
	Label string
	Sound template.URL
}

type pageFile struct {
	Name, Facts, Verdict, Alt, Caution string
	Notes, General                     []string
	Picture                            template.URL
	Findings                           []pageFinding
	Excerpts                           []pageExcerpt
	Rows                               [][2]string
}

// excerpt is a stretch of one channel.
type excerpt struct {
	finding *diagnose.Finding // that it shows, or nil
	channel int
	start   int64
	x       []float64
	worst   int // the moment, in x
}

// writeDiagnosis writes a page on the files: whole or not at all.
func writeDiagnosis(ctx context.Context, path string, force bool, files []*measured, w *watch) error {
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
		w.begin("excerpts of " + m.Path)
		ex, err := m.excerpts(ctx, w)
		w.done()
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
	return sounds.WriteFile(path, force, func(f io.WriteSeeker) error {
		_, err := f.Write(b.Bytes())
		return err
	})
}

// excerpts reads the file once more, for the stretches that show the findings best.
func (m *measured) excerpts(ctx context.Context, w *watch) ([]*excerpt, error) {
	var list []*excerpt
	want := func(f *diagnose.Finding, at float64, channel int) {
		if len(list) == mostExcerpts {
			return
		}
		start := max(0, at-excerptS*0.4)
		for _, e := range list {
			if math.Abs(float64(e.start)/float64(m.RateHz)-start) < excerptS {
				return
			}
		}
		e := &excerpt{finding: f, channel: channel, start: int64(start * float64(m.RateHz))}
		e.worst = int(int64(at*float64(m.RateHz)) - e.start)
		list = append(list, e)
	}
	for i := range m.Findings {
		if f := &m.Findings[i]; len(f.Where) > 0 {
			want(f, f.WorstS, f.Worst-1)
		}
	}
	// The loudest moment, for what has no place of its own.
	loudest, top := 0, 0.0
	for i := range m.overview.lo {
		if p := max(m.overview.hi[i], -m.overview.lo[i]); p > top {
			loudest, top = i, p
		}
	}
	if len(list) == 0 && top > 0 {
		want(nil, (float64(loudest)+0.5)*float64(m.overview.per)/float64(m.RateHz), 0)
	}
	if len(list) == 0 {
		return nil, nil
	}
	r := m.again
	if r != nil {
		if err := r.Rewind(); err != nil {
			return nil, err
		}
	} else {
		var err error
		if r, err = sounds.OpenContext(ctx, m.Path); err != nil {
			return nil, err
		}
		defer r.Close()
	}
	buf := sounds.NewBlock(m.Channels, 8192)
	length := int64(excerptS * float64(m.RateHz))
	last := int64(0)
	for _, e := range list {
		last = max(last, e.start+length)
	}
	for at := int64(0); at < last; {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		n, err := r.Read(buf)
		for _, e := range list {
			a, b := max(e.start-at, 0), min(e.start+length-at, int64(n))
			if a < b {
				e.x = append(e.x, buf[e.channel][a:b]...)
			}
		}
		at += int64(n)
		w.at(float64(at) / float64(last))
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, err
		}
	}
	return list, nil
}

// sound is the excerpt as a player's source: at a moderate level, faded in.
func (e *excerpt) sound(rate int) (template.URL, error) {
	x := append([]float64(nil), e.x...)
	peak := 0.0
	for i, v := range x {
		if !(math.Abs(v) < math.MaxFloat32) {
			x[i] = 0
		}
		peak = max(peak, math.Abs(x[i]))
	}
	l, err := meter.NewLoudness(rate, 1)
	if err != nil {
		return "", err
	}
	l.WriteMono(x)
	g := 1.0
	if i := l.Integrated(); !math.IsInf(i, 0) {
		g = meter.FromDB(excerptLUFS - i)
	}
	if peak > 0 {
		g = min(g, meter.FromDB(excerptTop)/peak)
	}
	in, out := int(fadeInS*float64(rate)), int(fadeOutS*float64(rate))
	for i := range x {
		f := min(1, float64(i)/float64(in), float64(len(x)-1-i)/float64(out))
		x[i] *= g * f
	}
	if rate > 48000 {
		x = sounds.ResampleAll([][]float64{x}, rate, 48000, sounds.Standard)[0]
		rate = 48000
	}
	b, err := sounds.WAVBytes(rate, [][]float64{x}, sounds.PCM16)
	if err != nil {
		return "", err
	}
	return template.URL("data:audio/wav;base64," + base64.StdEncoding.EncodeToString(b)), nil
}

// zoom is the milliseconds around the highest sample near the excerpt's moment.
func (e *excerpt) zoom(rate int) (picture.Zoom, bool) {
	near, half := int(0.06*float64(rate)), int(zoomS*float64(rate)/2)
	lo, hi := max(0, e.worst-near), min(len(e.x), e.worst+near)
	if lo >= hi {
		return picture.Zoom{}, false
	}
	if e.finding != nil && e.finding.Kind.Clipping() {
		// The moment is a flat top's middle already.
		lo, hi = max(0, e.worst-half/4), min(len(e.x), e.worst+half/4)
	}
	best := lo
	for i := lo; i < hi; i++ {
		if math.Abs(e.x[i]) > math.Abs(e.x[best]) {
			best = i
		}
	}
	a := max(0, min(best-half, len(e.x)-2*half))
	z := picture.Zoom{Name: "The loudest moment", StartS: float64(e.start+int64(a)) / float64(rate), X: e.x[a:min(a+2*half, len(e.x))]}
	if f := e.finding; f != nil {
		z.Name = zoomNames[f.Kind]
		if v, ok := f.Number("level_dbfs"); ok {
			z.Level = meter.FromDB(v)
			z.Note = "dashed: " + picture.DB(v, "dBFS")
		}
	}
	return z, true
}

var zoomNames = map[diagnose.Kind]string{
	diagnose.FlatFull: "A top flattened at full scale", diagnose.FlatLower: "A flattened top, turned down since",
	diagnose.FlatMoving: "A flattened top under a moving gain", diagnose.FlatSoftened: "A flattened top, blurred since",
	diagnose.Bent: "A rounded top", diagnose.HeldDown: "A peak that was held", diagnose.NearlyFull: "The highest peak",
}

var laneNames = map[diagnose.Kind]string{
	diagnose.FlatFull: "flattened at full scale", diagnose.FlatLower: "flattened, turned down", diagnose.FlatMoving: "flattened, moving gain",
	diagnose.FlatSoftened: "flattened, blurred", diagnose.Bent: "rounded", diagnose.HeldDown: "held by a limiter", diagnose.NearlyFull: "near full scale",
}

func (m *measured) page(ex []*excerpt) (pageFile, error) {
	f := pageFile{Name: m.Path, Facts: m.facts(), Verdict: m.Verdict, Notes: notes(m.Notes), General: m.general, Rows: m.rows()}
	pic := &picture.Diagnosis{Title: filepath.Base(m.Path), Line: m.Verdict, Rate: m.RateHz, Seconds: m.Seconds, Lo: m.overview.lo, Hi: m.overview.hi}
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
		s, err := e.sound(m.RateHz)
		if err != nil {
			return f, err
		}
		label := "The loudest moment"
		if e.finding != nil {
			label = zoomNames[e.finding.Kind]
		}
		f.Excerpts = append(f.Excerpts, pageExcerpt{
			Label: fmt.Sprintf("%s: %.0f s from %s on", label, float64(len(e.x))/float64(m.RateHz), diagnose.Clock(float64(e.start)/float64(m.RateHz))),
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
