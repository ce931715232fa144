package names

import (
	"math/rand/v2"
	"reflect"
	"testing"

	"gainwright/sim"
	"gainwright/sim/simtest"
	"gainwright/sounds/scenario"
)

// TestEverySettingHasAName: every value of a chain, found by reflection, can be
// named, read and set by a lesson under its key, or stands in limiter_place; units
// and types are those of the value.
func TestEverySettingHasAName(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 12))
	for range 30 {
		want, err := simtest.Random(r)
		if err != nil {
			t.Fatal(err)
		}
		want = want.WithPlace(want.Place())
		s := scenario.New()
		s.Strips = []scenario.Strip{{Name: "A", Chain: sim.Default()}}
		if err := Put(s, "A."+LimiterPlace, string(want.Place())); err != nil {
			t.Fatal(err)
		}
		for _, l := range simtest.Leaves(&want) {
			n, ok := Setting(l.Key)
			if l.Key == "limiter.on" || l.Key == "input_limiter.on" {
				if ok {
					t.Errorf("%s has a name beside %s", l.Key, LimiterPlace)
				}
				continue
			}
			if !ok {
				t.Fatalf("%s has no name", l.Key)
			}
			v := Get(&want, l.Key)
			var typ Type
			switch l.Value.Kind() {
			case reflect.Bool:
				typ = Boolean
			case reflect.String:
				typ = Word
				if i := l.Value.String(); len(n.Words) < 2 || i != v {
					t.Errorf("%s: %v of %v, is %s", l.Key, v, n.Words, i)
				}
			}
			if n.Type != typ || n.Label == "" || typ == Numeric && n.Unit == "" {
				t.Errorf("%s: %+v", l.Key, n)
			}
			if err := Put(s, "A."+l.Key, v); err != nil {
				t.Fatal(err)
			}
		}
		if d := simtest.Differences(s.Strips[0].Chain, want); d != "" {
			t.Fatal(d)
		}
		if got := Get(&want, LimiterPlace); got != string(want.Place()) {
			t.Errorf("the limiter is %v, not %v", got, want.Place())
		}
	}
	for key, want := range map[string]bool{"distance_m": true, "room.noise_dba": true, "microphone.proximity": true, "preamp.gain_db": false, "file.format": false} {
		if Shared(key) != want {
			t.Errorf("%s is shared: %v", key, !want)
		}
	}
}

// TestIsSetting: what all strips share needs no strip, the rest is told to which it
// belongs.
func TestIsSetting(t *testing.T) {
	s := scenario.New()
	s.Strips = []scenario.Strip{{Name: "A", Chain: sim.Default()}, {Name: "B", Chain: sim.Default()}}
	for key, want := range map[string]string{
		"distance_m": "", "microphone.proximity": "", "A.preamp.gain_db": "", "B.distance_m": "", "B.limiter_place": "",
		"preamp.gain_db": ": it belongs to a strip: did you mean B.preamp.gain_db?", "limiter.true_peak": ": it belongs to a strip: did you mean A.limiter.true_peak?",
	} {
		if hint, ok := IsSetting(key, s, []string{"B.preamp.gain_db"}); hint != want || ok != (want == "") {
			t.Errorf("%s: %v, %q", key, ok, hint)
		}
	}
	if _, ok := IsSetting("A.limiter.on", s, nil); ok {
		t.Error("A.limiter.on is a control")
	}
}
