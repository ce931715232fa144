package take

import (
	"context"
	"fmt"

	"gainwright/sim"
	"gainwright/sounds/scenario"
	"gainwright/sounds/voice"
)

// StillMS is how much of the loudest moment a Still keeps, ms.
const StillMS = 12

// A Still is what a picture of the bench shows: one strip, as it stands or with the take
// that ran through it.
type Still struct {
	Strip  string
	Chain  sim.Chain // as the take left it
	Take   bool      // else nothing has happened yet, and what follows is zero
	Levels [sim.NumStations]sim.StationLevel
	// Loudest is the largest of the talker's own wave, full scale of the converter = 1.
	Loudest float64

	// The moment around it, StillMS long, the converter's full scale = 1. Where it lies
	// before the take's beginning its samples are 0.
	AtS     float64 // where it begins, seconds of the take; negative before the beginning
	Rate    int     // Hz
	Ceiling float64
	True    []float64 // the talker's own wave
	Demand  []float64 // what the converter was asked for
	Conv    []float64 // what it gave
	File    []float64 // what the file holds
}

// Bare is a strip on which nothing has happened yet.
func Bare(st scenario.Strip) *Still { return &Still{Strip: st.Name, Chain: st.Chain} }

// Still runs the take through one strip and keeps what a picture shows.
func (b *Bench) Still(ctx context.Context, p *Performed, strip string) (*Still, error) {
	for _, st := range p.Strips {
		if st.Name == strip {
			s := &Still{Strip: strip, Take: true, Rate: voice.Rate}
			_, err := b.run(ctx, p, st, own(p.Changes, strip, p.Strips), &kept{still: s}, nil)
			return s, err
		}
	}
	return nil, fmt.Errorf("there is no strip %s", strip)
}

// kept is what a run keeps of a take.
type kept struct {
	file  []float32
	truth []float32 // had nothing been cut off; kept if both is set
	both  bool
	still *Still

	ring [4][]float64 // the last samples of each wave
	at   int          // where the next one goes: the oldest lies there
	n    int64        // samples seen
	wait int          // until the ring is copied out, 0 if it need not be
}

// write adds a block.
func (k *kept) write(t *sim.Taps) {
	if k.still == nil {
		for _, v := range t.Wave[sim.AtFile] {
			k.file = append(k.file, float32(v))
		}
		for _, v := range t.True {
			if k.both {
				k.truth = append(k.truth, float32(v))
			}
		}
		return
	}
	if k.ring[0] == nil {
		for i := range k.ring {
			k.ring[i] = make([]float64, k.still.Rate*StillMS/1000)
		}
	}
	s := k.still
	s.Ceiling = t.Ceiling
	conv, file := t.Wave[sim.AtConverter], t.Wave[sim.AtFile]
	for i, v := range t.True {
		for w, x := range [4]float64{v, t.Demand[i], conv[i], file[i]} {
			k.ring[w][k.at] = x
		}
		k.at = (k.at + 1) % len(k.ring[0])
		k.n++
		if v = max(v, -v); v > s.Loudest {
			s.Loudest, k.wait = v, len(k.ring[0])/2
		} else if k.wait > 0 {
			if k.wait--; k.wait == 0 {
				k.copyOut()
			}
		}
	}
}

// copyOut takes the last samples as the moment.
func (k *kept) copyOut() {
	s := k.still
	s.AtS = float64(k.n-int64(len(k.ring[0]))) / float64(s.Rate)
	for i, dst := range []*[]float64{&s.True, &s.Demand, &s.Conv, &s.File} {
		*dst = append(append((*dst)[:0], k.ring[i][k.at:]...), k.ring[i][:k.at]...)
	}
}

// end takes over what is known at the end of the take.
func (k *kept) end(ro *sim.Readout, last sim.Chain) {
	if k == nil || k.still == nil {
		return
	}
	if k.wait > 0 || k.still.True == nil && k.ring[0] != nil {
		k.copyOut()
	}
	k.still.Chain, k.still.Levels = last, ro.Levels()
}
