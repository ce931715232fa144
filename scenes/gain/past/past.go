// Package past is what a recording that was brought along tells of its past, as a panel of
// "Set the gain".
package past

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
	"gainwright/scenes/work"
	"gainwright/sim/diagnose"
	"gainwright/sim/meter"
	"gainwright/sounds"
	"gainwright/sounds/codec"
)

// Report is what a recording that was brought along tells of its past: what was
// found, where, what it means, what can be done and what to set next time.
type Report struct {
	Drop  ui.Drop
	In    codec.Info
	Job   *work.Task
	got   *looked // of the job
	Found []diagnose.Finding
	words [][]string // of each finding: its title, then labels and texts by turns
	Err   string
	pace  work.Pace
	Mend  *ui.Button
	Stop  *ui.Button
	// Which channel of several is meant, and which place of a long one.
	Which   [3]*ui.Choice
	Place   [mostPlaces]*ui.Choice
	Places  []diagnose.Place
	seconds float64
	same    bool // its channels are one sound
	// The result once it is known, and in few words.
	Done, Brief string

	head    ink.Rect
	Pane    kit.Scroller
	f       kit.Flow
	box     ink.Rect
	labels  []kit.Piece
	percent ui.Strs
}

// mostPlaces is how many places of a long recording are offered.
const mostPlaces = 5

// looked is what looking at a recording gave.
type looked struct {
	found   []diagnose.Finding
	places  []diagnose.Place
	seconds float64
	same    bool
}

// New makes an empty report.
func New() Report {
	var r Report
	r.Mend = ui.NewButton(idFileMend, "Mend it later: take this recording there", "Goes to the scene “Mend it later” with this recording.", "Mend it later", ui.Plain, ui.NoIcon)
	r.Mend.Size = ui.Small
	r.Stop = ui.NewButton(idFileStop, "Stop reading the recording", "Gives up reading it.", "Stop", ui.Plain, ui.NoIcon)
	r.Stop.Size = ui.Small
	for i, w := range [3]struct{ id, name, label string }{
		{"1", "Channel 1, the left one, is meant", "channel 1 (left)"}, {"2", "Channel 2, the right one, is meant", "channel 2 (right)"},
		{"both", "Both channels are meant, mixed", "both, mixed"},
	} {
		r.Which[i] = ui.NewChoice(groupChannel, idFileChannel+w.id, w.name, "Two microphones are two people: what is performed and mended is one channel, or the mean of both.", w.label)
		r.Which[i].Look = ui.Tile
	}
	for i := range r.Place {
		r.Place[i] = ui.NewChoice(groupPlace, fmt.Sprint(idFilePlace, i+1), "", "Performs the ten minutes around it.", "")
		r.Place[i].Look = ui.Tile
	}
	return r
}

// Controls lists those of the report, in focus order.
func (r *Report) Controls() (cs []ui.Control) {
	cs = append(cs, r.Stop, r.Mend)
	for _, c := range r.Which {
		cs = append(cs, c)
	}
	for _, c := range r.Place {
		cs = append(cs, c)
	}
	return cs
}

// There tells whether a recording was looked at, or is.
func (r *Report) There() bool { return r.Drop.Name != "" }

// Long tells whether only a stretch of it can be performed.
func (r *Report) Long() bool { return r.seconds > work.MaxRecordingSeconds }

// Asks tells whether it is not known yet which of two channels is meant.
func (r *Report) Asks() bool {
	return r.In.Channels == 2 && !r.same && r.Drop.Channel == 0
}

// Excerpt is the recording with the place that is meant.
func (r *Report) Excerpt() ui.Drop {
	d := r.Drop
	if !r.Long() {
		d.AtS = 0
	}
	return d
}

// Silent tells whether what is meant of it is near silence.
func (r *Report) Silent() bool {
	for i := range r.Found {
		if f := &r.Found[i]; f.Kind == diagnose.NearSilence {
			return len(f.Channels) == r.In.Channels || slices.Contains(f.Channels, r.Drop.Channel)
		}
	}
	return false
}

// Sync brings the controls up to what there is.
func (r *Report) Sync(shown, busy, recording bool) {
	r.Mend.Hidden = !shown
	r.Mend.Disabled, r.Mend.Why = recording, "a take is being recorded"
	r.Stop.Hidden = !shown || !busy
	for i, c := range r.Which {
		c.Hidden = !shown || r.In.Channels != 2 || r.same || r.Job != nil
		c.Disabled, c.Why = recording, "a take is being recorded"
		c.Checked = r.Drop.Channel == [3]int{1, 2, -1}[i]
	}
	for i, c := range r.Place {
		c.Hidden = !shown || !r.Long() || i >= len(r.Places) || r.Job != nil
		c.Disabled, c.Why = recording, "a take is being recorded"
		if i >= len(r.Places) {
			continue
		}
		p := r.Places[i]
		c.Checked = p.AtS == r.Drop.AtS
	}
}

// namePlaces gives the places their labels.
func (r *Report) namePlaces() {
	for i, p := range r.Places {
		at := diagnose.Clock(p.AtS)
		r.Place[i].Label = at
		r.Place[i].Name = fmt.Sprintf("Perform the ten minutes around %s: the highest sample is at %s dBFS", at, strings.Replace(ui.Decimal(p.PeakDBFS, 1), "-", "−", 1))
		if p.LostDB > 0 {
			r.Place[i].Name = fmt.Sprintf("Perform the ten minutes around %s, where tops are cut", at)
		}
	}
}

// Look begins to look at a recording, beside the screen.
func (r *Report) Look(d ui.Drop, in codec.Info) {
	if r.Job != nil {
		r.Job.Cancel()
	}
	r.Drop, r.In, r.Found, r.words, r.Err = d, in, nil, nil, ""
	r.Places, r.seconds, r.same, r.Done, r.Brief = nil, max(in.Seconds, 0), false, "", ""
	r.Pane.Scroll = 0
	got := new(looked)
	r.got = got
	r.Job = work.Start(func(h *work.Context) (err error) {
		*got, err = findings(h, d)
		return err
	})
}

// findings reads a recording as it is, at its own rate and with all its channels,
// and tells what it finds. What it holds of it at a time does not depend on how long
// it is.
func findings(h *work.Context, d ui.Drop) (l looked, err error) {
	src, err := work.OpenDrop(d)
	if err != nil {
		return l, err
	}
	defer src.Close()
	in := src.Info()
	if err := meter.CheckRate(in.Rate); err != nil {
		return l, fmt.Errorf("%s: %w", d.Name, err)
	}
	known := diagnose.Options{Lossy: in.Encoding.Bits() == 0 || d.Lossy}
	known.FullScale, known.Step = in.FullScale()
	ch := make([]*diagnose.Channel, in.Channels)
	for i := range ch {
		ch[i] = diagnose.New(in.Rate, known)
	}
	block := sounds.NewBlock(in.Channels, 1024)
	frames := int64(0)
	pair := meter.NewPair(in.Rate)
	for {
		n, err := src.Read(block)
		if len(ch) == 2 {
			pair.Write(block[0][:n], block[1][:n])
		}
		for i, c := range ch {
			c.Write(block[i][:n])
		}
		frames += int64(n)
		if in.Frames > 0 {
			h.Report("looking", float64(frames)/float64(in.Frames))
		}
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return l, err
		}
		if err := h.Err(); err != nil {
			return l, err
		}
	}
	l.seconds = float64(frames) / float64(in.Rate)
	l.found = diagnose.Diagnose(ch)
	l.same = pair.Same() && diagnose.CutAlike(l.found, len(ch))
	l.places = diagnose.Worst(ch, mostPlaces, work.MaxRecordingSeconds/10)
	return l, nil
}

// GoOn goes on looking and reports whether the picture changes, and whether it is
// done now.
func (r *Report) GoOn(now float64, busy bool) (paint, done bool) {
	if r.Job == nil {
		return false, false
	}
	paint = r.pace.Run(r.Job, now, busy)
	if !r.Job.Finished() {
		return paint, false
	}
	err := r.Job.Err
	r.Job = nil
	switch {
	case errors.Is(err, context.Canceled):
		return true, false
	case err != nil:
		r.Err = err.Error()
	}
	r.Found, r.Places, r.seconds, r.same = r.got.found, r.got.places, r.got.seconds, r.got.same
	if len(r.Places) > 0 && r.Drop.AtS == 0 {
		r.Drop.AtS = r.Places[0].AtS
	}
	r.namePlaces()
	for i := range r.Found {
		f := &r.Found[i]
		on := f.On(r.In.Channels)
		if on != "" {
			on = ", " + on
		}
		w := []string{fmt.Sprintf("%s%s (confidence %.0f %%)", f.Title, on, 100*f.Confidence)}
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
			next = kit.Capital(t)
		}
		line("next time", next)
		r.words = append(r.words, w)
	}
	r.summed()
	return true, true
}

// summed keeps the result, and in few words.
func (r *Report) summed() {
	r.Done = r.Result()
	r.Brief = r.Done
	if r.Err != "" || len(r.Found) == 0 {
		return
	}
	first, _, _ := strings.Cut(r.Found[0].Title, ", ")
	r.Brief = kit.Capital(first) + "."
	if x := r.Found[0].Next; x != nil {
		r.Brief = "Cut: " + x.Words() + " too loud."
	}
}

// Result is what was found, in a sentence.
func (r *Report) Result() string {
	switch {
	case r.Err != "":
		return r.Err
	case len(r.Found) == 0:
		return r.Drop.Name + ": nothing speaks of clipping, limiting, overload, hum or an offset."
	}
	first, _, _ := strings.Cut(r.Found[0].Title, ", ")
	s := r.Drop.Name + ": " + first
	if on := r.Found[0].On(r.In.Channels); on != "" {
		s += ", " + on
	}
	if n := len(r.Found) - 1; n > 0 {
		s += fmt.Sprintf(", and %d more", n)
	}
	if x := r.Found[0].Next; x != nil {
		s += ". About " + x.Words() + " less gain would have kept it whole"
	}
	return s + "."
}

// put sets the findings into a column and returns where it ends.
func (r *Report) put(th *ui.Theme, c ink.Rect) float32 {
	f := &r.f
	f.Begin(th, c, ink.Rect{})
	switch {
	case r.Job != nil:
		f.Body("What it tells of its past is being worked out.")
	case len(r.Found) == 0:
		f.Body(r.Result())
		f.Note("It may still be too loud for the room it has, or too noisy: perform it, and look at the diagram.")
	}
	labels := float32(0)
	for _, l := range []string{"where", "means", "now", "next time"} {
		labels = max(labels, ink.Measure(l, th.Style(ui.Small, ink.Regular, ink.Left, th.SayDim)))
	}
	for i, w := range r.words {
		if i > 0 {
			f.Gap(6)
		}
		col := th.Say
		if r.Found[i].Kind.Clipping() {
			col = th.SayLost
		}
		f.Say(w[0], ui.Small, ink.Bold, col)
		for k := 1; k+1 < len(w); k += 2 {
			f.Pieces = append(f.Pieces, kit.Piece{Box: ink.Rect{X: f.X, Y: f.Y, W: labels + 2, H: th.Row(ui.Small)}, S: w[k], St: th.Style(ui.Small, ink.Regular, ink.Left, th.SayDim)})
			f.X += labels + 14
			f.Width -= labels + 14
			f.Say(w[k+1], ui.Small, ink.Regular, th.Say)
			f.X -= labels + 14
			f.Width += labels + 14
		}
	}
	return f.Y
}

// Height is what the panel needs at a width.
func (r *Report) Height(th *ui.Theme, width float32) float32 {
	in := ink.Rect{W: width - 24}
	above := r.rows(th, &in)
	return 16 + max(th.Row(ui.Strong), 26) + 8 + above + r.put(th, ink.Rect{W: width - 24 - 10})
}

func (r *Report) Layout(th *ui.Theme, head, in ink.Rect) {
	r.Mend.Bounds = ui.Right(&head, r.Mend.Width(th))
	ui.Right(&head, 8)
	if !r.Stop.Hidden {
		r.Stop.Bounds = ui.Right(&head, r.Stop.Width(th))
		ui.Right(&head, 8)
	}
	r.rows(th, &in)
	r.head, r.box = head, in
	in.W -= 10 // beside it the bar
	r.Pane.Lay(in, func(c ink.Rect) float32 { return r.put(th, c) })
}

// rows lays out the choices above the findings, takes their place from in and
// returns its height.
func (r *Report) rows(th *ui.Theme, in *ink.Rect) (height float32) {
	r.labels = r.labels[:0]
	row := func(label string, cs []*ui.Choice) {
		if len(cs) == 0 || cs[0].Hidden {
			return
		}
		st := th.Style(ui.Small, ink.Regular, ink.Left, th.SayDim)
		high := max(th.Row(ui.Strong), 26)
		line := ui.Top(in, high)
		height += high
		w := ink.Measure(label, st) + 8
		r.labels = append(r.labels, kit.Piece{Box: ui.Left(&line, min(w, line.W)), S: label, St: st})
		for _, c := range cs {
			if c.Hidden {
				continue
			}
			w := c.Width(th)
			if line.W < w {
				ui.Top(in, 3)
				line = ui.Top(in, high)
				height += high + 3
			}
			c.Bounds = ui.Left(&line, min(w, line.W))
			ui.Left(&line, 3)
		}
		ui.Top(in, 4)
		height += 4
	}
	row("meant is", r.Which[:])
	row("around", r.Place[:])
	return height
}

func (r *Report) Draw(l *ink.List, th *ui.Theme) {
	st := th.Style(ui.Strong, ink.Bold, ink.Left, th.Say)
	head := r.head
	title := ui.Fit(st, head.W, "What it tells of its past", "Your file", "File")
	l.TextIn(ui.Left(&head, min(ink.Measure(title, st)+1, head.W)), title, st)
	ui.Left(&head, 12)
	sub := th.Style(ui.Tiny, ink.Regular, ink.Left, th.SayDim)
	s := r.Drop.Name
	if r.Job != nil {
		_, share := r.Job.Progress()
		s = r.percent.Get([6]int64{ui.Q(share*100, 0)}, func() string { return "looking, " + ui.Decimal(share*100, 0) + " %" })
	}
	l.TextIn(head, ui.Fit(sub, head.W, s, ""), sub)
	for _, p := range r.labels {
		l.TextIn(p.Box, ui.Fit(p.St, p.Box.W, p.S, ""), p.St)
	}
	l.Clip(r.Pane.View)
	r.f.Draw(l)
	l.Unclip()
	r.Pane.Bar(l, th)
}

// Nodes tells what was found.
func (r *Report) Nodes(dst []ui.Node) []ui.Node {
	for i, w := range r.words {
		var v []string
		for k := 1; k+1 < len(w); k += 2 {
			v = append(v, kit.Capital(w[k])+": "+strings.TrimSuffix(w[k+1], ".")+".")
		}
		dst = append(dst, ui.Node{ID: fmt.Sprint(idFinding, i+1), Role: ui.RoleText, Name: w[0], Value: strings.Join(v, " "), Bounds: r.box})
	}
	return dst
}
