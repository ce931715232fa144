package recorder

import (
	"gainwright/scenes/curves"
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
	"gainwright/sounds/series"
)

// pane is where everything lies: two columns that scroll where there is room, else one,
// above the deck.
type pane struct {
	area           ink.Rect
	wide           bool
	leftBox, right ink.Rect
	progress       ink.Rect
	rest           ink.Rect // what follows on the left, where there is one column
	left, list     kit.Scroller
	page           kit.Scroller
	lf, rf         kit.Flow
	marks          [len(partWords)]mark // of the parts
	plots          [3]plot
}

// partWords are the names of the parts of the series, for their nodes.
var partWords = [...]string{"quiet", "steps", "loud", "pair", "anchor"}

// mark is a sign before a part of the series.
type mark struct {
	at   ink.Point
	done bool
	size float32
}

// plot is a place for a curve.
type plot struct{ box ink.Rect }

// longest is the longest thing that the deck has to say.
const longest = "12 recordings are read. Still open: noise, where it clips, the limiter and a level in dB SPL. 2 could not be used: see the list."

// Layout puts everything into area.
func (s *Scene) Layout(th *ui.Theme, area ink.Rect) {
	g := &s.pane
	g.area = area
	if s.show.On() {
		s.show.How.Layout(th, area)
		return
	}
	r := ui.Pad(area, 12, 0)
	ui.Bottom(&r, 10)
	s.hear.deck.Layout(th, ui.Bottom(&r, s.hear.deck.Height(th, r.W, longest)), longest)
	ui.Bottom(&r, kit.GapDP)
	g.wide = r.W/th.Text >= 900 && r.H/th.Text >= 330
	if !g.wide {
		g.left, g.list = kit.Scroller{}, kit.Scroller{}
		r.W -= 6
		g.page.Lay(r, func(c ink.Rect) float32 {
			g.lf.Begin(th, inner(c), r)
			s.layoutSeries(th, &g.lf)
			end := g.lf.Y + 10
			g.leftBox = ink.Rect{X: c.X, Y: c.Y, W: c.W, H: end - c.Y}
			c.Y = end + kit.GapDP
			bottom := s.layoutRight(th, inner(c), r) + 10
			g.right = ink.Rect{X: c.X, Y: c.Y, W: c.W, H: bottom - c.Y}
			g.rest = ink.Rect{X: c.X, Y: bottom + kit.GapDP, W: c.W}
			g.lf.Y = g.rest.Y + 10
			s.layoutRest(th, &g.lf)
			g.rest.H = g.lf.Y + 10 - g.rest.Y
			return g.rest.Bottom()
		})
		return
	}
	g.page, g.rest = kit.Scroller{}, ink.Rect{}
	g.leftBox = ui.Left(&r, min(max(r.W*0.38, 360*th.Text), 560*th.Text))
	ui.Left(&r, kit.GapDP)
	g.right = r
	g.left.Lay(ui.Pad(g.leftBox, 14, 10), func(c ink.Rect) float32 { return s.layoutLeft(th, c, g.left.View) })
	g.list.Lay(ui.Pad(g.right, 14, 10), func(c ink.Rect) float32 { return s.layoutRight(th, c, g.list.View) })
}

func inner(b ink.Rect) ink.Rect { return ink.Rect{X: b.X + 14, Y: b.Y + 10, W: b.W - 28, H: b.H} }

// tall is the height of a row of buttons.
func tall(th *ui.Theme) float32 { return max(32, th.Row(ui.Small)+12) }

// layoutLeft places the series and its recordings.
func (s *Scene) layoutLeft(th *ui.Theme, c, clip ink.Rect) float32 {
	f := &s.pane.lf
	f.Begin(th, c, clip)
	s.layoutSeries(th, f)
	s.layoutRest(th, f)
	return f.Y
}

// layoutSeries places what comes first: how recordings come, and the parts of the series.
func (s *Scene) layoutSeries(th *ui.Theme, f *kit.Flow) {
	if s.fresh() {
		s.layoutSounds(th, f)
		f.Gap(10)
	}
	f.Head("Recordings of the series")
	f.Gap(4)
	f.Buttons(tall(th), s.open, s.stop, s.forget)
	f.Gap(4)
	s.pane.progress = ink.Rect{}
	if s.job != nil {
		s.pane.progress = f.Row(th.Row(ui.Small))
		f.Gap(2)
	}
	f.Note("Many at once, in any order: each says by its first tones what it is. Or drop them anywhere here.")
	if w := s.keptWords(); w != "" {
		f.Note(w)
	}
	f.Gap(4)
	bad, _ := s.sorted()
	s.layoutFiles(th, f, bad)
	f.Gap(8)
	f.Head("The series, and what each part tells")
	f.Gap(2)
	for i, p := range series.Parts {
		s.layoutPart(th, f, i, p)
	}
}

// layoutRest places the other recordings, and what there is to play.
func (s *Scene) layoutRest(th *ui.Theme, f *kit.Flow) {
	if _, good := s.sorted(); len(good) > 0 {
		f.Head("Recordings so far")
		f.Gap(4)
		s.layoutFiles(th, f, good)
		f.Gap(8)
	}
	if !s.fresh() {
		s.layoutSounds(th, f)
	}
}

// layoutSounds places what there is to play.
func (s *Scene) layoutSounds(th *ui.Theme, f *kit.Flow) {
	f.Head("Sounds to play at the recorder")
	f.Gap(2)
	f.Say(series.Caution, ui.Small, ink.Regular, th.SayCeiling)
	f.Gap(6)
	f.Note("Marks of your knob; every second one will do:")
	f.Gap(2)
	f.Put(s.marks, s.marks.Height(th))
	f.Gap(6)
	f.Buttons(tall(th), s.sheet)
}

// layoutFiles places recordings.
func (s *Scene) layoutFiles(th *ui.Theme, f *kit.Flow, list []*entry) {
	for _, e := range list {
		f.Put(e.row, e.row.height(th, f.Width))
		f.Gap(4)
		if e == s.chosen {
			s.layoutChosen(th, f)
		}
	}
}

// layoutChosen places what can be said by hand of the chosen recording.
func (s *Scene) layoutChosen(th *ui.Theme, f *kit.Flow) {
	f.Gap(2)
	f.Note("Say by hand what it is, if its tones do not:")
	f.Gap(2)
	f.Chips(s.isKind[:])
	f.Gap(2)
	f.Note("At which mark of the knob:")
	f.Gap(2)
	f.Put(s.mark, s.mark.Height(th))
	f.Gap(6)
	f.Buttons(tall(th), s.reread, s.out)
	f.Gap(10)
}

// layoutPart places a part of the series: how it stands, what it tells, what to do next.
func (s *Scene) layoutPart(th *ui.Theme, f *kit.Flow, i int, p series.Part) {
	st := s.stands().state(p)
	size := th.Px(14)
	row := th.Row(ui.Small)
	s.pane.marks[i] = mark{ink.Point{X: f.X + size/2, Y: f.Y + row/2}, st.done, size}
	x, w := f.X, f.Width
	f.X, f.Width = f.X+th.Px(22), f.Width-th.Px(22)
	hue := th.SayDim
	if st.done {
		hue = th.SayGood
	}
	state := th.Style(ui.Small, ink.Bold, ink.Right, hue)
	sw := ink.Measure(st.state, state) + 4
	if ink.Measure(p.Title, th.Style(ui.Small, ink.Bold, ink.Left, th.Say))+sw+8 < f.Width {
		f.Pieces = append(f.Pieces, kit.Piece{Box: ink.Rect{X: f.X + f.Width - sw, Y: f.Y, W: sw, H: row}, S: st.state, St: state})
		f.Say(p.Title, ui.Small, ink.Bold, th.Say)
	} else {
		f.Say(p.Title, ui.Small, ink.Bold, th.Say)
		f.Say(st.state, ui.Small, ink.Bold, hue)
	}
	f.Note("Tells " + p.Tells + ".")
	if st.next != "" {
		f.Say(kit.Capital(st.next)+dot(st.next), ui.Small, ink.Regular, th.Say)
	}
	if !st.done {
		f.Tiny(p.Do)
	}
	f.X, f.Width = x, w
	f.Gap(8)
}

// layoutRight places what is known.
func (s *Scene) layoutRight(th *ui.Theme, c, clip ink.Rect) float32 {
	f := &s.pane.rf
	f.Begin(th, c, clip)
	f.Head("What is known of your recorder")
	if w := s.stands().missing(); s.known() && w != "" {
		f.Say(w, ui.Small, ink.Regular, th.Say)
	} else {
		f.Note("Nothing yet. Each recording adds to it; what stands in brackets is meant to hold the truth in nine cases of ten.")
	}
	f.Gap(6)
	f.Buttons(tall(th), s.save, s.use, s.unuse)
	if s.earlier() || s.known() {
		f.Note("Everywhere is “Set the gain”, “Plan the session” and “Practice”. Lessons keep the recorder that they were written on, but for the one below the limiter's law; “gainwright lesson run --recorder” takes any of them on yours.")
	}
	f.Gap(8)
	two := f.Width >= 560*th.Text
	x, w, y := f.X, f.Width, f.Y
	col := func(i int) {
		if two {
			f.X, f.Width, f.Y = x+float32(i)*(w+14)/2, (w-14)/2, y
		}
	}
	col(0)
	s.layoutGain(th, f)
	end := f.Y
	col(1)
	if !two {
		f.Gap(12)
	}
	s.layoutNoise(th, f)
	f.X, f.Width, f.Y = x, w, max(end, f.Y)+12
	y = f.Y
	col(0)
	s.layoutLaw(th, f)
	end = f.Y
	col(1)
	if !two {
		f.Gap(12)
	}
	s.layoutRows(th, f)
	f.X, f.Width, f.Y = x, w, max(end, f.Y)+12
	s.layoutHear(th, f)
	f.Gap(12)
	s.layoutNotes(th, f)
	return f.Y
}

// curve places a curve below its title.
func (s *Scene) curve(th *ui.Theme, f *kit.Flow, i int) {
	f.Say(curves.All[i].Title, ui.Small, ink.Bold, th.Say)
	f.Gap(2)
	s.pane.plots[i].box = f.Row(max(140, min(f.Width*0.52, 240)) * max(1, th.Text*0.8))
	f.Gap(4)
}

func (s *Scene) layoutGain(th *ui.Theme, f *kit.Flow) {
	s.curve(th, f, 0)
	if s.known() && len(s.found.Gains.Marks) > 0 {
		f.Rows(gainRows(s.found))
	}
}

func (s *Scene) layoutNoise(th *ui.Theme, f *kit.Flow) {
	s.curve(th, f, 1)
	if s.known() {
		f.Rows(rowsOf(s.found.NoiseRows()))
	}
}

func (s *Scene) layoutLaw(th *ui.Theme, f *kit.Flow) {
	s.curve(th, f, 2)
	if !s.known() || s.found.Limiter == nil {
		return
	}
	t := series.TellLimiter(s.found.Limiter)
	f.Say(t.Title, ui.Small, ink.Bold, th.Say)
	f.Say(t.Why, ui.Small, ink.Regular, th.Say)
	f.Gap(4)
	f.Rows(rowsOf(t.Law))
	if t.Advice != "" {
		f.Gap(4)
		f.Note(t.Advice)
	}
	f.Gap(6)
	f.Buttons(tall(th), s.lesson)
}

// layoutRows places the other figures, and the level that is known.
func (s *Scene) layoutRows(th *ui.Theme, f *kit.Flow) {
	f.Say("Ceiling and words", ui.Small, ink.Bold, th.Say)
	f.Gap(2)
	if s.known() {
		rows := s.found.Rows()
		f.Rows(rowsOf(rows[len(s.found.NoiseRows()):]))
	} else {
		f.Note("Not known: record something that clips.")
	}
	f.Gap(10)
	f.Say("A level that is known", ui.Small, ink.Bold, th.Say)
	f.Gap(4)
	f.Chips(s.anchor[:])
	if !s.level.Hidden {
		f.Gap(2)
		s.level.Place(f)
	}
	if s.known() && s.found.FullAt.Known() {
		f.Note("At the lowest mark a sine reaches full scale by " + series.Within(s.found.FullAt, "dB SPL") + ".")
	}
}

// layoutHear places what the pair is listened to by.
func (s *Scene) layoutHear(th *ui.Theme, f *kit.Flow) {
	f.Say("Hear the pair, before and after treatment", ui.Small, ink.Bold, th.Say)
	f.Gap(4)
	f.Chips(s.hear.side[:])
	f.Gap(2)
	f.Chips(s.hear.after[:])
	f.Gap(4)
	s.hear.matched.Label = ui.Fit(th.Style(ui.Small, ink.Regular, ink.Left, th.Say), f.Width-th.Px(16)-9, "matched in loudness, −23 LUFS", "matched, −23 LUFS", "matched")
	f.Put(s.hear.matched, th.Tall(max(26, th.Row(ui.Small)+6)))
	f.Gap(4)
	f.Buttons(tall(th), s.hear.page)
}

func (s *Scene) layoutNotes(th *ui.Theme, f *kit.Flow) {
	if s.fit != nil {
		f.Say("Assumed where it is used", ui.Small, ink.Bold, th.Say)
		for _, n := range s.fit.Assumed {
			f.Note(kit.Capital(n) + dot(n))
		}
		f.Gap(8)
	}
	if !s.known() {
		return
	}
	if len(s.found.Notes) > 0 {
		f.Say("Notes", ui.Small, ink.Bold, th.Say)
		for _, n := range s.found.Notes {
			f.Note(kit.Capital(n) + dot(n))
		}
		f.Gap(8)
	}
	f.Say("Assumed", ui.Small, ink.Bold, th.Say)
	for _, n := range s.found.Assumed() {
		f.Note(kit.Capital(n) + dot(n))
	}
}
