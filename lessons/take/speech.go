package take

import (
	"context"

	"gainwright/sim"
	"gainwright/sounds/voice"
)

// A Speech is a take before any strip: what a live bench performs while the student
// watches. It is shared: read it only.
type Speech struct {
	X     []float64  // pressure at 1 m, Pa, 48 kHz
	Moves []sim.Move // of the mouth
	Marks []voice.Mark
	Seed  uint64 // of the strips' noise
}

// Speech makes what the take is given: the samples that Record runs through the strips.
func (b *Bench) Speech(ctx context.Context, p *Performed) (*Speech, error) {
	s, err := b.perform(ctx, p)
	if err != nil {
		return nil, err
	}
	if p.OwnSum != "" {
		return &Speech{X: s.x, Moves: s.moves, Marks: s.marks, Seed: p.Seed}, nil
	}
	v, err := voice.New(p.Script, p.Talker, p.Seed)
	if err != nil {
		return nil, err
	}
	return &Speech{X: s.x, Moves: s.moves, Marks: v.Marks(), Seed: p.Seed}, nil
}
