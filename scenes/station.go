package scenes

import (
	"fmt"
	"math"
	"strings"

	"gainwright/scenes/ink"
	"gainwright/scenes/ui"
	"gainwright/sim"
	"gainwright/sim/plan"
)

// Panels that open in place of the waves, beside those of the stations.
const (
	noDrawer    sim.Station = -1
	drawerStrip sim.Station = sim.NumStations
	numDrawers              = sim.NumStations + 1
)

// drawerIDs name the buttons that open a drawer.
var drawerIDs = [numDrawers]string{
	sim.AtTalker: "station.talker", sim.AtMicrophone: "station.room", sim.AtMicOut: "station.microphone", sim.AtPreamp: "station.preamp",
	sim.AtInputLimiter: "station.input_limiter", sim.AtConverter: "station.converter", sim.AtLimiter: "station.limiter", sim.AtFile: "station.file",
	drawerStrip: "strips",
}

var drawerTitles = [numDrawers]string{
	sim.AtTalker: "The talker", sim.AtMicrophone: "Room and distance", sim.AtMicOut: "Microphone", sim.AtPreamp: "Preamp",
	sim.AtInputLimiter: "Limiter before the converter", sim.AtConverter: "Converter", sim.AtLimiter: "Limiter after the converter", sim.AtFile: "File",
	drawerStrip: "Strips",
}

var drawerWords = [numDrawers]string{
	sim.AtTalker:       "Speech at 1 m has about 62 dB SPL when people talk as usual, 75 when loud, 82 when they shout (ANSI S3.5). Peaks lie 12 dB and more above that, a laugh higher still, and it comes when nobody expects it.",
	sim.AtMicrophone:   "Half the distance is 6 dB more of the talker and no more of the room. Closer is the cheapest way to less noise, but leaning in then changes more. One room and one talker: this goes for all strips.",
	sim.AtMicOut:       "The microphone turns pressure into voltage: so many millivolt for each pascal. Its own noise is the floor, its maximum SPL the ceiling; a soft one, but what is bent there stays bent.",
	sim.AtPreamp:       "Here the gain is set. Too little, and the converter's noise comes up with the level later; too much, and the loudest moment meets the rail or full scale. A pad lowers the input before the first stage.",
	sim.AtInputLimiter: "It turns peaks down as voltage, before the converter can run out of codes: what comes through is quieter, but whole. Its attack takes time, and the first peak may pass.",
	sim.AtConverter:    "It has so many codes and no more: beyond full scale the wave is flat and what was above is gone. Two ranges side by side move that ceiling up, so that the rail or the microphone is the next one.",
	sim.AtLimiter:      "It sits behind the converter, so it gets what is left. Peaks that were cut off come down flat as they are; it cannot know what they were. It is of use against peaks that were still whole.",
	sim.AtFile:         "The file keeps the codes. 24 bits have a floor far below any preamp's noise, 16 bits need care, and 32-bit float can hold more than full scale, but only what the converter let through.",
	drawerStrip:        "All strips record the same performance, so that only the settings differ. A locked strip keeps its settings. A safety track follows another strip 12 dB lower (common practice) and catches what that one loses.",
}

// The classes of equipment, made once.
var (
	microphones = plan.Microphones()
	recorders   = plan.Recorders()
)

// fieldLook is how a numeric setting is shown where that differs from its Field:
// the range of a slider (typing reaches the whole), a shorter name, digits.
type fieldLook struct {
	label  string
	lo, hi float64
	digits int
	log    bool
}

var fieldLooks = map[string]fieldLook{
	"room.noise_dba":                   {"room noise", 10, 70, 0, false},
	"distance_m":                       {"distance", 0.02, 2, 2, true},
	"microphone.sensitivity_mv_per_pa": {"sensitivity", 0.5, 50, 1, true},
	"microphone.source_ohm":            {"source resistance", 50, 2000, 0, true},
	"microphone.self_noise_dba":        {"self noise", 0, 40, 0, false},
	"microphone.max_spl_db":            {"maximum SPL", 100, 160, 0, false},
	"preamp.gain_db":                   {"gain", 0, 70, 1, false},
	"preamp.pad_db":                    {"pad", 0, 40, 0, false},
	"preamp.ein_dbu":                   {"input noise", -131, -100, 0, false},
	"preamp.output_noise_dbu":          {"output noise", -110, -60, 0, false},
	"preamp.rail_dbu":                  {"rail", -10, 30, 0, false},
	"input_limiter.threshold_dbfs":     {"threshold", -40, 6, 0, false},
	"input_limiter.ratio":              {"ratio", 1, 21, 0, false},
	"input_limiter.attack_ms":          {"attack", 0.1, 100, 1, true},
	"input_limiter.release_ms":         {"release", 10, 2000, 0, true},
	"converter.full_scale_dbu":         {"full scale", -20, 26, 0, false},
	"converter.bits":                   {"word length", 6, 24, 0, false},
	"converter.dynamic_range_dba":      {"dynamic range", 70, 130, 0, false},
	"converter.dual_range_db":          {"second range", 0, 48, 0, false},
	"converter.mismatch_db":            {"gain fault", -3, 3, 1, false},
	"converter.mismatch_samples":       {"range delay", 0, 8, 1, false},
	"limiter.threshold_dbfs":           {"threshold", -40, 0, 0, false},
	"limiter.ratio":                    {"ratio", 1, 21, 0, false},
	"limiter.knee_db":                  {"knee", 0, 24, 0, false},
	"limiter.look_ahead_ms":            {"look-ahead", 0, sim.MaxLookAheadMS, 1, false},
	"limiter.attack_ms":                {"attack", 0.1, 100, 1, true},
	"limiter.release_ms":               {"release", 10, 2000, 0, true},
}

// ratioTop is the end of a ratio's slider, which stands for infinity.
const ratioTop = 21

// A setting that is not a number.
type flagSetting struct {
	key, label, hint string
	get              func(*sim.Chain) bool
	set              func(*sim.Chain, bool)
}

var flagSettings = map[sim.Station][]flagSetting{
	sim.AtMicOut: {{"microphone.proximity", "bass rises close by", "A cardioid microphone has more bass the closer one is.",
		func(c *sim.Chain) bool { return c.Microphone.Proximity }, func(c *sim.Chain, on bool) { c.Microphone.Proximity = on }}},
	sim.AtPreamp: {{"preamp.rail_round", "the rail bends softly", "A round knee: the last 6 dB below the rail bend.",
		func(c *sim.Chain) bool { return c.Preamp.RailKnee == sim.RoundKnee }, func(c *sim.Chain, on bool) {
			c.Preamp.RailKnee = sim.HardKnee
			if on {
				c.Preamp.RailKnee = sim.RoundKnee
			}
		}}},
	sim.AtConverter: {{"converter.dithered", "dither", "Noise of two codes' width before rounding, so that the rounding has no pattern.",
		func(c *sim.Chain) bool { return c.Converter.Dither == sim.TPDF }, func(c *sim.Chain, on bool) { c.Converter.Dither = ditherOf(on) }}},
	sim.AtLimiter: {{"limiter.true_peak", "watches between samples", "A look-ahead limiter then holds true peaks too.",
		func(c *sim.Chain) bool { return c.Limiter.TruePeak }, func(c *sim.Chain, on bool) { c.Limiter.TruePeak = on }}},
	sim.AtFile: {{"file.dithered", "dither where words get shorter", "Used only where the file's words are shorter than the converter's, or were worked on.",
		func(c *sim.Chain) bool { return c.File.Dither == sim.TPDF }, func(c *sim.Chain, on bool) { c.File.Dither = ditherOf(on) }}},
}

func ditherOf(on bool) sim.Dither {
	if on {
		return sim.TPDF
	}
	return sim.NoDither
}

var formats = [...]struct {
	f           sim.Format
	label, hint string
}{
	{sim.PCM16, "16 bit", "65 536 codes: its floor is 93 dB below a full-scale sine with dither."},
	{sim.PCM24, "24 bit", "A floor below that of any converter."},
	{sim.Float32, "32-bit float", "Holds more than full scale, if the converter gave it."},
}

// drawer is the panel of a station: a few words and its settings, in place.
type drawer struct {
	g       *gainScene
	at      sim.Station
	openers [numDrawers]*ui.Button
	shut    *ui.Button
	all     *ui.Button // copies the station's settings to the other strips
	presets [numDrawers][]*ui.Choice
	sliders [numDrawers][]*ui.Slider
	fields  [numDrawers][]sim.Field
	flags   [numDrawers][]*ui.Check
	// Of the strips.
	add, safety, remove, copyAll *ui.Button
	locks                        [MaxStrips]*ui.Check

	idsOf     string // whose IDs the controls have
	box, head ink.Rect
	words     ui.Para
	text      ink.Rect
	title     ui.Strs
	cs        []ui.Control
	drawn     [numDrawers][]ui.Control // the controls of a drawer, as laid out
	// rows are where they go.
	rows float32
}

// stationOf tells whose setting a key is.
func stationOf(key string) sim.Station {
	group, _, _ := strings.Cut(key, ".")
	switch group {
	case "room", "distance_m":
		return sim.AtMicrophone
	case "microphone":
		return sim.AtMicOut
	case "preamp":
		return sim.AtPreamp
	case "input_limiter":
		return sim.AtInputLimiter
	case "converter":
		return sim.AtConverter
	case "limiter":
		return sim.AtLimiter
	}
	return sim.AtFile
}

func newDrawer(g *gainScene) *drawer {
	d := &drawer{g: g, at: noDrawer}
	def := sim.Default()
	for st := range numDrawers {
		hint := "Opens a few words about it and its settings; again to close."
		look := ui.Bare
		label := drawerTitles[st]
		if st == drawerStrip {
			look = ui.Quiet
		}
		d.openers[st] = ui.NewButton(drawerIDs[st], drawerTitles[st]+", settings", hint, label, look, ui.NoIcon)
		d.openers[st].Size = ui.Small
	}
	for _, f := range sim.Fields() {
		st := stationOf(f.Key)
		lk := fieldLooks[f.Key]
		unit := " " + f.Unit
		if f.Unit == ":1" {
			unit = f.Unit
		}
		s := ui.NewSlider(f.Key, f.Name, "", lk.label, unit, lk.lo, lk.hi, f.Get(&def), f.Step, f.Step*5, lk.digits)
		if math.IsInf(s.Default, 1) {
			s.Default = ratioTop
		}
		s.Stack, s.Log = true, lk.log
		if f.Unit == ":1" {
			s.Top = "∞:1"
		}
		d.sliders[st] = append(d.sliders[st], s)
		d.fields[st] = append(d.fields[st], f)
	}
	for st, fs := range flagSettings {
		for _, f := range fs {
			d.flags[st] = append(d.flags[st], ui.NewCheck(f.key, f.label, f.hint, f.label))
		}
	}
	tile := func(group, id, name, hint, label string) *ui.Choice {
		c := ui.NewChoice(group, id, name, hint, label)
		c.Look = ui.Tile
		return c
	}
	for _, m := range microphones {
		d.presets[sim.AtMicOut] = append(d.presets[sim.AtMicOut], tile("mic", "mic."+m.Name, "Set up as "+m.Title, "Typical figures of its class.", strings.TrimPrefix(m.Title, "a ")))
	}
	for _, r := range recorders {
		d.presets[sim.AtPreamp] = append(d.presets[sim.AtPreamp], tile("recorder", "recorder."+r.Name, "Set up as "+r.Title, "Preamp, converter, limiter and file of its class, with typical figures; the gain stays.",
			strings.NewReplacer("a ", "", "recorder with ", "").Replace(r.Title)))
	}
	d.presets[sim.AtConverter] = d.presets[sim.AtPreamp]
	for _, f := range formats {
		d.presets[sim.AtFile] = append(d.presets[sim.AtFile], tile("format", "file."+string(f.f), "File of "+f.label, f.hint, f.label))
	}
	small := func(id, name, hint, label string) *ui.Button {
		b := ui.NewButton(id, name, hint, label, ui.Plain, ui.NoIcon)
		b.Size = ui.Small
		return b
	}
	d.shut = ui.NewButton("drawer.close", "Close", "Back to the waves.", "", ui.Quiet, ui.IconClose)
	d.all = small("copy.station", "Set all strips so", "Gives this station the same settings on all strips that are not locked.", "set all strips so")
	d.all.Look = ui.Quiet
	d.add = small("strips.add", "Add a strip", "Another strip for the same performance, set like the one shown.", "add a strip")
	d.safety = small("strips.safety", "Add a safety track", "A strip that follows the one shown, 12 dB lower.", "add a safety track")
	d.remove = small("strips.remove", "Remove the last strip", "Takes the last strip away.", "remove the last")
	d.copyAll = small("copy.strip", "Copy to the other strips", "Gives all strips that are not locked the settings of the one shown.", "copy to the others")
	for i := range d.locks {
		d.locks[i] = ui.NewCheck(stripNames[i]+".lock", "Lock strip "+stripNames[i], "A locked strip keeps its settings.", "lock "+stripNames[i])
	}
	d.gather()
	return d
}

// gather lists all controls once.
func (d *drawer) gather() {
	add := func(st sim.Station, c ui.Control) {
		d.drawn[st] = append(d.drawn[st], c)
		d.cs = append(d.cs, c)
	}
	for st := range numDrawers {
		d.cs = append(d.cs, d.openers[st])
	}
	d.cs = append(d.cs, d.shut, d.all)
	for st := range numDrawers {
		for _, c := range d.presets[st] {
			if st != sim.AtConverter {
				add(st, c)
			}
		}
		for _, c := range d.sliders[st] {
			add(st, c)
		}
		for _, c := range d.flags[st] {
			add(st, c)
		}
	}
	for _, c := range []ui.Control{d.add, d.safety, d.remove, d.copyAll} {
		add(drawerStrip, c)
	}
	for _, c := range d.locks {
		add(drawerStrip, c)
	}
}

// sync shows the settings of the strip shown.
func (d *drawer) sync() {
	g := d.g
	set := g.s.Setup()
	i := g.shown
	name := stripNames[i]
	c := set.Chain[i]
	fresh := d.idsOf != name
	d.idsOf = name
	if fresh {
		for k, m := range microphones {
			d.presets[sim.AtMicOut][k].ID = name + ".mic." + m.Name
		}
		for k, r := range recorders {
			d.presets[sim.AtPreamp][k].ID = name + ".recorder." + r.Name
		}
		for k, f := range formats {
			d.presets[sim.AtFile][k].ID = name + ".file." + string(f.f)
		}
	}
	why := ""
	switch {
	case set.Locked[i]:
		why = "the strip is locked"
	case set.Safety[i] > 0:
		why = "a safety track follows another strip"
	}
	for st := range numDrawers {
		o := d.openers[st]
		o.On = d.at == st
		if st != drawerStrip {
			o.Hidden = g.idea != ideaAll && g.idea != ideaDiagram || !g.columnShown(st)
		}
		open := d.at == st && g.lowerShown()
		for _, k := range d.drawn[st] {
			b := k.Common()
			b.Hidden = !open
			b.Disabled, b.Why = why != "" && st != drawerStrip && st != sim.AtMicrophone, why
		}
		for k, s := range d.sliders[st] {
			f := d.fields[st][k]
			if fresh {
				s.ID = d.id(name, f.Key)
			}
			s.Value = f.Get(&c)
			lk := fieldLooks[f.Key]
			if math.IsInf(s.Value, 1) || f.Unit == ":1" && s.Value > ratioTop-1 {
				s.Value = ratioTop
			}
			s.Min, s.Max = min(lk.lo, s.Value), max(lk.hi, s.Value)
		}
		for k, f := range flagSettings[st] {
			if fresh {
				d.flags[st][k].ID = name + "." + f.key
			}
			d.flags[st][k].On = f.get(&c)
		}
	}
	for k, m := range microphones {
		d.presets[sim.AtMicOut][k].Checked = m.On(c) == c
	}
	for k, r := range recorders {
		on := r.On(c)
		on.InputLimiter.On, on.Limiter.On = c.InputLimiter.On, c.Limiter.On
		t := d.presets[sim.AtPreamp][k]
		t.Checked = on == c && r.InputLimiter == c.InputLimiter.On
		t.Hidden = !((d.at == sim.AtPreamp || d.at == sim.AtConverter) && g.lowerShown())
	}
	for k, f := range formats {
		d.presets[sim.AtFile][k].Checked = c.File.Format == f.f
	}
	rec := g.s.Mode() == ModeRecord
	const recording = "a take is being recorded"
	for _, b := range []*ui.Button{d.add, d.safety, d.remove} {
		b.Disabled, b.Why = rec, recording
	}
	if !rec {
		d.add.Disabled, d.add.Why = set.N == MaxStrips, "there are four already"
		d.remove.Disabled, d.remove.Why = set.N == MinStrips, "two strips are the least"
		switch {
		case set.N == MaxStrips:
			d.safety.Disabled, d.safety.Why = true, "there are four already"
		case set.Safety[i] > 0:
			d.safety.Disabled, d.safety.Why = true, "this is one"
		}
	}
	for k, l := range d.locks {
		l.Hidden = l.Hidden || k >= set.N
		l.On = set.Locked[k]
	}
	if d.at != noDrawer && d.at != drawerStrip && !g.columnShown(d.at) {
		d.at = noDrawer
		g.p.laid = false
	}
	open := d.at != noDrawer && g.lowerShown()
	d.shut.Hidden = !open
	d.all.Hidden = !open || d.at == drawerStrip || d.at == sim.AtTalker || d.at == sim.AtMicrophone
}

// id is the setting's intent. What all strips share belongs to none.
func (d *drawer) id(strip, key string) string {
	if stationOf(key) == sim.AtMicrophone {
		return key
	}
	return strip + "." + key
}

// height is what the open drawer needs at a width.
func (d *drawer) height(th *ui.Theme, width float32) float32 {
	return d.place(th, ink.Rect{W: width, H: 1e4}, false)
}

// place lays the open drawer out from the top of box down and returns the height
// it needs; only with put do the controls move.
func (d *drawer) place(th *ui.Theme, box ink.Rect, put bool) float32 {
	if d.at == noDrawer {
		return 0
	}
	in := ui.Pad(box, 12, 8)
	top := in.Y
	head := ui.Top(&in, max(th.Row(ui.Strong), 30))
	ui.Top(&in, 2)
	row := th.Row(ui.Small) * 0.95
	st := th.Style(ui.Small, ink.Regular, ink.Left, th.SayDim)
	var para ui.Para
	text := ui.Top(&in, para.Height(drawerWords[d.at], st, min(in.W, 1000*th.Text), row))
	ui.Top(&in, 6)
	if put {
		h := head
		d.shut.Bounds = ui.Right(&h, ui.Square(th))
		ui.Right(&h, 8)
		d.all.Bounds = ui.Right(&h, min(d.all.Width(th), h.W))
		ui.Right(&h, 8)
		d.head, d.text = h, text
		d.text.W = min(d.text.W, 1000*th.Text)
	}
	// Rows of words, as wide as they need to be.
	chip := max(30, th.Row(ui.Small)+10)
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
	pre := d.presets[d.at]
	flow(len(pre), func(i int) float32 { return pre[i].Width(th) + 8 }, func(i int, r ink.Rect) {
		if put {
			pre[i].Bounds = r
		}
	})
	if sl := d.sliders[d.at]; len(sl) > 0 {
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
	fl := d.flags[d.at]
	flow(len(fl), func(i int) float32 { return fl[i].Width(th) + 12 }, func(i int, r ink.Rect) {
		if put {
			fl[i].Bounds = r
		}
	})
	if d.at == drawerStrip {
		bs := []*ui.Button{d.add, d.safety, d.remove, d.copyAll}
		flow(len(bs), func(i int) float32 { return bs[i].Width(th) }, func(i int, r ink.Rect) {
			if put {
				bs[i].Bounds = r
			}
		})
		flow(d.g.s.N(), func(i int) float32 { return d.locks[i].Width(th) + 12 }, func(i int, r ink.Rect) {
			if put {
				d.locks[i].Bounds = r
			}
		})
	}
	return in.Y - top + 10
}

func (d *drawer) layout(th *ui.Theme, box ink.Rect) {
	d.box = box
	d.place(th, box, true)
}

// draw draws the words; the controls come after.
func (d *drawer) draw(l *ink.List, th *ui.Theme) {
	panel(l, th, d.box)
	st := th.Style(ui.Strong, ink.Bold, ink.Left, th.Say)
	s := d.title.Get([6]int64{int64(d.at), int64(d.g.shown), int64(d.head.W), int64(th.Text * 100)}, func() string {
		t := drawerTitles[d.at]
		switch d.at {
		case sim.AtTalker, sim.AtMicrophone, drawerStrip:
			return t
		}
		return ui.Fit(st, d.head.W, t+", strip "+stripNames[d.g.shown], t)
	})
	l.TextIn(d.head, s, st)
	d.words.Draw(l, d.text, drawerWords[d.at], th.Style(ui.Small, ink.Regular, ink.Left, th.SayDim), th.Row(ui.Small)*0.95)
}

// columnShown reports whether the diagram has a column for a station.
func (g *gainScene) columnShown(st sim.Station) bool {
	c := g.chain(g.shown)
	return st != sim.AtInputLimiter && st != sim.AtLimiter || st == sim.AtInputLimiter && c.InputLimiter.On || st == sim.AtLimiter && c.Limiter.On
}

// applySetting carries out what changes a chain: rest is the intent's ID without
// the strip. ok is false if it is none of these.
func (g *gainScene) applySetting(i int, rest string, it Intent) (ok bool, err error) {
	c := g.s.Chain(i)
	if f, found := sim.FieldByKey(rest); found {
		lo, hi := f.Min, f.Max
		now, def := f.Get(&c), sim.Default()
		d := f.Get(&def)
		if f.Unit == ":1" {
			hi = ratioTop
			now, d = min(now, hi), min(d, hi)
		}
		v, err := numeric(it, now, d, f.Step, lo, hi)
		if err != nil {
			return true, err
		}
		if f.Unit == ":1" && v > ratioTop-1 {
			v = math.Inf(1)
		}
		f.Set(&c, v)
		return true, g.set(i, c)
	}
	for _, fs := range flagSettings {
		for _, f := range fs {
			if f.key == rest {
				f.set(&c, !f.get(&c))
				return true, g.set(i, c)
			}
		}
	}
	kind, name, _ := strings.Cut(rest, ".")
	switch kind {
	case "mic":
		for _, m := range microphones {
			if m.Name == name {
				return true, g.set(i, m.On(c))
			}
		}
	case "recorder":
		for _, r := range recorders {
			if r.Name == name {
				on := r.On(c)
				if r.InputLimiter {
					on.Limiter.On = false
				}
				return true, g.set(i, on)
			}
		}
	case "file":
		for _, f := range formats {
			if string(f.f) == name {
				c.File.Format = f.f
				return true, g.set(i, c)
			}
		}
	}
	return false, nil
}

// share sets what all strips have in common: room and distance.
func (g *gainScene) applyShared(it Intent) (ok bool, err error) {
	f, found := sim.FieldByKey(it.ID)
	if !found || stationOf(it.ID) != sim.AtMicrophone {
		return false, nil
	}
	set := g.s.Setup()
	def := sim.Default()
	v, err := numeric(it, f.Get(&set.Chain[g.shown]), f.Get(&def), f.Step, f.Min, f.Max)
	if err != nil {
		return true, err
	}
	for i := range set.Chain {
		f.Set(&set.Chain[i], v)
	}
	return true, g.s.SetSetup(set)
}

// applyStrips carries out what concerns the strips as such.
func (g *gainScene) applyStrips(it Intent) (ok bool, err error) {
	set := g.s.Setup()
	i := g.shown
	switch it.ID {
	case "strips.add", "strips.safety":
		if set.N == MaxStrips {
			return true, fmt.Errorf("there are %d strips already", MaxStrips)
		}
		k := set.N
		set.N++
		set.Chain[k], set.Locked[k], set.Safety[k] = set.Chain[i], false, 0
		if it.ID == "strips.safety" {
			if set.Safety[i] > 0 {
				return true, fmt.Errorf("strip %s is a safety track itself", stripNames[i])
			}
			set.Safety[k] = i + 1
			set.follow()
		}
		if err := g.s.SetSetup(set); err != nil {
			return true, err
		}
		g.shown = k
		if it.ID == "strips.safety" {
			g.status = fmt.Sprintf("Strip %s is a safety track: strip %s, %d dB lower.", stripNames[k], stripNames[i], SafetyDB)
		} else {
			g.status = fmt.Sprintf("Strip %s is set like strip %s.", stripNames[k], stripNames[i])
		}
	case "strips.remove":
		if set.N == MinStrips {
			return true, fmt.Errorf("%d strips are the least", MinStrips)
		}
		set.N--
		for k := range set.N {
			if set.Safety[k] == set.N+1 {
				set.Safety[k] = 0
			}
		}
		g.status = "Strip " + stripNames[set.N] + " is gone."
		g.shown = min(g.shown, set.N-1)
		if err := g.s.SetSetup(set); err != nil {
			return true, err
		}
	case "copy.strip", "copy.station":
		n := 0
		for k := range set.N {
			if k == i || set.Locked[k] || set.Safety[k] > 0 {
				continue
			}
			n++
			if it.ID == "copy.strip" {
				set.Chain[k] = set.Chain[i]
			} else {
				copyStation(&set.Chain[k], &set.Chain[i], g.drawer.at)
			}
		}
		if n == 0 {
			return true, fmt.Errorf("all other strips are locked or follow one")
		}
		set.follow()
		if err := g.s.SetSetup(set); err != nil {
			return true, err
		}
		g.status = fmt.Sprintf("Strip %s was copied.", stripNames[i])
	default:
		strip, found := strings.CutSuffix(it.ID, ".lock")
		if !found {
			return false, nil
		}
		for k := range set.N {
			if stripNames[k] == strip {
				set.Locked[k] = !set.Locked[k]
				return true, g.s.SetSetup(set)
			}
		}
		return false, nil
	}
	g.p.laid = false
	return true, nil
}

// copyStation gives dst the settings of one station of src.
func copyStation(dst, src *sim.Chain, st sim.Station) {
	switch st {
	case sim.AtMicOut:
		dst.Microphone = src.Microphone
	case sim.AtPreamp:
		gain := dst.Preamp.GainDB
		dst.Preamp = src.Preamp
		dst.Preamp.GainDB = gain
	case sim.AtInputLimiter:
		dst.InputLimiter = src.InputLimiter
		dst.Limiter.On = src.Limiter.On
	case sim.AtConverter:
		dst.Converter = src.Converter
	case sim.AtLimiter:
		dst.Limiter = src.Limiter
		dst.InputLimiter.On = src.InputLimiter.On
	case sim.AtFile:
		dst.File = src.File
	}
}
