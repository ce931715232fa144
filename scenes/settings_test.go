package scenes

import (
	"math"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"

	"gainwright/lessons/names"
	"gainwright/sim"
	"gainwright/sim/simtest"
	"gainwright/sounds/scenario"
)

// randomSetup draws two strips in one room.
func randomSetup(t *testing.T, r *rand.Rand, now Setup) Setup {
	t.Helper()
	for i := range 2 {
		c, err := simtest.Random(r)
		if err != nil {
			t.Fatal(err)
		}
		now.Chain[i] = c
	}
	now.Chain[1].Room, now.Chain[1].DistanceM = now.Chain[0].Room, now.Chain[0].DistanceM
	return now
}

// TestChainThroughMemoryAndLink: every chain comes back from a link, from a
// scenario that was saved, and at the next visit.
func TestChainThroughMemoryAndLink(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	same := func(way string, got, want Setup) {
		t.Helper()
		for i := range 2 {
			if d := simtest.Differences(got.Chain[i], want.Chain[i]); d != "" {
				t.Fatalf("%s, strip %s: %s", way, stripNames[i], d)
			}
		}
	}
	program := func(h Host) *bench {
		p := build(t, h, gainScenes)
		b := &bench{TB: t, p: p}
		b.size.X, b.size.Y = 1280, 720
		b.wait(0.1)
		return b
	}
	h := &memory{m: map[string]string{}}
	b := program(h)
	for k := range 50 {
		want := randomSetup(t, r, b.p.Bench().Setup())
		s, err := want.Pack()
		if err != nil {
			t.Fatal(err)
		}
		back, err := Unpack(s)
		if err != nil {
			t.Fatal(err)
		}
		same("link", back, want)
		file, err := want.Scenario()
		if err != nil {
			t.Fatal(err)
		}
		if back, err = FromScenario("saved", file, Setup{Talker: want.Talker}); err != nil {
			t.Fatal(err)
		}
		same("scenario", back, want)
		if k > 1 {
			continue // the rest takes a program each
		}
		if err := b.p.Bench().SetSetup(want); err != nil {
			t.Fatal(err)
		}
		b.wait(0.7) // what is set is kept once nothing was touched for half a second
		b.do("setup.link")
		same("the next visit", program(h).p.Bench().Setup(), want)
		same("the link followed", program(&memory{m: map[string]string{}, carried: h.copied[strings.IndexByte(h.copied, '#'):]}).p.Bench().Setup(), want)
	}
}

// TestChainThroughControls: every chain can be set up by the controls that the
// mirror shows, and they then show it. What they cannot say: both limiters at once,
// and a ratio of more than 20 that is not infinity.
func TestChainThroughControls(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	b := gainBench(t)
	for range 3 {
		want := randomSetup(t, r, b.p.Bench().Setup()).Chain[0]
		want = want.WithPlace(want.Place())
		for _, ratio := range []*sim.Ratio{&want.InputLimiter.Ratio, &want.Limiter.Ratio} {
			if v := float64(*ratio); v > ratioTop-1 && !math.IsInf(v, 1) {
				*ratio = sim.Ratio(1 + math.Mod(v, ratioTop-2))
			}
		}
		b.do("show.A")
		open := noDrawer
		for _, l := range simtest.Leaves(&want) {
			s, ok := sim.SettingByKey(l.Key)
			if !ok {
				t.Fatalf("%s has no row", l.Key)
			}
			if s.ByPlace {
				continue
			}
			if s.Station != open {
				// The limiter's station is there while it is on.
				switch s.Station {
				case sim.AtInputLimiter:
					b.do("A.limiter.before")
				case sim.AtLimiter:
					b.do("A.limiter.after")
				}
				b.do(drawerIDs[s.Station])
				b.wait(0.05)
				open = s.Station
			}
			id := "A." + s.ID
			if s.Station == sim.AtMicrophone {
				id = s.ID
			}
			now := b.p.Bench().Chain(0)
			switch {
			case s.Kind == sim.Number:
				n := b.node(id)
				if s.Unit != ":1" && !strings.HasSuffix(n.Value, " "+s.Unit) {
					t.Errorf("%s shows %q, its unit is %s", id, n.Value, s.Unit)
				}
				if n.Name != s.Name || n.Role != RoleSlider {
					t.Errorf("%s is called %q, a %v", id, n.Name, n.Role)
				}
				v := s.Get(&want)
				if math.IsInf(v, 1) {
					v = ratioTop
				}
				b.set(id, v)
				b.wait(0.02)
				if n := b.node(id); n.Now != v {
					t.Errorf("%s shows %v, not %v", id, n.Now, v)
				}
			case s.Kind == sim.Choice && s.Switch == "":
				b.do(id + "." + l.Value.String())
				b.wait(0.02)
				if n := b.node(id + "." + l.Value.String()); !n.Checked {
					t.Errorf("%s does not show that it is on", n.ID)
				}
			default:
				if s.Value(&now) != s.Value(&want) {
					b.do(id)
				}
				b.wait(0.02)
				on := l.Value.Kind() == reflect.Bool && l.Value.Bool() || l.Value.Kind() == reflect.String && l.Value.String() == s.Switch
				if n := b.node(id); n.Checked != on {
					t.Errorf("%s shows %v, is %v", id, n.Checked, on)
				}
			}
		}
		b.do("A.limiter." + string(want.Place()))
		if d := simtest.Differences(b.p.Bench().Chain(0), want); d != "" {
			t.Fatal(d)
		}
	}
}

// TestLessonKeys: every control of a setting on the bench is the lesson's setting
// of the strip that the bench shows there, and asks for what it would do itself.
func TestLessonKeys(t *testing.T) {
	scn := scenario.New()
	scn.Strips = []scenario.Strip{{Name: "safe", Chain: sim.Default()}, {Name: "hot", Chain: sim.Default()}}
	s := &lessonScene{scn: scn, onBench: []string{"hot", "safe"}}
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
