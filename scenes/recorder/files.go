package recorder

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"slices"

	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
	"gainwright/scenes/work"
	"gainwright/sounds"
	"gainwright/sounds/series"
)

// entry is a recording that was brought along.
type entry struct {
	drop    ui.Drop
	told    *series.Told // what was said of it by hand
	reading *series.Reading
	why     string // why there is none
	err     error
	row     *fileRow
}

// waits tells whether it is still to be read.
func (e *entry) waits() bool { return e.reading == nil && e.why == "" }

// words say what it is.
func (e *entry) words(now bool, share float64) string {
	switch {
	case now:
		return fmt.Sprintf("reading, %.0f %%", 100*share)
	case e.why != "":
		return e.why
	case e.reading == nil:
		return "waits to be read"
	case len(e.reading.Sources) == 0:
		return "tells nothing"
	}
	s := ""
	for i, src := range e.reading.Sources {
		if i == 3 && len(e.reading.Sources) > 4 {
			return fmt.Sprintf("%s; and %d more", s, len(e.reading.Sources)-3)
		}
		if i > 0 {
			s += "; "
		}
		s += src.What()
	}
	return s
}

// fileOf makes a file of a drop.
func fileOf(d ui.Drop) series.File {
	return series.File{Name: d.Name,
		Open: func(context.Context) (*sounds.Reader, error) { return work.OpenDrop(d) },
		Raw: func() (io.ReadCloser, error) {
			if d.Long != nil {
				return io.NopCloser(io.NewSectionReader(d.Long, 0, d.Size)), nil
			}
			return io.NopCloser(bytes.NewReader(d.Data)), nil
		}}
}

// progress hands a series' progress on.
type progress struct {
	h     *work.Context
	stage string
	from  float64 // what came before, as a share of all
}

func (p *progress) Begin(stage string) { p.stage = stage }

func (p *progress) At(share float64) { p.h.Report(p.stage, p.from+(1-p.from)*min(share, 1)) }

// errTwice is why a file does not count.
type errTwice string

func (e errTwice) Error() string { return "is the same file as " + string(e) + ", and counts once" }

// read reads a recording; known are the hashes of those that were read before, by name.
func (e *entry) read(h *work.Context, known map[string]string) (*series.Reading, error) {
	if e.drop.Err != nil {
		return nil, e.drop.Err
	}
	f := fileOf(e.drop)
	p := &progress{h: h, stage: "reading " + f.Name}
	sum, err := series.Hash(h, f)
	if err != nil {
		return nil, err
	}
	if other, twice := known[sum]; twice {
		return nil, errTwice(other)
	}
	return series.Read(h, f, sum, e.told, p)
}

// add takes recordings in.
func (s *Scene) add(drops []ui.Drop) {
	for _, d := range drops {
		e := &entry{drop: d}
		e.row = newFileRow(fmt.Sprint(idFile, s.numbered+1), d.Name)
		s.numbered++
		s.files = append(s.files, e)
		s.acts[e.row.ID] = kit.Press(func() { s.choose(e) })
	}
	s.hear.stopped = false
	s.status = fmt.Sprintf("%s to be read.", counted(s.waiting(), "recording is", "recordings are"))
	s.shell.Relayout()
	s.cs = nil
}

// waiting is how many recordings are still to be read.
func (s *Scene) waiting() (n int) {
	for _, e := range s.files {
		if e.waits() {
			n++
		}
	}
	return n
}

// choose makes a recording the one of which something is said, or none.
func (s *Scene) choose(e *entry) {
	if s.chosen == e {
		e = nil
	}
	s.chosen = e
	if e != nil {
		s.is, s.isMark = -1, ""
		switch {
		case e.told != nil:
			s.say(*e.told)
		case e.reading != nil && len(e.reading.Sources) > 0:
			src := e.reading.Sources[0]
			s.say(series.Told{Step: src.Step, Pair: src.Step == 0, Mark: src.Mark})
		}
		s.mark.SetText(s.isMark)
	}
	s.cs = nil
	s.shell.Relayout()
}

func (s *Scene) say(t series.Told) {
	s.isMark = series.Mark(t.Mark)
	for i, w := range kinds {
		if w == t.Step.String() && !t.Pair || w == "pair" && t.Pair {
			s.is = i
		}
	}
}

// takeOut forgets recordings.
func (s *Scene) takeOut(gone func(*entry) bool) {
	if s.reading != nil && gone(s.reading) {
		s.giveUp()
	}
	s.files = slices.DeleteFunc(s.files, func(e *entry) bool {
		if gone(e) {
			delete(s.acts, e.row.ID)
			return true
		}
		return false
	})
	if s.chosen != nil && gone(s.chosen) {
		s.chosen = nil
	}
	for _, e := range s.files {
		if twice := new(errTwice); errors.As(e.err, twice) {
			e.err, e.why = nil, "" // the other one may be gone
		}
	}
	s.stale, s.cs = true, nil
	s.shell.Relayout()
}

func counted(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// fileRow is a recording in the list: its name, and below what it is.
type fileRow struct {
	*ui.Button
	under string
	bad   bool
	now   bool
	share float64
	para  ui.Para
}

func newFileRow(id, name string) *fileRow {
	return &fileRow{Button: ui.NewButton(id, name, "Opens what can be said of it by hand.", name, ui.Bare, ui.NoIcon)}
}

// Node tells the semantics.
func (r *fileRow) Node() ui.Node {
	n := r.Button.Node()
	n.Value = r.under
	return n
}

// height is what the row needs at a width.
func (r *fileRow) height(th *ui.Theme, w float32) float32 {
	return th.Tall(14 + th.Row(ui.Small) + r.para.Height(r.under, th.Style(ui.Small, ink.Regular, ink.Left, th.Say), w-20-th.Px(22), th.Row(ui.Small)))
}

// shorten leaves the middle of a long name out.
func shorten(name string, st ink.Style, width float32) string {
	r := []rune(name)
	for n := len(r); ink.Measure(name, st) > width && n > 6; {
		n -= max(1, n/12)
		name = string(r[:n/2]) + "…" + string(r[len(r)-(n-n/2):])
	}
	return name
}

// Draw draws the frame, a mark, the name and what it is.
func (r *fileRow) Draw(l *ink.List, th *ui.Theme, st ui.State) {
	r.Button.Draw(l, th, st)
	in := ui.Pad(r.Bounds, 10, 7)
	size := th.Px(13)
	c := ink.Point{X: in.X + size/2, Y: in.Y + th.Row(ui.Small)/2}
	switch {
	case r.bad:
		ui.Verdict(l, th, c, size, false)
	case r.now || r.under == "waits to be read":
		l.Disc(c, size/2, th.SayDim)
		l.Disc(c, size/2-1.4, th.Panel)
	default:
		ui.Verdict(l, th, c, size, true)
	}
	ui.Left(&in, th.Px(22))
	name := th.Style(ui.Small, ink.Bold, ink.Left, th.Say)
	l.TextIn(ui.Top(&in, th.Row(ui.Small)), shorten(r.Label, name, in.W), name)
	r.para.Draw(l, in, r.under, th.Style(ui.Small, ink.Regular, ink.Left, th.SayDim), th.Row(ui.Small))
	if r.now {
		l.Fill(ink.Rect{X: r.Bounds.X + 4, Y: r.Bounds.Bottom() - 4, W: (r.Bounds.W - 8) * float32(r.share), H: 2.5}, 1, th.Signal)
	}
}
