package lessons

import (
	"context"
	"errors"
	"slices"

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

func (b *Bench) speech(ctx context.Context, p *Performed) (*Speech, error) {
	s, err := b.perform(ctx, p)
	if err != nil {
		return nil, err
	}
	v, err := voice.New(p.Script, p.Talker, p.Seed)
	if err != nil {
		return nil, err
	}
	return &Speech{X: s.x, Moves: s.moves, Marks: v.Marks(), Seed: p.Seed}, nil
}

// Speech makes what the present step's take will have been given: the same samples
// that Record then runs through the strips.
func (r *Runner) Speech(ctx context.Context) (*Speech, error) {
	s := r.step()
	if s == nil || !s.IsTake() {
		return nil, errors.New("nothing is recorded in this step")
	}
	return r.bench.speech(ctx, r.performed(s, slices.Clone(r.s.Strips), nil))
}

// Speech makes what the guest says in the sound check, or in the conversation.
func (p *Practice) Speech(ctx context.Context, talk bool) (*Speech, error) {
	script := p.check
	if talk {
		script = p.talk
	}
	return p.bench.speech(ctx, p.performed(script, nil))
}
