package bench

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"gainwright/sim/meter"
	"gainwright/sounds"
	"gainwright/sounds/own"
)

// lentPerformance is a performance whose parts are told apart by their pitch: talk and laugh
// of modulated tones over a little room noise, the laugh 14 dB above.
func lentPerformance(t testing.TB, name string, without ...own.Part) *own.Performance {
	t.Helper()
	p := &own.Performance{Name: name}
	state := uint32(7)
	add := func(k own.Part, seconds, hz, amp float64) {
		from := len(p.Samples)
		for i := range int(seconds * own.Rate) {
			s := float64(i) / own.Rate
			state = state*1664525 + 1013904223
			noise := (float64(state)/(1<<32) - .5) * 2e-4
			p.Samples = append(p.Samples, float32(amp*math.Sin(2*math.Pi*hz*s)*(.6+.4*math.Sin(2*math.Pi*4*s))*min(1, 20*s, 20*(seconds-s))+noise))
		}
		p.Parts[k] = own.Span{From: from, To: len(p.Samples)}
		for _, w := range without {
			if w == k {
				p.Parts[k] = own.Span{}
			}
		}
	}
	add(own.Quiet, 1, 0, 0)
	add(own.Talk, 1.5, 210, .05)
	add(own.Again, 1.5, 210, .05)
	add(own.Read, 2.5, 240, .05)
	add(own.Laugh, .8, 520, .25)
	add(own.Hey, .4, 700, .3)
	p.Settle()
	if err := p.Validate(); err != nil {
		t.Fatal(err)
	}
	return p
}

func lentVoice(t testing.TB, name string, without ...own.Part) *Voice {
	t.Helper()
	v, err := NewVoice(lentPerformance(t, name, without...), nil)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func lentSession(t testing.TB, v *Voice) *Session {
	t.Helper()
	s := newSession(t)
	if err := s.PerformVoice(v); err != nil {
		t.Fatal(err)
	}
	return s
}

// find is where in a take the middle of a part is given to the sample, −1 if nowhere.
func (v *Voice) find(spoken []float32, k own.Part) int {
	part := v.Perf.Part(k)
	edge := int(own.SeamS*Rate) + 1
	part = part[edge : len(part)-edge]
	for at := range len(spoken) - len(part) {
		same := true
		for i := 0; i < len(part) && same; i += 1 + i/8 {
			same = math.Abs(float64(spoken[at+i])-part[i]*v.Look.ScalePa) < 1e-7
		}
		if same {
			return at
		}
	}
	return -1
}

// A voice of one's own talks at the level at which talk was placed, by another reckoning
// than the performance's: ITU-T P.56 of what the bench was given, and the pressure of 20 µPa.
func TestLentLevel(t *testing.T) {
	v := lentVoice(t, "Ines")
	s := lentSession(t, v)
	take := record(t, s, false, 6)
	a := meter.NewActiveLevel(Rate)
	x := make([]float64, len(take.Spoken))
	for i, p := range take.Spoken {
		x[i] = float64(p)
	}
	a.Write(x)
	if got := a.Level() - 20*math.Log10(sounds.RefPressure); math.Abs(got-own.OrdinaryDBSPL) > .5 {
		t.Errorf("talk lies at %.2f dB SPL at 1 m, not at %g", got, own.OrdinaryDBSPL)
	}
	if v.find(take.Spoken, own.Read) < 0 || v.find(take.Spoken, own.Talk) < 0 {
		t.Error("the lines or the sentence are not what was recorded")
	}
	if v.find(take.Spoken, own.Laugh) >= 0 || v.find(take.Spoken, own.Hey) >= 0 {
		t.Error("a laugh or a shout that nobody asked for")
	}
	if can, _ := s.Lent(""); !can {
		t.Error("no voice is lent")
	}
}

// What is asked for comes soon, to the sample, and nothing clicks.
func TestLentAsked(t *testing.T) {
	v := lentVoice(t, "Ines")
	s := lentSession(t, v)
	if err := s.Record(false); err != nil {
		t.Fatal(err)
	}
	for _, e := range []string{"laugh", Shout, "laugh", "talk"} {
		s.Run(Rate)
		if err := s.Trigger(e); err != nil {
			t.Fatal(err)
		}
	}
	s.Run(Rate)
	s.Stop()
	s.Run(4800)
	take := s.Take()
	for k, after := range map[own.Part]float64{own.Laugh: 1, own.Hey: 2} {
		at := v.find(take.Spoken, k)
		if d := float64(at)/Rate - after; at < 0 || d < 0 || d > .6 {
			t.Errorf("the %s came %.2f s after it was asked for (at %d)", k, d, at)
		}
	}
	most := func(x []float32, scale float64) (d float64) {
		for i := 1; i < len(x); i++ {
			d = max(d, math.Abs(float64(x[i]-x[i-1]))*scale)
		}
		return d
	}
	if got, in := most(take.Spoken, 1), most(v.Perf.Samples, v.Look.ScalePa); got > 1.2*in {
		t.Errorf("a step of %.4f Pa where the recording has %.4f at most", got, in)
	}
	if n := len(take.Marks); n != 4 || take.Marks[1].Text != "shout" {
		t.Errorf("marks %v", take.Marks)
	}
	for _, e := range []string{"cough", "louder", "sing"} {
		if s.Trigger(e) == nil {
			t.Errorf("it can %s", e)
		}
	}
	if err := lentSession(t, lentVoice(t, "Tom", own.Laugh)).Trigger("laugh"); err == nil {
		t.Error("a laugh that was not recorded")
	}
	if err := newSession(t).Trigger(Shout); err == nil {
		t.Error("a built-in talker shouts")
	}
}

// TestLentRemade: a take of one's own voice can be made again, to the sample, also in
// another visit, as long as the voice is kept as it was; else it says so.
func TestLentRemade(t *testing.T) {
	v := lentVoice(t, "Ines")
	s := lentSession(t, v)
	set := s.Setup()
	set.Surprise = true
	if err := s.SetSetup(set); err != nil {
		t.Fatal(err)
	}
	if err := s.Record(false); err != nil {
		t.Fatal(err)
	}
	s.Run(Rate)
	if err := s.Trigger(Shout); err != nil {
		t.Fatal(err)
	}
	s.Run(14 * Rate)
	s.Stop()
	s.Run(4800)
	first := s.Take()
	if v.find(first.Spoken, own.Laugh) < 0 {
		t.Error("no laugh surprises")
	}
	b, err := json.Marshal(s.Recipes()[0])
	if err != nil {
		t.Fatal(err)
	}
	var r Recipe
	if err := json.Unmarshal(b, &r); err != nil {
		t.Fatal(err)
	}
	later := newSession(t)
	if later.Lacks(&r) != "Ines" {
		t.Errorf("lacks %q", later.Lacks(&r))
	}
	if err := later.Remake(r); err == nil || !strings.Contains(err.Error(), "Ines") {
		t.Errorf("made again without the voice: %v", err)
	}
	other := lentPerformance(t, "Ines")
	other.LouderDB = 3
	if w, err := NewVoice(other, nil); err != nil {
		t.Fatal(err)
	} else if later.Know(w); later.Lacks(&r) == "" || later.Remake(r) == nil {
		t.Error("made again with another performance of that name")
	}
	later.Know(lentVoice(t, "Ines"))
	if err := later.Remake(r); err != nil {
		t.Fatal(err)
	}
	for _, _, ok := later.Remaking(); ok; _, _, ok = later.Remaking() {
		later.Tick()
	}
	sameSpoken(t, first, later.Take())
	later.ForgetVoices([]string{"Tom"})
	if later.Lacks(&r) == "" {
		t.Error("what is deleted is still held")
	}
	s.ForgetVoices(nil)
	if s.Lacks(&r) != "" {
		t.Error("who performs is forgotten")
	}
	r.Perf.Own = ""
	if r.Validate() == nil {
		t.Error("a built-in talker has shouted")
	}
}

func sameSpoken(t *testing.T, a, b *Take) {
	t.Helper()
	if len(a.Spoken) != len(b.Spoken) {
		t.Fatalf("%d and %d samples", len(a.Spoken), len(b.Spoken))
	}
	for i := range a.Spoken {
		if a.Spoken[i] != b.Spoken[i] || a.File[0][i] != b.File[0][i] {
			t.Fatalf("sample %d differs", i)
		}
	}
}

// What is performed over and over tells the planner no more than the performance does, and
// a bench that was lent comes back with the voice.
func TestLentStays(t *testing.T) {
	v := lentVoice(t, "Ines")
	s := lentSession(t, v)
	s.Run(20 * Rate)
	if check, takes := s.Heard(); check != v.Look.Heard() || takes.Any() {
		t.Errorf("heard %+v and %+v", check, takes)
	}
	l := s.Lend()
	if err := s.SetTalker("pip"); err != nil {
		t.Fatal(err)
	}
	if lent, _ := s.Lent(""); lent {
		t.Error("somebody else talks, and the voice is still lent")
	}
	s.Return(l)
	if s.Voice() != v {
		t.Error("the voice did not come back")
	}
	if err := s.SetTalker("captain"); err != nil || s.Voice() != nil {
		t.Errorf("the captain does not talk: %v", err)
	}
}

func TestLentAllocates(t *testing.T) {
	l := newLent(lentVoice(t, "Ines"))
	x := make([]float64, performBlock)
	if n := testing.AllocsPerRun(200, func() { l.read(x) }); n != 0 {
		t.Errorf("%g allocations a block", n)
	}
}
