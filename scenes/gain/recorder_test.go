package gain

import (
	"math"
	"strings"
	"testing"

	"gainwright/scenes/scenetest"
	"gainwright/scenes/ui"
	"gainwright/sounds/equipment"
	"gainwright/sounds/scenario"
)

const ownRecorder = `recorder:
  learnt: 2026-11-29
  marks:
  - {mark: 0, gain_db: {value: 0}, full_scale_db_spl: {value: 124, low: 122, high: 126}}
  - {mark: 10, gain_db: {value: 32, low: 31.8, high: 32.2}, full_scale_db_spl: {value: 92, low: 90, high: 94}}
  word_length_bits: 16
`

// TestOwnRecorder: an equipment file that is dropped puts the bench on that recorder; the
// knob says its marks beside dB, in words too, at the next visit as well, and what is saved
// holds the recorder. Another scenario leaves the marks.
func TestOwnRecorder(t *testing.T) {
	h := &scenetest.Memory{M: map[string]string{}}
	b := visit(t, h)
	if v := b.Node("A.gain_db").Value; strings.Contains(v, "mark") {
		t.Error(v)
	}
	b.P.Frame(ui.Input{Size: b.Size, Seconds: b.Now, Drops: []ui.Drop{{Name: "mine.yaml", Data: []byte(ownRecorder)}}})
	b.Wait(0.2)
	c := b.P.Bench().Chain(0)
	if c.File.Format != "pcm16" || !strings.Contains(b.Node("A.gain_db").Value, ", mark ") {
		t.Fatalf("%q, %+v", b.Node("A.gain_db").Value, c.File)
	}
	// Full scale at 108 dB SPL is half way: 10 + 93.98 − 108 + 52.68 = 48.66 dB of gain.
	b.Set("A.gain_db", 48.7)
	b.Wait(1)
	if v := b.Node("A.gain_db").Value; !strings.HasSuffix(v, ", mark 5") {
		t.Error(v)
	}
	b.Set("A.gain_db", 20)
	b.Wait(0.2)
	if v := b.Node("A.gain_db").Value; strings.Contains(v, "mark") {
		t.Errorf("%s: less than the knob can", v)
	}
	b.Set("A.gain_db", 48.7)
	b.Wait(1)
	text, err := b.P.Bench().Scenario()
	if err != nil {
		t.Fatal(err)
	}
	s, err := scenario.Parse("saved.yaml", text)
	if err != nil || s.Recorder == nil || math.Abs(equipment.FullScaleDBSPL(s.Strips[0].Chain)-108) > 0.1 {
		t.Fatalf("%v\n%s", err, text)
	}
	again := visit(t, h)
	if v := again.Node("A.gain_db").Value; !strings.HasSuffix(v, ", mark 5") {
		t.Errorf("at the next visit: %s", v)
	}
	again.P.Frame(ui.Input{Size: b.Size, Seconds: again.Now, Drops: []ui.Drop{{Name: "other.yaml", Data: []byte("strips: {A: {preamp: {gain_db: 40}}}")}}})
	again.Wait(0.2)
	if v := again.Node("A.gain_db").Value; !strings.Contains(v, ", mark ") {
		t.Error(v)
	}
	if _, err := again.P.Bench().UseRecorder(s.Recorder); err != nil || again.P.Bench().Chain(1).File.Format != "pcm16" {
		t.Error(err)
	}
	if err := again.P.Bench().KnowRecorder(nil); err != nil || again.P.Bench().Mark(0) != "" {
		t.Error(err, again.P.Bench().Mark(0))
	}
	again.Wait(0.2)
	if h.M["recorder"] != "" {
		t.Error("what was forgotten is kept")
	}
	// What cannot be read is as if there were none.
	h.M["recorder"] = "recorder: {marks: 3}"
	if r := visit(t, h).P.Bench().Recorder(); r != nil {
		t.Error(r)
	}
	// No level is known, and so no mark is said.
	if err := again.P.Bench().OpenScenario("loose.yaml", []byte(strings.ReplaceAll(ownRecorder, "full_scale_db_spl", "full_scale"))); err == nil {
		t.Error("an unknown key")
	}
	loose := "recorder: {marks: [{mark: 0, gain_db: {value: 0}}, {mark: 9, gain_db: {value: 30}}]}"
	if err := again.P.Bench().OpenScenario("loose.yaml", []byte(loose)); err != nil || again.P.Bench().Mark(0) != "" {
		t.Error(err, again.P.Bench().Mark(0))
	}
}
