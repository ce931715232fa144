package gain

import (
	"math"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"

	"gainwright/scenes/bench"
	"gainwright/scenes/gain/drawer"
	"gainwright/scenes/kit"
	"gainwright/scenes/scenetest"
	"gainwright/scenes/ui"
	"gainwright/sim"
	"gainwright/sim/simtest"
)

// randomSetup draws two strips in one room.
func randomSetup(t *testing.T, r *rand.Rand, now bench.Setup) bench.Setup {
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
	same := func(way string, got, want bench.Setup) {
		t.Helper()
		for i := range 2 {
			if d := simtest.Differences(got.Chain[i], want.Chain[i]); d != "" {
				t.Fatalf("%s, strip %s: %s", way, bench.StripNames[i], d)
			}
		}
	}
	program := func(h kit.Host) *scenetest.Driver {
		p := scenetest.Build(t, h, gainScenes)
		b := &scenetest.Driver{TB: t, P: p}
		b.Size.X, b.Size.Y = 1280, 720
		b.Wait(0.1)
		return b
	}
	h := &scenetest.Memory{M: map[string]string{}}
	b := program(h)
	for k := range 50 {
		want := randomSetup(t, r, b.P.Bench().Setup())
		s, err := want.Pack()
		if err != nil {
			t.Fatal(err)
		}
		back, err := bench.Unpack(s)
		if err != nil {
			t.Fatal(err)
		}
		same("link", back, want)
		file, err := want.Scenario()
		if err != nil {
			t.Fatal(err)
		}
		if back, err = bench.FromScenario("saved", file, bench.Setup{Talker: want.Talker}); err != nil {
			t.Fatal(err)
		}
		same("scenario", back, want)
		if k > 1 {
			continue // the rest takes a program each
		}
		if err := b.P.Bench().SetSetup(want); err != nil {
			t.Fatal(err)
		}
		b.Wait(0.7) // what is set is kept once nothing was touched for half a second
		b.Do("setup.link")
		same("the next visit", program(h).P.Bench().Setup(), want)
		same("the link followed", program(&scenetest.Memory{M: map[string]string{}, Link: h.Copied[strings.IndexByte(h.Copied, '#'):]}).P.Bench().Setup(), want)
	}
}

// TestChainThroughControls: every chain can be set up by the controls that the
// mirror shows, and they then show it. What they cannot say: both limiters at once,
// and a ratio of more than 20 that is not infinity.
func TestChainThroughControls(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	b := gainBench(t)
	for range 3 {
		want := randomSetup(t, r, b.P.Bench().Setup()).Chain[0]
		want = want.WithPlace(want.Place())
		for _, ratio := range []*sim.Ratio{&want.InputLimiter.Ratio, &want.Limiter.Ratio} {
			if v := float64(*ratio); v > kit.RatioTop-1 && !math.IsInf(v, 1) {
				*ratio = sim.Ratio(1 + math.Mod(v, kit.RatioTop-2))
			}
		}
		b.Do("show.A")
		open := drawer.None
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
					b.Do("A.limiter.before")
				case sim.AtLimiter:
					b.Do("A.limiter.after")
				}
				b.Do(drawer.IDs[s.Station])
				b.Wait(0.05)
				open = s.Station
			}
			id := "A." + s.ID
			if s.Station == sim.AtMicrophone {
				id = s.ID
			}
			now := b.P.Bench().Chain(0)
			switch {
			case s.Kind == sim.Number:
				n := b.Node(id)
				if s.Unit != ":1" && !strings.HasSuffix(n.Value, " "+s.Unit) {
					t.Errorf("%s shows %q, its unit is %s", id, n.Value, s.Unit)
				}
				if n.Name != s.Name || n.Role != ui.RoleSlider {
					t.Errorf("%s is called %q, a %v", id, n.Name, n.Role)
				}
				v := s.Get(&want)
				if math.IsInf(v, 1) {
					v = kit.RatioTop
				}
				b.Set(id, v)
				b.Wait(0.02)
				if n := b.Node(id); n.Now != v {
					t.Errorf("%s shows %v, not %v", id, n.Now, v)
				}
			case s.Kind == sim.Choice && s.Switch == "":
				b.Do(id + "." + l.Value.String())
				b.Wait(0.02)
				if n := b.Node(id + "." + l.Value.String()); !n.Checked {
					t.Errorf("%s does not show that it is on", n.ID)
				}
			default:
				if s.Value(&now) != s.Value(&want) {
					b.Do(id)
				}
				b.Wait(0.02)
				on := l.Value.Kind() == reflect.Bool && l.Value.Bool() || l.Value.Kind() == reflect.String && l.Value.String() == s.Switch
				if n := b.Node(id); n.Checked != on {
					t.Errorf("%s shows %v, is %v", id, n.Checked, on)
				}
			}
		}
		b.Do("A.limiter." + string(want.Place()))
		if d := simtest.Differences(b.P.Bench().Chain(0), want); d != "" {
			t.Fatal(d)
		}
	}
}
