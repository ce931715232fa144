//go:build full

package plan_test

import (
	"math"
	"testing"

	"gainwright/sim/plan"
	"gainwright/sounds/voice"
)

// shouts are what an outburst says.
var shouts = []string{
	"Hold the rope!", "Over here! Over here!", "Look out behind you!", "All aboard! Last boat tonight!", "Let go the line!", "Wait for me!",
}

// event makes the script of one event at its ordinary effort. n chooses the
// words; levelDB is added to the level that the effort gives.
func event(k plan.Kind, n int, levelDB float64) voice.Event {
	switch k {
	case plan.UnvoicedLaugh, plan.SocialLaugh, plan.OpenLaugh:
		return voice.Event{Do: "laugh", LevelDB: levelDB}
	case plan.Outburst:
		return voice.Event{Text: shouts[n%len(shouts)], Effort: voice.Shout, LevelDB: levelDB}
	case plan.Cough:
		return voice.Event{Do: "cough", LevelDB: levelDB}
	}
	all := voice.Ordinary()
	return voice.Event{Text: all[n%len(all)], Effort: voice.Normal, LevelDB: levelDB}
}

// perform renders a script, in pascal at 1 m.
func perform(t testing.TB, s voice.Script, talker string, seed uint64) []float64 {
	t.Helper()
	p, err := voice.New(s, talker, seed)
	if err != nil {
		t.Fatal(err)
	}
	x, err := p.Render(t.Context(), nil)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

// levels measures an event: its level over the 20 ms frames within 30 dB of the
// loudest, dB SPL, and how far its peak, 20·log10(peak/20 µPa), lies above that.
func levels(x []float64) (level, crest float64) {
	const n = voice.Rate / 50
	var frames []float64
	top, peak := 0.0, 0.0
	for at := 0; at+n <= len(x); at += n {
		s := 0.0
		for _, v := range x[at : at+n] {
			s += v * v
			peak = max(peak, v, -v)
		}
		frames = append(frames, s/n)
		top = max(top, s/n)
	}
	sum, k := 0.0, 0
	for _, e := range frames {
		if e >= top/1000 {
			sum += e
			k++
		}
	}
	level = 10 * math.Log10(sum/float64(k)/4e-10)
	return level, 20*math.Log10(peak/20e-6) - level
}
