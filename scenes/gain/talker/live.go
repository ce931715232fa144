package talker

import (
	"errors"
	"math"

	"gainwright/scenes/bench"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
	"gainwright/sim"
	"gainwright/sounds"
	"gainwright/sounds/own"
)

// What is said before the browser's own question.
const liveWords = "Live has your microphone drive these strips. Nothing is sent anywhere, and nothing is kept unless you record a take. Put headphones on first, or leave the sound off: loudspeakers can howl. The browser asks for the microphone next."

const (
	// liveDBFS is where talk is expected until it was heard; placeFrom and placeTo are when it
	// is heard, seconds after the microphone began, quietDBFS what counts as nobody talking.
	liveDBFS           = -30.0
	placeFrom, placeTo = 1.5, 6.0
	quietDBFS          = -60.0
)

// live is the learner's microphone in place of a talker.
type live struct {
	button *ui.Button
	phones *ui.Check
	mic    kit.Microphone
	began  bool
	held   bool // the system holds the sound, and that was said
	phonOn bool
	// Where its level is placed: at the pressure that is ordinary for talk.
	scale   float64
	at, sum float64 // when it began; mean squares as heard, in Pa²
	n       int
	placed  bool
	words   [2]ui.Strs // as drawn, and as told
}

func (t *Panel) makeLive() {
	l := &t.live
	l.button = ui.NewButton(idLive, "Live: your own microphone", "What you say now runs through the strips. Nothing is sent, nothing is kept unless you record it.", "live", ui.Quiet, ui.NoIcon)
	l.button.Size, l.button.Toggle = ui.Small, true
	l.phones = ui.NewCheck(idPhones, "Headphones are on: let me hear it", "Through loudspeakers the microphone would hear itself, and howl. Start at a low listening level.", "headphones are on: let me hear it")
	t.acts[idLive] = kit.Try(t.toggleLive)
	t.acts[idPhones] = kit.Try(func() error {
		if !t.bench.Live() {
			return errors.New("nothing is live")
		}
		l.phonOn = !l.phonOn
		t.bench.Monitor(l.phonOn)
		if !l.phonOn {
			return nil
		}
		return t.shell.Audibly("", func() error { return nil })
	})
}

func (t *Panel) toggleLive() error {
	l := &t.live
	ear, ok := t.shell.Host().(kit.Listener)
	switch {
	case l.mic != nil:
		t.EndLive()
		t.Say("The microphone is off. " + talksWords(t.titleNow()))
		return nil
	case !ok:
		return errors.New("this window has no microphone")
	case t.bench.Mode() == bench.ModeRecord:
		return errRecording
	}
	t.shell.Ask(liveWords, "Open the microphone", "Not now", func() error {
		if t.bench.Mode() == bench.ModeRecord {
			return errRecording
		}
		t.listen(ear)
		return nil
	})
	return nil
}

// listen opens the microphone.
func (t *Panel) listen(ear kit.Listener) {
	l := &t.live
	v := t.bench.Voice()
	*l = live{button: l.button, phones: l.phones, scale: sounds.RefPressure * math.Pow(10, (own.OrdinaryDBSPL-liveDBFS)/20)}
	if v != nil {
		l.scale, l.placed = v.Look.ScalePa, true // the same person, so placed as the voice was
	}
	l.mic = ear.Listen(true)
	t.Say("Waiting for the microphone.")
}

func (t *Panel) titleNow() string {
	for i, n := range t.names {
		if n == t.bench.Talker() {
			return t.titles[i]
		}
	}
	return t.titles[0]
}

// EndLive lets the microphone go.
func (t *Panel) EndLive() {
	l := &t.live
	if l.mic == nil {
		return
	}
	l.mic.Close()
	l.mic = nil
	t.bench.EndLive()
	t.shell.Relayout()
}

// Update follows the microphone, if one is open.
func (t *Panel) Update(now float64) {
	l := &t.live
	if l.mic == nil {
		return
	}
	if l.began && !t.bench.Live() {
		t.EndLive() // somebody else was chosen
		return
	}
	switch r := l.mic.Report(); {
	case r.State == kit.MicEnded:
		t.EndLive()
		if r.Err == nil {
			r.Err = errors.New("the microphone was taken away; press live to ask for it again")
		}
		t.Say("The microphone is off.")
		t.shell.Fail(r.Err)
	case r.State == kit.MicSuspended:
		if !l.held {
			t.Say("The system holds the microphone at the moment; the strips hear silence until it lets go.")
		}
		l.held = true
	case r.State == kit.MicRunning && !l.began:
		if err := t.bench.GoLive(l.mic, l.scale); err != nil {
			t.EndLive()
			t.shell.Fail(err)
			return
		}
		l.began, l.at = true, now
		t.Say(beganWords(l.placed, r.Opened))
		t.shell.Relayout()
	case l.began:
		l.held = false
		t.place(now)
	}
}

// beganWords say that a microphone drives the strips, and what the browser does to it.
func beganWords(placed bool, o kit.Opened) string {
	s := "You are live: talk, and the strips run. You do not hear yourself until you say that headphones are on."
	if !placed {
		s += " Talk for six seconds as you would to a guest: that places your level, at 60 dB SPL at 1 m if your talk is ordinary."
	}
	if o.Echo == kit.SaidOn || o.Noise == kit.SaidOn || o.Gain == kit.SaidOn {
		s += " The browser shapes this sound (echo, noise or gain), so levels may move by themselves."
	}
	return s
}

// place finds the level of talk in the first seconds, and has it be that of ordinary talk.
func (t *Panel) place(now float64) {
	l := &t.live
	if l.placed || t.bench.Mode() != bench.ModeCheck || now < l.at+placeFrom {
		return
	}
	if now < l.at+placeTo {
		if rms := t.bench.View().Strip[0].RMS[sim.AtTalker]; rms > l.scale*math.Pow(10, quietDBFS/20) {
			l.sum += rms * rms
			l.n++
		}
		return
	}
	if l.n == 0 {
		l.at = now - placeFrom // nobody has talked yet
		return
	}
	want := sounds.RefPressure * math.Pow(10, own.OrdinaryDBSPL/20)
	l.scale *= want / math.Sqrt(l.sum/float64(l.n))
	l.placed = true
	t.bench.PlaceLive(l.scale)
	t.Say("Your talk counts as " + ui.Decimal(own.OrdinaryDBSPL, 0) + " dB SPL at 1 m, if it is ordinary. Talk, laugh, shout: set the gain by it.")
}

// syncLive brings the controls up.
func (t *Panel) syncLive(whole bool) {
	l := &t.live
	_, ear := t.shell.Host().(kit.Listener)
	l.button.Hidden, l.button.On = !whole || !ear, l.mic != nil
	l.button.Label = "live"
	if l.mic != nil {
		l.button.Label = "end live"
	}
	recording := t.bench.Mode() == bench.ModeRecord && l.mic == nil
	kit.Refuse(recording, whyRecording, l.button)
	l.phones.Hidden, l.phones.On = !whole || !t.bench.Live(), l.phonOn
}

// Nodes tells what is live, besides the controls.
func (t *Panel) Nodes(dst []ui.Node) []ui.Node {
	if !t.bench.Live() || t.live.mic == nil || t.live.phones.Hidden {
		return dst
	}
	first := func(ways ...string) string { return ways[0] }
	return append(dst, ui.Node{ID: idLiveState, Role: ui.RoleText, Name: "Your microphone", Value: t.liveSub(first, 0), Bounds: t.live.button.Bounds})
}

// liveSub says how late what is heard comes, and what went wrong on the way.
func (t *Panel) liveSub(fit func(ways ...string) string, width float32) string {
	r := t.live.mic.Report()
	ms := (r.Opened.LatencyS + t.shell.OutputS()) * 1000
	return t.live.words[kit.Bit(width == 0)].Get([6]int64{ui.Q(ms, 0), r.Breaks, int64(width), ui.Q(r.LostS*1000, 0)}, func() string {
		late := ui.Decimal(ms, 0) + " ms late"
		breaks := "no breaks"
		if r.Breaks > 0 {
			breaks = ui.Decimal(float64(r.Breaks), 0) + " breaks, " + ui.Decimal(r.LostS*1000, 0) + " ms"
		}
		return fit("you, live, "+late+" from mouth to ear, "+breaks, "live, "+late+", "+breaks, "live, "+breaks, "live")
	})
}
