package bench

import (
	"hash/crc32"
	"math"

	"gainwright/sounds/own"
)

// Shout is the event that a voice of one's own has in place of louder talk: its "hey!".
const Shout = "shout"

const (
	// lentPause is the learner's room between two things that are performed, lentSeam how
	// long one fades over into the next, seconds.
	lentPause = 0.35
	lentSeam  = 0.01
)

// Voice is a learner's own performance, ready to be performed: its talk over and over, its
// laugh and its call when they are asked for.
type Voice struct {
	Perf *own.Performance
	Look *own.Reading
	// Sum tells this performance from another one of the same name.
	Sum   uint32
	talk  []own.Span
	parts map[string]own.Span // by the event that asks for them
	room  own.Span
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
	v := &Voice{Perf: p, Look: look, Sum: sumOf(p), parts: map[string]own.Span{}, room: p.Parts[own.Quiet]}
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
	var b [4096]byte
	n := 0
	put := func(w uint32) {
		b[n], b[n+1], b[n+2], b[n+3] = byte(w), byte(w>>8), byte(w>>16), byte(w>>24)
		if n += 4; n == len(b) {
			_, _ = h.Write(b[:]) // it cannot fail
			n = 0
		}
	}
	for _, v := range p.Samples {
		put(math.Float32bits(v))
	}
	for _, s := range p.Parts {
		put(uint32(s.From))
		put(uint32(s.To))
	}
	put(math.Float32bits(float32(p.LouderDB)))
	put(math.Float32bits(float32(p.MeasuredDBSPL)))
	_, _ = h.Write(b[:n])
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
	v      *Voice
	at     int      // of talk
	now    own.Span // what is performed
	from   int      // where that began
	talks  bool     // it is talk
	asked  string
	pause  int // frames of the room before what comes next
	roomAt int
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
	l.old, l.seam = l.now, int(lentSeam*Rate)
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
	l.pause = int(lentPause * Rate)
}

// read makes the next samples, Pa at 1 m.
func (l *lent) read(dst []float64) {
	const edge = int(lentSeam * Rate)
	x, scale := l.v.Perf.Samples, l.v.Look.ScalePa
	for i := range dst {
		if l.now.Len() <= 0 {
			l.next()
		}
		s := 0.0
		if l.pause > 0 {
			l.pause--
			s = l.quiet()
		} else {
			// A piece begins and ends in the middle of a room: not with a step.
			g := float64(min(edge, l.now.Len(), l.now.From-l.from+1)) / float64(edge)
			s = float64(x[l.now.From]) * g
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

// quiet is the learner's room, forwards and backwards, or nothing where none was recorded.
func (l *lent) quiet() float64 {
	n := l.v.room.Len()
	if n < 2 {
		return 0
	}
	l.roomAt = (l.roomAt + 1) % (2*n - 2)
	k := l.roomAt
	if k >= n {
		k = 2*n - 2 - k
	}
	return float64(l.v.Perf.Samples[l.v.room.From+k])
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
