package equipment

import (
	"errors"
	"math"
	"reflect"
	"strings"
	"testing"

	"gainwright/sounds/scenario/plain"
)

func example() *Recorder {
	return &Recorder{
		Learnt: "2026-11-29",
		Marks:  []Mark{{0, Of(0, 0, 0), Of(120, 118, 122)}, {2.5, Of(7.2, 7, 7.4), nil}},
		Anchor: &Anchor{"meter", 72, 0},
		Noise:  &Noise{Of(-90, -91, -89), Of(math.NaN(), math.Inf(-1), -100)},
		Clip:   &Clip{Of(0, -0.05, 0.05), "hard", false},
		Limiter: &Limiter{Place: "after_converter", Odds: 1e6, Stretches: 40, Threshold: Of(-6, -7, -5), Ratio: Of(100, 20, 100),
			Attack: Of(1, 0.5, 2), Release: Of(150, 100, 200)},
		WordLength: 24,
		Measured:   []Measured{{"steps, mark 0", "a: b #c.wav", "00ff", 7.5}},
		Assumed:    []string{"ordinary talk is 60 dB SPL at 1 m"},
	}
}

// TestRoundTrip: what is written is read again, equal.
func TestRoundTrip(t *testing.T) {
	for _, r := range []*Recorder{example(), {Learnt: "2026-11-29"}} {
		data, err := r.Write()
		if err != nil {
			t.Fatal(err)
		}
		got, err := Read("r.yaml", data)
		if err != nil || !reflect.DeepEqual(got, r) {
			t.Errorf("%v\n%s\n%+v", err, data, got)
		}
	}
}

// TestFaults: what is wrong is told with its place, a line each.
func TestFaults(t *testing.T) {
	for text, want := range map[string]string{
		"":          "is empty",
		"title: x":  "title",
		"recorder:": "no section recorder",
		"recorder: {marks: [{mark: 1, gain_db: {value: 0}}, {mark: 1, gain_db: {value: 3}}]}": "ascend",
		"recorder: {marks: [{mark: 1}]}":                          "gain_db is missing",
		"recorder: {noise: {output_dbfs: {value: 3, low: 5}}}":    "order",
		"recorder: {limiter: {place: none, ratio: {value: 0.5}}}": "is not from 1",
		"recorder: {word_length_bits: 900}":                       "900",
		"recorder:\n  gain: 3":                                    "gain",
		"recorder: {marks: [{mark: 0, gain_db: {value: 0}}, {mark: 2, gain_db: {value: 12}}, {mark: 4, gain_db: {value: 5}}]}":                                   "falls by 7.0 dB from mark 2 to mark 4",
		"recorder: {marks: [{mark: 0, gain_db: {value: 0}, full_scale_db_spl: {value: 120}}, {mark: 2, gain_db: {value: 12}, full_scale_db_spl: {value: 101}}]}": "contradicts the gain at mark 2 by 7.0 dB",
		"recorder: {marks: [{mark: 0, gain_db: {value: 3}}]}":        "count from the lowest mark",
		"recorder: {limiter: {place: behind, stretches: 3}}":         "there is no \"behind\"",
		"recorder: {clip: {level_dbfs: {value: 0}, shape: soft}}":    "there is no \"soft\"",
		"recorder: {anchor: {kind: ear, level_db_spl: 72}}":          "there is no \"ear\"",
		"recorder: {learnt: yesterday}":                              "is no day",
		"recorder: {marks: &a [*a]}":                                 "r.yaml",
		"recorder: {clip: {level_dbfs: {value: loud}, shape: hard}}": "r.yaml:1",
		strings.Repeat("#", MostBytes+1):                             "r.yaml",
	} {
		_, err := Read("r.yaml", []byte(text))
		var e *plain.Error
		if !errors.As(err, &e) || !strings.Contains(err.Error(), want) || strings.Contains(strings.TrimSpace(err.Error()), "\n") {
			t.Errorf("%.60q: %v, want %q", text, err, want)
		}
	}
}

// FuzzRead: no file makes it panic, and what is read can be written and read again.
func FuzzRead(f *testing.F) {
	data, _ := example().Write()
	f.Add(data)
	f.Add([]byte("recorder: {marks: [{mark: 1, gain_db: {value: .nan}}]}"))
	f.Fuzz(func(t *testing.T, data []byte) {
		r, err := Read("f.yaml", data)
		if err != nil {
			return
		}
		again, err := r.Write()
		if err != nil {
			t.Fatal(err)
		}
		if _, err := Read("g.yaml", again); err != nil {
			t.Fatalf("%v\n%s", err, again)
		}
	})
}

// TestArticle: what is refused is named as one says it.
func TestArticle(t *testing.T) {
	for _, text := range []string{"recorder: {learnt: x}\n---\nrecorder: {}\n", strings.Repeat("#", MostBytes+1)} {
		if _, err := Read("mine.yaml", []byte(text)); err == nil || !strings.Contains(err.Error(), "an equipment file") || strings.Contains(err.Error(), "a equipment") {
			t.Errorf("%v", err)
		}
	}
}
