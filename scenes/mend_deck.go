package scenes

import (
	"fmt"
	"math"

	"gainwright/scenes/ink"
	"gainwright/scenes/ui"
	"gainwright/sounds"
)

// deckTrack is one sound of a deck.
type deckTrack struct {
	name    string
	x       []float64
	gainDB  float64 // when played
	clipped bool    // wants a caution first
	scale   float32 // of its outline, as a Timeline's
	lo, hi  []float32
}

const outlineFrames = 240

func newDeckTrack(name string, x []float64, gainDB float64, clipped bool) deckTrack {
	t := deckTrack{name: name, x: x, gainDB: min(max(gainDB, -80), 60), clipped: clipped}
	if math.IsNaN(gainDB) {
		t.gainDB = 0
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

// deck plays a few sounds in step: the play and loop buttons, the place, what
// was last to say, and the caution before clipped sound. It is the foot of a
// scene.
type deck struct {
	p      Shell
	player *sounds.Player
	tracks []deckTrack
	at     int // the track chosen

	play, cautPlay, cautCancel *ui.Button
	loop                       *ui.Check
	line                       *ui.Timeline
	looped                     bool
	caution                    bool
	warned                     bool // the caution was answered for what is loaded

	box, result, note, clock ink.Rect
	clockS                   ui.Strs
	resultP, noteP, cautP    ui.Para
}

func newDeck(p Shell, empty ...string) *deck {
	d := &deck{p: p, player: sounds.NewPlayer(Rate)}
	d.play = ui.NewButton("play", "Play", "Plays what is chosen from the place shown; again to pause.", "Play", ui.Plain, ui.IconPlay)
	d.loop = ui.NewCheck("loop", "Play again and again", "At the end playing begins anew.", "loop")
	d.line = ui.NewTimeline("take.at_s", "Place", "Press or drag to go there.")
	d.line.Empty = empty
	d.line.Wave = d.outline
	d.cautPlay = ui.NewButton("caution.play", "Play the clipped sound", "", "Play it", ui.Plain, ui.IconPlay)
	d.cautCancel = ui.NewButton("caution.cancel", "Do not play it", "", "Not now", ui.Plain, ui.NoIcon)
	return d
}

func (d *deck) controls() []ui.Control {
	return []ui.Control{d.play, d.loop, d.line, d.cautPlay, d.cautCancel}
}

// load replaces all tracks, which are equally long; what plays goes on. fresh
// means other sounds than before, of which has been warned anew.
func (d *deck) load(fresh bool, tracks ...deckTrack) {
	if fresh || len(tracks) == 0 || len(d.tracks) == 0 || len(tracks[0].x) != len(d.tracks[0].x) {
		d.player.Pause()
		d.player.SeekTo(0)
		d.warned, d.caution = false, false
	}
	d.tracks = tracks
	list := make([]sounds.Track, len(tracks))
	for i, t := range tracks {
		list[i] = sounds.Track{Samples: t.x, GainDB: t.gainDB}
	}
	if err := d.player.Load(list...); err != nil {
		panic("scenes: " + err.Error()) // equal lengths and gains in range
	}
	d.at = min(d.at, max(0, len(tracks)-1))
	d.player.Select(d.at)
	d.setLoop(d.looped)
	if d.at < len(tracks) && tracks[d.at].clipped && !d.warned && d.player.Playing() {
		d.player.Pause()
		d.caution = true
	}
}

func (d *deck) setLoop(on bool) {
	d.looped = on
	d.player.ClearLoop()
	if on && d.player.Frames() > 0 {
		_ = d.player.SetLoop(0, d.player.Frames()) // too short a sound plays once
	}
}

// gain changes how loud track i is played.
func (d *deck) gain(i int, db float64) {
	if i < len(d.tracks) && !math.IsNaN(db) {
		d.tracks[i].gainDB = min(max(db, -80), 60)
		if err := d.player.SetGain(i, d.tracks[i].gainDB); err != nil {
			panic("scenes: " + err.Error()) // in range
		}
	}
}

// choose makes track i heard. Going over to clipped sound while playing asks
// first.
func (d *deck) choose(i int) {
	if i >= len(d.tracks) {
		return
	}
	d.at = i
	d.player.Select(i)
	d.caution = d.caution && d.tracks[i].clipped
	if d.tracks[i].clipped && !d.warned && d.player.Playing() {
		d.player.Pause()
		d.caution = true
	}
}

func (d *deck) playing() bool { return d.player.Playing() }

func (d *deck) seconds() float64 { return float64(d.player.Frames()) / Rate }

func (d *deck) outline(from, to float64) (lo, hi float32) {
	if d.at >= len(d.tracks) {
		return 0, 0
	}
	t := &d.tracks[d.at]
	a := int(from * Rate / outlineFrames)
	b := int(math.Ceil(to * Rate / outlineFrames))
	for i := max(a, 0); i < min(max(b, a+1), len(t.lo)); i++ {
		lo, hi = min(lo, t.lo[i]), max(hi, t.hi[i])
	}
	return lo, hi
}

// sync brings the controls up to what they show.
func (d *deck) sync() {
	none := len(d.tracks) == 0
	d.play.Label, d.play.Icon, d.play.On, d.play.Name = "Play", ui.IconPlay, d.playing(), "Play"
	if d.playing() {
		d.play.Label, d.play.Icon, d.play.Name = "Pause", ui.IconPause, "Pause"
	}
	d.play.Disabled, d.play.Why = none, "there is nothing to play yet"
	d.loop.On = d.looped
	d.line.Disabled, d.line.Why = none, "there is nothing to play yet"
	d.line.Min, d.line.Max, d.line.Value = 0, d.seconds(), 0
	d.line.Label = ""
	if !none {
		d.line.Value = min(float64(d.player.Position())/Rate, d.line.Max)
		d.line.Label, d.line.Scale = d.tracks[d.at].name, d.tracks[d.at].scale
	}
	d.line.Hidden = d.caution
	d.cautPlay.Hidden, d.cautCancel.Hidden = !d.caution, !d.caution
}

// apply carries an intent out; ok is false if it is none of the deck's.
func (d *deck) apply(it Intent) (ok bool, err error) {
	switch it.ID {
	case "play":
		if len(d.tracks) == 0 {
			return true, fmt.Errorf("there is nothing to play yet")
		}
		if d.playing() {
			d.player.Pause()
			return true, nil
		}
		if d.tracks[d.at].clipped && !d.warned {
			d.caution = true
			return true, nil
		}
		return true, d.start()
	case "loop":
		d.setLoop(!d.looped)
	case "take.at_s":
		if len(d.tracks) == 0 {
			return true, fmt.Errorf("there is nothing to play yet")
		}
		v, err := numeric(it, float64(d.player.Position())/Rate, 0, 0.1, 0, d.seconds())
		if err != nil {
			return true, err
		}
		d.player.SeekTo(int64(v * Rate))
	case "caution.play":
		if !d.caution {
			return true, fmt.Errorf("there is nothing to answer")
		}
		d.caution, d.warned = false, true
		return true, d.start()
	case "caution.cancel":
		d.caution = false
	case "record":
		return true, fmt.Errorf("recording is done in the scene “Set the gain”")
	default:
		return false, nil
	}
	return true, nil
}

func (d *deck) start() error {
	if d.p.Bench().Mode() == ModeRecord {
		return fmt.Errorf("a take is being recorded in “Set the gain”; end it first")
	}
	if err := d.p.StartSound(); err != nil {
		return err
	}
	d.player.Play()
	return nil
}

const cautionLong = "Caution: this sound is clipped and harsh. Lower the listening level first, above all with headphones."
const cautionShort = "Clipped: harsh. Lower the listening level first."

// announce is the caution while it waits for an answer, else s.
func (d *deck) announce(s string) string {
	if d.caution {
		return cautionLong + " Play it?"
	}
	return s
}

func (d *deck) lines(th *ui.Theme, width float32, longest string) (result, note int) {
	var p ui.Para
	st := th.Style(ui.Tiny, ink.Regular, ink.Left, th.SayDim)
	note = len(p.Lines(ui.Fit(st, width, safetyLong, safetyShort), st, width))
	var q ui.Para
	result = len(q.Lines(longest, th.Style(ui.Small, ink.Bold, ink.Left, th.Say), width))
	return result, note
}

func (d *deck) buttons(th *ui.Theme) (play, loop float32) {
	return max(d.play.Width(th), th.Px(98)), d.loop.Width(th) + 6
}

// height is what the deck needs at a width; longest is the longest thing it has
// to say.
func (d *deck) height(th *ui.Theme, width float32, longest string) float32 {
	in := width - 24
	play, loop := d.buttons(th)
	if in-play-loop-34 >= 520*th.Text {
		in -= play + loop + 34
		r, n := d.lines(th, in, longest)
		return 16 + max(52, th.Row(ui.Tiny)+34) + 4 + float32(r)*th.Row(ui.Small) + float32(n)*th.Row(ui.Tiny)
	}
	r, n := d.lines(th, in, longest)
	return 16 + 44 + 8 + max(52, th.Row(ui.Tiny)+34) + 4 + float32(r)*th.Row(ui.Small) + float32(n)*th.Row(ui.Tiny)
}

func (d *deck) layout(th *ui.Theme, box ink.Rect, longest string) {
	d.box = box
	in := ui.Pad(box, 12, 8)
	play, loop := d.buttons(th)
	if in.W-play-loop-34 >= 520*th.Text {
		left := ui.Left(&in, play+loop+18)
		ui.Left(&in, 16)
		ui.Top(&left, max(0, left.H-44)/2)
		one := ui.Top(&left, 44)
		d.play.Bounds = ui.Left(&one, play)
		ui.Left(&one, 12)
		d.loop.Bounds = ui.Left(&one, loop)
	} else {
		one := ui.Top(&in, 44)
		d.play.Bounds = ui.Left(&one, play)
		ui.Left(&one, 12)
		d.loop.Bounds = ui.Left(&one, min(loop, one.W))
		ui.Top(&in, 8)
	}
	r, n := d.lines(th, in.W, longest)
	d.note = ui.Bottom(&in, float32(n)*th.Row(ui.Tiny))
	d.result = ui.Bottom(&in, float32(r)*th.Row(ui.Small))
	ui.Bottom(&in, 4)
	w := ink.Measure("18.0 / 18.0 s", th.Style(ui.Small, ink.Mono, ink.Left, th.Say)) + 4
	d.clock = ui.Right(&in, min(w, in.W*0.4))
	ui.Right(&in, 10)
	d.line.Bounds = in
	d.clock.H = min(th.Row(ui.Small), d.clock.H)
	// The caution lies over the timeline.
	c := ui.Pad(ink.Rect{X: in.X, Y: in.Y, W: d.clock.Right() - in.X, H: in.H}, 10, 0)
	bh := min(40, c.H-6)
	for _, b := range []*ui.Button{d.cautCancel, d.cautPlay} {
		r := ui.Right(&c, b.Width(th))
		b.Bounds = ink.Rect{X: r.X, Y: c.Y + (c.H-bh)/2, W: r.W, H: bh}
		ui.Right(&c, 8)
	}
}

func (d *deck) draw(l *ink.List, th *ui.Theme, strong bool) {
	panel(l, th, d.box)
	st := th.Style(ui.Small, ink.Regular, ink.Left, th.Say)
	words, failed := d.p.Said()
	if failed {
		st.Color = th.SayCeiling
	} else if strong {
		st.Font = ink.Bold
	}
	d.resultP.Draw(l, d.result, words, st, th.Row(ui.Small))
	note := th.Style(ui.Tiny, ink.Regular, ink.Left, th.SayDim)
	d.noteP.Draw(l, d.note, ui.Fit(note, d.note.W, safetyLong, safetyShort), note, th.Row(ui.Tiny))
	if d.caution {
		b := d.line.Bounds
		b.W = d.clock.Right() - b.X
		l.Fill(b, 6, th.Lost.Mix(th.Panel, 0.82))
		l.Frame(b.Inset(1), 6, 1.5, th.Lost)
		in := ui.Pad(b, 12, 4)
		in.W = d.cautPlay.Bounds.X - 10 - in.X
		st := th.Style(ui.Small, ink.Bold, ink.Left, th.Say)
		row := th.Row(ui.Small) * 0.95
		text := cautionLong
		if d.cautP.Height(text, st, in.W, row) > in.H {
			text = cautionShort
		}
		h := d.cautP.Height(text, st, in.W, row)
		in.Y += max(0, (in.H-h)/2)
		d.cautP.Draw(l, in, text, st, row)
		return
	}
	if len(d.tracks) == 0 {
		return
	}
	at, end := d.line.Value, d.line.Max
	s := d.clockS.Get([6]int64{ui.Q(at, 1), ui.Q(end, 1)}, func() string {
		return ui.Decimal(at, 1) + " / " + ui.Decimal(end, 1) + " s"
	})
	l.TextIn(d.clock, s, th.Style(ui.Small, ink.Mono, ink.Right, th.Say))
}
