package own

import (
	"fmt"

	"gainwright/sounds"
)

// pauseS is the room between two things that are performed, seconds.
const pauseS = 0.35

// A Performer performs a performance without end: its talk over and over, and the laugh or
// the call when asked for them. It is for one goroutine and allocates nothing.
type Performer struct {
	x      []float32
	scale  float64
	talk   []Span
	laugh  Span
	hey    Span
	room   Span
	at     int  // of talk
	now    Span // what is performed
	asked  Span
	pause  int // frames of the room before what comes next
	roomAt int
	tail   float64 // of what broke off
}

// NewPerformer begins with the lines that were read, or else the sentence.
func NewPerformer(p *Performance, r *Reading) (*Performer, error) {
	f := &Performer{x: p.Samples, scale: r.ScalePa, laugh: p.Parts[Laugh], hey: p.Parts[Hey], room: p.Parts[Quiet]}
	for _, k := range []Part{Read, Talk} {
		if p.Parts[k].Len() > 0 {
			f.talk = append(f.talk, p.Parts[k])
		}
	}
	if len(f.talk) == 0 {
		return nil, ErrNoTalk
	}
	return f, nil
}

// of is the part that answers an event: "laugh", or "louder" for the call.
func (f *Performer) of(event string) Span {
	switch event {
	case "laugh":
		return f.laugh
	case "louder":
		return f.hey
	}
	return Span{}
}

// Can tells whether there is something for an event; "talk" is always there.
func (f *Performer) Can(event string) bool { return event == "talk" || f.of(event).Len() > 0 }

// Ask has an event performed next; what is being performed breaks off.
func (f *Performer) Ask(event string) error {
	if !f.Can(event) {
		return fmt.Errorf("you did not record that: this voice has talk, a laugh and a call at most")
	}
	f.asked, f.now = f.of(event), Span{}
	return nil
}

// Read makes the next samples, Pa at 1 m.
func (f *Performer) Read(dst []float64) {
	for i := range dst {
		if f.now.Len() <= 0 && f.pause == 0 {
			f.next()
		}
		if f.pause > 0 {
			f.pause--
			f.tail *= .98
			dst[i] = f.quiet()*f.scale + f.tail
			continue
		}
		f.tail = float64(f.x[f.now.From]) * f.scale
		dst[i] = f.tail
		f.now.From++
	}
}

// next chooses what comes: what was asked for, else talk.
func (f *Performer) next() {
	f.now, f.asked = f.asked, Span{}
	if f.now.Len() <= 0 {
		f.now = f.talk[f.at%len(f.talk)]
		f.at++
	}
	f.pause = int(pauseS * Rate)
}

// quiet is the learner's room, forwards and backwards, or nothing where none was recorded.
func (f *Performer) quiet() float64 {
	n := f.room.Len()
	if n < 2 {
		return 0
	}
	f.roomAt = (f.roomAt + 1) % (2*n - 2)
	k := f.roomAt
	if k >= n {
		k = 2*n - 2 - k
	}
	return float64(f.x[f.room.From+k])
}

// LoudestDBSPL is the level at 1 m of the loudest second of what is performed.
func (p *Performance) LoudestDBSPL(r *Reading) (float64, error) {
	loud := sounds.NewLoudestSecond(Rate)
	for _, k := range []Part{Read, Talk, Laugh, Hey} {
		loud.Add(p.Part(k))
	}
	unit, err := loud.Scale(0)
	if err != nil {
		return 0, err
	}
	return dB(r.ScalePa / unit), nil
}
