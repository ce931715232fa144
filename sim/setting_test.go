package sim_test

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"

	"gainwright/sim"
	"gainwright/sim/simtest"
)

// TestEverySettingHasARow: a value of a chain without a row in the table would be
// lost wherever the table is used. The row reads and writes that value and no other.
func TestEverySettingHasARow(t *testing.T) {
	c := sim.Default()
	leaves := simtest.Leaves(&c)
	rows := map[string]bool{}
	for _, l := range leaves {
		rows[l.Key] = true
		s, ok := sim.SettingByKey(l.Key)
		if !ok {
			t.Errorf("%s stands in Chain and not in the table of settings", l.Key)
			continue
		}
		kind := map[reflect.Kind]sim.Kind{reflect.Float64: sim.Number, reflect.Int: sim.Number, reflect.Bool: sim.Flag, reflect.String: sim.Choice}[l.Value.Kind()]
		if s.Kind != kind || s.Whole != (l.Value.Kind() == reflect.Int) {
			t.Errorf("%s: a %v of kind %v, whole %v", l.Key, l.Value.Kind(), s.Kind, s.Whole)
		}
		for _, v := range []float64{s.Min, min(s.Max, 1e6)} {
			before := c
			s.Set(&c, v)
			if got := s.Get(&c); got != v {
				t.Errorf("%s: set %v, got %v", l.Key, v, got)
			}
			want := any(v)
			switch s.Kind {
			case sim.Flag:
				want = v == 1
			case sim.Choice:
				want = s.Words[int(v)].Word
			}
			if got := s.Value(&c); got != want {
				t.Errorf("%s: set %v, the value is %v", l.Key, want, got)
			}
			if is := l.Value; is.CanFloat() && is.Float() != v || is.Kind() == reflect.Bool && is.Bool() != want || is.Kind() == reflect.String && is.String() != want {
				t.Errorf("%s: set %v, the chain has %v", l.Key, want, is)
			}
			l.Value.SetZero()
			b := before
			for _, x := range simtest.Leaves(&b) {
				if x.Key == l.Key {
					x.Value.SetZero()
				}
			}
			if d := simtest.Differences(c, b); d != "" {
				t.Errorf("%s changes more than itself: %s", l.Key, d)
			}
			c = before
		}
	}
	for _, s := range sim.Settings() {
		if !rows[s.Key] {
			t.Errorf("%s stands in the table and not in Chain", s.Key)
		}
		if s.Kind == sim.Number && s.Unit == "" || s.Name == "" || s.Label == "" || s.Station < 0 || s.Station >= sim.NumStations {
			t.Errorf("%s: the row is not whole: %+v", s.Key, *s)
		}
		if s.Lo < s.Min || s.Hi > s.Max || s.Lo >= s.Hi {
			t.Errorf("%s: usual range %v to %v of %v to %v", s.Key, s.Lo, s.Hi, s.Min, s.Max)
		}
		if s.Log && s.Lo <= 0 {
			t.Errorf("%s: equal ratios from %v", s.Key, s.Lo)
		}
		if s.Kind != sim.Number {
			continue
		}
		if step := math.Pow(10, -float64(s.Digits)); s.Step < step*(1-1e-9) {
			t.Errorf("%s: steps of %v do not show in %d digits", s.Key, s.Step, s.Digits)
		}
	}
}

// TestSettingsInOrder: the rows stand in the order of the signal, each group
// together, as scenario files have them.
func TestSettingsInOrder(t *testing.T) {
	c := sim.Default()
	var want, got []string
	for _, l := range simtest.Leaves(&c) {
		if g, _, _ := strings.Cut(l.Key, "."); len(want) == 0 || want[len(want)-1] != g {
			want = append(want, g)
		}
	}
	last := sim.Station(0)
	for _, s := range sim.Settings() {
		if g, _, _ := strings.Cut(s.Key, "."); len(got) == 0 || got[len(got)-1] != g {
			got = append(got, g)
		}
		if s.Station < last {
			t.Errorf("%s of the %v after the %v's", s.Key, s.Station, last)
		}
		last = s.Station
	}
	if strings.Join(got, " ") != strings.Join(want, " ") {
		t.Errorf("groups %v, in Chain %v", got, want)
	}
}

// TestChainThroughJSON: every chain comes back.
func TestChainThroughJSON(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for range 500 {
		c, err := simtest.Random(r)
		if err != nil {
			t.Fatal(err)
		}
		b, err := json.Marshal(c)
		if err != nil {
			t.Fatal(err)
		}
		var back sim.Chain
		if err := json.Unmarshal(b, &back); err != nil {
			t.Fatalf("%s: %v", b, err)
		}
		if d := simtest.Differences(back, c); d != "" {
			t.Fatal(d)
		}
	}
}

// TestFaultsAreTold: each setting out of its range is one fault that names it.
func TestFaultsAreTold(t *testing.T) {
	for _, s := range sim.Settings() {
		c := sim.Default()
		for _, l := range simtest.Leaves(&c) {
			if l.Key != s.Key {
				continue
			}
			switch l.Value.Kind() {
			case reflect.String:
				l.Value.SetString("bent")
			case reflect.Bool:
				continue // can be nothing but true or false
			case reflect.Int:
				l.Value.SetInt(int64(s.Max) + 1)
			default:
				l.Value.SetFloat(s.Min - 0.001)
			}
			err := c.Validate()
			if err == nil || strings.Count(err.Error(), "\n") > 0 || !strings.HasPrefix(err.Error(), s.Key+": ") {
				t.Errorf("%s: %v", s.Key, err)
			}
			if s.Kind == sim.Choice && !strings.Contains(err.Error(), `"bent" is not one of `+strings.Join(s.WordList(), ", ")) {
				t.Error(err)
			}
		}
	}
}

// TestRange: what a range reads like.
func TestRange(t *testing.T) {
	for key, want := range map[string]string{
		"preamp.gain_db": "−20 to 80 dB", "converter.bits": "4 to 32 bit, whole", "limiter.ratio": "1 or more, or inf",
		"limiter.true_peak": "true or false", "preamp.rail_knee": "hard or round", "file.format": "pcm16, pcm24 or float32",
	} {
		if s, _ := sim.SettingByKey(key); s.Range() != want {
			t.Errorf("%s: %s, not %s", key, s.Range(), want)
		}
	}
}
