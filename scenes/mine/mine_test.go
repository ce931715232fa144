package mine

import (
	"errors"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"

	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/scenetest"
	"gainwright/scenes/ui"
	"gainwright/sounds/own"
	"gainwright/sounds/voice"
)

// spoken is what a talker of the program does, as a microphone would bring it.
func spoken(t testing.TB, e ...voice.Event) []float64 {
	t.Helper()
	v, err := voice.New(e, "maren", 3)
	if err != nil {
		t.Fatal(err)
	}
	x := make([]float64, 40*own.Rate)
	n, _ := v.Read(x)
	for i := range x[:n] {
		x[i] *= .15
	}
	return x[:n]
}

// visit is a visit with a microphone in a room with a little noise.
type visit struct {
	*scenetest.Driver
	t   testing.TB
	s   *Scene
	h   *scenetest.Vocal
	mic *scenetest.Mic
	rnd *rand.Rand
}

func begin(t testing.TB, h *scenetest.Vocal) *visit {
	b, s := scenetest.Open[*Scene](t, h, kit.IDTabVoice, func(sh kit.Shell) []kit.Scene { return scenetest.Amid(New(sh)) })
	b.Wait(.05)
	return &visit{Driver: b, t: t, s: s, h: h, mic: h.Next, rnd: rand.New(rand.NewPCG(1, 2))}
}

// hears has the microphone hear x, over the room's noise, and passes the time.
func (v *visit) hears(x []float64) {
	for _, s := range x {
		v.mic.Sound = append(v.mic.Sound, s+2e-4*v.rnd.NormFloat64())
	}
	for n := 0; n < len(x)+1600 && v.s.rec.mic != nil; n += 800 {
		v.Wait(1. / 60)
	}
}

func silence(s float64) []float64 { return make([]float64, int(s*own.Rate)) }

var line = voice.Event{Do: "say", Text: "The ferry crosses the river every half hour."}

// parts are what is done in each step.
func parts(t testing.TB) (out [own.NumParts][]float64) {
	out[own.Quiet] = silence(2.1)
	out[own.Talk] = spoken(t, line)
	out[own.Again] = out[own.Talk]
	out[own.Read] = spoken(t, line, line, voice.Event{Do: "say", Text: "A bell rang at each side."})
	out[own.Laugh] = spoken(t, voice.Event{Do: "laugh"})
	out[own.Hey] = spoken(t, voice.Event{Do: "say", Text: "Hey!", Effort: voice.Shout})
	return out
}

// step does one step; it ends by itself.
func (v *visit) step(k own.Part, x []float64) {
	v.t.Helper()
	if v.s.rec.step != k {
		v.t.Fatalf("step %v is shown, not %v; %q", v.s.rec.step, k, v.s.status)
	}
	v.Do(idBegin)
	v.hears(append(append([]float64(nil), x...), silence(1.6)...))
}

func (v *visit) whole() {
	v.t.Helper()
	v.Do(idAsk)
	v.Wait(.05)
	for k, x := range parts(v.t) {
		v.step(own.Part(k), x)
	}
	v.Until("looked at", func() bool { return v.s.stage == atCard })
}

// The whole way: asked, recorded step by step, told, kept, deleted, handed out, performed.
func TestWholeWay(t *testing.T) {
	v := begin(t, scenetest.NewVocal(scenetest.NewMic(nil)))
	if v.h.Asked != 0 {
		t.Fatal("the microphone is asked for before anybody wants it")
	}
	v.whole()
	if !v.mic.Closed {
		t.Error("the microphone is still open")
	}
	s := v.s
	if s.card.Grade != own.Good {
		t.Errorf("%+v", s.card)
	}
	// What is recorded is what was heard: talk and laugh as they were made.
	want := parts(t)
	for _, k := range []own.Part{own.Talk, own.Read, own.Laugh, own.Hey} {
		e, r := 0.0, 0.0
		for _, x := range want[k] {
			e += x * x
		}
		for _, x := range s.mine.Part(k) {
			r += x * x
		}
		if d := 10 * math.Log10(r/e); math.Abs(d) > .1 {
			t.Errorf("%v: %.2f dB more than was heard", k, d)
		}
	}
	if !strings.Contains(s.status, "dB over your talk") {
		t.Errorf("the first thing told is %q", s.status)
	}
	if len(v.h.Archive) != 0 {
		t.Error("it is kept though nobody asked for that")
	}
	v.Write(idName, "Ines")
	v.Do(idKeep)
	v.Wait(.1)
	if v.h.Archive["own.Ines"] == nil || s.saved != "Ines" {
		t.Fatalf("not kept: %q", v.P.Announce())
	}
	v.Do(idWAV)
	name, data, ok := v.P.NextSave()
	if q, err := own.Unpack(name, data); !ok || name != "voice-Ines.wav" || err != nil || q.Name != "Ines" {
		t.Fatalf("handed out: %q, %v", name, err)
	}
	// A later visit has it.
	w := begin(t, v.h)
	w.Wait(.1)
	w.Do(idKept + "1")
	w.Until("taken", func() bool { return w.s.stage == atCard })
	if w.s.mine.Name != "Ines" || len(w.s.mine.Samples) != len(s.mine.Samples) {
		t.Error("another voice comes back")
	}
	w.Do(idDelete)
	if len(v.h.Archive) != 1 {
		t.Error("deleted at the first press")
	}
	w.Do(idDelete)
	w.Wait(.1)
	if len(v.h.Archive) != 0 {
		t.Error("not deleted")
	}
	_ = w.P.Apply(ui.Intent{ID: idPerform, Do: ui.DoPress}) // what stands for the bench's scene takes nothing
	if f := w.P.Bench().Voice(); f == nil || f.Perf.Name != "Ines" {
		t.Error("the bench performs something else")
	}
}

// A page that was held up gets much at once: the last step may end in the middle of it.
func TestMuchAtOnce(t *testing.T) {
	v := begin(t, scenetest.NewVocal(scenetest.NewMic(nil)))
	v.Do(idAsk)
	v.Wait(.05)
	for k, x := range parts(t) {
		if v.s.rec.step != own.Part(k) {
			t.Fatalf("step %v is shown; %q", v.s.rec.step, v.s.status)
		}
		v.Do(idBegin)
		for _, y := range append(x, silence(1.6)...) {
			v.mic.Sound = append(v.mic.Sound, y+2e-4*v.rnd.NormFloat64())
		}
		v.mic.Passes(len(x) + len(silence(1.6)))
		v.Wait(.02)
	}
	v.Until("looked at", func() bool { return v.s.stage == atCard })
}

// Refusals and losses: a sentence and a way on, nothing lost.
func TestRefused(t *testing.T) {
	v := begin(t, scenetest.NewVocal(scenetest.NewMic(nil).Asks()))
	v.Do(idAsk)
	v.Wait(.05)
	if v.s.stage != atAsk {
		t.Fatal("no question stands")
	}
	v.mic.Ends(errors.New("you said no; bring a recording instead"))
	v.Wait(.05)
	if v.s.stage != atStart || !strings.Contains(v.P.Announce(), "ou said no") || v.s.ask.Hidden || v.s.file.Hidden {
		t.Errorf("%q at %v", v.P.Announce(), v.s.stage)
	}
}

func TestLostInTheMiddle(t *testing.T) {
	v := begin(t, scenetest.NewVocal(scenetest.NewMic(nil)))
	v.Do(idAsk)
	v.Wait(.05)
	all := parts(t)
	v.step(own.Quiet, all[own.Quiet])
	v.step(own.Talk, all[own.Talk])
	v.Do(idBegin)
	v.Wait(.3)
	v.mic.Ends(errors.New("the microphone was unplugged"))
	v.Wait(.05)
	if v.s.rec.step != own.Again || len(v.s.rec.parts[own.Talk]) == 0 || v.s.ask.Hidden {
		t.Fatalf("step %v, %q", v.s.rec.step, v.s.status)
	}
	v.mic = scenetest.NewMic(nil)
	v.h.Next = v.mic
	v.Do(idAsk)
	v.Wait(.05)
	for _, k := range []own.Part{own.Again, own.Read, own.Laugh, own.Hey} {
		v.step(k, all[k])
	}
	v.Until("looked at", func() bool { return v.s.stage == atCard })
}

// Too little is done again; the step before can be; laugh and call may be left out.
func TestAgain(t *testing.T) {
	v := begin(t, scenetest.NewVocal(scenetest.NewMic(nil)))
	v.Do(idAsk)
	v.Wait(.05)
	all := parts(t)
	v.step(own.Quiet, all[own.Quiet])
	v.Do(idBegin)
	v.hears(silence(1))
	v.Do(idBegin)
	if v.s.rec.step != own.Talk || !strings.Contains(v.s.status, "Hardly anything") {
		t.Errorf("silence passes for a sentence: %q", v.s.status)
	}
	v.step(own.Talk, all[own.Talk])
	v.Do(idBack)
	v.step(own.Talk, all[own.Talk])
	v.step(own.Again, all[own.Again])
	v.step(own.Read, all[own.Read])
	v.Do(idSkip)
	v.Do(idSkip)
	v.Until("looked at", func() bool { return v.s.stage == atCard })
	if !strings.Contains(v.s.read.Distance(), "no laugh") {
		t.Errorf("%q", v.s.read.Distance())
	}
}

// Who goes elsewhere is not heard any more.
func TestLeaves(t *testing.T) {
	v := begin(t, scenetest.NewVocal(scenetest.NewMic(nil)))
	v.Do(idAsk)
	v.Wait(.05)
	v.step(own.Quiet, silence(2.1))
	v.Do("tab.mend")
	v.Wait(.05)
	if !v.mic.Closed || v.s.rec.mic != nil {
		t.Error("the microphone is still open")
	}
	if len(v.s.rec.parts[own.Quiet]) == 0 {
		t.Error("what was recorded is lost")
	}
}

// A full archive says so and loses nothing.
func TestFull(t *testing.T) {
	v := begin(t, scenetest.NewVocal(scenetest.NewMic(nil)))
	v.whole()
	v.h.Full = errors.New("the browser has no room left; save it as WAV")
	v.Do(idKeep)
	v.Wait(.1)
	if v.s.saved != "" || v.s.mine == nil || !strings.Contains(v.P.Announce(), "no room") {
		t.Errorf("%q", v.P.Announce())
	}
}

// Without a way to a microphone a recording serves.
func TestFromFile(t *testing.T) {
	b, s := scenetest.Open[*Scene](t, scenetest.Seen(), kit.IDTabVoice, func(sh kit.Shell) []kit.Scene { return scenetest.Amid(New(sh)) })
	b.Wait(.05)
	if !s.ask.Hidden {
		t.Error("a microphone is offered that there is not")
	}
	p := &own.Performance{Name: "x"}
	for _, v := range append(append(append(silence(.5), spoken(t, line, line)...), silence(.5)...), spoken(t, voice.Event{Do: "laugh"})...) {
		p.Samples = append(p.Samples, float32(v))
	}
	p.Parts[own.Read] = own.Span{From: 0, To: len(p.Samples)}
	p.Settle()
	data, err := p.Pack()
	if err != nil {
		t.Fatal(err)
	}
	data = append([]byte(nil), data...)
	copy(data[strings.LastIndex(string(data), "gwov"):], "none") // a plain recording
	b.P.Frame(ui.Input{Size: b.Size, Scale: 1, Seconds: b.Now, Drops: []ui.Drop{{Name: "me.wav", Data: data}}})
	b.Until("looked at", func() bool { return s.stage == atCard })
	if s.mine.Name != "me" || s.read.LaughOverTalkDB < 3 {
		t.Errorf("%s: %+v", s.mine.Name, s.read)
	}
}

// stages goes through what the scene shows, one after the other.
func stages(t testing.TB, show func(name string, v *visit)) {
	v := begin(t, scenetest.NewVocal(scenetest.NewMic(nil)))
	v.h.Archive["own.Ines of the ferry"] = []byte("x")
	v.s.Enter()
	v.Wait(.1)
	show("start", v)
	v.Do(idAsk)
	v.Wait(.05)
	all := parts(t)
	for k := range own.Read {
		v.step(k, all[k])
	}
	v.Do(idBegin)
	v.hears(all[own.Read][:own.Rate])
	show("step", v)
	v.hears(append(all[own.Read], silence(1.6)...))
	v.step(own.Laugh, all[own.Laugh])
	v.step(own.Hey, all[own.Hey])
	v.Until("looked at", func() bool { return v.s.stage == atCard })
	v.s.mine.Told = own.Told{Gain: "on", Noise: "on"}
	v.s.card = v.s.mine.Judge()
	v.s.relay()
	show("card", v)
}

// TestLook: at every size, text and theme no word is cut, nothing overlaps.
func TestLook(t *testing.T) {
	sizes := scenetest.TestSizes
	defer func() { scenetest.TestSizes = sizes }()
	scenetest.TestSizes = []ink.Point{{X: 1280, Y: 720}, {X: 820, Y: 1180}, {X: 390, Y: 844}, {X: 844, Y: 390}}
	stages(t, func(name string, v *visit) {
		scenetest.LookAll(t, v.Driver, name, func() ink.Rect { return ink.Rect{W: 1} }, func(dy float32) bool {
			page, side := v.s.pane.page.Scroll, v.s.pane.side.Scroll
			v.s.Scroll(dy)
			return v.s.pane.page.Scroll != page || v.s.pane.side.Scroll != side
		})
	})
}

// TestShots writes pictures for people to look at.
func TestShots(t *testing.T) {
	dir := os.Getenv("GAINWRIGHT_SHOTS")
	if dir == "" {
		t.Skip("GAINWRIGHT_SHOTS is not set")
	}
	stages(t, func(name string, v *visit) {
		scenetest.Shotter{Driver: v.Driver, Dir: dir}.Shots("voice-" + name)
	})
}

// A laugh that was none is done again alone: all else stays as it was, the name too; and
// where nothing comes of it, so does the laugh. A voice that was kept stands otherwise.
func TestLaughAgain(t *testing.T) {
	v := begin(t, scenetest.NewVocal(scenetest.NewMic(nil)))
	v.whole()
	s, all := v.s, parts(t)
	v.Write(idName, "Ines")
	was, told := s.mine, s.read.LaughOverTalkDB

	next := func() {
		v.mic = scenetest.NewMic(nil)
		v.h.Next = v.mic
		v.Do(idAgain)
		v.Wait(.05)
		if s.rec.step != own.Laugh || s.rec.mic == nil || !s.back.Hidden || !s.skip.Hidden || s.deck.Playing() {
			t.Fatalf("step %v, %q", s.rec.step, s.status)
		}
	}
	next()
	v.Do(idBegin)
	v.Wait(.2)
	v.mic.Ends(errors.New("the microphone was unplugged"))
	v.Wait(.05)
	if s.stage != atCard || s.mine != was || !v.mic.Closed || !strings.Contains(v.P.Announce(), "unplugged") {
		t.Fatalf("after a loss: %v, %q", s.stage, v.P.Announce())
	}
	next()
	v.Do("tab.mend")
	v.Wait(.05)
	v.Do(kit.IDTabVoice)
	v.Wait(.05)
	if s.stage != atCard || s.mine != was || !v.mic.Closed {
		t.Fatalf("after leaving: %v", s.stage)
	}

	next()
	loud := append([]float64(nil), all[own.Laugh]...)
	for i := range loud {
		loud[i] *= 2
	}
	v.step(own.Laugh, loud)
	v.Until("looked at", func() bool { return s.mine != was })
	if d := s.read.LaughOverTalkDB - told; math.Abs(d-20*math.Log10(2)) > .1 {
		t.Errorf("twice the laugh is told as %.2f dB more", d)
	}
	if s.mine.Name != "Ines" || s.saved != "" || !v.mic.Closed {
		t.Errorf("%q, saved %q", s.mine.Name, s.saved)
	}
	for _, k := range []own.Part{own.Quiet, own.Talk, own.Again, own.Read, own.Hey} {
		if !slices.Equal(s.mine.Part(k), was.Part(k)) {
			t.Errorf("%v is another", k)
		}
	}
	v.Do(idKeep)
	v.Wait(.1)
	v.Do(idAnew)
	v.Wait(.1)
	v.Do(idKept + "1")
	v.Until("taken", func() bool { return s.stage == atCard })
	if !s.again.Hidden {
		t.Error("a voice that was kept takes another laugh")
	}
}

// While a step lasts it is told for how long, and that it is too loud for as long as one reads.
func TestCounts(t *testing.T) {
	v := begin(t, scenetest.NewVocal(scenetest.NewMic(nil)))
	v.Do(idAsk)
	v.Wait(.05)
	hears := func(words string) {
		t.Helper()
		if got := v.Node(idHears).Value; !strings.Contains(got, words) {
			t.Errorf("%q, not %q", got, words)
		}
	}
	hears("not recording")
	v.Do(idBegin)
	v.hears(silence(.5))
	hears("2 s to go")
	v.hears(silence(1))
	hears("1 s to go")
	v.hears(silence(.8))
	v.Do(idBegin)
	v.hears(parts(t)[own.Talk][:own.Rate*3/2])
	hears("1 s recorded, 12 s at most")
	v.hears([]float64{1, -1})
	hears("too loud")
	v.hears(silence(1))
	hears("too loud")
}

// shown is a visit in which a voice is there as if it had been recorded just now: a sentence and a
// laugh.
func shown(t *testing.T) *visit {
	v := begin(t, scenetest.NewVocal(scenetest.NewMic(nil)))
	p := &own.Performance{Name: "Tom"}
	for k, e := range []voice.Event{own.Talk: line, own.Laugh: {Do: "laugh"}} {
		if e.Do == "" {
			continue
		}
		x := spoken(t, e)
		p.Parts[k].From = len(p.Samples)
		for _, y := range x {
			p.Samples = append(p.Samples, float32(y))
		}
		p.Parts[k].To = len(p.Samples)
	}
	r, err := p.Look()
	if err != nil {
		t.Fatal(err)
	}
	v.s.spoken = p
	v.s.show(p, r, own.Verdict{Grade: own.Good, Title: "Good to go."}, "")
	v.Wait(.02)
	return v
}

// What places the level can be taken back and made again, turn by turn; another voice begins anew.
func TestUndo(t *testing.T) {
	v := shown(t)
	s := v.s
	levels := []float64{60, 64, 60, 71}
	v.Set(idLouder, 4)
	v.Wait(2)
	v.Do(idPlaced + "measured")
	v.Wait(2)
	v.Set(idLevel, 70)
	v.Set(idLevel, 71) // the same turn
	is := func(when string, want float64, back, forth int) {
		t.Helper()
		b, f := s.Undos()
		if math.Abs(s.read.TalkDBSPL-want) > .01 || b != back || f != forth {
			t.Errorf("%s: %.1f dB SPL, %d back and %d forth; want %.1f, %d, %d", when, s.read.TalkDBSPL, b, f, want, back, forth)
		}
	}
	is("set", 71, 3, 0)
	for k := 2; k >= 0; k-- {
		v.Do(kit.IDUndo)
		is("back", levels[k], k, 3-k)
	}
	if err := s.Apply(ui.Intent{ID: kit.IDUndo, Do: ui.DoPress}); err == nil {
		t.Error("more is taken back than was set")
	}
	for k := 1; k <= 3; k++ {
		v.Do(kit.IDRedo)
		is("forth", levels[k], k, 3-k)
	}
	s.show(&own.Performance{Name: "Ines", Samples: s.mine.Samples, Parts: s.mine.Parts}, s.read, s.card, "")
	if b, f := s.Undos(); b+f != 0 {
		t.Error("another voice has the changes of the last one")
	}
}

// Only of what was recorded just now is one told to do a step again; of what was brought along
// or kept, to begin anew.
func TestWayOn(t *testing.T) {
	v := shown(t)
	s := v.s
	if w := s.wayOn(); w != "" {
		t.Errorf("of a good one: %q", w)
	}
	s.read.LaughOverTalkDB = 1
	if w := s.read.Distance() + s.wayOn(); !strings.Contains(w, "“The laugh again”") || strings.Contains(w, "begin anew") {
		t.Errorf("of one recorded just now: %q", w)
	}
	s.spoken = nil
	s.sync()
	if w := s.read.Distance() + s.wayOn(); !strings.Contains(w, "begin anew") || strings.Contains(w, "again") {
		t.Errorf("of one that was kept: %q", w)
	}
}

// What the archive has against it is told where the voices are, and in the mirror.
func TestLocked(t *testing.T) {
	h := scenetest.NewVocal(scenetest.NewMic(nil))
	h.Locked = errors.New("another tab holds what is kept")
	v := begin(t, h)
	v.Wait(.1)
	if got := v.Node(idStep).Value; !strings.Contains(got, "Another tab holds what is kept.") {
		t.Errorf("%q", got)
	}
	h.Locked = nil
	v.Do("tab.mend")
	v.Do(kit.IDTabVoice)
	v.Wait(.1)
	if got := v.Node(idStep).Value; strings.Contains(got, "Another tab") {
		t.Errorf("%q", got)
	}
}

// On a phone held on its side all of a step is seen at once: the button, the level and what is
// to be said.
func TestLowWindow(t *testing.T) {
	v := begin(t, scenetest.NewVocal(scenetest.NewMic(nil)))
	v.Size = ink.Point{X: 844, Y: 390}
	v.Do(idAsk)
	v.Wait(.05)
	all := parts(t)
	for k := range own.NumParts {
		for _, rolls := range []bool{false, true} {
			if rolls {
				v.Do(idBegin)
			}
			v.Wait(.02)
			g := &v.s.pane
			for name, r := range map[string]ink.Rect{"the button": v.s.begin.Bounds, "the level": g.meter, "how long": g.count, "the words": g.step} {
				if r.W <= 0 || r.Y < g.page.View.Y-.5 || r.Bottom() > g.page.View.Bottom()+.5 {
					t.Errorf("%v: %s at %v is not within %v", own.Part(k), name, r, g.page.View)
				}
			}
		}
		v.hears(append(append([]float64(nil), all[k]...), silence(1.6)...))
	}
	v.Until("looked at", func() bool { return v.s.stage == atCard })
}
