package take

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"gainwright/lessons/model"
	"gainwright/lessons/names"
	"gainwright/sim"
	"gainwright/sounds/scenario"
	"gainwright/sounds/voice"
)

// own are the changes that concern a strip.
func own(changes []model.Change, strip string, all []scenario.Strip) []model.Change {
	var out []model.Change
	for _, c := range changes {
		head, rest, ok := strings.Cut(c.Key, ".")
		if ok && slices.ContainsFunc(all, func(s scenario.Strip) bool { return s.Name == head }) {
			if head == strip {
				out = append(out, model.Change{AtS: c.AtS, Key: rest, Value: c.Value})
			}
			continue
		}
		out = append(out, c)
	}
	return out
}

// A Wave is a strip's file, to be heard and drawn.
type Wave struct {
	Name     string
	Rate     int       // Hz
	File     []float32 // full scale = 1; of Spoken, pascal at 1 m
	Overs    []sim.Span
	Measured names.Measured // nil for Spoken
	// GainDB brings the wave to the loudness of the others, or is 0.
	GainDB float64
	// Caution is what to say before it is played, "" if nothing.
	Caution string
}

// Listen runs the take through one strip and keeps its file.
func (b *Bench) Listen(ctx context.Context, p *Performed, strip string) (*Wave, error) {
	if strip == model.Spoken {
		s, err := b.perform(ctx, p)
		if err != nil {
			return nil, err
		}
		w := &Wave{Name: model.Spoken, Rate: voice.Rate, File: make([]float32, len(s.x))}
		for i, v := range s.x {
			w.File[i] = float32(v)
		}
		return w, nil
	}
	for _, st := range p.Strips {
		if st.Name == strip {
			return b.run(ctx, p, st, own(p.Changes, strip, p.Strips), &kept{}, nil)
		}
	}
	return nil, fmt.Errorf("there is no strip %s", strip)
}

func (b *Bench) run(ctx context.Context, p *Performed, st scenario.Strip, changes []model.Change, keep *kept, progress func(float64)) (*Wave, error) {
	s, err := b.perform(ctx, p)
	if err != nil {
		return nil, err
	}
	strip, err := sim.NewStrip(voice.Rate, st.Chain, p.Seed)
	if err != nil {
		return nil, fmt.Errorf("strip %s: %w", st.Name, err)
	}
	ro, err := sim.NewReadout(voice.Rate)
	if err != nil {
		return nil, err
	}
	w := &Wave{Name: st.Name, Rate: voice.Rate}
	if keep != nil && keep.still == nil {
		keep.file = make([]float32, 0, len(s.x))
	}
	o := sim.RunOptions{
		Moves: s.moves,
		Sink: func(_ int, t *sim.Taps) error {
			ro.Write(t)
			if keep != nil {
				keep.write(t)
			}
			return nil
		},
		Progress: func(frames int64) {
			if progress != nil {
				progress(float64(frames) / float64(len(s.x)+1))
			}
			if b.Yield != nil {
				b.Yield()
			}
		},
	}
	var last *sim.Chain
	if len(changes) > 0 {
		// The engine's own moves would put the settings back; the steps stay, as
		// whoever performs a take live does not know yet what will be changed.
		r := &ridden{strip: strip, chain: st.Chain, start: st.Chain.DistanceM, moves: s.moves, changes: changes}
		o.Turn, o.Step, o.Moves, last = r.turn, sim.StepFrames(voice.Rate, s.moves), nil, &r.chain
	}
	if _, err := sim.Run(ctx, &sim.Samples{X: s.x}, []*sim.Strip{strip}, o); err != nil {
		return nil, err
	}
	if last == nil {
		last = &st.Chain
	}
	ro.Settings(*last)
	if keep.end(ro, *last); keep != nil {
		w.File = keep.file
	}
	w.Measured = names.Measure(ro.Readings())
	w.Overs = ro.Overs()
	return w, nil
}

// ridden turns settings when their time comes.
type ridden struct {
	strip   *sim.Strip
	chain   sim.Chain
	start   float64 // distance at the beginning, m
	moves   []sim.Move
	changes []model.Change
}

func (r *ridden) turn(frame int64) error {
	t := float64(frame) / float64(r.strip.Rate())
	next := r.chain
	for len(r.changes) > 0 && r.changes[0].AtS <= t {
		c := r.changes[0]
		r.changes = r.changes[1:]
		// The scenario's own reader sets and checks the value.
		s := scenario.New()
		s.Strips[0].Chain = next
		if err := names.Put(s, s.Strips[0].Name+"."+c.Key, c.Value); err != nil {
			return err
		}
		next = s.Strips[0].Chain
		if c.Key == "distance_m" {
			r.start = next.DistanceM
			r.moves = nil
		}
	}
	next.DistanceM = sim.DistanceAt(r.moves, r.start, t)
	if next != r.chain {
		if err := r.strip.Apply(next); err != nil {
			return err
		}
		r.chain = next
	}
	return nil
}

// EarCaution is told before the first listening of every lesson.
const EarCaution = "Start with the volume low and raise it until quiet talk is comfortable. How loud it gets at your ear no program can know. " +
	"The US institute for occupational safety and health (NIOSH 98-126) recommends at most 85 dB(A) over eight hours, half the time for every 3 dB more; " +
	"follow your local rules, and ask a qualified person if your ears ring or ache."

// Caution is what to say before a clipped file is played, or "".
func Caution(name string, m names.Measured) string {
	if m["overs"] == 0 && m["rail_overs"] == 0 {
		return ""
	}
	return fmt.Sprintf("%s is clipped: harsh, and louder to the ear than the meter shows. Turn the volume down before you play it.", name)
}
