package scenes

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"

	"gainwright/scenes/ink"
	"gainwright/scenes/ui"
	"gainwright/sim/diagnose"
	"gainwright/sim/meter"
	"gainwright/sounds"
)

// fileReport is what a recording that was brought along tells of its past: what was
// found, where, what it means, what can be done and what to set next time.
type fileReport struct {
	drop  Drop
	job   *errand
	got   *[]diagnose.Finding // of the job
	found []diagnose.Finding
	words [][]string // of each finding: its title, then labels and texts by turns
	err   string
	pace  pace
	mend  *ui.Button

	head    ink.Rect
	pane    scroller
	f       flow
	box     ink.Rect
	percent ui.Strs
}

func newFileReport() fileReport {
	b := ui.NewButton("file.mend", "Mend it later: take this recording there", "Goes to the scene “Mend it later” with this recording.", "Mend it later", ui.Plain, ui.NoIcon)
	b.Size = ui.Small
	return fileReport{mend: b}
}

// there tells whether a recording was looked at, or is.
func (r *fileReport) there() bool { return r.drop.Name != "" }

// look begins to look at a recording, beside the screen.
func (r *fileReport) look(d Drop) {
	if r.job != nil {
		r.job.cancel()
	}
	r.drop, r.found, r.words, r.err = d, nil, nil, ""
	r.pane.scroll = 0
	got := new([]diagnose.Finding)
	r.got = got
	r.job = startErrand(func(h *hand) (err error) {
		*got, err = findings(h, d)
		return err
	})
}

// findings reads a recording as it is, at its own rate and with all its channels,
// and tells what it finds.
func findings(h *hand, d Drop) ([]diagnose.Finding, error) {
	src, err := sounds.OpenBytes(d.Name, d.Data)
	if err != nil {
		return nil, err
	}
	defer src.Close()
	in := src.Info()
	if err := meter.CheckRate(in.Rate); err != nil {
		return nil, fmt.Errorf("%s: %w", d.Name, err)
	}
	known := diagnose.Options{Lossy: in.Encoding.Bits() == 0}
	if !in.Encoding.Float() {
		bits := 16 // of an MP3 file, as its decoder gives
		if in.Encoding != sounds.MP3 {
			bits = min(in.Encoding.Bits(), 24)
		}
		known.Step = math.Pow(2, float64(1-bits))
		known.FullScale = 1 - known.Step
	}
	ch := make([]*diagnose.Channel, in.Channels)
	for i := range ch {
		ch[i] = diagnose.New(in.Rate, known)
	}
	block := sounds.NewBlock(in.Channels, 1024)
	for at := int64(0); ; {
		n, err := src.Read(block)
		for i, c := range ch {
			c.Write(block[i][:n])
		}
		at += int64(n)
		if in.Frames > 0 {
			h.at("looking", float64(at)/float64(in.Frames))
		}
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, err
		}
		if err := h.Err(); err != nil {
			return nil, err
		}
	}
	return diagnose.Diagnose(ch), nil
}

// goOn goes on looking and reports whether the picture changes, and whether it is
// done now.
func (r *fileReport) goOn(now float64, busy bool) (paint, done bool) {
	if r.job == nil {
		return false, false
	}
	paint = r.pace.grant(r.job, now, busy)
	if !r.job.finished() {
		return paint, false
	}
	err := r.job.err
	r.job = nil
	switch {
	case errors.Is(err, context.Canceled):
		return true, false
	case err != nil:
		r.err = err.Error()
	}
	r.found = *r.got
	for i := range r.found {
		f := &r.found[i]
		w := []string{fmt.Sprintf("%s (confidence %.0f %%)", f.Title, 100*f.Confidence)}
		line := func(label, text string) {
			if text != "" {
				w = append(w, label, text)
			}
		}
		line("where", f.Places(6))
		line("means", f.Means)
		line("now", f.Remedy)
		next := f.Advice
		if t, ok := strings.CutPrefix(next, "Next time "); ok {
			next = upper(t)
		}
		line("next time", next)
		r.words = append(r.words, w)
	}
	return true, true
}

// result is what was found, in a sentence.
func (r *fileReport) result() string {
	switch {
	case r.err != "":
		return r.err
	case len(r.found) == 0:
		return r.drop.Name + ": nothing speaks of clipping, limiting, overload, hum or an offset."
	}
	first, _, _ := strings.Cut(r.found[0].Title, ", ")
	s := r.drop.Name + ": " + first
	if n := len(r.found) - 1; n > 0 {
		s += fmt.Sprintf(", and %d more", n)
	}
	if x := r.found[0].Next; x != nil {
		s += fmt.Sprintf(". About %s dB less gain would have kept it whole", ui.Decimal(x.LowerDB, 0))
	}
	return s + "."
}

// put sets the findings into a column and returns where it ends.
func (r *fileReport) put(th *ui.Theme, c ink.Rect) float32 {
	f := &r.f
	f.begin(th, c, ink.Rect{})
	switch {
	case r.job != nil:
		f.body("What it tells of its past is being worked out.")
	case len(r.found) == 0:
		f.body(r.result())
		f.note("It may still be too loud for the room it has, or too noisy: perform it, and look at the diagram.")
	}
	labels := float32(0)
	for _, l := range []string{"where", "means", "now", "next time"} {
		labels = max(labels, ink.Measure(l, th.Style(ui.Small, ink.Regular, ink.Left, th.SayDim)))
	}
	for i, w := range r.words {
		if i > 0 {
			f.gap(6)
		}
		col := th.Say
		if r.found[i].Kind.Clipping() {
			col = th.SayLost
		}
		f.say(w[0], ui.Small, ink.Bold, col)
		for k := 1; k+1 < len(w); k += 2 {
			f.pieces = append(f.pieces, piece{box: ink.Rect{X: f.x, Y: f.y, W: labels + 2, H: th.Row(ui.Small)}, s: w[k], st: th.Style(ui.Small, ink.Regular, ink.Left, th.SayDim)})
			f.x += labels + 14
			f.w -= labels + 14
			f.say(w[k+1], ui.Small, ink.Regular, th.Say)
			f.x -= labels + 14
			f.w += labels + 14
		}
	}
	return f.y
}

// height is what the panel needs at a width.
func (r *fileReport) height(th *ui.Theme, width float32) float32 {
	return 16 + max(th.Row(ui.Strong), 26) + 8 + r.put(th, ink.Rect{W: width - 24 - 10})
}

func (r *fileReport) layout(th *ui.Theme, head, in ink.Rect) {
	w := r.mend.Width(th)
	b := ui.Right(&head, w)
	r.mend.Bounds = b
	ui.Right(&head, 8)
	r.head, r.box = head, in
	in.W -= 10 // beside it the bar
	r.pane.lay(in, func(c ink.Rect) float32 { return r.put(th, c) })
}

func (r *fileReport) draw(l *ink.List, th *ui.Theme) {
	st := th.Style(ui.Strong, ink.Bold, ink.Left, th.Say)
	head := r.head
	title := ui.Fit(st, head.W, "What it tells of its past", "Your file")
	l.TextIn(ui.Left(&head, min(ink.Measure(title, st)+1, head.W)), title, st)
	ui.Left(&head, 12)
	sub := th.Style(ui.Tiny, ink.Regular, ink.Left, th.SayDim)
	s := r.drop.Name
	if r.job != nil {
		_, share := r.job.progress()
		s = r.percent.Get([6]int64{ui.Q(share*100, 0)}, func() string { return "looking, " + ui.Decimal(share*100, 0) + " %" })
	}
	l.TextIn(head, ui.Fit(sub, head.W, s, ""), sub)
	l.Clip(r.pane.view)
	r.f.draw(l)
	l.Unclip()
	r.pane.bar(l, th)
}

// nodes tells what was found.
func (r *fileReport) nodes(dst []Node) []Node {
	for i, w := range r.words {
		var v []string
		for k := 1; k+1 < len(w); k += 2 {
			v = append(v, upper(w[k])+": "+strings.TrimSuffix(w[k+1], ".")+".")
		}
		dst = append(dst, Node{ID: fmt.Sprint("file.finding.", i+1), Role: RoleText, Name: w[0], Value: strings.Join(v, " "), Bounds: r.box})
	}
	return dst
}

// mendFile takes the recording to the scene for mending.
func (g *gainScene) mendFile() error {
	return g.p.Go("tab.mend", Intent{ID: "mend.file", Do: ui.DoSet, File: &g.file.drop})
}
