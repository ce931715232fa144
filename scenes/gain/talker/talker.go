// Package talker is the part of "Set the gain" that says who talks and what they do: a
// built-in talker, a recording that was brought along, or the learner's own voice.
package talker

import (
	"errors"
	"slices"
	"strings"

	"gainwright/scenes/bench"
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
	"gainwright/scenes/work"
	"gainwright/sounds"
	"gainwright/sounds/voice"
)

const (
	fileMin, fileMax = 40, 110
	litFrames        = 3 * bench.Rate / 4
	// mostYou bounds how many voices of one's own stand among the talkers; “Your voice”
	// brings the others.
	mostYou = 4
)

// Panel is who talks and what they do.
type Panel struct {
	Open *ui.Button // asks for a recording
	Box  ink.Rect
	Say  func(words string) // has them stand where results do

	shell   kit.Shell
	bench   *bench.Session
	talkers []*ui.Choice
	names   []string // of the talkers in voice, and what they are called
	titles  []string
	events  []*ui.Button
	kinds   []string
	you     []*ui.Choice
	level   *ui.Slider
	lit     []int64 // frame until which an event's button shows that it was pressed
	was     state
	who     ui.Strs
	load    ui.Strs
	acts    kit.Acts
	live    live
}

// state is who was there when the controls were last brought up.
type state struct {
	file *bench.Recording
	own  *bench.Voice
	live bool
}

// New makes the panel.
func New(p kit.Shell) *Panel {
	t := &Panel{shell: p, bench: p.Bench(), acts: kit.Acts{}}
	for _, v := range voice.Talkers() {
		name := v.Name
		if v.Name != "captain" {
			name = strings.ToUpper(name[:1]) + name[1:]
		}
		c := ui.NewChoice("talker", idTalker+v.Name, v.Title, v.About, name)
		c.Look = ui.Tile
		t.talkers, t.names, t.titles = append(t.talkers, c), append(t.names, v.Name), append(t.titles, v.Title)
		t.acts[c.ID] = kit.Try(func() error { return t.choose(v.Name, v.Title) })
	}
	for range mostYou {
		c := ui.NewChoice("talker", kit.IDYou, "", "Your own voice performs: its talk over and over, its laugh and its shout when you ask for them.", "")
		c.Look = ui.Tile
		t.you = append(t.you, c)
	}
	t.kinds = append(append(t.kinds, bench.Events...), bench.Shout)
	for i, e := range t.kinds {
		b := ui.NewButton(idEvent+e, eventNames[i], eventHints[i], strings.ReplaceAll(e, "_", " "), ui.Strike, ui.NoIcon)
		b.Size = ui.Small
		t.events = append(t.events, b)
		t.acts[b.ID] = kit.Try(func() error {
			err := t.bench.Trigger(e)
			if err == nil {
				t.lit[i] = t.bench.View().Frame + litFrames
			}
			return err
		})
	}
	t.lit = make([]int64, len(t.events))
	t.Open = ui.NewButton(kit.IDFileOpen, "Perform a recording of your own", "WAV, FLAC, Ogg Vorbis or MP3; you can also drop it anywhere.", "your file…", ui.Quiet, ui.IconFile)
	t.Open.Size = ui.Small
	t.acts[t.Open.ID] = kit.Press(func() { p.Choose(work.AcceptSound) })
	t.level = ui.NewSlider(idFileLevel, "Level of the recording", "How loud the loudest second of the recording is, 1 m in front of the mouth: 62 dB is normal talk, 75 loud, 82 a shout (ANSI S3.5).",
		"level at 1 m", " dB SPL", fileMin, fileMax, sounds.LoudSpeechDBSPL, 1, 6, 0)
	t.acts[t.level.ID] = t.setLevel
	t.makeLive()
	return t
}

// First are the words for the talker of a first visit.
func (t *Panel) First() string { return talksWords(t.titles[0]) }

func talksWords(who string) string { return "Sound check: " + who + " talks." }

// Owns reports whether an intent changes who talks, or has them do something.
func (t *Panel) Owns(id string) bool {
	return strings.HasPrefix(id, idEvent) || strings.HasPrefix(id, idTalker) || strings.HasPrefix(id, kit.IDYou)
}

// Event is the ID of having the talker do something. Who performs with a voice of their own
// has a shout in place of louder talk.
func (t *Panel) Event(e string) string {
	if e == "louder" && t.bench.Voice() != nil {
		e = bench.Shout
	}
	return idEvent + e
}

// Apply carries an intent out; ok is false if it is about none of the panel's controls.
func (t *Panel) Apply(it ui.Intent) (ok bool, err error) {
	if name, is := strings.CutPrefix(it.ID, kit.IDYou); is && name != "" {
		return true, t.chooseOwn(name)
	}
	return t.acts.Apply(it)
}

var errRecording = errors.New("the talker cannot change while a take is recorded")

func (t *Panel) choose(name, title string) error {
	if t.bench.Mode() == bench.ModeRecord {
		return errRecording
	}
	t.bench.StartCheck()
	t.Say(talksWords(title))
	return t.bench.SetTalker(name)
}

// chooseOwn has a voice that is kept perform as soon as it is ready.
func (t *Panel) chooseOwn(name string) error {
	if t.bench.Mode() == bench.ModeRecord {
		return errRecording
	}
	t.Say("Your voice “" + name + "” is being made ready.")
	t.shell.Voices().Load(name, func(v *bench.Voice, err error) {
		if err == nil && t.bench.Mode() == bench.ModeRecord {
			err = errRecording
		}
		if err == nil {
			t.bench.StartCheck()
			err = t.bench.PerformVoice(v)
		}
		if err != nil {
			t.shell.Fail(err)
			return
		}
		t.Say(youWords(v))
	})
	return nil
}

// Gone says why a take cannot be made again, or "".
func (t *Panel) Gone(r *bench.Recipe) string {
	switch name := t.bench.Lacks(r); {
	case r.Perf.Live:
		return "it was live: what you said then is not kept"
	case r.Perf.File != "":
		return "it was made of a recording, which is not kept"
	case name != "" && !slices.Contains(t.shell.Voices().Names(), name):
		return "it was made with your voice “" + name + "”, which is not kept"
	}
	return ""
}

// With does what makes a take again, once the voice that performed it is there.
func (t *Panel) With(r *bench.Recipe, make func(bench.Recipe) error) error {
	name := t.bench.Lacks(r)
	if name == "" {
		return make(*r)
	}
	of := *r
	t.shell.Voices().Load(name, func(v *bench.Voice, err error) {
		if err == nil {
			t.bench.Know(v)
			err = make(of)
		}
		if err != nil {
			t.Say("Take " + ui.Decimal(float64(of.Number), 0) + " cannot be made again.")
			t.shell.Fail(err)
		}
	})
	return nil
}

// youWords say that a learner's own voice performs, and how loud it is taken to be.
func youWords(v *bench.Voice) string {
	r := v.Look
	s := "Sound check: you talk, " + ui.Decimal(r.TalkDBSPL, 0) + " dB SPL at 1 m"
	if !r.Placed {
		s += " if your talk is ordinary"
	}
	if d := r.LaughOverTalkDB; d == d {
		s += "; the peak of your laugh lies " + ui.Decimal(d, 0) + " dB over that of your talk"
	}
	s += "."
	if v.RoomPa() > 0 {
		s += " The noise of your own room is in it: the simulation's own noise comes on top."
	}
	return s
}

func (t *Panel) setLevel(it ui.Intent) error {
	f := t.bench.File()
	if f == nil {
		return errors.New("no recording is performed")
	}
	v, err := kit.Number(it, f.LevelDB, sounds.LoudSpeechDBSPL, 1, fileMin, fileMax)
	if err != nil {
		return err
	}
	return t.bench.SetFileLevel(v)
}

const whyRecording = "a take is being recorded"

// Sync brings the controls up; whole tells that the panel is shown.
func (t *Panel) Sync(whole bool) {
	s := t.bench
	file, own := s.File() != nil, s.Voice()
	if now := (state{s.File(), own, s.Live()}); now != t.was {
		t.was = now
		t.shell.Relayout() // another one can be asked for other things
	}
	recording := s.Mode() == bench.ModeRecord
	t.syncLive(whole)
	kit.Hide(!whole, t.Open)
	kit.Refuse(recording, whyRecording, t.Open)
	for i, c := range t.talkers {
		c.Checked = !file && own == nil && !s.Live() && s.Talker() == t.names[i]
		kit.Hide(!whole, c)
		kit.Refuse(recording, whyRecording, c)
	}
	names := t.shell.Voices().Names()
	for i, c := range t.you {
		if c.Hidden = !whole || i >= len(names); i >= len(names) {
			continue
		}
		if id := kit.IDYou; len(c.ID) != len(id)+len(names[i]) || c.ID[len(id):] != names[i] {
			c.ID, c.Name, c.Label = id+names[i], "You: "+names[i], "you: "+kit.Short(names[i])
		}
		c.Checked = own != nil && own.Perf.Name == names[i]
		kit.Refuse(recording, whyRecording, c)
	}
	kit.Hide(!file || !whole, t.level)
	if file {
		t.level.Value = s.File().LevelDB
	}
	refused, why := file, "a recording is performed; choose a talker first"
	switch {
	case recording && s.Repeats():
		refused, why = true, "the last performance is given again as it was"
	case s.Mode() == bench.ModeReview:
		refused, why = true, "nobody is talking; start the sound check or record"
	}
	for i, b := range t.events {
		e := t.kinds[i]
		b.On = s.View().Frame < t.lit[i] || e == "lean_in" && s.Leaning()
		not := own == nil && e == bench.Shout || own != nil && !own.Can(e)
		kit.Hide(file || s.Live() || !whole || not, b)
		kit.Refuse(refused, why, b)
	}
}

// Controls lists them in focus order, but for Open, which comes last.
func (t *Panel) Controls() (cs []ui.Control) {
	for _, row := range t.rows(false) {
		cs = append(cs, row...)
	}
	return append(cs, t.live.button, t.Open)
}

// rows are who talks, what they do, how loud a recording is: all, or those shown.
func (t *Panel) rows(shown bool) [4][]ui.Control {
	rows := [4][]ui.Control{3: {t.level, t.live.phones}}
	for _, c := range t.talkers {
		rows[0] = append(rows[0], c)
	}
	for _, c := range t.you {
		if !shown || !c.Hidden {
			rows[1] = append(rows[1], c)
		}
	}
	for _, b := range t.events {
		if !shown || !b.Hidden {
			rows[2] = append(rows[2], b)
		}
	}
	return rows
}

// Rows are those shown, to be laid out by somebody else.
func (t *Panel) Rows() [4][]ui.Control { return t.rows(true) }

func (t *Panel) yous() int { return min(len(t.shell.Voices().Names()), mostYou) }

// Height is what the panel needs, dp.
func (t *Panel) Height(th *ui.Theme) float32 {
	h := 16 + th.Tall(th.Row(ui.Strong)) + 4 + th.Tall(max(28, th.Row(ui.Small)+8)) + 4 + th.Tall(max(30, th.Row(ui.Small)+10))
	if t.yous() > 0 {
		h += 4 + th.Tall(max(28, th.Row(ui.Small)+8))
	}
	return h
}

// Layout puts the panel into box.
func (t *Panel) Layout(th *ui.Theme, box ink.Rect) {
	t.Box = box
	in := ui.Pad(box, 12, 8)
	head := ui.Top(&in, th.Tall(th.Row(ui.Strong)))
	t.Head(th, head, 8)
	ui.Top(&in, 4)
	rows, n := t.rows(true), float32(2)
	if t.yous() > 0 {
		n = 3
	}
	share := func(r ink.Rect, cs []ui.Control, gap float32) {
		kit.Share(r, len(cs), gap, func(i int) float32 { return th.Tall(width(th, cs[i])) }, func(i int, r ink.Rect) { cs[i].Common().Bounds = r })
	}
	h := th.Tall((in.H - 4*(n-1)) * 0.96 / n)
	share(ui.Top(&in, h), rows[0], 3)
	ui.Top(&in, 4)
	if n == 3 {
		share(ui.Top(&in, h), rows[1], 3)
		ui.Top(&in, 4)
	}
	t.level.Bounds, t.live.phones.Bounds = in, in
	if len(rows[2]) > 0 {
		share(in, rows[2], 4)
	}
}

// Head lays out at the right of r what brings somebody else in, tighter by less, and
// returns the rest.
func (t *Panel) Head(th *ui.Theme, r ink.Rect, less float32) ink.Rect {
	for _, b := range []*ui.Button{t.Open, t.live.button} {
		if !b.Hidden {
			b.Bounds = ui.Right(&r, min(b.Width(th)-less, r.W))
			ui.Right(&r, 2)
		}
	}
	return r
}

// Heads are what Head lays out.
func (t *Panel) Heads() []ui.Control { return []ui.Control{t.live.button, t.Open} }

func width(th *ui.Theme, c ui.Control) float32 {
	return c.(interface{ Width(*ui.Theme) float32 }).Width(th)
}

// Reading is a recording that is being read: how far, 0 to 1; negative for none.
type Reading float64

// Draw draws the panel.
func (t *Panel) Draw(l *ink.List, th *ui.Theme, reading Reading) {
	kit.Panel(l, th, t.Box)
	in := ui.Pad(t.Box, 12, 8)
	row := ui.Top(&in, th.Row(ui.Strong))
	row.Y = t.Open.Bounds.Y + (t.Open.Bounds.H-row.H)/2
	row.W = t.Open.Bounds.X - row.X - 6
	if b := t.live.button; !b.Hidden {
		row.W = b.Bounds.X - row.X - 6
	}
	st := th.Style(ui.Strong, ink.Bold, ink.Left, th.Say)
	w := ink.Measure("Talker", st)
	l.TextIn(ui.Left(&row, w+1), "Talker", st)
	ui.Left(&row, 10)
	sub := th.Style(ui.Tiny, ink.Regular, ink.Left, th.SayDim)
	l.TextIn(row, t.sub(th, sub, row.W, float64(reading)), sub)
}

// sub says who talks from where.
func (t *Panel) sub(th *ui.Theme, st ink.Style, width float32, reading float64) string {
	if reading >= 0 {
		return t.load.Get([6]int64{ui.Q(reading*100, 0), int64(width)}, func() string {
			return "reading " + ui.Decimal(reading*100, 0) + " %"
		})
	}
	if t.bench.Live() && t.live.mic != nil {
		return t.liveSub(func(ways ...string) string { return ui.Fit(st, width, ways...) }, width)
	}
	if f := t.bench.File(); f != nil {
		return f.Name
	}
	// Who talks and where is set here; a take that is looked at had its own.
	cm := t.bench.Chain(0).DistanceM * 100
	if t.bench.Shown() == nil {
		cm = t.bench.Running(0).DistanceM * 100
	}
	at, sum := 0, int64(0)
	own := t.bench.Voice()
	if own != nil {
		sum = int64(own.Sum) + 1
	}
	for i, n := range t.names {
		if n == t.bench.Talker() {
			at = i
		}
	}
	return t.who.Get([6]int64{int64(at), ui.Q(cm, 0), int64(width), int64(th.Text * 100), sum}, func() string {
		d := ui.Decimal(cm, 0) + " cm"
		if own != nil {
			return ui.Fit(st, width, "you, "+own.Perf.Name+", "+d+" away", "you, "+d+" away", "you, "+d, d)
		}
		who, what, _ := strings.Cut(t.titles[at], ", ")
		return ui.Fit(st, width, t.titles[at]+", "+d+" away", t.titles[at]+", "+d, what+", "+d, who, d)
	})
}
