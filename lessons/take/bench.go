// Package take records the takes of lessons and practice: the performance, the strips it
// runs through, and the files at the gains to listen to them with.
package take

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"io"
	"slices"
	"sync"

	"gainwright/lessons/model"
	"gainwright/lessons/names"
	"gainwright/sim"
	"gainwright/sounds/equipment"
	voices "gainwright/sounds/own"
	"gainwright/sounds/scenario"
	"gainwright/sounds/voice"
)

// A Performed is a take to be recorded: who does what, and the strips.
type Performed struct {
	Talker  string
	Script  voice.Script
	Seed    uint64
	Strips  []scenario.Strip
	Changes []model.Change // in the order of time
	// Knob is that of the user's own recorder, if the strips are it: nil else.
	Knob *equipment.Knob
	// Own is the student's own voice that gives the script in place of the talker, OwnSum its
	// checksum; a take of a voice that is not at hand has the checksum alone, and is not
	// performed.
	Own    *voices.Guest
	OwnSum string
	// Live are readings that are known already, by strip: the take was performed
	// live, in the same steps, and read by the same readout. Record takes them over.
	Live map[string]names.Measured
}

// A Bench records takes. Takes that are alike are recorded once; it is safe for
// several goroutines.
type Bench struct {
	// Yield is called now and then while a take is recorded, so that a browser's
	// only thread can do something else. It may be nil.
	Yield func()

	mu       sync.Mutex
	spoken   map[string]*spoken
	order    []string // of spoken, oldest first
	samples  int
	measured map[string]*result
	mended   map[string]map[string]names.Measured
	twin     *twin
	runs     int
}

// maxSamples bounds the performances that are kept: 160 MB.
const maxSamples = 20 << 20

type spoken struct {
	done  chan struct{}
	x     []float64
	moves []sim.Move
	marks []voice.Mark // of a student's own voice
	err   error
}

type result struct {
	done chan struct{}
	m    names.Measured
	err  error
}

// NewBench returns a bench that has recorded nothing.
func NewBench() *Bench {
	return &Bench{spoken: map[string]*spoken{}, measured: map[string]*result{}}
}

// Runs counts the strips that were really run, repeated takes not counted.
func (b *Bench) Runs() int {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.runs
}

// key identifies something that is wholly described by v.
func key(v ...any) string {
	j, err := json.Marshal(v)
	if err != nil {
		panic("lessons: " + err.Error()) // plain values
	}
	sum := sha256.Sum256(j)
	return hex.EncodeToString(sum[:])
}

func (p *Performed) spokenKey() string {
	if p.OwnSum != "" {
		return key(p.who(), p.Script, p.Seed)
	}
	return key(p.Talker, p.Script, p.Seed, p.Strips[0].Chain.DistanceM)
}

// who is the talker, or the student's own voice.
func (p *Performed) who() string {
	if p.OwnSum != "" {
		return "own " + p.OwnSum
	}
	return p.Talker
}

// ErrNoVoice is for a take of an own voice that is not at hand.
var ErrNoVoice = errors.New("this was taken with a voice of the student's own, which is not at hand: it cannot be performed again")

// perform makes the performance, or waits for whoever is making it.
func (b *Bench) perform(ctx context.Context, p *Performed) (*spoken, error) {
	k := p.spokenKey()
	b.mu.Lock()
	s, ok := b.spoken[k]
	if !ok {
		s = &spoken{done: make(chan struct{})}
		b.spoken[k] = s
		b.order = append(b.order, k)
	}
	b.mu.Unlock()
	if ok {
		select {
		case <-s.done:
		case <-ctx.Done():
			return nil, ctx.Err()
		}
		return s, s.err
	}
	if p.OwnSum != "" {
		s.err = s.lent(yielding{ctx, b.Yield}, p)
	} else {
		s.x, s.moves, s.err = b.speak(ctx, p)
	}
	b.mu.Lock()
	if s.err != nil {
		delete(b.spoken, k)
		b.order = slices.DeleteFunc(b.order, func(o string) bool { return o == k })
	}
	b.samples += len(s.x)
	for b.samples > maxSamples && len(b.order) > 1 {
		old := b.spoken[b.order[0]]
		if b.order[0] == k || !closed(old.done) {
			break
		}
		b.samples -= len(old.x)
		delete(b.spoken, b.order[0])
		b.order = b.order[1:]
	}
	b.mu.Unlock()
	close(s.done)
	return s, s.err
}

// lent has the student's own voice give the script.
func (s *spoken) lent(ctx context.Context, p *Performed) error {
	if p.Own == nil || p.Own.Sum != p.OwnSum {
		return ErrNoVoice
	}
	out, err := p.Own.Perform(ctx, p.Script, p.Seed)
	if err != nil {
		return err
	}
	s.x, s.marks = out.X, out.Marks
	for _, m := range out.Moves {
		s.moves = append(s.moves, sim.Move{AtS: m.AtS, OverS: m.OverS, DistanceM: m.DistanceM})
	}
	return nil
}

func closed(c chan struct{}) bool {
	select {
	case <-c:
		return true
	default:
		return false
	}
}

func (b *Bench) speak(ctx context.Context, p *Performed) ([]float64, []sim.Move, error) {
	s := scenario.New()
	s.Seed, s.Strips = p.Seed, p.Strips
	s.Source.Talker, s.Source.Script = p.Talker, p.Script
	perf, err := s.Open(ctx, nil)
	if err != nil {
		return nil, nil, err
	}
	defer perf.Close()
	x := make([]float64, 0, perf.Frames)
	block := make([]float64, 4800)
	for {
		if err := ctx.Err(); err != nil {
			return nil, nil, err
		}
		n, err := perf.Read(block)
		x = append(x, block[:n]...)
		if err == io.EOF {
			return x, perf.Moves, nil
		}
		if err != nil {
			return nil, nil, err
		}
		if b.Yield != nil {
			b.Yield()
		}
	}
}

// Record runs the take through the named strips (all, if none is named) and
// returns the readings of each. progress (may be nil) is told the share done.
func (b *Bench) Record(ctx context.Context, p *Performed, progress func(share float64)) (map[string]names.Measured, error) {
	out := map[string]names.Measured{}
	for i, st := range p.Strips {
		if m, ok := p.Live[st.Name]; ok {
			out[st.Name] = m
			continue
		}
		changes := own(p.Changes, st.Name, p.Strips)
		k := key(p.spokenKey(), st.Chain, p.Seed, changes)
		b.mu.Lock()
		r, ok := b.measured[k]
		if !ok {
			if len(b.measured) > 1<<16 {
				b.measured = map[string]*result{} // a long practice, not a lesson
			}
			r = &result{done: make(chan struct{})}
			b.measured[k] = r
			b.runs++
		}
		b.mu.Unlock()
		if ok {
			select {
			case <-r.done:
			case <-ctx.Done():
				return nil, ctx.Err()
			}
		} else {
			var w *Wave
			w, r.err = b.run(ctx, p, st, changes, nil, func(share float64) {
				if progress != nil {
					progress((float64(i) + share) / float64(len(p.Strips)))
				}
			})
			if r.err != nil {
				b.mu.Lock()
				delete(b.measured, k)
				b.mu.Unlock()
			} else {
				r.m = w.Measured
			}
			close(r.done)
		}
		if r.err != nil {
			return nil, r.err
		}
		out[st.Name] = r.m
		if progress != nil {
			progress(float64(i+1) / float64(len(p.Strips)))
		}
	}
	return out, nil
}
