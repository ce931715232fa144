package own_test

import (
	"context"
	"math"
	"slices"
	"testing"

	"gainwright/sim/meter"
	"gainwright/sounds"
	"gainwright/sounds/own"
	"gainwright/sounds/voice"
)

func guest(t testing.TB, p *own.Performance) *own.Guest {
	t.Helper()
	g, err := own.NewGuest(context.Background(), p, nil)
	if err != nil {
		t.Fatal(err)
	}
	return g
}

func give(t testing.TB, g *own.Guest, s voice.Script, seed uint64) *own.Performed {
	t.Helper()
	p, err := g.Perform(context.Background(), s, seed)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

var (
	words  = voice.Event{Text: "So we stood there in the rain, and nobody had thought of bringing the key to the boat."}
	ferry  = voice.Script{words, words, words, {Do: "pause", OverS: 1}, {Do: "laugh"}, words}
	shouts = voice.Script{words, {Text: "Hold the rope!", Effort: voice.Loud}, {Do: "lean", DistanceM: .04, OverS: .5}, words, {Do: "cough"}}
)

// A guest who is the learner talks at the level at which talk was placed (by ITU-T P.56 and the
// pressure of 20 µPa, another reckoning than the performance's), whatever efforts and levels the
// script has, and the peaks of laugh and talk lie as far apart as in the recording.
func TestGuestLevel(t *testing.T) {
	p := spoken(t, .1)
	p.LouderDB = 3
	g := guest(t, p)
	talk := voice.Script{}
	for range 8 {
		e := words
		e.Effort, e.LevelDB = voice.Quiet, -12
		talk = append(talk, e)
	}
	a := meter.NewActiveLevel(own.Rate)
	told := give(t, g, talk, 0)
	a.Write(told.X)
	if got := a.Level() - 20*math.Log10(sounds.RefPressure); math.Abs(got-own.OrdinaryDBSPL-3) > .7 {
		t.Errorf("talk lies at %.2f dB SPL at 1 m, not at %g", got, own.OrdinaryDBSPL+3)
	}
	out := give(t, g, append(talk, voice.Event{Do: "laugh", Effort: voice.Quiet}), 0)
	m := out.Marks[len(out.Marks)-1]
	peak := func(x []float64) (v float64) {
		for _, s := range x {
			v = max(v, math.Abs(s))
		}
		return 20 * math.Log10(v)
	}
	at := int(m.StartS * own.Rate)
	if d := peak(out.X[at:]) - peak(out.X[:at]); m.Kind != "laugh" || math.Abs(d-g.Look.LaughOverTalkDB) > .5 {
		t.Errorf("%s: %.2f dB over talk, in the recording %.2f", m.Kind, d, g.Look.LaughOverTalkDB)
	}
	// The laugh is given to the sample, but for its edges.
	laugh := g.Perf.Part(own.Laugh)
	edge := int(own.SeamS * own.Rate)
	for i := edge; i < len(laugh)-edge; i++ {
		if math.Abs(out.X[at+i]-laugh[i]*g.Look.ScalePa) > 1e-9 {
			t.Fatalf("sample %d of the laugh is %g Pa, recorded %g", i, out.X[at+i], laugh[i]*g.Look.ScalePa)
		}
	}
}

// What is loud begins with the call; the mouth moves where the script says; a cough is left
// out; pauses are the learner's room; nothing steps.
func TestGuestScript(t *testing.T) {
	g := guest(t, spoken(t, .1))
	out := give(t, g, shouts, 3)
	var kinds []string
	for i, m := range out.Marks {
		kinds = append(kinds, m.Kind)
		if m.EndS < m.StartS || i > 0 && m.StartS < out.Marks[i-1].StartS {
			t.Errorf("mark %+v", m)
		}
	}
	if want := []string{"say", "shout", "say", "lean", "say"}; !slices.Equal(kinds, want) {
		t.Errorf("%v, want %v", kinds, want)
	}
	if len(out.Moves) != 1 || out.Moves[0].DistanceM != .04 || out.Moves[0].AtS != out.Marks[3].StartS {
		t.Errorf("moves %+v", out.Moves)
	}
	first := out.Marks[0]
	room := out.X[int(first.EndS*own.Rate)+100 : int(out.Marks[1].StartS*own.Rate)-100]
	if got, want := meter.PowerDB(meter.MeanSquare(room)), g.Look.NoiseDBFS+20*math.Log10(g.Look.ScalePa); math.Abs(got-want) > 1 {
		t.Errorf("in a pause there are %.1f dB, the room has %.1f", got, want)
	}
	most := func(x []float64) (d float64) {
		for i := 1; i < len(x); i++ {
			d = max(d, math.Abs(x[i]-x[i-1]))
		}
		return d
	}
	all := make([]float64, len(g.Perf.Samples))
	for i, v := range g.Perf.Samples {
		all[i] = float64(v) * g.Look.ScalePa
	}
	if got, in := most(out.X), most(all); got > 1.05*in {
		t.Errorf("a step of %.4f Pa, in the recording %.4f at most", got, in)
	}
	// About as long as somebody says as much.
	if s := first.EndS - first.StartS; s < 3 || s > 12 {
		t.Errorf("18 words take %.1f s", s)
	}
	if a, b := give(t, g, ferry, 3), give(t, g, ferry, 3); !slices.Equal(a.X, b.X) {
		t.Error("the same script and seed, and something else")
	}
	if a, b := give(t, g, ferry, 3), give(t, g, ferry, 4); slices.Equal(a.X, b.X) {
		t.Error("another seed says the same")
	}
}

// What a voice does not have is refused or left out; a performance without pauses and without
// a room can be given, too; a script ends in time.
func TestGuestLacks(t *testing.T) {
	whole := spoken(t, .1)
	p := new(own.Performance)
	*p = *whole
	p.Parts[own.Laugh] = own.Span{}
	if _, err := guest(t, p).Perform(context.Background(), ferry, 1); err != own.ErrNoOwnLaugh {
		t.Errorf("laughs without a laugh: %v", err)
	}
	if err := guest(t, p).Fits(voice.Script{{Text: "Yes.", Talker: "ilse"}}); err != own.ErrOthers {
		t.Errorf("two talk: %v", err)
	}
	*p = *whole
	p.Parts[own.Hey], p.Parts[own.Quiet], p.Parts[own.Talk] = own.Span{}, own.Span{}, own.Span{}
	out := give(t, guest(t, p), shouts, 9)
	if slices.ContainsFunc(out.Marks, func(m voice.Mark) bool { return m.Kind == "shout" }) {
		t.Error("a call that was not recorded")
	}
	var long voice.Script
	for range 60 {
		long = append(long, words)
	}
	if n := len(give(t, guest(t, p), long, 1).X); n != own.MostPerformedS*own.Rate {
		t.Errorf("%d samples", n)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := guest(t, p).Perform(ctx, long, 1); err == nil {
		t.Error("nothing stops it")
	}
}

// The checksum is of what is heard: one sample, a part, the level; not of the name.
func TestGuestSum(t *testing.T) {
	base := spoken(t, .1)
	look := look(t, base)
	sum := func(p *own.Performance) string {
		g, err := own.NewGuest(context.Background(), p, look)
		if err != nil {
			t.Fatal(err)
		}
		return g.Sum
	}
	was := sum(base)
	if len(was) != 64 {
		t.Errorf("%q is no SHA-256", was)
	}
	for name, c := range map[string]struct {
		do   func(p *own.Performance)
		same bool
	}{
		"name":     {func(p *own.Performance) { p.Name = "Another" }, true},
		"browser":  {func(p *own.Performance) { p.Told.Gain = "on" }, true},
		"sample":   {func(p *own.Performance) { p.Samples[9000] += 1. / (1 << 23) }, false},
		"part":     {func(p *own.Performance) { p.Parts[own.Laugh].To-- }, false},
		"louder":   {func(p *own.Performance) { p.LouderDB = 1 }, false},
		"measured": {func(p *own.Performance) { p.MeasuredDBSPL = 61 }, false},
	} {
		p := new(own.Performance)
		*p = *base
		p.Samples = slices.Clone(base.Samples)
		c.do(p)
		b, err := p.Pack()
		if err != nil {
			t.Fatal(err)
		}
		if p, err = own.Unpack("x", b); err != nil {
			t.Fatal(err)
		}
		if got := sum(p); (got == was) != c.same {
			t.Errorf("%s: %s and %s", name, got[:12], was[:12])
		}
	}
}

// Whatever stands in a script, what is given is sound, ends in time, and tells of itself in order.
func FuzzGuest(f *testing.F) {
	g := guest(f, spoken(f, .1))
	f.Add([]byte{0, 3, 1, 9, 2, 40, 3, 7, 0, 200}, uint64(1))
	f.Add([]byte{1, 0, 1, 0, 4, 0, 5, 255, 0, 255, 0, 255}, uint64(1)<<63)
	f.Fuzz(func(t *testing.T, what []byte, seed uint64) {
		var s voice.Script
		for i := 0; i+1 < min(len(what), 80); i += 2 {
			n := what[i+1]
			e := []voice.Event{{Do: "laugh"}, {Do: "cough"}, {Do: "pause", OverS: float64(n)}, {Do: "lean", DistanceM: .1, OverS: 1}, words, {AtS: voice.Seconds(float64(n) / 2), Text: "No.", Effort: voice.At(float64(n) / 255)}}[what[i]%6]
			s = append(s, e)
		}
		out, err := g.Perform(context.Background(), s, seed)
		if err != nil {
			t.Fatal(err)
		}
		if len(out.X) > own.MostPerformedS*own.Rate {
			t.Fatalf("%d samples", len(out.X))
		}
		for i, v := range out.X {
			if math.IsNaN(v) || math.Abs(v) > 8*g.Look.ScalePa {
				t.Fatalf("sample %d is %g Pa", i, v)
			}
		}
		last := 0.0
		for _, m := range out.Marks {
			if m.StartS < last || m.EndS < m.StartS && m.Kind != "lean" || m.EndS > own.MostPerformedS {
				t.Fatalf("marks %+v", out.Marks)
			}
			last = m.StartS
		}
	})
}
