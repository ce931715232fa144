package program

import (
	"testing"

	"gainwright/scenes/bench"
	"gainwright/scenes/kit"
)

// What stands over the scene's words, second by second.
func TestNotes(t *testing.T) {
	const none, missing = "", "No sound: the device is gone"
	type step struct {
		now   float64
		sound string
		slow  bool
		words string
		want  string
	}
	for name, steps := range map[string][]step{
		"a slow machine waits until the verdict was read, stands for a while, and gives way": {
			{0, none, false, "Sound check.", none},
			{20, none, false, "Take 1: kept.", none},
			{21, none, true, "Take 1: kept.", none},
			{29, none, true, "Take 1: kept.", none},
			{31, none, true, "Take 1: kept.", slowWords},
			{40, none, true, "Take 1: kept.", slowWords},
			{42, none, true, "Take 1: kept.", none},
		},
		"newer words of the scene cover it": {
			{0, none, false, "Sound check.", none},
			{20, none, true, "Sound check.", slowWords},
			{21, none, true, "Take 1: kept.", none},
		},
		"it goes when the machine is fast enough": {
			{0, none, false, "Sound check.", none},
			{20, none, true, "Sound check.", slowWords},
			{22, none, false, "Sound check.", none},
		},
		"a missing sound is not covered by it": {
			{0, none, false, "Sound check.", none},
			{20, missing, true, "Sound check.", missing},
			{40, missing, true, "Sound check.", missing},
			{41, none, true, "Sound check.", slowWords},
		},
		"a sound that came goes": {
			{0, "Sound is starting.", false, "Sound check.", "Sound is starting."},
			{1, none, false, "Sound check.", none},
		},
		"where the scene has nothing to say it stands": {
			{0, none, true, "", slowWords},
			{60, none, true, "", slowWords},
		},
	} {
		var n notes
		for _, s := range steps {
			n.sync(s.sound, s.slow, s.words, s.now)
			if got := n.over(s.words, s.now); got != s.want {
				t.Errorf("%s: after %v s %q stands over %q, want %q", name, s.now, got, s.words, s.want)
			}
		}
	}
}

// mute is a scene without words or controls.
type mute struct{ blank }

func (mute) Announce() string { return "" }

// A question about a take goes with the take, and so does what a slow machine does to a
// performance when nothing is performed any more.
func TestNotesGoWithTheirTake(t *testing.T) {
	p, err := New(nil, func(kit.Shell) []kit.Scene { return []kit.Scene{mute{}} })
	if err != nil {
		t.Fatal(err)
	}
	at := 0.0
	step := func(n int) {
		for range n {
			at += 1.0 / 60
			p.advance(at)
			p.unask()
		}
	}
	step(2)
	if err := p.session.Record(false); err != nil {
		t.Fatal(err)
	}
	step(30)
	if p.Sure("close", "A take would be lost.") || p.Announce() != "A take would be lost." {
		t.Fatalf("asked %+v, told %q", p.asked, p.Announce())
	}
	p.slow = true
	step(1)
	if p.Announce() != "A take would be lost." {
		t.Errorf("during the take it says %q", p.Announce())
	}
	p.session.Stop()
	step(30)
	if p.session.Mode() != bench.ModeReview {
		t.Fatalf("mode %v", p.session.Mode())
	}
	if p.Announce() != "" || p.asked.id != "" || p.slow {
		t.Errorf("after the take it says %q, asks %q, slow %v", p.Announce(), p.asked.id, p.slow)
	}
}
