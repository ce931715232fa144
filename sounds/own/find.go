package own

import (
	"errors"

	"gainwright/sim/plan/hear"
)

// ErrNoLaugh is for a recording in which no laugh is found.
var ErrNoLaugh = errors.New("talk is found in it, but no laugh; a laugh is what this is about")

// FromRecording makes a performance of a recording of somebody who talks and then laughs,
// x, one channel at Rate: its talk is found, and the loudest laugh. It has no quiet part
// and no sentence said twice, so what shaped it on its way is not looked for.
func FromRecording(name string, x []float64) (*Performance, error) {
	x = x[:min(len(x), MostSeconds*Rate)]
	f, err := hear.Check(x, Rate)
	if err != nil {
		return nil, err
	}
	if len(f.Laughs) == 0 {
		return nil, ErrNoLaugh
	}
	laugh := f.Laughs[0]
	for _, l := range f.Laughs {
		if l.PeakDBFS > laugh.PeakDBFS {
			laugh = l
		}
	}
	p := &Performance{Name: name}
	add := func(l hear.Part) {
		a, b := max(0, int((l.FromS-.1)*Rate)), min(len(x), int((l.ToS+.15)*Rate))
		for i := a; i < b; i++ {
			// Pieces are joined in silence.
			fade := min(1, float64(min(i-a, b-1-i))/(.01*Rate))
			p.Samples = append(p.Samples, float32(x[i]*fade))
		}
	}
	for _, u := range f.Talk {
		add(u)
	}
	p.Parts[Read] = Span{0, len(p.Samples)}
	add(laugh)
	p.Parts[Laugh] = Span{p.Parts[Read].To, len(p.Samples)}
	p.Settle()
	return p, p.Validate()
}
