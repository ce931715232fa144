package scenario

import (
	"errors"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"gainwright/sim"
	"gainwright/sounds"
	"gainwright/sounds/equipment"
)

// ferry is the equipment file of this test.
const ferry = `recorder:
  learnt: 2026-11-29
  marks:
  - {mark: 0, gain_db: {value: 0}, full_scale_db_spl: {value: 120, low: 118, high: 122}}
  - {mark: 5, gain_db: {value: 16, low: 15.8, high: 16.2}, full_scale_db_spl: {value: 104, low: 102, high: 106}}
  - {mark: 10, gain_db: {value: 30, low: 29.8, high: 30.2}, full_scale_db_spl: {value: 90, low: 88, high: 92}}
  anchor: {kind: meter, level_db_spl: 72, mark: 0}
  noise: {input_dbfs_at_lowest_mark: {value: -100, low: -101, high: -99}, output_dbfs: {value: -92, low: -93, high: -91}}
  clip: {level_dbfs: {value: 0, low: 0, high: 0}, shape: hard, one_sided: false}
  limiter: {place: after_converter, stretches: 30, threshold_dbfs: {value: -9, low: -10, high: -8}}
  word_length_bits: 16
`

func indent(s string) string { return strings.ReplaceAll(strings.TrimRight(s, "\n"), "\n", "\n  ") }

// TestRecorder: a scenario names or contains an equipment file; it fills in what the
// scenario does not say, and a strip may set the knob.
func TestRecorder(t *testing.T) {
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "ferry.yaml"), []byte(ferry), 0o666); err != nil {
		t.Fatal(err)
	}
	body := "strips:\n  A: {mark: 5}\n  B: {preamp: {gain_db: 40}, limiter: {threshold_dbfs: -3}}\nroom: {noise_dba: 40}\n"
	var got [2]*Scenario
	for i, head := range []string{"recorder: ferry.yaml\n", ferry} {
		path := filepath.Join(dir, "s.yaml")
		if err := os.WriteFile(path, []byte(head+body), 0o666); err != nil {
			t.Fatal(err)
		}
		s, err := Load(path)
		if err != nil {
			t.Fatal(err)
		}
		got[i] = s
		a, b := s.Strip("A").Chain, s.Strip("B").Chain
		if v := equipment.FullScaleDBSPL(a); math.Abs(v-104) > 0.01 {
			t.Errorf("mark 5 is full at %.2f dB SPL", v)
		}
		if a.File.Format != sim.PCM16 || !a.Limiter.On || a.Limiter.ThresholdDBFS != -9 || a.Room.NoiseDBA != 40 {
			t.Errorf("%+v", a)
		}
		if !b.Limiter.On || b.Limiter.ThresholdDBFS != -3 || b.Preamp.GainDB != 40 {
			t.Errorf("a strip's own settings: %+v", b)
		}
		if d := s.Departs(); !slices.Equal(d, []string{"strips.B.limiter.threshold_dbfs"}) {
			t.Error(d)
		}
		// What is written contains the section, and means the same.
		text, err := s.Marshal()
		if err != nil {
			t.Fatal(err)
		}
		again, err := Parse("again.yaml", text)
		if err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
		if !reflect.DeepEqual(again.Strips, s.Strips) || !reflect.DeepEqual(again.Recorder, s.Recorder) {
			t.Errorf("%+v\n%+v", again, s)
		}
	}
	if !reflect.DeepEqual(got[0].Strips, got[1].Strips) {
		t.Error("named and contained differ")
	}
}

// TestUse: a recorder given from outside replaces the section; one put on a scenario that
// is there replaces what its strips have, but for the gain.
func TestUse(t *testing.T) {
	r, err := equipment.Read("ferry.yaml", []byte(ferry))
	if err != nil {
		t.Fatal(err)
	}
	s, err := ParseOn(r, "s.yaml", []byte("recorder: missing.yaml\nstrips: {A: {mark: 10}}"))
	if err != nil || math.Abs(equipment.FullScaleDBSPL(s.Strips[0].Chain)-90) > 0.01 {
		t.Fatal(err)
	}
	s, err = LoadBuiltinOn(r, DefaultName)
	if err != nil || s.Strips[0].Chain.File.Format != sim.PCM16 {
		t.Fatal(err)
	}
	s = New()
	s.Each(func(c *sim.Chain) { c.Preamp.GainDB, c.Microphone.SensitivityMVPerPa = 34, 5 })
	if err := s.Use(r); err != nil {
		t.Fatal(err)
	}
	c := s.Strips[0].Chain
	if lo, hi := s.Knob().Range(c); c.Preamp.GainDB != min(max(34, lo), hi) || c.File.Format != sim.PCM16 || !c.Limiter.On {
		t.Errorf("%+v", c)
	}
	if err := s.SetMark(5); err != nil || math.Abs(equipment.FullScaleDBSPL(s.Strips[0].Chain)-104) > 0.01 {
		t.Error(err)
	}
	if err := s.SetMark(11); err == nil || !strings.Contains(err.Error(), "marks 0 to 10") {
		t.Error(err)
	}
	if err := New().SetMark(3); err == nil || !strings.Contains(err.Error(), "--recorder") {
		t.Error(err)
	}
	if err := s.Use(nil); err != nil || s.Knob() != nil || s.Recorder != nil {
		t.Error(err)
	}
}

// TestRecorderFaults: what cannot be is one line, with its place.
func TestRecorderFaults(t *testing.T) {
	dir := t.TempDir()
	put := func(name, text string) string {
		p := filepath.Join(dir, name)
		if err := os.WriteFile(p, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
		return p
	}
	put("broken.yaml", "recorder: {marks: [{mark: 1}]}")
	put("falls.yaml", strings.Replace(ferry, "gain_db: {value: 30, low: 29.8, high: 30.2}", "gain_db: {value: 3}", 1))
	put("other.yaml", "title: a scenario")
	for text, want := range map[string]string{
		"recorder: none.yaml":   "none.yaml: no such file",
		"recorder: broken.yaml": "gain_db is missing",
		"recorder: falls.yaml":  "falls by 13.0 dB from mark 5 to mark 10",
		"recorder: other.yaml":  "title",
		"recorder: .":           "is a directory",
		"recorder: [a]":         "s.yaml:1:11: recorder: want the name of an equipment file",
		"recorder: {gain: 3}":   "s.yaml:1:12: recorder: ",
		"recorder: {limiter: {place: aft, stretches: 1}}":                                       "there is no \"aft\"",
		"recorder: {marks: [{mark: 0, gain_db: {value: 0}, full_scale_db_spl: {value: -49}}]}":  "beyond any microphone and preamp",
		"recorder: {marks: [{mark: 0, gain_db: {value: 0}}, {mark: 1, gain_db: {value: 120}}]}": "spans 120 dB",
		"strips: {A: {mark: 3}}": "strips.A.mark: a mark belongs to a recorder",
		indent("recorder: {marks: [{mark: 0, gain_db: {value: 0}}]}") + "\nstrips: {A: {mark: 3}}":          "knows mark 0 only, not 3",
		indent("recorder: {marks: [{mark: 0, gain_db: {value: 0}}]}") + "\nstrips: {A: {mark: low}}":        "want a mark of the recorder's knob",
		"recorder: {marks: [{mark: 0, gain_db: {value: 0}}]}\nstrips: {A: {mark: 0, preamp.gain_db: 4}}":    "either of them",
		"recorder: {marks: [{mark: 0, gain_db: {value: 0}}]}\nstrips: {A: {mark: 0, preamp: {gain_db: 4}}}": "either of them",
	} {
		_, err := Load(put("s.yaml", text))
		var e *Error
		if !errors.As(err, &e) || !strings.Contains(err.Error(), want) || len(e.Faults) > 2 || strings.Count(err.Error(), "\n") > 1 {
			t.Errorf("%q: %v, want %q", text, err, want)
		}
	}
	// Where no files are read, a name is no recorder.
	if _, err := Parse("s.yaml", []byte("recorder: ferry.yaml")); err == nil || !strings.Contains(err.Error(), "below recorder") {
		t.Error(err)
	}
	var in *sounds.InputError
	if _, err := equipment.Load(filepath.Join(dir, "none.yaml")); !errors.As(err, &in) {
		t.Error(err)
	}
}

// FuzzRecorder: no section makes a scenario panic, and what is read is a chain that can
// be, which is written and read again.
func FuzzRecorder(f *testing.F) {
	f.Add([]byte(ferry), "5")
	f.Add([]byte("recorder: {marks: [{mark: 0, gain_db: {value: 0}}]}"), "0")
	f.Add([]byte("recorder: x.yaml"), "1e9")
	f.Add([]byte("recorder: {clip: {level_dbfs: {value: 40}, shape: round, one_sided: true}}"), ".nan")
	f.Fuzz(func(t *testing.T, section []byte, mark string) {
		s, err := Parse("s.yaml", append(append([]byte{}, section...), "\nstrips: {A: {mark: "+mark+"}, B: {}}\n"...))
		if err != nil {
			return
		}
		for _, st := range s.Strips {
			if err := st.Chain.Validate(); err != nil {
				t.Fatal(err)
			}
		}
		text, err := s.Marshal()
		if err != nil {
			t.Fatal(err)
		}
		if _, err := Parse("t.yaml", text); err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
	})
}
