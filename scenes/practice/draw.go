package practice

import (
	"fmt"
	"math"
	"strings"

	"gainwright/scenes/gain/room"
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/stage"
	"gainwright/scenes/ui"
)

// Layout divides area between the guest and the bench.
func (s *Scene) Layout(th *ui.Theme, area ink.Rect) {
	s.area = area
	area = s.g.LayoutRuler(th, area)
	need := stage.Need{Strips: 1, Strip: room.StripHeight(th), InUse: true, Turned: s.out == nil, Elsewhere: s.out != nil, Scale: func(float32) {}, Pictures: s.pictures,
		Words: func(w float32, tight bool) float32 {
			s.tight = tight
			return s.layoutPanel(th, ink.Rect{W: w}, ink.Rect{})
		},
		Foot:  func(w float32, tight bool) float32 { s.tight = tight; return s.layoutFoot(th, ink.Rect{W: w}) },
		Under: func(w float32) float32 { return s.g.UnderHeight(th, w) },
		Take:  func(w float32) float32 { return s.g.TakeHeight(th, w) },
	}
	s.stretch = 0
	s.rooms = stage.Rooms{Words: area}
	s.sync() // what is hidden needs no room
	s.rooms = need.Divide(th, area)
	s.tight = s.rooms.Head.W > 0
	s.sync()
	o := &s.rooms
	s.foot = stage.Inner(o.Foot)
	s.layoutFoot(th, s.foot)
	if o.Head.W > 0 {
		s.head = o.Head
		s.look.Bounds = ui.Right(&s.head, min(s.look.Width(th)+8, s.head.W*0.6))
	}
	s.strip = ink.Rect{}
	clip := ink.Rect{}
	if o.Words.W > 0 {
		in := stage.Inner(o.Words)
		s.stretch = min(max(0, in.H-s.layoutPanel(th, ink.Rect{W: in.W}, ink.Rect{})), 200*th.Text)
		s.pane.Lay(in, func(c ink.Rect) float32 { return s.layoutPanel(th, c, in) })
		if o.Scrolls {
			clip = s.pane.View
		}
	}
	if o.Strip.W > 0 {
		s.strip = o.Strip
	}
	s.g.LayoutRoom(th, room.Room{Strip: s.strip, Clip: clip, Column: o.Pictures, Strips: o.Strips, Under: o.Under, Take: o.Take})
	s.sync()
}

// layoutFoot lays out what goes on and the main button, and returns the height.
func (s *Scene) layoutFoot(th *ui.Theme, r ink.Rect) float32 {
	var low kit.Flow
	low.Begin(th, r, ink.Rect{})
	if w := s.nowWords(); w != "" && !s.tight {
		var p ui.Para
		low.Gap(p.Height(w, th.Style(ui.Small, ink.Regular, ink.Left, th.SayDim), r.W, th.Row(ui.Small)) + 4)
	}
	stage.Buttons(th, &low, s.talk, s.next)
	return low.Y - r.Y
}

// nowWords is what is going on.
func (s *Scene) nowWords() string {
	switch {
	case s.job != nil:
		return s.doing + "."
	case s.stage.Rolling():
		return "The conversation rolls. Whatever you change now counts."
	case s.out == nil && s.pr != nil:
		return "The sound check goes on until you are ready. The loudest moment has not come yet."
	}
	return ""
}

func (s *Scene) layoutPanel(th *ui.Theme, c, clip ink.Rect) float32 {
	f := &s.f
	f.Begin(th, c, clip)
	s.bars, s.verdicts, s.plot = s.bars[:0], s.verdicts[:0], ink.Rect{}
	if s.pr == nil {
		f.Note(s.status)
		return f.Y
	}
	g := s.guest
	tight := s.tight // who it is stands in the head, and what goes on here
	if !tight {
		f.Say(s.guestWords(), ui.Small, ink.Bold, th.SayDim)
	}
	f.Say(g.Title, ui.Title, ink.Bold, th.Say)
	if tight && s.live != "" {
		f.Say(s.live, ui.Small, ink.Bold, th.Say)
	}
	if w := s.nowWords(); tight && w != "" {
		f.Note(w)
	}
	f.Say(kit.Capital(g.Says)+".", ui.Body, ink.Regular, th.Say)
	if w := s.who.Words(s.you); w != "" {
		f.Note(w)
	}
	f.Gap(2)
	mic := "a dynamic vocal microphone"
	if g.Condenser {
		mic = "a small condenser"
	}
	f.Note(fmt.Sprintf("%s cm from %s, room %s dBA", ui.Decimal(g.DistanceM*100, 0), mic, ui.Decimal(g.RoomDBA, 0)))
	f.Gap(8)
	if s.out == nil {
		s.who.Flow(f, th)
		if s.live != "" && !tight {
			f.Say(s.live, ui.Small, ink.Bold, th.Say)
			f.Gap(4)
		}
		if s.rooms.Scrolls {
			s.strip = f.Row(room.StripHeight(th))
			s.strip.X -= 6
			s.strip.W += 12
			f.Gap(6)
		}
	} else {
		s.layoutOutcome(th, f)
	}
	s.layoutHistory(th, f)
	return f.Y
}

func (s *Scene) guestWords() string {
	return fmt.Sprintf("Guest %d, level %d of 10", s.guest.Number, s.guest.Level)
}

// layoutOutcome sets score, parts and advice.
func (s *Scene) layoutOutcome(th *ui.Theme, f *kit.Flow) {
	o := s.out
	overs := int(o.Readings["overs"])
	s.verdicts = append(s.verdicts, stage.Verdict{At: ink.Point{X: f.X + th.Px(11), Y: f.Y + th.Row(ui.Big)/2}, Good: overs == 0})
	f.X += th.Px(30)
	f.Width -= th.Px(30)
	f.Say(ui.Decimal(o.Score, 0)+" of 100", ui.Big, ink.Bold, th.Say)
	f.X -= th.Px(30)
	f.Width += th.Px(30)
	f.Gap(2)
	f.Say(o.Advice, ui.Body, ink.Regular, th.Say)
	f.Gap(6)
	for _, p := range o.Parts {
		num := stage.Points(p.Points) + " of " + stage.Points(p.Of)
		st := th.Style(ui.Small, ink.Bold, ink.Right, th.Say)
		w := ink.Measure(num, st) + 2
		f.Pieces = append(f.Pieces, kit.Piece{Box: ink.Rect{X: f.X + f.Width - w, Y: f.Y, W: w, H: th.Row(ui.Small)}, S: num, St: st})
		full := f.Width
		f.Width -= w + 10
		f.Say(p.Name, ui.Small, ink.Regular, th.Say)
		f.Width = full
		b := f.Row(9)
		s.bars = append(s.bars, kit.Bar{Box: b, Zero: b.X, From: b.X, To: b.X + b.W*float32(p.Points/max(p.Of, 1)), Good: true})
		f.Gap(3)
	}
	f.Gap(2)
	words := "no overs"
	switch {
	case overs == 1:
		words = "1 over"
	case overs > 1:
		words = fmt.Sprintf("%d overs", overs)
	}
	f.Note(fmt.Sprintf("%s, headroom %s dB, noise after delivery %s LUFS. This conversation needed at most %s dB, an hour at most %s dB.",
		kit.Capital(words), ui.Decimal(float64(o.Readings["headroom_db"]), 1), ui.Decimal(float64(o.Readings["delivered_noise_lufs"]), 1), ui.Decimal(o.MostGainDB, 0), ui.Decimal(o.HourGainDB, 0)))
	if m := s.momentWords(); m != "" {
		f.Tiny("What happened: " + m + ".")
	}
	f.Tiny(s.levelWords())
	f.Gap(6)
}

// layoutHistory leaves room for the plot of the scores.
func (s *Scene) layoutHistory(th *ui.Theme, f *kit.Flow) {
	if len(s.hist.Played) == 0 {
		return
	}
	f.Gap(4)
	bh := th.Tall(max(28, th.Row(ui.Small)+8))
	bw := min(s.forget.Width(th), f.Width)
	st := th.Style(ui.Small, ink.Bold, ink.Left, th.Say)
	words := s.historyWords()
	fits := ink.Measure(words, st)+bw+8 <= f.Width
	if fits {
		row := f.Row(bh)
		s.forget.Bounds, s.forget.Clip = ui.Right(&row, bw), f.Clip
		f.Pieces = append(f.Pieces, kit.Piece{Box: row, S: words, St: st})
	} else {
		f.Say(words, ui.Small, ink.Bold, th.Say)
	}
	f.Gap(2)
	s.plot = f.Row(52*th.Text + s.stretch)
	words = "dots: score of each guest, hollow where something was lost; grey steps: level"
	if s.hist.Strangers() < len(s.hist.Played) {
		words = "dots: score of each guest, squares where that was you, hollow where something was lost; grey steps: level"
	}
	f.Tiny(words)
	if !fits {
		f.Gap(4)
		s.forget.Bounds, s.forget.Clip = ink.Rect{X: f.X, Y: f.Y, W: bw, H: bh}, f.Clip
		f.Row(bh)
	}
}

func (s *Scene) historyWords() string {
	n := len(s.hist.Played)
	word := "guests"
	if n == 1 {
		word = "guest"
	}
	out := fmt.Sprintf("%d %s so far", n, word)
	k := s.hist.Strangers()
	if k < n {
		out += fmt.Sprintf(", you yourself %d of them", n-k)
	}
	if m := s.hist.Mean(10); !math.IsNaN(m) && n > 1 {
		of := ""
		if k < n {
			of = " strangers"
		}
		out += fmt.Sprintf(", mean of the last %d%s: %s", min(k, 10), of, ui.Decimal(m, 0))
	}
	return out
}

// Draw draws panel and bench; the controls come after.
func (s *Scene) Draw(l *ink.List, th *ui.Theme) {
	s.g.DrawRuler(l, th)
	kit.Panel(l, th, s.rooms.Foot)
	if w := s.nowWords(); w != "" && !s.tight {
		s.why.Draw(l, s.foot, w, th.Style(ui.Small, ink.Regular, ink.Left, th.SayDim), th.Row(ui.Small))
	}
	if s.tight && s.pr != nil {
		l.TextIn(s.head, s.guestWords(), th.Style(ui.Small, ink.Bold, ink.Left, th.SayDim))
	}
	if s.rooms.Words.W > 0 {
		s.drawWords(l, th)
	}
	s.g.Draw(l, th)
}

// drawWords draws the guest's panel.
func (s *Scene) drawWords(l *ink.List, th *ui.Theme) {
	kit.Panel(l, th, s.rooms.Words)
	l.Clip(s.pane.View)
	s.f.Draw(l)
	for _, b := range s.bars {
		y := b.Box.Y + 2
		l.Fill(ink.Rect{X: b.Box.X, Y: y, W: b.Box.W, H: 5}, 2, th.Grid)
		if b.To > b.From+0.5 {
			l.Fill(ink.Rect{X: b.From, Y: y, W: b.To - b.From, H: 5}, 2, th.Signal)
		}
	}
	for _, v := range s.verdicts {
		ui.Verdict(l, th, v.At, th.Px(20), v.Good)
	}
	s.drawPlot(l, th)
	l.Unclip()
	s.pane.Bar(l, th)
}

// drawPlot draws the scores of the last guests, and their levels.
func (s *Scene) drawPlot(l *ink.List, th *ui.Theme) {
	if s.plot.W == 0 {
		return
	}
	tiny := th.Style(ui.Tiny, ink.Regular, ink.Right, th.SayDim)
	gut := ink.Measure("100", tiny) + 8
	r := s.plot
	r.X += gut
	r.W -= gut + 4
	r.Y += th.Row(ui.Tiny) / 2
	r.H -= th.Row(ui.Tiny)
	l.Fill(r, 4, th.Well)
	y := func(score float64) float32 { return r.Bottom() - float32(score/100)*r.H }
	for _, v := range []float64{0, 50, 100} {
		l.Line(1, th.Grid, ink.Point{X: r.X, Y: y(v)}, ink.Point{X: r.Right(), Y: y(v)})
		h := th.Row(ui.Tiny)
		l.TextIn(ink.Rect{X: s.plot.X, Y: y(v) - h/2, W: gut - 5, H: h}, ui.Decimal(v, 0), tiny)
	}
	p := s.hist.Played[max(0, len(s.hist.Played)-plotGuests):]
	step := r.W / float32(max(len(p), 8))
	for i, x := range p {
		h := r.H * float32(x.Level) / 10
		l.Fill(ink.Rect{X: r.X + float32(i)*step, Y: r.Bottom() - h, W: step - 1, H: h}, 0, th.Noise.Alpha(0.35))
	}
	s.pts = s.pts[:0]
	for i, x := range p {
		s.pts = append(s.pts, ink.Point{X: r.X + (float32(i)+0.5)*step, Y: y(x.Score)})
	}
	if len(s.pts) > 1 {
		l.Line(1.5, th.Signal.Alpha(0.7), s.pts...)
	}
	for i, x := range p {
		if x.Own != "" { // a square
			c := s.pts[i]
			l.Fill(ink.Rect{X: c.X - 4, Y: c.Y - 4, W: 8, H: 8}, 0, th.Signal)
		} else {
			l.Disc(s.pts[i], 4.5, th.Signal)
		}
		if x.Overs > 0 {
			l.Disc(s.pts[i], 2.6, th.Well)
		}
	}
}

// Nodes tells what is shown besides the controls.
func (s *Scene) Nodes(dst []ui.Node) []ui.Node {
	dst = s.g.RulerNodes(dst)
	box := s.rooms.Words
	if box.W == 0 {
		box = s.area
	}
	if s.pr != nil {
		dst = append(dst, ui.Node{ID: idGuest, Role: ui.RoleHeading, Name: s.introduction(), Bounds: box})
	}
	if w := s.nowWords(); w != "" {
		dst = append(dst, ui.Node{ID: idNow, Role: ui.RoleText, Name: "Now", Value: w, Bounds: box})
	}
	if s.live != "" {
		dst = append(dst, ui.Node{ID: idLive, Role: ui.RoleText, Name: "Meter", Value: s.live, Bounds: box})
	}
	if s.out != nil {
		dst = append(dst, ui.Node{ID: idScore, Role: ui.RoleText, Name: "Score", Value: s.verdict(), Bounds: box})
		for i, p := range s.out.Parts {
			dst = append(dst, ui.Node{ID: fmt.Sprint(idPart, i+1), Role: ui.RoleText, Name: p.Name, Value: stage.Points(p.Points) + " of " + stage.Points(p.Of), Bounds: box})
		}
	}
	if n := len(s.hist.Played); n > 0 {
		var last []string
		for _, x := range s.hist.Played[max(0, n-10):] {
			w := ui.Decimal(x.Score, 0)
			if x.Own != "" {
				w += " (your own voice)"
			}
			last = append(last, w)
		}
		dst = append(dst, ui.Node{ID: idHistory, Role: ui.RoleImage, Name: "Scores so far", Value: s.historyWords() + "; the last ones: " + strings.Join(last, ", "), Bounds: box})
	}
	return s.g.Nodes(dst)
}

// Scroll moves the column under the pointer.
func (s *Scene) Scroll(dy float32) {
	if s.rooms.Words.W > 0 && (s.rooms.Pictures.W == 0 || s.rooms.Words.Contains(s.pointer)) {
		if s.pane.By(dy) {
			s.Layout(s.shell.Theme(), s.area)
		}
		return
	}
	s.g.Scroll(dy)
}

// Reveal scrolls until r can be seen.
func (s *Scene) Reveal(r ink.Rect) {
	switch {
	case s.rooms.Fixed(r):
	case s.rooms.InWords(r):
		if s.pane.Reveal(r) {
			s.Layout(s.shell.Theme(), s.area)
		}
	default:
		s.g.Reveal(r)
	}
}
