package practice

import (
	"strings"
	"testing"

	"gainwright/scenes/ink"
	"gainwright/scenes/scenetest"
)

// TestPracticeOnAPhone: who is there, what the meter says, the knob beside its meter, the
// limiter and the main button are on one page; after the conversation the score and the
// advice are.
func TestPracticeOnAPhone(t *testing.T) {
	b, s := practiceBench(t, scenetest.Keeper{M: map[string]string{"practice": scenetest.PlayedHistory(t)}})
	b.Wait(6)
	said := func(words string) {
		t.Helper()
		for _, p := range s.f.Pieces {
			if strings.HasPrefix(p.S, words) {
				if in := p.Box.Intersect(s.pane.View); in.H < p.Box.H-0.5 {
					t.Errorf("%v: %q at %v is not in view in %v", b.Size, p.S, p.Box, s.pane.View)
				}
				return
			}
		}
		t.Errorf("%v: %q is not said", b.Size, words)
	}
	for _, b.Size = range scenetest.PhoneSizes {
		b.Wait(2.0 / 60)
		scenetest.CheckInView(t, "sound check", b, "A.gain_db", "A.meter", "A.limiter.off", "A.limiter.after", "practice.talk", "practice.pictures")
		said(s.guest.Title)
		said("Talk peaks at ")
	}
	b.Set("A.gain_db", 62)
	b.Do("practice.talk")
	stills(b, s)
	for _, b.Size = range scenetest.PhoneSizes {
		b.Wait(2.0 / 60)
		scenetest.CheckInView(t, "outcome", b, "practice.next")
		words, _, _ := strings.Cut(s.verdict(), ".")
		said(words)
	}
}

// TestPracticeFillsTheDesk: no wide part of a desk's window is empty or full of what cannot
// be used, and the gain is to be seen in one place, beside its meter.
func TestPracticeFillsTheDesk(t *testing.T) {
	for _, kept := range []string{"", scenetest.PlayedHistory(t)} {
		b, s := practiceBench(t, scenetest.Keeper{M: map[string]string{"practice": kept}})
		b.Set("A.gain_db", 37.3)
		b.Wait(6)
		for _, b.Size = range scenetest.DeskSizes {
			scenetest.CheckFilled(t, "sound check", b)
			var l ink.List
			b.P.Draw(&l)
			n := 0
			for _, w := range scenetest.Texts(&l, b.Size) {
				if strings.Contains(w.S, "37.3") {
					n++
				}
			}
			if n != 1 {
				t.Errorf("%v: the gain is written %d times", b.Size, n)
			}
		}
		b.Do("practice.talk")
		if s.job == nil {
			t.Error("nothing is worked out before the conversation")
		}
		b.Do("view.result") // what is looked at is free meanwhile
		b.Do("view.waves")
		stills(b, s)
		for _, b.Size = range scenetest.DeskSizes {
			scenetest.CheckFilled(t, "outcome", b)
		}
	}
}
