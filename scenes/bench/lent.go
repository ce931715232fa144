package bench

import (
	"fmt"
	"math"

	"gainwright/sim/plan"
	"gainwright/sounds"
	"gainwright/sounds/own"
)

// Recording is a sound file brought along, or a learner's own voice: mono at Rate, full scale = 1.
type Recording struct {
	Name    string
	Samples []float32
	LevelDB float64 // dB SPL at 1 m of its loudest second
	scale   float64
	pos     int
	lent    *own.Performer // of a learner's own voice
	seen    plan.Heard     // which is a sound check in itself
}

// OwnRecording is a learner's own voice: r is what it tells. Its laugh and its call come
// when the bench is asked for a laugh or for louder talk.
func OwnRecording(p *own.Performance, r *own.Reading) (*Recording, error) {
	f, err := own.NewPerformer(p, r)
	if err != nil {
		return nil, err
	}
	loud, err := p.LoudestDBSPL(r)
	if err != nil {
		return nil, err
	}
	return &Recording{Name: p.Name + " (you)", Samples: p.Samples, LevelDB: loud, scale: r.ScalePa, lent: f, seen: r.Heard()}, nil
}

// place gives it its level.
func (r *Recording) place(loud *sounds.LoudestSecond) error {
	if r == nil || r.lent != nil {
		return nil
	}
	scale, err := loud.Scale(r.LevelDB)
	if err != nil {
		return fmt.Errorf("%s: %w", r.Name, err)
	}
	r.scale, r.pos = scale, 0
	return nil
}

// raise changes its level.
func (r *Recording) raise(db float64) {
	r.scale *= math.Pow(10, (db-r.LevelDB)/20)
	r.LevelDB = db
}

// loudest looks for its loudest second.
func (r *Recording) loudest() *sounds.LoudestSecond {
	loud := sounds.NewLoudestSecond(Rate)
	var block [4096]float64
	for at := 0; r != nil && r.lent == nil && at < len(r.Samples); at += len(block) {
		n := min(len(block), len(r.Samples)-at)
		for i, v := range r.Samples[at : at+n] {
			block[i] = float64(v)
		}
		loud.Add(block[:n])
	}
	return loud
}

// Can tells whether it can be asked for an event.
func (r *Recording) Can(event string) bool { return r != nil && r.lent != nil && r.lent.Can(event) }

// Own tells whether it is a learner's own voice.
func (r *Recording) Own() bool { return r != nil && r.lent != nil }

// ask asks for an event.
func (r *Recording) ask(event string) error {
	if r.lent == nil {
		return fmt.Errorf("a recording cannot be asked to %s", event)
	}
	return r.lent.Ask(event)
}

// read makes the next samples, Pa at 1 m, over and over.
func (r *Recording) read(dst []float64) {
	if r.lent != nil {
		r.lent.Read(dst)
		return
	}
	for i := range dst {
		if r.pos >= len(r.Samples) {
			r.pos = 0
		}
		dst[i] = float64(r.Samples[r.pos]) * r.scale
		r.pos++
	}
}
