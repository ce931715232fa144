package bench

import (
	"math"
	"testing"

	"gainwright/sounds/own"
	"gainwright/sounds/voice"
)

// A learner's own voice is a guest who was checked: what is heard of it is what it tells,
// and when it is asked to laugh the strip gets the laugh.
func TestOwnVoice(t *testing.T) {
	p := &own.Performance{Name: "Ines"}
	part := func(k own.Part, e voice.Event) {
		v, err := voice.New(voice.Script{e}, "maren", 5)
		if err != nil {
			t.Fatal(err)
		}
		x := make([]float64, 20*Rate)
		n, _ := v.Read(x)
		p.Parts[k] = own.Span{From: len(p.Samples), To: len(p.Samples) + n}
		for _, s := range x[:n] {
			p.Samples = append(p.Samples, float32(.1*s))
		}
	}
	part(own.Read, voice.Event{Do: "say", Text: "The ferry crosses the river every half hour. A bell rang at each side."})
	part(own.Laugh, voice.Event{Do: "laugh"})
	r, err := p.Look()
	if err != nil {
		t.Fatal(err)
	}
	s := newSession(t)
	if err := s.PerformOwn(p, r); err != nil {
		t.Fatal(err)
	}
	s.Run(Rate)
	if check, takes := s.Heard(); check != r.Heard() || takes.Any() {
		t.Errorf("heard %+v and %+v, told %+v", check, takes, r.Heard())
	}
	// Peaks of what was spoken, dB SPL at 1 m.
	peak := func(laugh bool) float64 {
		if err := s.Record(false); err != nil {
			t.Fatal(err)
		}
		if laugh {
			if err := s.Trigger("laugh"); err != nil {
				t.Fatal(err)
			}
		}
		s.Run(9 * Rate)
		s.Stop()
		s.Run(4800)
		top := float32(0)
		for _, v := range s.Take().Spoken {
			top = max(top, v, -v)
		}
		return 20 * math.Log10(float64(top)/20e-6)
	}
	h := r.Heard()
	if got := peak(false); math.Abs(got-h.HeldDB) > .1 {
		t.Errorf("talk peaks at %.1f dB, told as %.1f", got, h.HeldDB)
	}
	if got := peak(true); math.Abs(got-h.LaughPeakDB) > .1 {
		t.Errorf("the laugh peaks at %.1f dB, told as %.1f", got, h.LaughPeakDB)
	}
	if err := s.Trigger("cough"); err == nil {
		t.Error("it coughs")
	}
	if own, can := s.Lent("laugh"); !own || !can {
		t.Error("it cannot laugh")
	}
}
