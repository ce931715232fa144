package lesson

import (
	"testing"

	"gainwright/lessons/names"
	"gainwright/sim"
	"gainwright/sim/simtest"
	"gainwright/sounds/scenario"
)

// TestLessonKeys: every control of a setting on the bench is the lesson's setting
// of the strip that the bench shows there, and asks for what it would do itself.
func TestLessonKeys(t *testing.T) {
	scn := scenario.New()
	scn.Strips = []scenario.Strip{{Name: "safe", Chain: sim.Default()}, {Name: "hot", Chain: sim.Default()}}
	s := &Scene{scn: scn, onBench: []string{"hot", "safe"}}
	c := sim.Default()
	for _, l := range simtest.Leaves(&c) {
		f, ok := sim.SettingByKey(l.Key)
		if !ok {
			t.Fatalf("%s has no row", l.Key)
		}
		want, id := "hot."+f.Key, "A."+f.ID
		if f.Station == sim.AtMicrophone {
			want, id = f.Key, f.ID
		}
		words := []string{""}
		if f.Kind == sim.Choice && f.Switch == "" {
			words = f.WordList()
		}
		for _, w := range words {
			is := id
			if w != "" {
				is += "." + w
			}
			key, v, ok := s.lessonKey(is)
			if f.ByPlace {
				if ok {
					t.Errorf("%s is %s", is, key)
				}
				continue
			}
			if !ok || key != want {
				t.Errorf("%s is %q, %v", is, key, ok)
				continue
			}
			switch {
			case f.Kind == sim.Number:
				if v != nil {
					t.Errorf("%s asks for %v", is, v)
				}
			case w != "":
				if v != w {
					t.Errorf("%s asks for %v", is, v)
				}
			default: // a switch: the other value, which the lesson can set
				if was := s.valueOf(key); v == was || v == nil {
					t.Errorf("%s asks for %v, is %v", is, v, was)
				}
				if err := names.Put(scn, key, v); err != nil {
					t.Error(err)
				}
				if now := s.valueOf(key); now != v {
					t.Errorf("%s is %v, not %v", key, now, v)
				}
			}
		}
	}
	if key, v, ok := s.lessonKey("B.limiter.before"); !ok || key != "safe.limiter_place" || v != "before" {
		t.Errorf("B.limiter.before is %q, %v", key, v)
	}
}
