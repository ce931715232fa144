package own_test

import (
	"bytes"
	"errors"
	"math"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"gainwright/sim/plan"
	"gainwright/sim/plan/hear"
	"gainwright/sim/processing"
	"gainwright/sounds"
	"gainwright/sounds/own"
	"gainwright/sounds/voice"
)

// spoken is a performance by one of the program's talkers, as a microphone would bring it: pressure at 1 m
// times scale, over a little noise.
func spoken(t testing.TB, scale float64) *own.Performance {
	t.Helper()
	p := &own.Performance{Name: "Ines"}
	say := func(e ...voice.Event) {
		v, err := voice.New(e, "maren", 7)
		if err != nil {
			t.Fatal(err)
		}
		x := make([]float64, 30*own.Rate)
		n, err := v.Read(x)
		if n == 0 {
			t.Fatal(err)
		}
		for _, s := range x[:n] {
			p.Samples = append(p.Samples, float32(scale*s))
		}
	}
	part := func(k own.Part, e ...voice.Event) {
		from := len(p.Samples)
		say(e...)
		p.Parts[k] = own.Span{From: from, To: len(p.Samples)}
	}
	from := len(p.Samples)
	p.Samples = append(p.Samples, make([]float32, 2*own.Rate)...)
	p.Parts[own.Quiet] = own.Span{From: from, To: len(p.Samples)}
	line := voice.Event{Do: "say", Text: "The ferry crosses the river every half hour."}
	part(own.Talk, line)
	part(own.Again, line)
	part(own.Read, line, voice.Event{Do: "say", Text: "In the old days a bell rang at each side."}, voice.Event{Do: "say", Text: "We carried letters, sheep and once a piano."})
	part(own.Laugh, voice.Event{Do: "laugh"})
	part(own.Hey, voice.Event{Do: "say", Text: "Hey!", Effort: voice.At(1)})
	state := uint32(1)
	for i := range p.Samples {
		state = state*1664525 + 1013904223
		p.Samples[i] += float32((float64(state)/(1<<32) - .5) * 2e-4)
	}
	p.Settle()
	return p
}

func look(t *testing.T, p *own.Performance) *own.Reading {
	t.Helper()
	if err := p.Validate(); err != nil {
		t.Fatal(err)
	}
	r, err := p.Look()
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// Talk lies where it is placed, whatever the microphone's gain was, and the distance
// to the laugh needs no anchor.
func TestPlaced(t *testing.T) {
	a, b := look(t, spoken(t, .2)), look(t, spoken(t, .05))
	if d := a.TalkDBFS - b.TalkDBFS; math.Abs(d-20*math.Log10(4)) > .05 {
		t.Errorf("a quarter of the gain reads %.2f dB less", d)
	}
	for _, r := range []*own.Reading{a, b} {
		if got := r.TalkDBFS + 20*math.Log10(r.ScalePa/sounds.RefPressure); math.Abs(got-own.OrdinaryDBSPL) > 1e-9 || r.Placed {
			t.Errorf("talk lies at %.2f dB SPL", got)
		}
	}
	if math.Abs(a.LaughOverTalkDB-b.LaughOverTalkDB) > .05 || a.LaughOverTalkDB < 3 {
		t.Errorf("laugh over talk: %.2f and %.2f dB", a.LaughOverTalkDB, b.LaughOverTalkDB)
	}
	p := spoken(t, .1)
	p.LouderDB = -4
	if r := look(t, p); r.TalkDBSPL != 56 {
		t.Errorf("4 dB quieter than most: %g", r.TalkDBSPL)
	}
	p.MeasuredDBSPL = 63
	if r := look(t, p); r.TalkDBSPL != 63 || !r.Placed {
		t.Errorf("measured: %g", r.TalkDBSPL)
	}
}

// What is told to the planner is what it would find in a recording of the same: a check.
func TestHeardAsACheck(t *testing.T) {
	p := spoken(t, .1)
	r := look(t, p)
	h := r.Heard()
	var x []float64
	for k := own.Talk; k <= own.Laugh; k++ {
		x = append(x, p.Part(k)...)
	}
	f, err := hear.Check(x, own.Rate)
	if err != nil || len(f.Laughs) == 0 {
		t.Fatalf("%v, %d laughs", err, len(f.Laughs))
	}
	to := 20 * math.Log10(r.ScalePa/sounds.RefPressure)
	c := plan.Heard{HeldDB: math.Inf(-1), Laughs: 1, Utterances: len(f.Talk)}
	for _, u := range f.Talk {
		c.HeldDB = max(c.HeldDB, u.PeakDBFS+to)
		c.LevelDB += (u.LevelDBFS + to) / float64(len(f.Talk))
	}
	c.LaughPeakDB = f.Laughs[0].PeakDBFS + to
	var conv plan.Conversation
	conv.Model = plan.Default()
	one, other := conv.Learn(h), conv.Learn(c)
	t.Logf("as a performance %+v, as a check %+v", one, other)
	if math.Abs(one.TalkDB-other.TalkDB) > .5 || math.Abs(one.LaughDB-other.LaughDB) > .5 {
		t.Errorf("the performance tells %+v, a check of the same %+v", one, other)
	}
	if one.TalkDB == conv.Model.Prior().TalkDB || one.LaughDB == conv.Model.Prior().LaughDB {
		t.Error("it tells nothing")
	}
}

func TestPack(t *testing.T) {
	p := spoken(t, .1)
	p.Told = own.Told{Echo: "off", Gain: "on"}
	p.LouderDB, p.MeasuredDBSPL = 2, 61.5
	b, err := p.Pack()
	if err != nil {
		t.Fatal(err)
	}
	q, err := own.Unpack("x", b)
	if err != nil {
		t.Fatal(err)
	}
	if q.Name != p.Name || q.Parts != p.Parts || q.Told != p.Told || q.LouderDB != 2 || q.MeasuredDBSPL != 61.5 || !slices.Equal(q.Samples, p.Samples) {
		t.Error("what comes back is something else")
	}
	// It is a WAV file to others.
	path := filepath.Join(t.TempDir(), "me.wav")
	if err := os.WriteFile(path, b, 0o644); err != nil {
		t.Fatal(err)
	}
	f, err := sounds.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if i := f.Info(); i.Rate != own.Rate || i.Channels != 1 || i.Frames != int64(len(p.Samples)) {
		t.Errorf("%+v", i)
	}
	if _, err := own.Unpack("x", b[:len(b)/2]); !errors.Is(err, own.ErrPlain) {
		t.Errorf("half of it: %v", err)
	}
}

func TestFaults(t *testing.T) {
	for name, spoil := range map[string]func(p *own.Performance){
		"no name":     func(p *own.Performance) { p.Name = "" },
		"overlapping": func(p *own.Performance) { p.Parts[own.Talk].From = 0 },
		"beyond":      func(p *own.Performance) { p.Parts[own.Hey].To = len(p.Samples) + 1 },
		"no talk":     func(p *own.Performance) { p.Parts[own.Talk], p.Parts[own.Read] = own.Span{}, own.Span{} },
		"no sound":    func(p *own.Performance) { p.Samples[9] = float32(math.NaN()) },
		"slider":      func(p *own.Performance) { p.LouderDB = 11 },
		"level":       func(p *own.Performance) { p.MeasuredDBSPL = 150 },
	} {
		p := spoken(t, .1)
		spoil(p)
		if p.Validate() == nil {
			t.Errorf("%s is no fault", name)
		}
		if _, err := p.Pack(); err == nil {
			t.Errorf("%s is packed", name)
		}
	}
	p := spoken(t, .1)
	clear(p.Samples)
	if _, err := p.Look(); err == nil {
		t.Error("silence talks")
	}
}

func FuzzUnpack(f *testing.F) {
	p := &own.Performance{Name: "x", Samples: make([]float32, 4800)}
	p.Parts[own.Talk] = own.Span{From: 0, To: 4000}
	b, err := p.Pack()
	if err != nil {
		f.Fatal(err)
	}
	f.Add(b)
	f.Add(bytes.Replace(b, []byte("4000"), []byte("9999"), 1))
	f.Add([]byte("RIFF\x04\x00\x00\x00WAVE"))
	f.Fuzz(func(t *testing.T, b []byte) {
		p, err := own.Unpack("f", b)
		if err != nil {
			return
		}
		if err := p.Validate(); err != nil {
			t.Fatalf("unpacked and not valid: %v", err)
		}
		if again, err := p.Pack(); err != nil {
			t.Fatal(err)
		} else if q, err := own.Unpack("f", again); err != nil || q.Parts != p.Parts {
			t.Fatalf("%v", err)
		}
	})
}

// What a browser or a headset does to a voice is told; what it leaves alone is called good.
func TestCard(t *testing.T) {
	for name, c := range map[string]struct {
		do   func(x []float32)
		want processing.Kind
	}{
		"untouched": {func([]float32) {}, ""},
		"cut tops": {func(x []float32) {
			for i, v := range x {
				x[i] = max(-.1, min(.1, v))
			}
		}, processing.Clipped},
		"shut between words": {func(x []float32) {
			open := 0
			for i, v := range x {
				if v > .002 || v < -.002 {
					open = own.Rate / 20
				}
				if open--; open < 0 {
					x[i] = 0
				}
			}
		}, processing.Gated},
		"no treble": {func(x []float32) {
			for range 16 {
				last := float32(0)
				for i, v := range x {
					last += (v - last) * .45
					x[i] = last
				}
			}
		}, processing.BandLimits},
	} {
		p := spoken(t, .3)
		c.do(p.Samples)
		card, err := p.Card()
		if err != nil {
			t.Fatal(name, err)
		}
		kinds := map[processing.Kind]bool{}
		for _, f := range card.Findings {
			kinds[f.Kind] = true
		}
		if c.want == "" && !card.Clean() || c.want != "" && !kinds[c.want] {
			t.Errorf("%s: %+v", name, card.Findings)
		}
	}
}
