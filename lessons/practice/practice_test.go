package practice

import (
	"context"
	"encoding/json"
	"errors"
	"math"
	"reflect"
	"strings"
	"testing"

	"gainwright/lessons/internal/trial"
	"gainwright/lessons/model"
	"gainwright/lessons/names"
	"gainwright/sim/plan"
	"gainwright/sounds/voice"
)

// guest sits one down and lets them talk at a gain above what would fit.
func guest(t *testing.T, h History, above float64, changes int) (*Outcomes, History, Guest) {
	t.Helper()
	ctx := context.Background()
	p, err := New(11, h, trial.Bench)
	if err != nil {
		t.Fatal(err)
	}
	probe, err := New(11, h, trial.Bench)
	if err != nil {
		t.Fatal(err)
	}
	o, err := probe.Talk(ctx)
	if err != nil {
		t.Fatal(err)
	}
	gain := min(65, max(0, o.FittingGainDB+above))
	if err := p.Apply("preamp.gain_db", gain); err != nil {
		t.Fatal(err)
	}
	var list []model.Change
	for i := range changes {
		list = append(list, model.Change{AtS: float64(2 * (i + 1)), Key: "preamp.gain_db", Value: gain + float64(i%2)})
	}
	o, err = p.Talk(ctx, list...)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := p.Talk(ctx); !errors.Is(err, ErrTalked) {
		t.Errorf("a guest said it twice: %v", err)
	}
	return o, p.History(), p.Guest()
}

func TestPractice(t *testing.T) {
	fit, h, g := guest(t, History{}, 0, 0)
	if fit.Score < 95 || g.Level != 1 || g.Number != 1 || h.Level != 2 || len(h.Played) != 1 {
		t.Errorf("the fitting gain scores %v at level %d, then %+v", fit.Score, g.Level, h)
	}
	if h := float64(fit.Readings["headroom_db"]); h < 0 || fit.Readings["overs"] != 0 {
		t.Errorf("the fitting gain left %v of headroom", h)
	}
	if fit.FittingGainDB != min(fit.MostGainDB, fit.HourGainDB) || float64(fit.Readings["gain_db"]) != fit.FittingGainDB {
		t.Errorf("fitting %v, this conversation %v, an hour %v", fit.FittingGainDB, fit.MostGainDB, fit.HourGainDB)
	}
	// Less gain that costs less than a decibel of noise costs no points, whatever room is
	// left; more noise than need be does.
	roomy, _, _ := guest(t, History{}, -6, 0)
	noise := func(o *Outcomes) float64 { return float64(o.Readings["delivered_noise_lufs"]) }
	if d := noise(roomy) - noise(fit); d > 1 || roomy.Score < fit.Score {
		t.Errorf("6 dB more room for %.2f dB of noise: %v points, fitting %v", d, roomy.Score, fit.Score)
	}
	for _, tc := range [][3]float64{{-3, 0, 100}, {3, 0, 85}, {9, 0, 70}, {0, 0.255, 90}, {0, 1, 80}} {
		var o Outcomes
		if o.score(names.Measured{"overs": 0}, tc[0], tc[1], 0); math.Abs(o.Score-tc[2]) > 0.01 {
			t.Errorf("%v dB of noise and %v of risk too much: %v points, want %v", tc[0], tc[1], o.Score, tc[2])
		}
	}
	for _, w := range []string{whole(fit.MostGainDB), whole(fit.HourGainDB), plan.OneLaugh} {
		if fit.MostGainDB > fit.HourGainDB && !strings.Contains(fit.Advice, w) {
			t.Errorf("%q lacks %q", fit.Advice, w)
		}
	}
	hot, _, _ := guest(t, History{}, 20, 0)
	warm, _, _ := guest(t, History{}, 9, 0)
	if !(hot.Score < warm.Score && warm.Score < fit.Score) || hot.Readings["overs"] == 0 {
		t.Errorf("scores: 20 dB too hot %v, 9 dB %v, fitting %v", hot.Score, warm.Score, fit.Score)
	}
	ridden, _, _ := guest(t, History{}, 0, 3)
	if ridden.Score >= fit.Score {
		t.Errorf("riding costs nothing: %v and %v", ridden.Score, fit.Score)
	}
	for _, o := range []*Outcomes{fit, hot, warm, ridden} {
		sum := 0.0
		for _, p := range o.Parts {
			if p.Points < 0 || p.Points > p.Of {
				t.Errorf("%+v", p)
			}
			sum += p.Points
		}
		if math.Abs(sum-o.Score) > 0.06 || o.Advice == "" {
			t.Errorf("%v is not the sum of %+v", o.Score, o.Parts)
		}
	}
	kinds := map[string]bool{}
	for _, m := range fit.Marks {
		kinds[m.Kind] = true
	}
	if !kinds["laugh"] || !kinds["lean"] {
		t.Errorf("what happened: %v", kinds)
	}
}

// Every guest's check and conversation can be performed and have the length of
// their purpose.
func TestPracticeLengths(t *testing.T) {
	n := 60
	if testing.Short() {
		n = 20
	}
	for i := range n {
		h := History{Level: 1 + i%MaxLevel, Played: []Played{{Number: i}}}
		p, err := New(uint64(i), h, trial.Bench)
		if err != nil {
			t.Fatal(err)
		}
		for name, s := range map[string]voice.Script{"check": p.check, "talk": p.talk} {
			v, err := voice.New(s, p.g.Talker, p.s.Seed)
			if err != nil {
				t.Fatalf("guest %d: %s: %v", i, name, err)
			}
			if d := v.Seconds(); d < 10 || d > 27 || name == "check" && d < 18 {
				t.Errorf("guest %d: the %s lasts %.1f s", i, name, d)
			}
		}
	}
}

// The history is data: it survives JSON, and the same one leads to the same guest.
func TestPracticeHistory(t *testing.T) {
	_, h, _ := guest(t, History{}, 0, 0)
	b, err := json.Marshal(h)
	if err != nil {
		t.Fatal(err)
	}
	var back History
	if err := json.Unmarshal(b, &back); err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(h, back) {
		t.Errorf("%+v became %+v", h, back)
	}
	a, err := New(11, back, trial.Bench)
	if err != nil {
		t.Fatal(err)
	}
	c, err := New(11, h, trial.Bench)
	if err != nil {
		t.Fatal(err)
	}
	if a.Guest() != c.Guest() || a.Guest().Number != 2 || !reflect.DeepEqual(a.Bench(), c.Bench()) {
		t.Errorf("%+v and %+v", a.Guest(), c.Guest())
	}
	if m := h.Mean(10); m != h.Played[0].Score {
		t.Errorf("mean %v", m)
	}
	if m := (&History{}).Mean(10); !math.IsNaN(m) {
		t.Errorf("mean of nothing: %v", m)
	}
}

// Harder guests do not show in the sound check what they will do later.
func TestPracticeGetsHarder(t *testing.T) {
	gap := func(level int) float64 {
		sum := 0.0
		for n := range 3 {
			h := History{Level: level}
			if n > 0 {
				h.Played = []Played{{Number: n}}
			}
			p, err := New(5, h, trial.Bench)
			if err != nil {
				t.Fatal(err)
			}
			check, err := p.Check(context.Background())
			if err != nil {
				t.Fatal(err)
			}
			o, err := p.Talk(context.Background())
			if err != nil {
				t.Fatal(err)
			}
			sum += float64(check["headroom_db"] - o.Readings["headroom_db"])
			if p.Guest().Level != level {
				t.Errorf("level %d, want %d", p.Guest().Level, level)
			}
		}
		return sum / 3
	}
	easy, hard := gap(1), gap(MaxLevel)
	if hard < easy+3 {
		t.Errorf("from check to conversation the peaks rise by %.1f dB at level 1 and %.1f dB at level %d", easy, hard, MaxLevel)
	}
}

func TestPracticeLocks(t *testing.T) {
	p, err := New(1, History{}, trial.Bench)
	if err != nil {
		t.Fatal(err)
	}
	var locked *model.LockedError
	if err := p.Apply("distance_m", 0.02); !errors.As(err, &locked) {
		t.Errorf("got %v", err)
	}
	for _, v := range []any{90.0, -1.0, math.NaN(), "loud", true} {
		if err := p.Apply("preamp.gain_db", v); err == nil {
			t.Errorf("a gain of %v was accepted", v)
		}
	}
	if err := p.Apply("limiter_place", "before"); err != nil {
		t.Error(err)
	}
	if err := p.Next(); err == nil {
		t.Error("the guest was sent away unheard")
	}
	if _, err := p.Sound(context.Background()); err == nil {
		t.Error("sound of nothing")
	}
}
