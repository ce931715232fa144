package plan

import (
	"context"
	"math"
	"strings"
	"testing"

	"gainwright/scenes/bench"
	"gainwright/scenes/kit"
	"gainwright/scenes/scenetest"
	"gainwright/sim/plan"
	"gainwright/sim/plan/hear"
	"gainwright/sounds"
	"gainwright/sounds/own"
)

func withVoice(sh kit.Shell) []kit.Scene {
	return append(withStrips(sh), scenetest.Other{Label: "Your voice", Tab: kit.IDTabVoice})
}

// TestOwnVoiceAsGuest: with the learner as the guest the window moves as it does by a sound
// check from a file with the same talk and laugh, found by itself, to 0.5 dB; and back.
func TestOwnVoiceAsGuest(t *testing.T) {
	h, p := scenetest.KeepsOwn(t)
	planFine = 10_000
	b, s := scenetest.Open[*Scene](t, h, "tab.plan", withVoice)
	settle(b, s, func() bool { return s.res != nil && !s.stale })
	b.Wait(1.2)
	before := s.win.HighDB
	b.Do("plan.you.Ines")
	b.Until("the guest is known", func() bool { return s.guest.is != nil })
	settle(b, s, func() bool { return s.res != nil && !s.stale })
	got := s.win.HighDB
	if !b.Node("plan.you.Ines").Checked || b.Node("plan.who.any").Checked {
		t.Error("the wrong guest is checked")
	}
	if w := s.guest.words(); !strings.Contains(w, "60 dB SPL at 1 m, if it is ordinary") || !strings.Contains(w, "dB over talk") {
		t.Errorf("told: %q", w)
	}
	// The same as a file: talk and laugh in one, as plan --check reads it, the level placed as the voice's.
	var x []float64
	for _, k := range []own.Part{own.Talk, own.Read, own.Laugh} {
		x = append(append(x, p.Part(k)...), make([]float64, own.Rate)...)
	}
	f, err := hear.Check(x, own.Rate)
	if err != nil || len(f.Laughs) != 1 || len(f.Talk) == 0 {
		t.Fatalf("%v; %d laughs, %d utterances", err, len(f.Laughs), len(f.Talk))
	}
	r, err := p.Look()
	if err != nil {
		t.Fatal(err)
	}
	to := 20 * math.Log10(r.ScalePa/sounds.RefPressure)
	want := s.setup
	want.Check = plan.Heard{HeldDB: math.Inf(-1), Utterances: len(f.Talk), Laughs: 1, LaughPeakDB: f.Laughs[0].PeakDBFS + to}
	for _, u := range f.Talk {
		want.Check.HeldDB = max(want.Check.HeldDB, u.PeakDBFS+to)
		want.Check.LevelDB += (u.LevelDBFS + to) / float64(len(f.Talk))
	}
	res, err := plan.Simulate(context.Background(), want.Conversation(), planCoarse, planSeed, nil)
	if err != nil {
		t.Fatal(err)
	}
	file := want.Window(res).HighDB
	t.Logf("anybody %.2f dB, the voice %.2f dB, a check from a file %.2f dB", before, got, file)
	if math.Abs(got-file) > .5 {
		t.Errorf("safe up to %.2f dB by the voice, %.2f dB by a check of the same", got, file)
	}
	if math.Abs(got-before) < .5 {
		t.Errorf("the voice moves nothing: %.2f and %.2f dB", before, got)
	}
	b.Do("plan.who.any")
	settle(b, s, func() bool { return s.res != nil && !s.stale })
	if s.win.HighDB != before {
		t.Errorf("%.2f dB for anybody, before %.2f", s.win.HighDB, before)
	}
	// One that is lent needs not be kept, and is asked for once.
	v, err := bench.NewVoice(p, r)
	if err != nil {
		t.Fatal(err)
	}
	lent := *v
	lent.Perf = &own.Performance{}
	*lent.Perf = *p
	lent.Perf.Name = "Tom"
	b.P.Voices().Lend(&lent)
	b.Do("plan.you.Tom")
	b.Until("the guest is the one lent", func() bool { return s.guest.is == &lent })
	b.Do("plan.you.Tom")
	b.Wait(.2)
	if w := b.P.Announce(); !strings.Contains(w, "no longer kept") {
		t.Errorf("lent once, and had twice: %q", w)
	}
	if b.Has(idTry) {
		t.Error("who has a voice is asked to record one")
	}
	// Without one it is offered.
	b, _ = scenetest.Open[*Scene](t, scenetest.NewVocal(nil), "tab.plan", withVoice)
	b.Wait(1.2)
	if !b.Has(idTry) || b.Has(idAny) {
		t.Error("who has no voice is not asked to record one")
	}
	if b, _ := planBench(t); b.Has(idTry) {
		t.Error("asked where there is no microphone")
	}
}
