package gain

import (
	"errors"
	"math"
	"strings"
	"testing"

	"gainwright/scenes/bench"
	"gainwright/scenes/scenetest"
	"gainwright/scenes/ui"
	"gainwright/sim"
	"gainwright/sounds"
)

// talking is a microphone that hears syllables whose level while they last is so many dBFS.
func talking(seconds int, dbfs float64) *scenetest.Mic {
	x := make([]float64, seconds*bench.Rate)
	for i := range x {
		s := float64(i) / bench.Rate
		x[i] = math.Pow(10, dbfs/20) * math.Sqrt2 * math.Sin(2*math.Pi*220*s)
		if math.Mod(s, 1) > .8 {
			x[i] *= 1e-4
		}
	}
	return scenetest.NewMic(x)
}

func liveBench(t *testing.T, mic *scenetest.Mic) (*scenetest.Driver, *scenetest.Vocal) {
	h := scenetest.NewVocal(mic)
	return scenetest.Drive(t, scenetest.Build(t, h, gainScenes)), h
}

// TestLive: the microphone is asked for after it was said what for, drives the strips and is
// not heard; its level is placed by the talk; its take says that it was live; it is let go
// when somebody else talks, and when one goes elsewhere.
func TestLive(t *testing.T) {
	mic := talking(60, -41)
	b, h := liveBench(t, mic.Asks())
	b.Wait(.1)
	b.Do("live")
	if h.Asked != 0 || !strings.Contains(b.P.Announce(), "eadphones") || !strings.Contains(b.P.Announce(), "Nothing is sent") {
		t.Fatalf("asked %d times before it was said what for: %q", h.Asked, b.P.Announce())
	}
	b.Do("sound.no")
	b.Wait(.1)
	if h.Asked != 0 {
		t.Fatal("asked upon no")
	}
	b.Do("live")
	b.Do("sound.yes")
	b.Wait(.5)
	if h.Asked != 1 || b.P.Bench().Live() || !strings.Contains(gainOf(b.P).status, "Waiting") {
		t.Errorf("asked %d times, live %v: %q", h.Asked, b.P.Bench().Live(), b.P.Announce())
	}
	mic.Allow()
	b.Wait(1)
	if !b.P.Bench().Live() || b.Has("event.laugh") || !b.Has("live.headphones") || b.Node("talker.captain").Checked || b.Node("live.headphones").Checked {
		t.Error("not live, or it is said that somebody else talks, or that there are headphones")
	}
	b.Wait(9)
	if got := 20 * math.Log10(b.P.Bench().View().Strip[0].RMS[sim.AtTalker]/sounds.RefPressure); math.Abs(got-60) > 1 {
		t.Errorf("talk is placed at %.1f dB SPL", got)
	}
	if s := gainOf(b.P).status; !strings.Contains(s, "if it is ordinary") {
		t.Errorf("said %q", s)
	}
	if n := b.Node("live.state").Value; !strings.Contains(n, "63 ms late from mouth to ear, no breaks") {
		t.Errorf("state %q", n) // 20 ms of the microphone, and the 2048 frames of a window without sound
	}
	b.Do("record")
	b.Wait(2)
	b.Do("record")
	b.Until("the take ends", func() bool { return b.P.Bench().Take().Done })
	if v := b.P.Bench().Take().Readings[0].PeakDBFS; v < -60 {
		t.Errorf("nothing is recorded: %.1f dBFS", v)
	}
	b.Do("check")
	b.Do("record")
	b.Wait(1)
	b.Do("record")
	b.Until("the take ends", func() bool { return b.P.Bench().Take().Done })
	b.Do("view.result")
	b.Wait(.1)
	if n := b.Node("take.1"); !n.Disabled || !strings.Contains(n.Why, "live") {
		t.Errorf("the first take can be made again: %+v", n)
	}
	b.Do("check")
	b.Do("talker.pip")
	b.Wait(.1)
	if !mic.Closed || b.P.Bench().Live() || b.Has("live.headphones") {
		t.Error("the microphone stays open while somebody else talks")
	}
	h.Next = talking(5, -41)
	b.Do("live")
	b.Do("sound.yes")
	b.Wait(.2)
	b.Do("tab.twin")
	if !h.Next.Closed || b.P.Bench().Live() {
		t.Error("the microphone stays open elsewhere")
	}
}

// TestLiveEnds: a microphone that is refused or goes away is a sentence, and the talker
// talks on; a take that it was recorded to is whole up to there.
func TestLiveEnds(t *testing.T) {
	mic := talking(30, -41)
	b, h := liveBench(t, mic.Asks())
	b.Do("live")
	b.Do("sound.yes")
	mic.Ends(errors.New("the microphone was not allowed: choose a talker"))
	b.Wait(.1)
	if !strings.Contains(b.P.Announce(), "not allowed") || b.P.Bench().Live() || b.P.Bench().File() != nil {
		t.Errorf("refused: %q", b.P.Announce())
	}
	h.Next = talking(30, -41)
	b.Do("live")
	b.Do("sound.yes")
	b.Wait(1)
	b.Do("record")
	b.Wait(1)
	h.Next.Ends(errors.New("the microphone was unplugged"))
	b.Until("the take ends", func() bool { return b.P.Bench().Take().Done })
	if s := b.P.Bench().Take().Seconds(); s < .9 || !strings.Contains(b.P.Announce(), "unplugged") {
		t.Errorf("a take of %.1f s; %q", s, b.P.Announce())
	}
	// Where there is no microphone nothing is offered, and asking is refused.
	if b := gainBench(t); b.Has("live") || b.P.Apply(ui.Intent{ID: "live", Do: ui.DoPress}) == nil {
		t.Error("live without a microphone")
	}
}
