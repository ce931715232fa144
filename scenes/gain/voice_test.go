package gain

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"gainwright/scenes/bench"
	"gainwright/scenes/ink"
	"gainwright/scenes/scenetest"
	"gainwright/scenes/ui"
	"gainwright/sounds/own"
)

// keptVoice is a performance as the archive keeps it: talk, a laugh 12 dB above, a shout.
func keptVoice(t testing.TB, name string) []byte {
	t.Helper()
	p := &own.Performance{Name: name}
	add := func(k own.Part, seconds, hz, amp float64) {
		from := len(p.Samples)
		for i := range int(seconds * own.Rate) {
			s := float64(i) / own.Rate
			p.Samples = append(p.Samples, float32(amp*math.Sin(2*math.Pi*hz*s)*(.6+.4*math.Sin(8*math.Pi*s))+1e-4*math.Sin(7919*s*s)))
		}
		p.Parts[k] = own.Span{From: from, To: len(p.Samples)}
	}
	add(own.Quiet, 1, 0, 0)
	add(own.Talk, 1.5, 210, .05)
	add(own.Read, 2.5, 240, .05)
	add(own.Laugh, .8, 520, .2)
	add(own.Hey, .4, 700, .2)
	p.Settle()
	b, err := p.Pack()
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// TestOwnVoice: a voice that is kept stands among the talkers, is performed at the level of
// talk, laughs and shouts when asked to, and its take comes again at the next visit, as long
// as it is kept.
func TestOwnVoice(t *testing.T) {
	h := scenetest.NewVocal(nil)
	h.Archive["own.Ines"], h.Archive["other"] = keptVoice(t, "Ines"), []byte("x")
	visit := func() *scenetest.Driver {
		b := scenetest.Drive(t, scenetest.Build(t, h, gainScenes))
		b.Wait(1.5)
		return b
	}
	b := visit()
	if !b.Has("you.Ines") || b.Has("you.other") || b.Has("event.shout") {
		t.Fatal("the voice does not stand among the talkers, or something else does")
	}
	b.Do("you.Ines")
	b.Until("the voice performs", func() bool { return b.P.Bench().Voice() != nil })
	if a := b.P.Announce(); !strings.Contains(a, "60 dB SPL at 1 m if your talk is ordinary") || !strings.Contains(a, "12 dB over") || !strings.Contains(a, "noise of your own room") {
		t.Errorf("announced %q", a)
	}
	if !b.Node("you.Ines").Checked || b.Node("talker.captain").Checked || b.Has("event.louder") || b.Has("event.cough") {
		t.Error("the wrong one is said to talk, or can be asked for what it has not")
	}
	// The rms of the quiet part, 7e-5, over that of the talk, which lies at 60 dB SPL.
	v := b.P.Bench().Voice()
	room := own.OrdinaryDBSPL + 20*math.Log10(1e-4/math.Sqrt2) - v.Look.TalkDBFS
	if n := b.Node("diagram").Value; !strings.Contains(n, "noise of your own room, "+ui.Decimal(room, 0)+" dB SPL") {
		t.Errorf("the diagram says %q, want a room of %.1f dB SPL", n, room)
	}
	b.Do("record")
	b.Wait(1)
	b.Do("event.laugh")
	b.Wait(1.5)
	b.Do("event.shout")
	b.Wait(1)
	b.Do("record")
	b.Until("the take ends", func() bool { return b.P.Bench().Take().Done })
	first := b.P.Bench().Take()
	if len(first.Marks) != 2 {
		t.Errorf("marks %v", first.Marks)
	}
	b.Wait(1)
	// Another visit: the take is there again.
	b = visit()
	b.Until("the take is made again", func() bool { return b.P.Bench().Take() != nil && b.P.Bench().Take().Done })
	again := b.P.Bench().Take()
	if len(again.Spoken) != len(first.Spoken) {
		t.Fatalf("%d samples, first %d", len(again.Spoken), len(first.Spoken))
	}
	for i, v := range again.Spoken {
		if v != first.Spoken[i] {
			t.Fatalf("sample %d differs", i)
		}
	}
	// Who talks is chosen as always.
	b.Do("talker.pip")
	if b.P.Bench().Voice() != nil || !b.Node("talker.pip").Checked || !b.Has("event.cough") || strings.Contains(b.Node("diagram").Value, "your own room") {
		t.Error("the built-in talker does not come back")
	}
	// Deleted, it is not there, and says so.
	delete(h.Archive, "own.Ines")
	b = visit()
	b.Wait(.5)
	if b.Has("you.Ines") || b.P.Bench().Take() != nil || !strings.Contains(b.P.Announce(), "no longer kept") {
		t.Errorf("a voice that is deleted: %q", b.P.Announce())
	}
	b.Do("view.result")
	b.Wait(.1)
	if n := b.Node("take.1"); !n.Disabled || !strings.Contains(n.Why, "Ines") {
		t.Errorf("its take: %+v", n)
	}
	if _, err := bench.NewVoice(&own.Performance{Name: "x"}, nil); err == nil {
		t.Error("silence performs")
	}
}

// A file that is no voice, and an archive that cannot be looked into, are a sentence and
// change nothing.
func TestOwnVoiceFaults(t *testing.T) {
	h := scenetest.NewVocal(nil)
	h.Archive["own.Tom"] = []byte("RIFF")
	b := scenetest.Drive(t, scenetest.Build(t, h, gainScenes))
	b.Wait(1.5)
	b.Do("you.Tom")
	b.Until("it is told", func() bool { return strings.Contains(b.P.Announce(), "Tom:") })
	if b.P.Bench().Voice() != nil || b.P.Voices().Loading() != "" {
		t.Error("it performs, or is still awaited")
	}
	if err := b.P.Apply(ui.Intent{ID: "you.Eve", Do: ui.DoPress}); err != nil {
		t.Error(err)
	}
	b.Until("it is told", func() bool { return strings.Contains(b.P.Announce(), "no longer kept") })
}

// TestOwnVoiceHasRoom: voices among the talkers and the microphone's controls stand apart
// and within the picture, on a desk and on a phone.
func TestOwnVoiceHasRoom(t *testing.T) {
	h := scenetest.NewVocal(talking(20, -41))
	for _, n := range []string{"Ines", "Tom of the night ferry and its crew", "Zoe"} {
		h.Archive["own."+n] = keptVoice(t, n)
	}
	b := scenetest.Drive(t, scenetest.Build(t, h, gainScenes))
	b.Wait(1.2)
	look := func(state string) {
		for _, s := range []struct {
			size   ink.Point
			coarse bool
		}{{ink.Point{X: 1280, Y: 720}, false}, {ink.Point{X: 900, Y: 1200}, false}, {ink.Point{X: 390, Y: 844}, true}} {
			b.Size, b.Coarse = s.size, s.coarse
			b.Wait(.1)
			if s.coarse {
				b.Do("card.talker")
				b.Wait(.1)
			}
			if !b.Has("live") || !b.Has("you.Zoe") {
				t.Errorf("%s, %v: no room for the voices or the microphone", state, s.size)
			}
			scenetest.CheckControls(t, fmt.Sprintf("%s, %v", state, s.size), b.P)
		}
	}
	look("captain")
	b.Do("you.Zoe")
	b.Until("the voice performs", func() bool { return b.P.Bench().Voice() != nil })
	look("own voice")
	b.Do("live")
	b.Do("sound.yes")
	b.Wait(.5)
	look("live")
}
