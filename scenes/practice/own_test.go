package practice

import (
	"os"
	"strings"
	"testing"

	"gainwright/lessons/practice"
	"gainwright/scenes/gain"
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/scenetest"
	"gainwright/scenes/ui"
	voices "gainwright/sounds/own"
)

func lookPractice(t *testing.T, b *scenetest.Driver, s *Scene, state string) {
	t.Helper()
	scenetest.LookAll(t, b, state, func() ink.Rect { return ink.Rect{W: 1} }, func(dy float32) bool {
		moved := s.pane.By(dy)
		s.Layout(b.P.Theme(), s.area)
		return moved
	})
}

func ownBench(t testing.TB, h kit.Host) (*scenetest.Driver, *Scene) {
	t.Helper()
	b, s := scenetest.Open[*Scene](t, h, kit.IDTabPractice, func(sh kit.Shell) []kit.Scene {
		g := gain.New(sh)
		s := New(sh, g)
		s.draw = func() uint64 { return 11 }
		return append(scenetest.Amid(g, s), scenetest.Other{Label: "Your voice", Tab: kit.IDTabVoice})
	})
	stills(b, s)
	return b, s
}

// TestOneselfIsTheGuest: with one's own voice in the guest's place the readings and the score
// are those of package lessons, the history says so, and the next guest is a stranger again
// when asked for.
func TestOneselfIsTheGuest(t *testing.T) {
	h, p := scenetest.KeepsOwn(t)
	b, s := ownBench(t, h)
	b.Until("the voice is offered", func() bool { return b.Has(idYou + "Ines") })
	if b.Has(idTry) {
		t.Error("who has a voice is asked to record one")
	}
	if !b.Node(idOther).Checked {
		t.Error("the first guest is no stranger")
	}
	b.Do(idYou + "Ines")
	b.Until("one sits there", func() bool { return s.you != nil })
	stills(b, s)
	if !b.Node(idYou+"Ines").Checked || b.Node(idOther).Checked {
		t.Error("the wrong guest is checked")
	}
	look := func(state string) {
		t.Helper()
		if os.Getenv("GAINWRIGHT_LONG") != "" { // elsewhere only the words are others
			lookPractice(t, b, s, state)
		}
	}
	look("oneself")
	b.Set("A.gain_db", 40)
	b.Do("record")
	stills(b, s)
	if s.out == nil {
		t.Fatal("no outcome")
	}
	ref, err := practice.New(11, practice.History{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	r, err := p.Look()
	if err != nil {
		t.Fatal(err)
	}
	g, err := voices.NewGuest(t.Context(), p, r)
	if err != nil {
		t.Fatal(err)
	}
	if err := ref.Lend(g); err != nil {
		t.Fatal(err)
	}
	if err := ref.Apply("preamp.gain_db", 40.0); err != nil {
		t.Fatal(err)
	}
	want, err := ref.Talk(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if s.out.Score != want.Score {
		t.Errorf("%v points live, %v offline", s.out.Score, want.Score)
	}
	if n := b.Node(idHistory); !strings.Contains(n.Value, "your own voice") || !strings.Contains(n.Value, "you yourself 1 of them") {
		t.Errorf("the history says %q", n.Value)
	}
	if err := b.P.Apply(ui.Intent{ID: idOther, Do: "press"}); err == nil {
		t.Error("the guest was changed after the conversation")
	}
	look("oneself, afterwards")
	b.Do(idNext)
	stills(b, s)
	b.Do(idOther)
	stills(b, s)
	if s.you != nil || !b.Node(idOther).Checked {
		t.Error("the stranger did not come back")
	}
}

// TestMayBeTheGuest: who has no voice yet is offered to record one, where there is a microphone.
func TestMayBeTheGuest(t *testing.T) {
	b, _ := ownBench(t, scenetest.NewVocal(nil))
	b.Wait(1.2)
	if !b.Has(idTry) || b.Has(idOther) {
		t.Error("who has no voice is not asked to record one")
	}
	b.Do(idTry)
	if got := b.P.Scene().ID(); got != kit.IDTabVoice {
		t.Errorf("it leads to %s", got)
	}
}

// TestOneselfShots draws it for people to look at.
func TestOneselfShots(t *testing.T) {
	dir := os.Getenv("GAINWRIGHT_SHOTS")
	if dir == "" {
		t.Skip("GAINWRIGHT_SHOTS is not set")
	}
	h, _ := scenetest.KeepsOwn(t)
	b, s := ownBench(t, h)
	b.Until("the voice is offered", func() bool { return b.Has(idYou + "Ines") })
	sh := scenetest.Shotter{Driver: b, Dir: dir}
	sh.Shots("practice-who")
	b.Do(idYou + "Ines")
	b.Until("one sits there", func() bool { return s.you != nil })
	stills(b, s)
	sh.Shots("practice-oneself")
	b.Do("record")
	stills(b, s)
	sh.Shots("practice-oneself-outcome")
}
