package first

import (
	"math"
	"strings"

	"gainwright/scenes/bench"
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
)

// whoWords are the guest's name, and what they do.
func (s *Scene) whoWords() (name, what string) {
	name, what, _ = strings.Cut(s.who.Title, ", ")
	about, _, _ := strings.Cut(s.who.About, ";")
	return name, kit.Capital(what) + ", " + about
}

// Draw draws cards, pictures and words.
func (s *Scene) Draw(l *ink.List, th *ui.Theme) {
	y := &s.lay
	if !y.wide {
		l.Clip(y.scroll.View)
	}
	kit.Panel(l, th, y.talker)
	s.drawFace(l, th, y.face)
	y.who.Draw(l)
	kit.Panel(l, th, y.knob)
	s.drawBandLabel(l, th)
	if y.mark.W > 0 {
		ui.Verdict(l, th, ink.Point{X: y.mark.X + y.mark.W/2, Y: y.mark.Y + y.mark.H/2}, y.mark.W*0.8, s.end[mine].good)
	}
	y.f.Draw(l)
	for i := range y.card {
		if y.card[i].W > 0 {
			s.drawWave(l, th, i)
		}
	}
	if y.levels.W > 0 {
		kit.Panel(l, th, y.levels)
		s.d.Draw(l, s.small(th, y.levels))
	}
	if !y.wide {
		l.Unclip()
		y.scroll.Bar(l, th)
	}
}

// drawBandLabel names the band beside the meter's scale.
func (s *Scene) drawBandLabel(l *ink.List, th *ui.Theme) {
	b := s.step().Band
	if b == nil {
		return
	}
	m := s.meter.Bounds
	half := th.DP(ui.Tiny) / 2
	bar := ink.Rect{Y: m.Y + half, H: m.H - 2*half}
	row := th.Row(ui.Small)
	mid := (s.meter.Axis.Y(bar, b.From) + s.meter.Axis.Y(bar, b.To)) / 2
	st := th.Style(ui.Small, ink.Bold, ink.Left, th.SayGood)
	l.TextIn(ink.Rect{X: s.lay.band.X + 4, Y: mid - row/2, W: s.lay.band.W, H: row}, ui.Fit(st, s.lay.band.W-4, b.Label, ""), st)
}

// drawFace draws somebody who talks: the louder, the farther the arcs reach.
func (s *Scene) drawFace(l *ink.List, th *ui.Theme, box ink.Rect) {
	d := min(box.W, box.H)
	if d < 24 {
		return
	}
	b := ink.Rect{X: box.X + (box.W-d)/2, Y: box.Y + (box.H-d)/2, W: d, H: d}
	l.Fill(b, d*0.16, th.Well)
	l.Clip(b)
	c := ink.Point{X: b.X + d*0.42, Y: b.Y + d*0.4}
	hue := th.Signal.Mix(th.Panel, 0.35)
	l.Disc(ink.Point{X: c.X, Y: b.Bottom() + d*0.1}, d*0.38, hue)
	l.Disc(c, d*0.215, th.Signal.Mix(th.Say, 0.25))
	level := s.meter.Level
	if s.shell.Bench().Shown() != nil {
		level = math.Inf(-1)
	}
	// How loud she is does not depend on the knob.
	loud := level - s.shell.Bench().Chain(mine).Preamp.GainDB
	for i := range 4 {
		arc := th.Grid
		if loud > -84+float64(i)*8 {
			arc = th.Say
		}
		l.Arc(ink.Point{X: c.X + d*0.06, Y: c.Y + d*0.05}, d*(0.24+0.09*float32(i)), -0.5, 0.5, d*0.026, arc)
	}
	l.Unclip()
}

var names = [2]string{"Your take", "12 dB lower"}

// drawWave draws what the file kept of the loudest moment.
func (s *Scene) drawWave(l *ink.List, th *ui.Theme, i int) {
	y := &s.lay
	kit.Panel(l, th, y.card[i])
	name := y.name[i]
	d := th.DP(ui.Strong)
	ui.Verdict(l, th, ink.Point{X: name.X + d/2, Y: name.Y + name.H/2}, d, s.end[i].good)
	ui.Left(&name, d+8)
	st := th.Style(ui.Strong, ink.Bold, ink.Left, th.Say)
	l.TextIn(name, ui.Fit(st, name.W, names[i]+": "+strings.ToLower(s.end[i].head), names[i]), st)
	s.wave[i].DrawAlone(l, th, y.picture[i])
	cap := th.Style(ui.Small, ink.Regular, ink.Left, th.SayDim)
	l.TextIn(y.caption[i], ui.Fit(cap, y.caption[i].W, s.caption(i)...), cap)
}

// caption says what a wave shows, longest first.
func (s *Scene) caption(i int) []string {
	if s.wave[i].Flats() > 0 {
		return []string{"A blink of the laugh. Thin line: what she did. Ringed: flat tops, lost for good.", "Thin line: what she did. Ringed: flat tops, lost.", "Ringed: flat tops, lost for good.", "Ringed: lost"}
	}
	return []string{"A blink of the laugh: all of what she did is there.", "A blink of the laugh, whole.", "Whole"}
}

// Nodes tells what the pictures show.
func (s *Scene) Nodes(dst []ui.Node) []ui.Node {
	y := &s.lay
	say := y.f.Pieces
	box := ink.Rect{X: y.knob.X, Y: y.knob.Y, W: y.knob.W, H: 20}
	if len(say) > 0 {
		box = say[0].Box
	}
	name, what := s.whoWords()
	dst = append(dst,
		ui.Node{ID: kit.IDStatus, Role: ui.RoleStatus, Name: "Result", Value: s.shell.Announce(), Bounds: box},
		ui.Node{ID: idTalker, Role: ui.RoleText, Name: name, Value: what, Bounds: y.talker},
		ui.Node{ID: idSay, Role: ui.RoleText, Name: "Now", Value: s.words(), Bounds: box})
	if s.verdict() {
		e := &s.end[mine]
		dst = append(dst, ui.Node{ID: idVerdict, Role: ui.RoleText, Name: e.head, Value: e.lost, Bounds: box})
	}
	for i, id := range []string{idWave, idLower} {
		if y.card[i].W > 0 {
			dst = append(dst, ui.Node{ID: id, Role: ui.RoleImage, Name: names[i] + ": " + strings.ToLower(s.end[i].head), Value: s.caption(i)[0], Bounds: y.picture[i]})
		}
	}
	if y.levels.W > 0 {
		dst = append(dst, ui.Node{ID: idLevels, Role: ui.RoleImage, Name: s.d.Title, Value: s.d.Words(bench.StripNames[mine]), Bounds: y.levels})
	}
	return dst
}
