package first

import (
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"gainwright/scenes/bench"
	"gainwright/scenes/gain/result"
	"gainwright/scenes/ink"
	"gainwright/scenes/ui"
	"gainwright/sim"
	"gainwright/sim/plan"

	"gainwright/scenes/gain"
	"gainwright/scenes/kit"
	"gainwright/scenes/scenetest"
)

func scenes(sh kit.Shell) []kit.Scene {
	g := gain.New(sh)
	return append(scenetest.Amid(g), New(sh, g))
}

// visit is a first visit.
func visit(t testing.TB, h kit.Host) *scenetest.Driver {
	return scenetest.Drive(t, scenetest.Build(t, h, scenes))
}

func of(b *scenetest.Driver) *Scene { return b.P.SceneOf(kit.IDTabFirst).(*Scene) }

// made waits until the take can begin at once.
func made(b *scenetest.Driver) {
	b.Helper()
	b.Until("what is performed", func() bool { return of(b).job == nil })
}

// take records a take to its end.
func takeAll(b *scenetest.Driver) {
	b.Helper()
	made(b)
	at := of(b).at
	b.Do("first.record")
	b.Until("the take's end", func() bool { return of(b).at == at+2 })
	b.Wait(0.1)
}

// shotSizes are the windows that pictures are made in.
var shotSizes = [][2]int{{1280, 720}, {1440, 900}, {1024, 768}, {820, 1180}, {390, 844}}

// TestShots writes pictures for people to look at, where GAINWRIGHT_SHOTS names a
// directory; it is not a check.
func TestShots(t *testing.T) {
	s := scenetest.NewShooter(t, func(t testing.TB) *scenetest.Driver { return visit(t, nil) })
	b := s.Driver
	all := func(name string) {
		for range 2 {
			for _, z := range shotSizes {
				look := "dark"
				if !b.P.Theme().Dark {
					look = "light"
				}
				if look == "light" && z[0] != 390 && z[0] != 1280 {
					continue
				}
				s.Shot(name+"-"+look, z[0], z[1])
			}
			b.Do("theme")
		}
	}
	made(b)
	b.Wait(5)
	all("1set")
	b.Do("first.record")
	b.Wait(6)
	all("2roll")
	b.Until("the end", func() bool { return of(b).step().ID == "heard" })
	all("3heard")
	b.Do("first.again")
	b.Wait(1)
	b.Set("first.gain_db", 40)
	b.Wait(5)
	all("4again")
	takeAll(b)
	all("5both")
	b.Do("first.next")
	all("6levels")
	b.Do("first.next")
	all("7more")
}

// TestStartsRightForTalk: at the gain that the visit begins with the highest bar of talk
// is in its band, and the laugh is cut off; with the gain that the result advises, and
// with the highest bar in the middle of the second band, the same laugh is whole.
func TestStartsRightForTalk(t *testing.T) {
	b := visit(t, nil)
	made(b)
	b.Wait(12)
	s := of(b)
	band := s.step().Band
	held := s.meter.Hold
	if band == nil || held < band.From || held > band.To {
		t.Fatalf("the highest bar of talk is at %.1f dBFS, the band is %+v", held, band)
	}
	takeAll(b)
	tk := b.P.Bench().Take()
	if r := tk.Readings[mine]; r.Overs == 0 || r.HeadroomDB > -3 {
		t.Fatalf("the laugh is not cut off: %d overs, %.1f dB left", r.Overs, float64(r.HeadroomDB))
	}
	if r := tk.Readings[lower]; r.Overs != 0 {
		t.Errorf("12 dB lower there are %d overs", r.Overs)
	}
	advised := result.Advise(tk.End[mine], tk.Readings[mine], tk.Levels[mine][sim.AtMicOut].Peak, bench.Told{}).GainDB
	room := s.steps[at(s.steps, "again")].Band
	middle := s.sc.Strips[0].Chain.Preamp.GainDB + (room.From+room.To)/2 - held
	for _, gain := range []float64{advised, middle} {
		b.Do("first.again")
		b.Wait(0.1)
		b.Set("first.gain_db", gain)
		b.Wait(12)
		if gain == middle && (s.meter.Hold < room.From || s.meter.Hold > room.To) {
			t.Errorf("%.1f dB: the highest bar is at %.1f dBFS, the band is %+v", gain, s.meter.Hold, room)
		}
		takeAll(b)
		if r := b.P.Bench().Take().Readings[mine]; r.Overs != 0 {
			t.Errorf("%.1f dB: %d overs", gain, r.Overs)
		}
	}
}

// TestSteps goes through the visit: what is shown grows, the take ends by itself, and
// the same laugh is the same to the sample.
func TestSteps(t *testing.T) {
	h := scenetest.NewChancy()
	b := visit(t, h)
	s := of(b)
	if b.P.Scene() != kit.Scene(s) {
		t.Fatalf("a first visit shows %s", b.P.Scene().ID())
	}
	pressed := func() (ids []string) {
		for _, n := range b.P.Semantics() {
			if n.Role == ui.RoleButton && strings.HasPrefix(n.ID, own) || n.Role == ui.RoleTab {
				ids = append(ids, n.ID)
			}
		}
		return ids
	}
	shows := func(step string, want ...string) {
		t.Helper()
		b.Wait(0.1)
		if id := s.step().ID; id != step {
			t.Fatalf("at step %s, want %s", id, step)
		}
		if got := pressed(); !slices.Equal(got, want) {
			t.Errorf("%s: there are %q, want %q", step, got, want)
		}
		if n := b.Node(idSay).Value; n == "" || strings.ContainsAny(n, "{}") {
			t.Errorf("%s says %q", step, n)
		}
	}
	shows("set", idGo, idAll)
	made(b)
	b.Wait(2)
	if n := b.Node(idMeter).Value; !strings.Contains(n, "the band between −12 and −6 dBFS") {
		t.Errorf("the meter says %q", n)
	}
	b.Do(idGo)
	shows("roll", idGo, idAll)
	b.Until("the take's end", func() bool { return s.step().ID == "heard" })
	shows("heard", idHear, idAgain, idAll)
	one := b.P.Bench().Take()
	if n := b.Node(idVerdict); n.Name != "Too hot" || !strings.Contains(n.Value, "moments flattened, lost for good") {
		t.Errorf("the verdict is %q, %q", n.Name, n.Value)
	}
	if n := b.Node(idWave); !strings.Contains(n.Value, "flat tops") || s.wave[mine].Flats() == 0 {
		t.Errorf("the wave: %q, %d flat tops", n.Value, s.wave[mine].Flats())
	}
	if w := b.P.Announce(); !strings.HasPrefix(w, "Too hot. ") || !strings.Contains(w, "dB higher than a recording can hold") {
		t.Errorf("announced is %q", w)
	}
	b.Do(idAgain)
	shows("again", idGo, idAll)
	b.Set(idGain, 38)
	takeAll(b)
	shows("both", idHear, idOther, idAgain, idNext, idAll)
	two := b.P.Bench().Take()
	if !slices.Equal(one.Spoken, two.Spoken) || len(two.Spoken) == 0 {
		t.Error("the laugh is another one")
	}
	if n := b.Node(idVerdict).Name; n == "Too hot" {
		t.Errorf("at 38 dB the verdict is %q", n)
	}
	b.Node(idLower)
	b.Do(idNext)
	shows("levels", idHear, idAgain, idNext, idAll)
	if n := b.Node(idLevels).Value; n == "" {
		t.Error("the diagram says nothing")
	}
	if h.M["everything"] != "" {
		t.Error("remembered before all scenes have come in")
	}
	b.Do(idNext)
	shows("more", "tab.gain", "tab.twin", "tab.mend", "tab.plan", "tab.lessons", "tab.practice", "tab.recorder", "tab.voice", idHear, idAgain, idAll)
	b.Do("tab.plan")
	b.Wait(0.1)
	if h.M["everything"] == "" || b.P.Bench().Talker() != "captain" || b.P.Bench().Setup() != bench.StartSetup("captain") {
		t.Errorf("afterwards the bench is %+v", b.P.Bench().Setup())
	}
}

// TestTurnedWithATake: who turns the knob with a take on the picture tries again.
func TestTurnedWithATake(t *testing.T) {
	b := visit(t, nil)
	takeAll(b)
	b.Set(idGain, 44)
	b.Wait(0.1)
	if s := of(b); s.step().ID != "again" || b.Gain(mine) != 44 || b.Gain(lower) != 32 {
		t.Errorf("at step %s with %v and %v dB", s.step().ID, b.Gain(mine), b.Gain(lower))
	}
}

// TestBrokenOff: a take that is ended by hand does not count, nor does one that a way
// out ends, which asks first.
func TestBrokenOff(t *testing.T) {
	b := visit(t, nil)
	made(b)
	b.Do("record")
	b.Wait(1)
	if err := b.P.Apply(ui.Intent{ID: idGain, Do: ui.DoSet, Value: 10}); err == nil {
		t.Error("the knob can be turned while she is recorded")
	}
	b.Do("record")
	b.Wait(0.3)
	s := of(b)
	if s.step().ID != "set" || b.P.Bench().Mode() != bench.ModeCheck || !strings.Contains(b.P.Announce(), "broken off") {
		t.Errorf("at step %s, it says %q", s.step().ID, b.P.Announce())
	}
	b.Do(idGo)
	b.Wait(1)
	b.Do("tab.plan")
	b.Wait(0.1)
	if b.P.Scene().ID() != kit.IDTabFirst || !strings.Contains(b.P.Announce(), "give the take up") {
		t.Errorf("unasked it goes to %s: %q", b.P.Scene().ID(), b.P.Announce())
	}
	b.Do("tab.plan")
	b.Wait(0.1)
	if b.P.Scene().ID() != "tab.plan" || b.P.Bench().Mode() == bench.ModeRecord {
		t.Error("the take goes on elsewhere")
	}
}

// TestRemembered: a first visit is one at which nothing is remembered; everything comes
// at a press, and from then on; the first guest can be met again.
func TestRemembered(t *testing.T) {
	h := scenetest.NewChancy()
	b := visit(t, h)
	if b.Has("tab.gain") || b.Has("undo") || b.Has("more") || b.Has("listen.level_db") || !b.Has("sound") {
		t.Error("a first visit shows more than it should, or no sound")
	}
	b.Do(idAll)
	b.Wait(0.1)
	if b.P.Scene().ID() != "tab.gain" || !b.Has("tab.practice") || !b.Has("more") {
		t.Fatalf("everything is %s", b.P.Scene().ID())
	}
	b = visit(t, h)
	if b.P.Scene().ID() != "tab.gain" || !b.Has("tab.practice") {
		t.Fatalf("the second visit begins with %s", b.P.Scene().ID())
	}
	b.Do("more")
	b.Wait(0.1)
	b.Do(kit.IDTabFirst)
	b.Wait(0.1)
	if b.P.Scene().ID() != kit.IDTabFirst || !b.Has("tab.practice") || !b.Has("more") {
		t.Error("the first guest cannot be met again, or takes the tabs away")
	}
	b.Do("tab.gain")
	b.Wait(0.1)
	for key, v := range map[string]string{"setup": "{}", "takes": "[]", "practice": "{}"} {
		if b := visit(t, &scenetest.Memory{M: map[string]string{key: v}}); b.P.Scene().ID() != "tab.gain" {
			t.Errorf("with %s remembered the visit begins with %s", key, b.P.Scene().ID())
		}
	}
	if b := visit(t, &scenetest.Memory{M: map[string]string{}, Link: "#setup=x"}); b.P.Scene().ID() != "tab.gain" {
		t.Errorf("with a link the visit begins with %s", b.P.Scene().ID())
	}
	if b := visit(t, &scenetest.Memory{M: map[string]string{"theme": "light"}}); b.P.Scene().ID() != kit.IDTabFirst {
		t.Errorf("with a theme the visit begins with %s", b.P.Scene().ID())
	}
}

// TestBandIsThePlanners: the second band holds what the planner tells for an ordinary
// hour with this chain.
func TestBandIsThePlanners(t *testing.T) {
	steps, sc, err := load()
	if err != nil {
		t.Fatal(err)
	}
	s := plan.Setup{Chain: sc.Strips[0].Chain, Model: plan.Default(), Limits: plan.DefaultLimits()}
	if err := s.Prepare(t.Context()); err != nil {
		t.Fatal(err)
	}
	r, err := plan.Simulate(t.Context(), s.Conversation(), 4000, 1, nil)
	if err != nil {
		t.Fatal(err)
	}
	a, ok := s.Advise(r)
	band := steps[at(steps, "again")].Band
	if !ok || a.HeldDBFS < band.From || a.HeldDBFS > band.To {
		t.Errorf("the planner tells %.1f dBFS, the band is %+v", a.HeldDBFS, band)
	}
}

// TestFaults: what is wrong with a file of steps is told.
func TestFaults(t *testing.T) {
	good, err := files.ReadFile("steps.yaml")
	if err != nil {
		t.Fatal(err)
	}
	for _, tc := range [][3]string{
		{"press: [hear, again]", "press: [hea, again]", "did you mean hear?"},
		{"shows: [gain, wave]", "shows: gain", "want a list"},
		{"band: laugh", "band: shout", "no such band"},
		{"step: again", "step: anew", "no step called again"},
		{"press: [hear, again, voice, all]", "press: [hear, again]", "the last step"},
		{"to_dbfs: -6", "to_dbfs: -60", "a band lies between"},
		{"next: See the levels", "nxt: See the levels", "unknown key"},
		{"close: It", "cloze: It", "unknown key"},
		{"bands:", "bands: 3\nothers:", "want a mapping"},
	} {
		bad := strings.Replace(string(good), tc[0], tc[1], 1)
		if _, err := Read("steps.yaml", []byte(bad)); err == nil || !strings.Contains(err.Error(), tc[2]) {
			t.Errorf("%q: %v, want %q", tc[1], err, tc[2])
		}
	}
}

func FuzzRead(f *testing.F) {
	b, err := os.ReadFile("steps.yaml")
	if err != nil {
		f.Fatal(err)
	}
	f.Add(string(b))
	f.Add("bands: {a: {from_dbfs: -3, to_dbfs: -1, label: x}}\nsteps: [{step: again, say: x, press: [all]}]")
	f.Fuzz(func(t *testing.T, s string) {
		steps, err := Read("x", []byte(s))
		if err == nil && at(steps, "again") < 0 {
			t.Error("steps without a way back")
		}
	})
}

// TestLayout: at every step, size of window and text, and in both themes, nothing
// overlaps, is cut or lies outside, and what is pressed is large enough for a thumb.
func TestLayout(t *testing.T) {
	b := visit(t, nil)
	s := of(b)
	look := func() {
		t.Helper()
		step := s.step().ID
		for range 2 {
			for _, z := range shotSizes {
				b.Size = ink.Point{X: float32(z[0]), Y: float32(z[1])}
				for range ui.TextScales {
					b.Wait(1.0 / 60)
					th := b.P.Theme()
					name := fmt.Sprintf("%s, %dx%d, text %g, dark %v", step, z[0], z[1], th.Text, th.Dark)
					view := ink.Rect{}
					if !s.lay.wide {
						view = s.lay.scroll.View
					}
					for {
						var l ink.List
						b.P.Draw(&l)
						scenetest.CheckTexts(t, name, &l, b.Size, view)
						scenetest.CheckControls(t, name, b.P)
						was := s.lay.scroll.Scroll
						if b.P.Scene().Scroll(200); s.lay.scroll.Scroll == was {
							break
						}
					}
					for _, c := range b.P.Controls() {
						if k := c.Common(); !k.Hidden && k.ID != idMeter && !b.Has("tab.gain") && (k.Bounds.W < ui.Touch || k.Bounds.H < ui.Touch) {
							t.Errorf("%s: %s is %v", name, k.ID, k.Bounds)
						}
					}
					b.Do("text_size")
				}
			}
			b.Do("theme")
		}
		b.Size = ink.Point{X: 1280, Y: 720}
		b.Wait(1.0 / 60)
	}
	made(b)
	b.Wait(2)
	look()
	b.Do(idGo)
	b.Wait(0.5)
	b.Until("the end", func() bool { return s.step().ID == "heard" })
	look()
	b.Do(idAgain)
	look()
	takeAll(b)
	look()
	b.Do(idNext)
	look()
	b.Do(idNext)
	look()
}

// TestTryOwnVoice: at the end, and not before, a first visit offers one's own voice, where
// there is a microphone and none is kept.
func TestTryOwnVoice(t *testing.T) {
	with := func(sh kit.Shell) []kit.Scene {
		g := gain.New(sh)
		return append(scenetest.Amid(g), scenetest.Other{Label: "Your voice", Tab: kit.IDTabVoice}, New(sh, g))
	}
	open := func(h kit.Host) *scenetest.Driver {
		b := scenetest.Drive(t, scenetest.Build(t, h, with))
		b.Do(kit.IDTabFirst)
		b.Wait(1.2)
		of(b).to(99)
		b.Wait(.1)
		return b
	}
	h := scenetest.NewVocal(nil)
	b := open(h)
	for i := range of(b).steps {
		of(b).to(i)
		b.Wait(.05)
		if last := i == len(of(b).steps)-1; last != b.Has(idVoice) {
			t.Errorf("step %s: offered %v", of(b).step().ID, !last)
		}
	}
	b.Do(idVoice)
	if id := b.P.Scene().ID(); id != kit.IDTabVoice {
		t.Errorf("it leads to %s", id)
	}
	h.Archive["own.Ines"] = []byte("kept")
	if open(h).Has(idVoice) || open(scenetest.Seen()).Has(idVoice) {
		t.Error("offered to who has one, or without a microphone")
	}
}
