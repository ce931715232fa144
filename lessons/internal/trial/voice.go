package trial

import (
	"context"
	"testing"

	"gainwright/sounds/own"
	"gainwright/sounds/voice"
)

// Voice is a small performance of somebody's own, as a microphone would bring it: one of
// the program's talkers over a little noise. Parts named in without are not there.
func Voice(t testing.TB, name, talker string, without ...own.Part) *own.Guest {
	t.Helper()
	p := &own.Performance{Name: name}
	part := func(k own.Part, e ...voice.Event) {
		for _, w := range without {
			if w == k {
				return
			}
		}
		v := Must(voice.New(e, talker, 7))
		from := len(p.Samples)
		for _, s := range Must(v.Render(context.Background(), nil)) {
			p.Samples = append(p.Samples, float32(.1*s))
		}
		p.Parts[k] = own.Span{From: from, To: len(p.Samples)}
	}
	say := func(text string) voice.Event { return voice.Event{Do: "say", Text: text} }
	part(own.Quiet, voice.Event{Do: "pause", OverS: 1.2})
	part(own.Talk, say("The ferry crosses the river every half hour."))
	part(own.Again, say("The ferry crosses the river every half hour."))
	part(own.Read, say("In the old days a bell rang at each side."), say("We carried letters, sheep and once a piano."))
	part(own.Laugh, voice.Event{Do: "laugh", Effort: voice.At(.7)})
	part(own.Hey, voice.Event{Do: "say", Text: "Hey!", Effort: voice.Shout})
	state := uint32(1)
	for i := range p.Samples {
		state = state*1664525 + 1013904223
		p.Samples[i] += float32((float64(state)/(1<<32) - .5) * 1e-4)
	}
	p.Settle()
	return Must(own.NewGuest(context.Background(), p, nil))
}
