package program

import (
	"fmt"
	"slices"
	"strings"

	"gainwright/scenes/bench"
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
	"gainwright/sounds"
)

// sheet is the page behind the scenes: handing things out, presenting, and what
// goes on with sound and memory. It is a Scene without a tab.
type sheet struct {
	acts     kit.Acts
	p        *Program
	groups   []sheetGroup
	present  *ui.Button
	pictures []*ui.Choice
	pic      int // chosen: 0 is the whole
	cs       []ui.Control
	area     ink.Rect
	content  float32
	scroll   float32
	view     ink.Rect
	facts    ui.Para
	factsBox ink.Rect
	keys     ui.Para
	keysBox  ink.Rect
	sub      ui.Para
	stats    ui.Strs
	link     *ui.Button
	code     *ui.Button
	waves    []*ui.Button
	first    *ui.Button // shows the first guest again
}

type sheetGroup struct {
	title, words string
	controls     []ui.Control
	head, text   ink.Rect
	para         ui.Para
	acts         kit.Acts
}

func newSheet(p *Program) *sheet {
	s := &sheet{p: p}
	btn := func(id, name, hint string) *ui.Button {
		return ui.NewButton(id, name, hint, name, ui.Plain, ui.NoIcon)
	}
	s.present = btn(idPresent, "Present", "One idea at a time, with larger type and high contrast, by the keyboard alone.")
	for i, w := range [][3]string{{"all", "the whole bench", ""}, {"diagram", "the level diagram", ""}, {"lower", "waves, spectrum or result", ""}} {
		c := ui.NewChoice("picture", idPicture+w[0], "Picture of "+w[1], "What the picture shows.", w[1])
		c.Look = ui.Tile
		c.Checked = i == 0
		s.pictures = append(s.pictures, c)
	}
	png := btn(idSavePNG, "Save as PNG", "A picture in pixels, at twice the size of the screen's.")
	svg := btn(idSaveSVG, "Save as SVG", "A picture in lines and words, for print at any size.")
	s.link = btn(kit.IDSetupLink, "Copy a link", "Puts a link on the clipboard that carries all settings to whoever follows it.")
	s.code = btn(kit.IDSetupCode, "Picture of the link", "A QR symbol (PNG) of that link, for a slide or a handout: a phone reads it.")
	sv := btn(kit.IDSetupSave, "Save the set-up", "As a scenario file, for the commands of this program too.")
	op := btn(kit.IDSetupOpen, "Open a set-up", "A scenario file; you can also drop it anywhere.")
	rs := btn(kit.IDSetupReset, "As at first", "All settings as at a first visit. It can be undone.")
	pics := []ui.Control{}
	for _, c := range s.pictures {
		pics = append(pics, c)
	}
	pics = append(pics, png, svg)
	sounds := []ui.Control{}
	for _, n := range bench.StripNames {
		b := btn(kit.IDSave+n, "Strip "+n+" as WAV", "The file of the strip, as recorded.")
		s.waves = append(s.waves, b)
		sounds = append(sounds, b)
	}
	b := btn(kit.IDSaveSpoken, "As spoken, WAV", "What was spoken, through strip A's gains, without noise or ceilings.")
	s.waves = append(s.waves, b)
	sounds = append(sounds, b)
	s.first = btn(kit.IDTabFirst, "Meet the first guest", "The first steps, from the beginning.")
	s.groups = []sheetGroup{
		{title: "Look and sound", words: "How loud you hear it, how it looks, and what was changed last."},
		{title: "Present", words: "For a projector: arrow keys go from one idea to the next, Escape ends it.", controls: []ui.Control{s.present}},
		{title: "Pictures", words: "What the scene shows now, without the header and what is told below, for a handout.", controls: pics},
		{title: "Sounds of the take", words: "Each file as it was recorded, and what was spoken.", controls: sounds},
		{title: "First guest", words: "What a first visit shows: one guest, one knob, one take, and what becomes of it.", controls: []ui.Control{s.first}},
		{title: "Set-up", words: "All settings of all strips and who talks. A link carries them to someone else.", controls: []ui.Control{s.link, s.code, sv, op, rs}},
	}
	for _, g := range s.groups {
		s.cs = append(s.cs, g.controls...)
	}
	s.acts = s.sheetActs()
	return s
}

func (s *sheet) sheetActs() kit.Acts {
	hand := func(kind string) func(ui.Intent) error {
		return kit.Try(func() error { return s.p.export(strings.TrimPrefix(s.pictures[s.pic].ID, idPicture), kind) })
	}
	a := kit.Acts{idSavePNG: hand("png"), idSaveSVG: hand("svg")}
	for i, c := range s.pictures {
		a[c.ID] = kit.Press(func() { s.pic = i })
	}
	return a
}

// Title is the sheet's name.
func (s *sheet) Title() string { return "Hand out and present" }

// ID is the button's that opens it.
func (s *sheet) ID() string { return idMore }

// Controls lists the controls.
func (s *sheet) Controls() []ui.Control { return s.cs }

// Announce is what the scene behind has to say.
func (s *sheet) Announce() string { return s.p.scenes[s.p.now].Announce() }

// Update has nothing to do; the figures change.
func (s *sheet) Update(*ui.Input) bool { s.sync(); return true }

func (s *sheet) sync() {
	sc := s.p.scenes[s.p.now]
	_, ok := sc.(kit.Presented)
	s.present.Disabled, s.present.Why = !ok, "this scene is shown whole"
	pics := len(s.p.parts()) - 1
	for i, c := range s.pictures {
		c.Checked = s.pic == i
		c.Disabled, c.Why = i > pics, "this scene is one picture"
	}
	s.first.Disabled, s.first.Why = s.p.at(kit.IDTabFirst) < 0, "there is no first guest here"
	syncLinks(s.p.host, s.link, s.code, &s.groups[len(s.groups)-1].words)
	t := s.p.session.Take()
	for i, b := range s.waves {
		b.Disabled, b.Why = t == nil || !t.Done, "record something first"
		if t != nil && t.Done && i < bench.MaxStrips && i >= t.N {
			b.Disabled, b.Why = true, "the take has no such strip"
		}
		strips := s.p.session.N()
		if t != nil && t.Done {
			strips = max(strips, t.N)
		}
		b.Hidden = i < bench.MaxStrips && i >= strips
	}
}

// Apply carries an intent out: the sheet's own, and those of the scene behind.
func (s *sheet) Apply(it ui.Intent) error {
	if ok, err := s.acts.Apply(it); ok {
		return err
	}
	return s.p.scenes[s.p.at(kit.IDTabGain)].Apply(it)
}

func (s *sheet) factWords() string {
	p := s.p
	st := p.pull.Stats()
	v := p.session.View()
	q, queued := p.queue()
	if !queued {
		q = sounds.Queue{Breaks: st.Late, Depth: p.buffer}
	}
	return s.stats.Get([6]int64{q.Breaks, int64(v.Dropout / 480), int64(st.Load * 20), kit.Bit(p.dev != nil), kit.Bit(p.soundOn)<<1 | kit.Bit(queued), int64(q.Depth / 96)}, func() string {
		if p.dev == nil {
			return "Sound: none (" + p.noSound + "). Meters and pictures go on without it."
		}
		ahead := "a buffer of"
		lost := ""
		if queued {
			ahead = "kept ready are"
			if q.Breaks > 0 {
				lost = fmt.Sprintf(" (%s ms in all, the longest %s ms)", ui.Decimal(q.Lost.Seconds()*1000, 0), ui.Decimal(q.Longest.Seconds()*1000, 0))
			}
		}
		return fmt.Sprintf("Sound: %s; %s %d frames, %s ms; it broke off %d times%s; making sound takes up to %s %% of its time; the performance was not ready for %s s in all.",
			p.dev.Name(), ahead, q.Depth, ui.Decimal(1000*float64(q.Depth)/bench.Rate, 0), q.Breaks, lost, ui.Decimal(st.Load*100, 0), ui.Decimal(float64(v.Dropout)/bench.Rate, 2))
	})
}

// Layout puts the groups one below the other, two side by side where there is room.
func (s *sheet) Layout(th *ui.Theme, area ink.Rect) {
	s.sync()
	s.area = area
	s.view = ui.Pad(area, 12, 0)
	ui.Bottom(&s.view, 8)
	in := s.view
	in.W = min(in.W, 1200*th.Text)
	in.X += (s.view.W - in.W) / 2
	top := in.Y
	in.Y -= s.scroll
	s.looks(th)
	in.H = 1e5
	cols := 1
	if in.W >= 940*th.Text {
		cols = 2
	}
	bottom := [2]float32{in.Y, in.Y}
	n := 0
	for i := range s.groups {
		if len(s.groups[i].controls) == 0 {
			continue
		}
		k := n % cols
		c := ui.Column(in, k, cols, 16)
		c.Y = bottom[k]
		bottom[k] += s.place(th, &s.groups[i], c)
		n++
	}
	y := max(bottom[0], bottom[1])
	row := th.Row(ui.Small)
	st := th.Style(ui.Small, ink.Regular, ink.Left, th.SayDim)
	s.keysBox = ink.Rect{X: in.X + 12, Y: y + 4, W: in.W - 24}
	s.keysBox.H = s.keys.Height(keyWords, st, s.keysBox.W, row)
	y = s.keysBox.Bottom() + 10
	s.factsBox = ink.Rect{X: in.X + 12, Y: y, W: in.W - 24}
	s.factsBox.H = s.sub.Height(keptWords, st, s.factsBox.W, row) + 8 + 3*row
	s.content = s.factsBox.Bottom() + 8 + s.scroll - top
	s.scroll = min(s.scroll, max(0, s.content-s.view.H))
	for _, c := range slices.Concat(s.groups[0].controls, s.cs) {
		c.Common().Clip = s.view
	}
}

// looks brings up the group of what a wide window has in its header.
func (s *sheet) looks(th *ui.Theme) {
	g := &s.groups[0]
	g.controls = g.controls[:0]
	if s.p.narrow {
		g.controls = append(g.controls, s.p.moved()...)
	}
}

// place lays a group out and returns its height with the gap below.
func (s *sheet) place(th *ui.Theme, g *sheetGroup, c ink.Rect) float32 {
	in := ink.Rect{X: c.X + 12, Y: c.Y + 8, W: c.W - 24, H: 1e5}
	g.head = ui.Top(&in, th.Row(ui.Strong))
	st := th.Style(ui.Small, ink.Regular, ink.Left, th.SayDim)
	g.text = ui.Top(&in, g.para.Height(g.words, st, in.W, th.Row(ui.Small)))
	ui.Top(&in, 6)
	h := th.Tall(max(36, th.Row(ui.Body)+12))
	line := ui.Top(&in, h)
	for _, k := range g.controls {
		b := k.Common()
		if b.Hidden {
			continue
		}
		w := float32(0)
		switch k := k.(type) {
		case *ui.Button:
			w = k.Width(th)
		case *ui.Choice:
			w = k.Width(th) + 8
		case *ui.Slider:
			w = in.W
		}
		if w > line.W && line.X > in.X {
			ui.Top(&in, 6)
			line = ui.Top(&in, h)
		}
		b.Bounds = ui.Left(&line, w)
		ui.Left(&line, 8)
	}
	return in.Y + 14 - c.Y
}

// Draw draws the words.
func (s *sheet) Draw(l *ink.List, th *ui.Theme) {
	l.Clip(s.view)
	defer l.Unclip()
	row := th.Row(ui.Small)
	st := th.Style(ui.Small, ink.Regular, ink.Left, th.SayDim)
	for i := range s.groups {
		g := &s.groups[i]
		if len(g.controls) == 0 {
			continue
		}
		box := ink.Rect{X: g.head.X - 12, Y: g.head.Y - 8, W: g.head.W + 24}
		for _, c := range g.controls {
			if b := c.Common(); !b.Hidden {
				box.H = max(box.H, b.Bounds.Bottom()+10-box.Y)
			}
		}
		kit.Panel(l, th, box)
		l.TextIn(g.head, g.title, th.Style(ui.Strong, ink.Bold, ink.Left, th.Say))
		g.para.Draw(l, g.text, g.words, st, row)
	}
	s.keys.Draw(l, s.keysBox, keyWords, st, row)
	f := s.factsBox
	h := s.sub.Draw(l, f, keptWords, st, row)
	f.Y += h + 8
	f.H -= h + 8
	s.facts.Draw(l, f, s.factWords(), st, row)
}

// Nodes tells the words.
func (s *sheet) Nodes(dst []ui.Node) []ui.Node {
	return append(dst,
		ui.Node{ID: kit.IDStatus, Role: ui.RoleStatus, Name: "Result", Value: s.p.Announce(), Bounds: s.keysBox},
		ui.Node{ID: idKeys, Role: ui.RoleText, Name: "Keys", Value: keyWords, Bounds: s.keysBox},
		ui.Node{ID: idKept, Role: ui.RoleText, Name: "What is kept", Value: keptWords, Bounds: s.factsBox},
		ui.Node{ID: idSoundStats, Role: ui.RoleText, Name: "Sound", Value: s.factWords(), Bounds: s.factsBox})
}

// Scroll moves the page.
func (s *sheet) Scroll(dy float32) {
	s.scroll = min(max(s.scroll+dy, 0), max(0, s.content-s.view.H))
	s.Layout(&s.p.th, s.area)
}

// Reveal scrolls until r can be seen.
func (s *sheet) Reveal(r ink.Rect) {
	switch {
	case r.Y >= s.view.Bottom()+1e4:
	case r.Y < s.view.Y:
		s.Scroll(r.Y - s.view.Y - 12)
	case r.Bottom() > s.view.Bottom():
		s.Scroll(r.Bottom() - s.view.Bottom() + 12)
	}
}
