package kit

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"gainwright/scenes/bench"
	"gainwright/scenes/ink"
	"gainwright/scenes/ui"
	"gainwright/sounds"
)

// Track is one sound of a deck.
type Track struct {
	name    string
	X       []float64
	GainDB  float64 // when played
	clipped bool    // wants a caution first
	scale   float32 // of its outline, as a Timeline's
	lo, hi  []float32
}

const outlineFrames = 240

// NewTrack is a sound x, full scale 1, played at gainDB; clipped tells that it wants a
// caution.
func NewTrack(name string, x []float64, gainDB float64, clipped bool) Track {
	t := Track{name: name, X: x, GainDB: min(max(gainDB, -80), 60), clipped: clipped}
	if math.IsNaN(gainDB) {
		t.GainDB = 0
	}
	n := (len(x) + outlineFrames - 1) / outlineFrames
	t.lo, t.hi = make([]float32, n), make([]float32, n)
	peak := float32(1e-9)
	for i, v := range x {
		k := i / outlineFrames
		t.lo[k], t.hi[k] = min(t.lo[k], float32(v)), max(t.hi[k], float32(v))
		peak = max(peak, float32(v), -float32(v))
	}
	t.scale = peak * 1.05
	return t
}

// Deck plays a few sounds in step: the play and loop buttons, the place, what
// was last to say, and the caution before clipped sound. It is the foot of a
// scene.
type Deck struct {
	shell  Shell
	acts   Acts
	Player *sounds.Player
	Tracks []Track
	At     int // the track chosen

	Play, CautPlay, CautCancel *ui.Button
	Loop                       *ui.Check
	Line                       *ui.Timeline
	looped                     bool
	Caution                    bool
	Warned                     bool // the caution was answered for what is loaded
	Blind                      bool // which track is heard is not to be told, by the caution either

	low bool // it makes do with little

	box, Result, note, clock ink.Rect
	clockS                   ui.Strs
	resultP, noteP, cautP    ui.Para
}

// NewDeck makes a deck; empty is what its line says while there is nothing to play, the
// longest first.
func NewDeck(p Shell, empty ...string) *Deck {
	d := &Deck{shell: p, Player: sounds.NewPlayer(bench.Rate)}
	d.Play = ui.NewButton(IDPlay, "Play", "Plays what is chosen from the place shown; again to pause.", "Play", ui.Plain, ui.IconPlay)
	d.Loop = ui.NewCheck(IDLoop, "Play again and again", "At the end playing begins anew.", "loop")
	d.Line = ui.NewTimeline(IDTakeAt, "Place", "Press or drag to go there.")
	d.Line.Empty = empty
	d.Line.Wave = d.outline
	d.CautPlay = ui.NewButton(IDCautionPlay, "Play the clipped sound", "", "Play it", ui.Plain, ui.IconPlay)
	d.CautCancel = ui.NewButton(IDCautionCancel, "Do not play it", "", "Not now", ui.Plain, ui.NoIcon)
	d.acts = d.deckActs()
	return d
}

// Controls lists the controls in focus order.
func (d *Deck) Controls() []ui.Control {
	return []ui.Control{d.Play, d.Loop, d.Line, d.CautPlay, d.CautCancel}
}

// Load replaces all tracks, which are equally long; what plays goes on. fresh
// means other sounds than before, of which has been warned anew.
func (d *Deck) Load(fresh bool, tracks ...Track) {
	if fresh || len(tracks) == 0 || len(d.Tracks) == 0 || len(tracks[0].X) != len(d.Tracks[0].X) {
		d.Player.Pause()
		d.Player.SeekTo(0)
		d.Warned, d.Caution = false, false
	}
	d.Tracks = tracks
	list := make([]sounds.Track, len(tracks))
	for i, t := range tracks {
		list[i] = sounds.Track{Samples: t.X, GainDB: t.GainDB}
	}
	if err := d.Player.Load(list...); err != nil {
		panic("kit: " + err.Error()) // equal lengths and gains in range
	}
	d.At = min(d.At, max(0, len(tracks)-1))
	d.Player.Select(d.At)
	d.setLoop(d.looped)
	if d.At < len(tracks) && d.harsh(d.At) && !d.Warned && d.Player.Playing() {
		d.Player.Pause()
		d.Caution = true
	}
}

func (d *Deck) setLoop(on bool) {
	d.looped = on
	d.Player.ClearLoop()
	if on && d.Player.Frames() > 0 {
		_ = d.Player.SetLoop(0, d.Player.Frames()) // too short a sound plays once
	}
}

// Gain changes how loud track i is played.
func (d *Deck) Gain(i int, db float64) {
	if i < len(d.Tracks) && !math.IsNaN(db) {
		d.Tracks[i].GainDB = min(max(db, -80), 60)
		if err := d.Player.SetGain(i, d.Tracks[i].GainDB); err != nil {
			panic("kit: " + err.Error()) // in range
		}
	}
}

// Choose makes track i heard. Going over to clipped sound while playing asks
// first.
func (d *Deck) Choose(i int) {
	if i >= len(d.Tracks) {
		return
	}
	d.At = i
	d.Player.Select(i)
	d.Caution = d.Caution && d.harsh(i)
	if d.harsh(i) && !d.Warned && d.Player.Playing() {
		d.Player.Pause()
		d.Caution = true
	}
}

// harsh tells that track i wants the caution first: heard blind, if any does.
func (d *Deck) harsh(i int) bool {
	return d.Tracks[i].clipped || d.Blind && slices.ContainsFunc(d.Tracks, func(t Track) bool { return t.clipped })
}

// Playing reports whether it plays.
func (d *Deck) Playing() bool { return d.Player.Playing() }

func (d *Deck) seconds() float64 { return float64(d.Player.Frames()) / bench.Rate }

func (d *Deck) outline(from, to float64) (lo, hi float32) {
	if d.At >= len(d.Tracks) {
		return 0, 0
	}
	t := &d.Tracks[d.At]
	a := int(from * bench.Rate / outlineFrames)
	b := int(math.Ceil(to * bench.Rate / outlineFrames))
	for i := max(a, 0); i < min(max(b, a+1), len(t.lo)); i++ {
		lo, hi = min(lo, t.lo[i]), max(hi, t.hi[i])
	}
	return lo, hi
}

// Sync brings the controls up to what they show.
func (d *Deck) Sync() {
	none := len(d.Tracks) == 0
	d.Play.Label, d.Play.Icon, d.Play.On, d.Play.Name = "Play", ui.IconPlay, d.Playing(), "Play"
	if d.Playing() {
		d.Play.Label, d.Play.Icon, d.Play.Name = "Pause", ui.IconPause, "Pause"
	}
	d.Play.Disabled, d.Play.Why = none, errNothingToPlay.Error()
	d.Loop.On = d.looped
	d.Line.Disabled, d.Line.Why = none, errNothingToPlay.Error()
	d.Line.Min, d.Line.Max, d.Line.Value = 0, d.seconds(), 0
	d.Line.Label = ""
	if !none {
		d.Line.Value = min(float64(d.Player.Position())/bench.Rate, d.Line.Max)
		d.Line.Label, d.Line.Scale = d.Tracks[d.At].name, d.Tracks[d.At].scale
	}
	idle := none && d.low
	d.Play.Hidden, d.Loop.Hidden = idle, idle
	d.Line.Hidden = d.Caution || idle
	d.CautPlay.Hidden, d.CautCancel.Hidden = !d.Caution, !d.Caution
}

// Apply carries an intent out; ok is false if it is none of the deck's.
func (d *Deck) Apply(it ui.Intent) (ok bool, err error) { return d.acts.Apply(it) }

var errNothingToPlay = errors.New("there is nothing to play yet")

func (d *Deck) deckActs() Acts {
	return Acts{
		IDPlay:          Try(d.playOrPause),
		IDLoop:          Press(func() { d.setLoop(!d.looped) }),
		IDTakeAt:        d.seek,
		IDCautionPlay:   Try(d.playClipped),
		IDCautionCancel: Press(func() { d.Caution = false }),
		IDRecord:        Try(func() error { return errors.New("recording is done in the scene “Set the gain”") }),
	}
}

func (d *Deck) playOrPause() error {
	switch {
	case len(d.Tracks) == 0:
		return errNothingToPlay
	case d.Playing():
		d.Player.Pause()
	case d.harsh(d.At) && !d.Warned:
		d.Caution = true
	default:
		return d.start()
	}
	return nil
}

func (d *Deck) seek(it ui.Intent) error {
	if len(d.Tracks) == 0 {
		return errNothingToPlay
	}
	v, err := Number(it, float64(d.Player.Position())/bench.Rate, 0, 0.1, 0, d.seconds())
	if err == nil {
		d.Player.SeekTo(int64(v * bench.Rate))
	}
	return err
}

// playClipped plays what the caution is about.
func (d *Deck) playClipped() error {
	if !d.Caution {
		return errors.New("there is nothing to answer")
	}
	d.Caution, d.Warned = false, true
	return d.start()
}

func (d *Deck) start() error {
	if d.shell.Bench().Mode() == bench.ModeRecord {
		return fmt.Errorf("a take is being recorded in “Set the gain”; end it first")
	}
	return d.shell.Audibly("", func() error {
		d.Player.Play()
		return nil
	})
}

// CautionLong and CautionShort warn of clipped sound.
const CautionLong = "Caution: this sound is clipped and harsh. Lower the listening level first, above all with headphones."

const cautionShort = "Clipped: harsh. Lower the listening level first."

// Announce is the caution while it waits for an answer, else s.
func (d *Deck) Announce(s string) string {
	if d.Caution {
		return CautionLong + " Play it?"
	}
	return s
}

func (d *Deck) lines(th *ui.Theme, width float32, longest string) (result, note int) {
	if d.low {
		longest = sentence(longest)
	}
	var p ui.Para
	st := th.Style(ui.Tiny, ink.Regular, ink.Left, th.SayDim)
	note = len(p.Lines(ui.Fit(st, width, SafetyLong, SafetyShort), st, width))
	var q ui.Para
	if d.low {
		note = 0
	}
	result = len(q.Lines(longest, th.Style(ui.Small, ink.Bold, ink.Left, th.Say), width))
	return result, note
}

func (d *Deck) buttons(th *ui.Theme) (play, loop float32) {
	return max(d.Play.Width(th), th.Px(98)), d.Loop.Width(th) + 6
}

// Spare has the deck make do with little where it would take more than half of a height: then
// it says a sentence, of which the mirror has the rest, and is nothing else while there is
// nothing to play.
func (d *Deck) Spare(th *ui.Theme, width, height float32, longest string) {
	d.low = false
	d.low = d.Height(th, width, longest) > height/2
}

// beside tells that the buttons lie beside the line, in so wide a deck.
func (d *Deck) beside(th *ui.Theme, width float32) bool {
	play, loop := d.buttons(th)
	least := 520 * th.Text
	if d.low {
		least = 200 * th.Text
	}
	return width-play-loop-34 >= least
}

// Height is what the deck needs at a width; longest is the longest thing it has
// to say.
func (d *Deck) Height(th *ui.Theme, width float32, longest string) float32 {
	in := width - 24
	if d.low && len(d.Tracks) == 0 {
		r, _ := d.lines(th, in, longest)
		return 16 + float32(r)*th.Row(ui.Small)
	}
	play, loop := d.buttons(th)
	if d.beside(th, in) {
		in -= play + loop + 34
		r, n := d.lines(th, in, longest)
		return 16 + max(52, th.Row(ui.Tiny)+34) + 4 + float32(r)*th.Row(ui.Small) + float32(n)*th.Row(ui.Tiny)
	}
	r, n := d.lines(th, in, longest)
	return 16 + 44 + 8 + max(52, th.Row(ui.Tiny)+34) + 4 + float32(r)*th.Row(ui.Small) + float32(n)*th.Row(ui.Tiny)
}

// Layout puts the deck into box; longest is the longest result that it has to say.
func (d *Deck) Layout(th *ui.Theme, box ink.Rect, longest string) {
	d.box = box
	in := ui.Pad(box, 12, 8)
	play, loop := d.buttons(th)
	if d.low && len(d.Tracks) == 0 {
		d.Result, d.note, d.clock = in, ink.Rect{}, ink.Rect{}
		return
	}
	if d.beside(th, in.W) {
		left := ui.Left(&in, play+loop+18)
		ui.Left(&in, 16)
		ui.Top(&left, max(0, left.H-44)/2)
		one := ui.Top(&left, 44)
		d.Play.Bounds = ui.Left(&one, play)
		ui.Left(&one, 12)
		d.Loop.Bounds = ui.Left(&one, loop)
	} else {
		one := ui.Top(&in, 44)
		d.Play.Bounds = ui.Left(&one, play)
		ui.Left(&one, 12)
		d.Loop.Bounds = ui.Left(&one, min(loop, one.W))
		ui.Top(&in, 8)
	}
	r, n := d.lines(th, in.W, longest)
	d.note = ui.Bottom(&in, float32(n)*th.Row(ui.Tiny))
	d.Result = ui.Bottom(&in, float32(r)*th.Row(ui.Small))
	ui.Bottom(&in, 4)
	w := ink.Measure("18.0 / 18.0 s", th.Style(ui.Small, ink.Mono, ink.Left, th.Say)) + 4
	d.clock = ui.Right(&in, min(w, in.W*0.4))
	ui.Right(&in, 10)
	d.Line.Bounds = in
	d.clock.H = min(th.Row(ui.Small), d.clock.H)
	// The caution lies over the timeline.
	c := ui.Pad(ink.Rect{X: in.X, Y: in.Y, W: d.clock.Right() - in.X, H: in.H}, 10, 0)
	bh := min(40, c.H-6)
	for _, b := range []*ui.Button{d.CautCancel, d.CautPlay} {
		r := ui.Right(&c, b.Width(th))
		b.Bounds = ink.Rect{X: r.X, Y: c.Y + (c.H-bh)/2, W: r.W, H: bh}
		ui.Right(&c, 8)
	}
}

// Top is where the deck begins.
func (d *Deck) Top() float32 { return d.box.Y }

// sentence is the first of some words.
func sentence(words string) string {
	if at := strings.Index(words, ". "); at > 0 {
		return words[:at+1]
	}
	return words
}

// shortened are as many of the words as so many lines take: all, or a sentence, or less.
func (d *Deck) shortened(words string, st ink.Style, lines int) string {
	fits := func(s string) bool { return len(d.resultP.Lines(s, st, d.Result.W)) <= lines }
	if fits(words) {
		return words
	}
	if words = sentence(words); fits(words) {
		return words
	}
	for at := strings.LastIndexByte(words, ' '); at > 0; at = strings.LastIndexByte(words, ' ') {
		if words = words[:at]; fits(words + " …") {
			break
		}
	}
	return words + " …"
}

// Draw draws the words; the controls come after. A strong result is told in bold.
func (d *Deck) Draw(l *ink.List, th *ui.Theme, strong bool) {
	Panel(l, th, d.box)
	st := th.Style(ui.Small, ink.Regular, ink.Left, th.Say)
	words, failed := d.shell.Said()
	if failed {
		st.Color = th.SayCeiling
	} else if strong {
		st.Font = ink.Bold
	}
	if d.low {
		words = d.shortened(words, st, int(d.Result.H/th.Row(ui.Small)+.5))
	}
	d.resultP.Draw(l, d.Result, words, st, th.Row(ui.Small))
	if d.low && len(d.Tracks) == 0 {
		return
	}
	note := th.Style(ui.Tiny, ink.Regular, ink.Left, th.SayDim)
	if d.note.H > 0 {
		d.noteP.Draw(l, d.note, ui.Fit(note, d.note.W, SafetyLong, SafetyShort), note, th.Row(ui.Tiny))
	}
	if d.Caution {
		b := d.Line.Bounds
		b.W = d.clock.Right() - b.X
		l.Fill(b, 6, th.Lost.Mix(th.Panel, 0.82))
		l.Frame(b.Inset(1), 6, 1.5, th.Lost)
		in := ui.Pad(b, 12, 4)
		in.W = d.CautPlay.Bounds.X - 10 - in.X
		st := th.Style(ui.Small, ink.Bold, ink.Left, th.Say)
		row := th.Row(ui.Small) * 0.95
		text := CautionLong
		if d.cautP.Height(text, st, in.W, row) > in.H {
			text = cautionShort
		}
		h := d.cautP.Height(text, st, in.W, row)
		in.Y += max(0, (in.H-h)/2)
		d.cautP.Draw(l, in, text, st, row)
		return
	}
	if len(d.Tracks) == 0 {
		return
	}
	at, end := d.Line.Value, d.Line.Max
	mono := th.Style(ui.Small, ink.Mono, ink.Right, th.Say)
	s := d.clockS.Get([6]int64{ui.Q(at, 1), ui.Q(end, 1), int64(d.clock.W), int64(th.Text * 100)}, func() string {
		now, of := ui.Decimal(at, 1), ui.Decimal(end, 1)
		return ui.Fit(mono, d.clock.W, now+" / "+of+" s", now+" / "+of, now+" s", now)
	})
	l.TextIn(d.clock, s, mono)
}
