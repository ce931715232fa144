package drawer

import (
	"math"
	"strings"

	"gainwright/scenes/bench"
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
	"gainwright/sim"
	"gainwright/sim/plan"
)

// Panels that open in place of the waves, beside those of the stations.
const (
	None   sim.Station = -1
	Strips sim.Station = sim.NumStations
	Num                = sim.NumStations + 1
)

// IDs name the buttons that open a drawer.
var IDs = [Num]string{
	sim.AtTalker: kit.IDStation + "talker", sim.AtMicrophone: kit.IDStation + "room", sim.AtMicOut: kit.IDStation + "microphone", sim.AtPreamp: kit.IDStation + "preamp",
	sim.AtInputLimiter: kit.IDStation + "input_limiter", sim.AtConverter: kit.IDStation + "converter", sim.AtLimiter: kit.IDStation + "limiter", sim.AtFile: kit.IDStation + "file",
	Strips: IDStrips,
}

// Titles are what the panels are called.
var Titles = [Num]string{
	sim.AtTalker: "The talker", sim.AtMicrophone: "Room and distance", sim.AtMicOut: "Microphone", sim.AtPreamp: "Preamp",
	sim.AtInputLimiter: "Limiter before the converter", sim.AtConverter: "Converter", sim.AtLimiter: "Limiter after the converter", sim.AtFile: "File",
	Strips: "Strips",
}

var about = [Num]string{
	sim.AtTalker:       "Speech at 1 m has about 62 dB SPL when people talk as usual, 75 when loud, 82 when they shout (ANSI S3.5). Peaks lie 12 dB and more above that, a laugh higher still, and it comes when nobody expects it.",
	sim.AtMicrophone:   "Half the distance is 6 dB more of the talker and no more of the room. Closer is the cheapest way to less noise, but leaning in then changes more. One room and one talker: this goes for all strips.",
	sim.AtMicOut:       "The microphone turns pressure into voltage: so many millivolt for each pascal. Its own noise is the floor, its maximum SPL the ceiling; a soft one, but what is bent there stays bent.",
	sim.AtPreamp:       "Here the gain is set. Too little, and the converter's noise comes up with the level later; too much, and the loudest moment meets the rail or full scale. A pad lowers the input before the first stage.",
	sim.AtInputLimiter: "It turns peaks down as voltage, before the converter can run out of codes: what comes through is quieter, but whole. Its attack takes time, and the first peak may pass.",
	sim.AtConverter:    "It has so many codes and no more: beyond full scale the wave is flat and what was above is gone. Two ranges side by side move that ceiling up, so that the rail or the microphone is the next one.",
	sim.AtLimiter:      "It sits behind the converter, so it gets what is left. Peaks that were cut off come down flat as they are; it cannot know what they were. It is of use against peaks that were still whole.",
	sim.AtFile:         "The file keeps the codes. 24 bits have a floor far below any preamp's noise, 16 bits need care, and 32-bit float can hold more than full scale, but only what the converter let through.",
	Strips:             "All strips record the same performance, so that only the settings differ. A locked strip keeps its settings. A safety track follows another strip 12 dB lower (common practice) and catches what that one loses.",
}

// The classes of equipment, made once.
var (
	Microphones = plan.Microphones()
	Recorders   = plan.Recorders()
)

// wordTile is a control that gives a setting one of its words.
type wordTile struct {
	*ui.Choice
	s    *sim.Setting
	word int
}

// switchBox is a control that switches a setting.
type switchBox struct {
	*ui.Check
	s *sim.Setting
}

// sliderBox is a control of a number.
type sliderBox struct {
	*ui.Slider
	s *sim.Setting
}

// Drawer is the panel of a station: a few words and its settings, in place.
type Drawer struct {
	v       *bench.Sight
	moved   func() // has all laid out anew
	At      sim.Station
	Openers [Num]*ui.Button
	Shut    *ui.Button
	all     *ui.Button // copies the station's settings to the other strips
	presets [Num][]*ui.Choice
	tiles   [Num][]wordTile
	sliders [Num][]sliderBox
	flags   [Num][]switchBox
	// Of the strips.
	add, safety, remove, copyAll *ui.Button
	locks                        [bench.MaxStrips]*ui.Check

	idsOf     string // whose IDs the controls have
	box, head ink.Rect
	words     ui.Para
	text      ink.Rect
	title     ui.Strs
	All       []ui.Control
	drawn     [Num][]ui.Control // the controls of a drawer, as laid out
	// rows are where they go.
	rows float32
}

// New makes the panels for the strip that v looks at; moved has all laid out anew.
func New(v *bench.Sight, moved func()) *Drawer {
	d := &Drawer{v: v, moved: moved, At: None}
	def := sim.Default()
	for st := range Num {
		hint := "Opens a few words about it and its settings; again to close."
		look := ui.Bare
		label := Titles[st]
		if st == Strips {
			look = ui.Quiet
		}
		d.Openers[st] = ui.NewButton(IDs[st], Titles[st]+", settings", hint, label, look, ui.NoIcon)
		d.Openers[st].Size = ui.Small
	}
	for _, f := range sim.Settings() {
		d.control(f, &def)
	}
	for _, m := range Microphones {
		d.presets[sim.AtMicOut] = append(d.presets[sim.AtMicOut], tile("mic", IDStripMic+m.Name, "Set up as "+m.Title, "Typical figures of its class.", strings.TrimPrefix(m.Title, "a ")))
	}
	for _, r := range Recorders {
		d.presets[sim.AtPreamp] = append(d.presets[sim.AtPreamp], tile("recorder", IDStripRecorder+r.Name, "Set up as "+r.Title, "Preamp, converter, limiter and file of its class, with typical figures; the gain stays.",
			strings.NewReplacer("a ", "", "recorder with ", "").Replace(r.Title)))
	}
	d.presets[sim.AtConverter] = d.presets[sim.AtPreamp]
	small := func(id, name, hint, label string) *ui.Button {
		b := ui.NewButton(id, name, hint, label, ui.Plain, ui.NoIcon)
		b.Size = ui.Small
		return b
	}
	d.Shut = ui.NewButton(kit.IDDrawerClose, "Close", "Back to the waves.", "", ui.Quiet, ui.IconClose)
	d.all = small(IDCopyStation, "Set all strips so", "Gives this station the same settings on all strips that are not locked.", "set all strips so")
	d.all.Look = ui.Quiet
	d.add = small(IDAdd, "Add a strip", "Another strip for the same performance, set like the one shown.", "add a strip")
	d.safety = small(IDSafety, "Add a safety track", "A strip that follows the one shown, 12 dB lower.", "add a safety track")
	d.remove = small(IDRemove, "Remove the last strip", "Takes the last strip away.", "remove the last")
	d.copyAll = small(IDCopyStrip, "Copy to the other strips", "Gives all strips that are not locked the settings of the one shown.", "copy to the others")
	for i := range d.locks {
		d.locks[i] = ui.NewCheck(bench.StripNames[i]+"."+IDStripLock, "Lock strip "+bench.StripNames[i], "A locked strip keeps its settings.", "lock "+bench.StripNames[i])
	}
	d.gather()
	return d
}

func tile(group, id, name, hint, label string) *ui.Choice {
	c := ui.NewChoice(group, id, name, hint, label)
	c.Look = ui.Tile
	return c
}

// control makes the control of a setting. IDs are without the strip here.
func (d *Drawer) control(f *sim.Setting, def *sim.Chain) {
	st := f.Station
	switch {
	case f.ByPlace:
	case f.Kind == sim.Flag:
		d.flags[st] = append(d.flags[st], switchBox{ui.NewCheck(f.ID, f.Label, f.Hint, f.Label), f})
	case f.Kind == sim.Choice && f.Switch != "":
		w := f.Words[f.WordIndex(f.Switch)]
		d.flags[st] = append(d.flags[st], switchBox{ui.NewCheck(f.ID, w.Label, w.Hint, w.Label), f})
	case f.Kind == sim.Choice:
		for k, w := range f.Words {
			d.tiles[st] = append(d.tiles[st], wordTile{tile(f.Key, f.ID+"."+w.Word, f.Name+": "+w.Label, w.Hint, w.Label), f, k})
		}
	default:
		unit := " " + f.Unit
		if f.Unit == ":1" {
			unit = f.Unit
		}
		s := ui.NewSlider(f.ID, f.Name, "", f.Label, unit, f.Lo, f.Hi, f.Get(def), f.Step, f.Step*5, f.Digits)
		if math.IsInf(s.Default, 1) {
			s.Default = kit.RatioTop
		}
		s.Stack, s.Log = true, f.Log
		if f.Unit == ":1" {
			s.Top = "∞:1"
		}
		d.sliders[st] = append(d.sliders[st], sliderBox{s, f})
	}
}

// gather lists all controls once.
func (d *Drawer) gather() {
	add := func(st sim.Station, c ui.Control) {
		d.drawn[st] = append(d.drawn[st], c)
		d.All = append(d.All, c)
	}
	for st := range Num {
		d.All = append(d.All, d.Openers[st])
	}
	d.All = append(d.All, d.Shut, d.all)
	for st := range Num {
		for _, c := range d.presets[st] {
			if st != sim.AtConverter {
				add(st, c)
			}
		}
		for _, c := range d.tiles[st] {
			add(st, c.Choice)
		}
		for _, c := range d.sliders[st] {
			add(st, c.Slider)
		}
		for _, c := range d.flags[st] {
			add(st, c.Check)
		}
	}
	for _, c := range []ui.Control{d.add, d.safety, d.remove, d.copyAll} {
		add(Strips, c)
	}
	for _, c := range d.locks {
		add(Strips, c)
	}
}

// Sync shows the settings of the strip shown; diagram and lower tell whether the
// openers and the panel are on the picture.
func (d *Drawer) Sync(diagram, lower bool) {
	set := d.v.Bench.Setup()
	i := d.v.Shown
	c := set.Chain[i]
	d.rename(bench.StripNames[i])
	why := ""
	switch {
	case set.Locked[i]:
		why = "the strip is locked"
	case set.Safety[i] > 0:
		why = "a safety track follows another strip"
	}
	for st := range Num {
		o := d.Openers[st]
		o.On = d.At == st
		if st != Strips {
			o.Hidden = !diagram || !d.v.Has(st)
		}
		kit.Hide(d.At != st || !lower, d.drawn[st]...)
		kit.Refuse(why != "" && st != Strips && st != sim.AtMicrophone, why, d.drawn[st]...)
		d.show(st, &c)
	}
	d.showPresets(&c, lower)
	d.syncStrips(&set)
	if d.At != None && d.At != Strips && !d.v.Has(d.At) {
		d.At = None
		d.moved()
	}
	open := d.At != None && lower
	d.Shut.Hidden = !open
	d.all.Hidden = !open || d.At == Strips || d.At == sim.AtTalker || d.At == sim.AtMicrophone
}

// rename gives the controls the IDs of a strip.
func (d *Drawer) rename(name string) {
	if d.idsOf == name {
		return
	}
	d.idsOf = name
	for k, m := range Microphones {
		d.presets[sim.AtMicOut][k].ID = name + "." + IDStripMic + m.Name
	}
	for k, r := range Recorders {
		d.presets[sim.AtPreamp][k].ID = name + "." + IDStripRecorder + r.Name
	}
	for st := range Num {
		for _, t := range d.tiles[st] {
			t.ID = name + "." + t.s.ID + "." + t.s.Words[t.word].Word
		}
		for _, s := range d.sliders[st] {
			s.ID = d.id(name, s.s)
		}
		for _, f := range d.flags[st] {
			f.ID = d.id(name, f.s)
		}
	}
}

// show brings the controls of a station up to a chain.
func (d *Drawer) show(st sim.Station, c *sim.Chain) {
	for _, t := range d.tiles[st] {
		t.Checked = t.s.Get(c) == float64(t.word)
	}
	for _, s := range d.sliders[st] {
		f := s.s
		s.Value = f.Get(c)
		if math.IsInf(s.Value, 1) || f.Unit == ":1" && s.Value > kit.RatioTop-1 {
			s.Value = kit.RatioTop
		}
		s.Min, s.Max = min(f.Lo, s.Value), max(f.Hi, s.Value)
	}
	for _, f := range d.flags[st] {
		f.On = kit.IsOn(f.s, c)
	}
}

// showPresets tells which classes of equipment a chain is of.
func (d *Drawer) showPresets(c *sim.Chain, lower bool) {
	for k, m := range Microphones {
		d.presets[sim.AtMicOut][k].Checked = m.On(*c) == *c
	}
	for k, r := range Recorders {
		on := r.On(*c)
		on.InputLimiter.On, on.Limiter.On = c.InputLimiter.On, c.Limiter.On
		t := d.presets[sim.AtPreamp][k]
		t.Checked = on == *c && r.InputLimiter == c.InputLimiter.On
		t.Hidden = !((d.At == sim.AtPreamp || d.At == sim.AtConverter) && lower)
	}
}

// syncStrips brings up what adds strips, takes them away and locks them.
func (d *Drawer) syncStrips(set *bench.Setup) {
	rec := d.v.Bench.Mode() == bench.ModeRecord
	kit.Refuse(rec, "a take is being recorded", d.add, d.safety, d.remove)
	if !rec {
		kit.Refuse(set.N == bench.MaxStrips, "there are four already", d.add)
		kit.Refuse(set.N == bench.MinStrips, "two strips are the least", d.remove)
		switch {
		case set.N == bench.MaxStrips:
			kit.Refuse(true, "there are four already", d.safety)
		case set.Safety[d.v.Shown] > 0:
			kit.Refuse(true, "this is one", d.safety)
		}
	}
	for k, l := range d.locks {
		l.Hidden = l.Hidden || k >= set.N
		l.On = set.Locked[k]
	}
}

// id is the setting's intent. What all strips share belongs to none.
func (d *Drawer) id(strip string, s *sim.Setting) string {
	if s.Station == sim.AtMicrophone {
		return s.ID
	}
	return strip + "." + s.ID
}

// Height is what the open drawer needs at a width.
func (d *Drawer) Height(th *ui.Theme, width float32) float32 {
	return d.place(th, ink.Rect{W: width, H: 1e4}, false)
}

// place lays the open drawer out from the top of box down and returns the height
// it needs; only with put do the controls move.
func (d *Drawer) place(th *ui.Theme, box ink.Rect, put bool) float32 {
	if d.At == None {
		return 0
	}
	in := ui.Pad(box, 12, 8)
	top := in.Y
	head := ui.Top(&in, max(th.Row(ui.Strong), 30, th.Least))
	ui.Top(&in, 2)
	row := th.Row(ui.Small) * 0.95
	st := th.Style(ui.Small, ink.Regular, ink.Left, th.SayDim)
	var para ui.Para
	text := ui.Top(&in, para.Height(about[d.At], st, min(in.W, 1000*th.Text), row))
	ui.Top(&in, 6)
	if put {
		h := head
		d.Shut.Bounds = ui.Right(&h, ui.Square(th))
		ui.Right(&h, 8)
		d.all.Bounds = ui.Right(&h, min(d.all.Width(th), h.W))
		ui.Right(&h, 8)
		d.head, d.text = h, text
		d.text.W = min(d.text.W, 1000*th.Text)
	}
	// Rows of words, as wide as they need to be.
	chip := max(30, th.Row(ui.Small)+10, th.Least)
	flow := func(n int, width func(int) float32, put func(int, ink.Rect)) {
		if n == 0 {
			return
		}
		line := ui.Top(&in, chip)
		for i := range n {
			w := width(i)
			if w > line.W && line.X > in.X {
				ui.Top(&in, 6)
				line = ui.Top(&in, chip)
			}
			put(i, ui.Left(&line, min(w, line.W)))
			ui.Left(&line, 8)
		}
		ui.Top(&in, 8)
	}
	pre := d.presets[d.At]
	flow(len(pre), func(i int) float32 { return pre[i].Width(th) + 8 }, func(i int, r ink.Rect) {
		if put {
			pre[i].Bounds = r
		}
	})
	ti := d.tiles[d.At]
	flow(len(ti), func(i int) float32 { return ti[i].Width(th) + 8 }, func(i int, r ink.Rect) {
		if put {
			ti[i].Bounds = r
		}
	})
	if sl := d.sliders[d.At]; len(sl) > 0 {
		cols := max(1, min(len(sl), 4, int((in.W+24)/(th.Px(186)+24))))
		if len(sl) == 6 && cols == 4 {
			cols = 3
		}
		h := ui.StackHeight(th)
		for i := 0; i < len(sl); i += cols {
			line := ui.Top(&in, h)
			for k := 0; k < cols && i+k < len(sl); k++ {
				if put {
					sl[i+k].Bounds = ui.Column(line, k, cols, 24)
				}
			}
			ui.Top(&in, 6)
		}
		ui.Top(&in, 2)
	}
	fl := d.flags[d.At]
	flow(len(fl), func(i int) float32 { return fl[i].Width(th) + 12 }, func(i int, r ink.Rect) {
		if put {
			fl[i].Bounds = r
		}
	})
	if d.At == Strips {
		bs := []*ui.Button{d.add, d.safety, d.remove, d.copyAll}
		flow(len(bs), func(i int) float32 { return bs[i].Width(th) }, func(i int, r ink.Rect) {
			if put {
				bs[i].Bounds = r
			}
		})
		flow(d.v.Bench.N(), func(i int) float32 { return d.locks[i].Width(th) + 12 }, func(i int, r ink.Rect) {
			if put {
				d.locks[i].Bounds = r
			}
		})
	}
	return in.Y - top + 10
}

// Layout puts the open panel into box.
func (d *Drawer) Layout(th *ui.Theme, box ink.Rect) {
	d.box = box
	d.place(th, box, true)
}

// Draw draws the words; the controls come after.
func (d *Drawer) Draw(l *ink.List, th *ui.Theme) {
	kit.Panel(l, th, d.box)
	st := th.Style(ui.Strong, ink.Bold, ink.Left, th.Say)
	s := d.title.Get([6]int64{int64(d.At), int64(d.v.Shown), int64(d.head.W), int64(th.Text * 100)}, func() string {
		t := Titles[d.At]
		switch d.At {
		case sim.AtTalker, sim.AtMicrophone, Strips:
			return t
		}
		return ui.Fit(st, d.head.W, t+", strip "+bench.StripNames[d.v.Shown], t)
	})
	l.TextIn(d.head, s, st)
	d.words.Draw(l, d.text, about[d.At], th.Style(ui.Small, ink.Regular, ink.Left, th.SayDim), th.Row(ui.Small)*0.95)
}
