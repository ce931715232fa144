package lesson

import (
	"os"
	"testing"

	"gainwright/lessons/format"
	"gainwright/lessons/grade"
	"gainwright/lessons/run"
	"gainwright/scenes/gain"
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/scenetest"
	"gainwright/scenes/ui"
	voices "gainwright/sounds/own"
)

const ownLesson = `title: Your own laugh
for: us
minutes: 3
own_voice: allowed
scenario: captain-laughs
takes:
  laugh:
    - {text: "We crossed at noon."}
    - {do: laugh}
steps:
  - do: Set the gain, and record.
    id: take
    take: laugh
    controls: [A.preamp.gain_db]
    rule: A.overs == 0
`

// TestOwnVoiceInALesson: the voice that is kept gives the takes of a lesson that allows it,
// after a reload too; the result is verified by the file that is saved with it, and by no other.
func TestOwnVoiceInALesson(t *testing.T) {
	l, err := format.Parse("own-laugh.yaml", []byte(ownLesson))
	if err != nil {
		t.Fatal(err)
	}
	h, _ := scenetest.KeepsOwn(t)
	open := func() (*scenetest.Driver, *Scene) {
		b, s := scenetest.Open[*Scene](t, h, kit.IDTabLessons, func(sh kit.Shell) []kit.Scene {
			g := gain.New(sh)
			return append(scenetest.Amid(g, New(sh, g)), scenetest.Other{Label: "Your voice", Tab: kit.IDTabVoice})
		})
		s.draw = func() uint64 { return 7 }
		b.Wait(.5)
		return b, s
	}
	b, s := open()
	s.take(ui.Drop{Name: "own-laugh.yaml", Data: []byte(ownLesson)})
	b.Wait(.5)
	b.Do("lesson.begin.own.own-laugh")
	b.Until("the voice is offered", func() bool { return b.Has(idYou + "Ines") })
	b.Do(idYou + "Ines")
	b.Until("it gives the takes", func() bool { return s.taker.you != nil })
	quiet(b, s)
	if v := b.P.Bench().Voice(); v == nil || v.Perf.Name != "Ines" {
		t.Error("the sound check is by somebody else")
	}
	b.Do(idTalker)
	if b.P.Bench().Voice() != nil || s.r.Voice() != nil {
		t.Error("the talker is chosen, and the voice still talks")
	}
	b.Do(idYou + "Ines")
	b.Until("it gives the takes again", func() bool { return s.taker.you != nil })
	quiet(b, s)
	if dir := os.Getenv("GAINWRIGHT_SHOTS"); dir != "" {
		scenetest.Shotter{Driver: b, Dir: dir}.Shots("lesson-oneself")
	}
	if os.Getenv("GAINWRIGHT_LONG") != "" {
		scenetest.LookAll(t, b, "one's own voice", func() ink.Rect { return ink.Rect{W: 1} }, func(dy float32) bool {
			moved := s.step.By(dy)
			s.Layout(b.P.Theme(), s.area)
			return moved
		})
	}
	b, s = open() // the page loads again
	b.Do("lesson.begin.own.own-laugh")
	b.Until("it is there again", func() bool { return s.taker.you != nil })
	quiet(b, s)
	b.Set("A.gain_db", 30)
	if b.P.Bench().Voice() == nil {
		t.Error("the voice went when the gain was turned")
	}
	b.Do(idRecord)
	quiet(b, s)
	if b.P.Bench().Voice() == nil {
		t.Error("the voice went with the take")
	}
	if b.Has(idTalker) || b.Has(idYou+"Ines") {
		t.Error("after a take another may still talk")
	}
	if s.v.State == run.Recording && !s.v.Met {
		t.Fatalf("the take was not met: %s", s.status)
	}
	b.Do(idNext)
	b.Do(idSave)
	saved := map[string][]byte{}
	for name, data, ok := b.P.NextSave(); ok; name, data, ok = b.P.NextSave() {
		saved[name[max(0, len(name)-4):]] = data
	}
	res, err := run.ParseResult(saved["json"])
	if err != nil || res.Voice == nil || res.Voice.Name != "Ines" {
		t.Fatalf("the result tells of %+v, %v", res.Voice, err)
	}
	kept, err := voices.Unpack("ines.wav", saved[".wav"])
	if err != nil {
		t.Fatal(err)
	}
	guest, err := voices.NewGuest(t.Context(), kept, nil)
	if err != nil {
		t.Fatal(err)
	}
	g := grade.NewGrader(l)
	for _, with := range []bool{false, true} {
		if with {
			g.Voices = []grade.Voice{{Path: "ines.wav", Guest: guest}}
		}
		out, err := g.Grade(t.Context(), "r.json", res)
		if err != nil {
			t.Fatal(err)
		}
		if out.OK() != with {
			t.Errorf("with the voice's file %v: flags %v, notes %v", with, out.Flags, out.Notes)
		}
	}
}
