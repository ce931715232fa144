package scenes

import (
	"strings"
	"testing"

	"gainwright/scenes/bench"
	"gainwright/scenes/scenetest"
	"gainwright/scenes/ui"
	"gainwright/sounds"

	"github.com/faiface/beep"
)

// device is a sound device that never pulls.
type device struct{}

func (device) Name() string              { return "a test's" }
func (device) Rate() int                 { return bench.Rate }
func (device) Start(beep.Streamer) error { return nil }
func (device) Close() error              { return nil }
func (device) Running() bool             { return false }
func (device) Err() error                { return nil }

// audible is a host with such a device.
type audible struct{ scenetest.Keeper }

func (audible) OpenSound(int) (sounds.Device, int, error) { return device{}, 1024, nil }

func newAudible(t *testing.T) *scenetest.Driver {
	return visitAll(t, audible{scenetest.Keeper{M: map[string]string{"setup": "", "everything": "1"}}})
}

// TestSoundIsOffered: the first press of a visit that would be heard asks whether to
// turn the sound on, with the caution; it is asked once, whatever the answer, and what
// was pressed follows upon it.
func TestSoundIsOffered(t *testing.T) {
	for _, yes := range []bool{true, false} {
		b := newAudible(t)
		b.Set("A.gain_db", 20)
		b.Set("B.gain_db", 20)
		if b.Has("sound.yes") {
			t.Fatal("asked before anything was pressed")
		}
		b.Take(2)
		b.Do("play")
		b.Wait(0.1)
		s := b.P.Bench()
		if s.Playing() || b.P.SoundOn() {
			t.Fatal("it plays before there is an answer")
		}
		if w := b.P.Announce(); !strings.Contains(w, "sound is off") || !strings.Contains(w, "80 dBA for 40 hours a week") {
			t.Errorf("it asks %q", w)
		}
		id := "sound.no"
		if yes {
			id = "sound.yes"
		}
		b.Do(id)
		b.Wait(0.1)
		if !s.Playing() || b.P.SoundOn() != yes || b.Has("sound.yes") {
			t.Errorf("%s: playing %v, sound %v, asked %v", id, s.Playing(), b.P.SoundOn(), b.Has("sound.yes"))
		}
		b.Do("play")
		b.Do("play")
		b.Wait(0.1)
		if !s.Playing() || b.Has("sound.yes") {
			t.Errorf("%s: asked again", id)
		}
		if err := b.P.Apply(ui.Intent{ID: id, Do: ui.DoPress}); err == nil {
			t.Errorf("%s can be pressed although nothing is asked", id)
		}
	}
}

// TestSoundIsOfferedEverywhere: by what is listened to in the sound check, and by the
// players of other scenes; a way out takes the question away, the sound's own button
// answers it, and Escape goes on without.
func TestSoundIsOfferedEverywhere(t *testing.T) {
	b := newAudible(t)
	b.Do("listen.B")
	b.Wait(0.1)
	if !b.Has("sound.yes") {
		t.Fatal("what is listened to does not ask")
	}
	b.Do("tab.twin")
	b.Wait(0.1)
	if b.Has("sound.yes") {
		t.Error("the question goes along to another scene")
	}
	b.Until("the pair", func() bool { return b.Has("twin.answer.first") && !b.Node("play").Disabled })
	b.Do("play")
	b.Wait(0.1)
	if !b.Has("sound.yes") {
		t.Error("the player does not ask")
	}
	if err := b.P.Apply(ui.Intent{ID: "play", Do: ui.DoFocus}); err != nil {
		t.Fatal(err)
	}
	b.Key("Escape")
	b.Wait(0.1)
	if b.Has("sound.yes") || b.P.SoundOn() {
		t.Error("Escape does not go on without sound")
	}
	b = newAudible(t)
	b.Do("listen.B")
	b.Wait(0.1)
	b.Do("sound")
	b.Wait(0.1)
	if b.Has("sound.yes") || !b.P.SoundOn() || b.P.Bench().Mode() != bench.ModeCheck {
		t.Error("the sound's own button is no answer")
	}
	// Without a device there is nothing to ask.
	b = visitAll(t, scenetest.NewChancy())
	b.Do("listen.B")
	b.Wait(0.1)
	if b.Has("sound.yes") {
		t.Error("asked where there is no sound to be had")
	}
}

// TestOfferHasRoom: the question stands beside everything else at all sizes.
func TestOfferHasRoom(t *testing.T) {
	b := newAudible(t)
	b.Do("listen.B")
	for range 2 {
		for _, size := range scenetest.TestSizes {
			b.Size = size
			b.Wait(1.0 / 60)
			scenetest.CheckControls(t, "the offer", b.P)
			if r := b.Node("sound.yes").Bounds; r.H < ui.Touch || b.Node("sound.no").Bounds.H < ui.Touch {
				t.Errorf("%v: the answers are %v", size, r)
			}
		}
		for range 4 {
			b.Do("text_size")
		}
	}
}
