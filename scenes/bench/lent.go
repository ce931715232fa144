package bench

import (
	"context"
	"hash/crc32"
	"math"

	"gainwright/sounds/own"
)

// Shout is the event that a voice of one's own has in place of louder talk: its "hey!".
const Shout = "shout"

// Voice is a learner's own performance, ready to be performed: its talk over and over, its
// laugh and its call when they are asked for.
type Voice struct {
	Perf *own.Performance
	Look *own.Reading
	// Sum tells this performance from another one of the same name.
	Sum   uint32
	talk  []own.Span
	parts map[string]own.Span // by the event that asks for them
}

// NewVoice makes a performance ready; what it tells is measured unless it is known.
func NewVoice(p *own.Performance, look *own.Reading) (*Voice, error) {
	if err := p.Validate(); err != nil {
		return nil, err
	}
	if look == nil {
		var err error
		if look, err = p.Look(); err != nil {
			return nil, err
		}
	}
	v := &Voice{Perf: p, Look: look, Sum: sumOf(p), parts: map[string]own.Span{}}
	for _, k := range []own.Part{own.Read, own.Talk, own.Again} {
		if p.Parts[k].Len() > 0 {
			v.talk = append(v.talk, p.Parts[k])
		}
	}
	if len(v.talk) == 3 {
		v.talk = v.talk[:2] // the sentence once is enough
	}
	for event, k := range map[string]own.Part{"laugh": own.Laugh, Shout: own.Hey} {
		if p.Parts[k].Len() > 0 {
			v.parts[event] = p.Parts[k]
		}
	}
	return v, nil
}

// sumOf is a checksum of all that is heard of a performance.
func sumOf(p *own.Performance) uint32 {
	h := crc32.NewIEEE()
	_ = p.WriteHeard(context.Background(), h) // it cannot fail
	return h.Sum32()
}

// Can tells whether the voice has what an event asks for.
func (v *Voice) Can(event string) bool {
	_, ok := v.parts[event]
	return ok || event == "talk" || event == "lean_in"
}

// RoomPa is the rms of the learner's room in the recording, as pressure at 1 m, Pa; 0 where
// none was recorded.
func (v *Voice) RoomPa() float64 {
	if math.IsNaN(v.Look.NoiseDBFS) {
		return 0
	}
	return math.Pow(10, v.Look.NoiseDBFS/20) * v.Look.ScalePa
}

// lent performs a voice. The same requests at the same blocks give the same samples.
type lent struct {
	v     *Voice
	at    int      // of talk
	now   own.Span // what is performed
	from  int      // where that began
	talks bool     // it is talk
	asked string
	pause int // frames of the room before what comes next
	room  own.Room
	// The last of what broke off fades while the next begins.
	old  own.Span
	seam int
}

// do has the voice do something next.
func (l *lent) do(event string) {
	switch {
	case event == "talk":
		if l.asked = ""; l.now.Len() > 0 && !l.talks {
			l.cut() // a laugh or a call
		}
	case l.v.parts[event].Len() > 0:
		l.asked = event
		l.cut()
	}
}

// cut breaks off what is being said.
func (l *lent) cut() {
	l.old, l.seam = l.now, int(own.SeamS*Rate)
	l.now, l.pause = own.Span{}, 0
	l.next()
	l.pause = 0
}

// next chooses what comes: what was asked for, else talk.
func (l *lent) next() {
	if l.talks = l.asked == ""; !l.talks {
		l.now, l.asked = l.v.parts[l.asked], ""
	} else {
		l.now = l.v.talk[l.at%len(l.v.talk)]
		l.at++
	}
	l.from = l.now.From
	l.pause = int(own.PauseS * Rate)
}

// read makes the next samples, Pa at 1 m.
func (l *lent) read(dst []float64) {
	const edge = int(own.SeamS * Rate)
	x, scale := l.v.Perf.Samples, l.v.Look.ScalePa
	for i := range dst {
		if l.now.Len() <= 0 {
			l.next()
		}
		s := 0.0
		if l.pause > 0 {
			l.pause--
			s = l.room.Next()
		} else {
			s = float64(x[l.now.From]) * own.Fade(l.now.From-l.from, l.now.To-l.from)
			l.now.From++
		}
		if l.seam > 0 {
			f := float64(l.seam) / float64(edge)
			s *= 1 - f
			if l.old.Len() > 0 {
				s += f * float64(x[l.old.From])
				l.old.From++
			}
			l.seam--
		}
		dst[i] = s * scale
	}
}

// surprises are those that the voice has.
func (v *Voice) surprises(seed uint64) (out []Done) {
	for _, d := range surprises(seed) {
		if d.What == "louder" {
			d.What = Shout
		}
		if v.Can(d.What) {
			out = append(out, d)
		}
	}
	return out
}

func newLent(v *Voice) *lent { return &lent{v: v, room: v.Perf.Room()} }
