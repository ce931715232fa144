package scenetest

import (
	"math"
	"testing"

	"gainwright/sounds/own"
	"gainwright/sounds/voice"
)

// OwnVoice is a performance of one's own, named Ines, by one of the program's talkers, whose laugh counts.
func OwnVoice(t testing.TB) *own.Performance {
	t.Helper()
	p := &own.Performance{Name: "Ines"}
	part := func(k own.Part, e ...voice.Event) {
		v, err := voice.New(e, "maren", 7)
		if err != nil {
			t.Fatal(err)
		}
		x := make([]float64, 20*own.Rate)
		n, err := v.Read(x)
		if n == 0 {
			t.Fatal(err)
		}
		from := len(p.Samples)
		for i, s := range x[:n] {
			p.Samples = append(p.Samples, float32(.03*s+1e-5*math.Sin(float64(i*i%9973))))
		}
		p.Parts[k] = own.Span{From: from, To: len(p.Samples)}
	}
	say := func(s string) voice.Event { return voice.Event{Do: "say", Text: s} }
	part(own.Talk, say("The ferry crosses the river every half hour."))
	part(own.Read, say("In the old days a bell rang at each side."), say("We carried letters, sheep and once a piano."))
	part(own.Laugh, voice.Event{Do: "laugh"})
	p.Settle()
	return p
}

// KeepsOwn is a host in whose archive that voice is kept, and the voice.
func KeepsOwn(t testing.TB) (*Vocal, *own.Performance) {
	t.Helper()
	p := OwnVoice(t)
	data, err := p.Pack()
	if err != nil {
		t.Fatal(err)
	}
	h := NewVocal(nil)
	h.Archive["own."+p.Name] = data
	return h, p
}
