package own

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"hash"
	"math"
	"strings"

	"gainwright/sounds/voice"
)

const (
	// PauseS is the learner's room between two things that are performed, SeamS how long a
	// piece of a recording comes up at its beginning and goes down at its end, seconds.
	PauseS = 0.35
	SeamS  = 0.01
)

const (
	// wordS is how long a word of a script takes: 150 words a minute (common practice, no
	// source).
	wordS = 0.4
	// MostPerformedS bounds a script that is performed, seconds.
	MostPerformedS = 90
)

// ErrNoOwnLaugh is for a script that laughs and a voice that does not.
var ErrNoOwnLaugh = errors.New("there is no laugh in this voice, and this guest laughs: record one in “Your voice”")

// ErrOthers is for a script in which more than one person talks.
var ErrOthers = errors.New("somebody else talks in it, too: one voice cannot be both")

// WriteHeard writes to h all that is heard of a performance: samples, parts, where its
// level is placed; neither its name nor what the browser said.
func (p *Performance) WriteHeard(ctx context.Context, h hash.Hash) error {
	var b [4096]byte
	n := 0
	put := func(w uint32) {
		b[n], b[n+1], b[n+2], b[n+3] = byte(w), byte(w>>8), byte(w>>16), byte(w>>24)
		if n += 4; n == len(b) {
			_, _ = h.Write(b[:]) // it cannot fail
			n = 0
		}
	}
	for i, v := range p.Samples {
		if i%(1<<14) == 0 && ctx.Err() != nil {
			return ctx.Err()
		}
		if v == 0 {
			v = 0 // of either sign: no file tells them apart
		}
		put(math.Float32bits(v))
	}
	for _, s := range p.Parts {
		put(uint32(s.From))
		put(uint32(s.To))
	}
	put(math.Float32bits(float32(p.LouderDB)))
	put(math.Float32bits(float32(p.MeasuredDBSPL)))
	_, _ = h.Write(b[:n])
	return nil
}

// A Guest is a performance ready to be given in place of a talker's, by the talker's
// scripts: its own talk, laugh and call, as loud as they are. It is read only.
type Guest struct {
	Perf *Performance
	Look *Reading
	Sum  string // SHA-256 of what is heard of it, in hex

	lines []Span // talk, utterance by utterance
}

// NewGuest makes a performance ready; what it tells is measured unless it is known. ctx
// stops it, and is asked often.
func NewGuest(ctx context.Context, p *Performance, look *Reading) (*Guest, error) {
	if err := p.Validate(); err != nil {
		return nil, err
	}
	if look == nil {
		var err error
		if look, err = p.Look(); err != nil {
			return nil, err
		}
	}
	h := sha256.New()
	if err := p.WriteHeard(ctx, h); err != nil {
		return nil, err
	}
	return &Guest{Perf: p, Look: look, Sum: hex.EncodeToString(h.Sum(nil)), lines: p.lines(look)}, nil
}

// lines are the utterances as places in the samples: those that were found in all talk
// joined, but not the sentence a second time where there are lines as well; whole parts
// where hardly any were found.
func (p *Performance) lines(look *Reading) (out []Span) {
	var parts []Span
	for _, k := range []Part{Talk, Again, Read} {
		if p.Parts[k].Len() > 0 {
			parts = append(parts, p.Parts[k])
		}
	}
	spare := len(parts) == 3
	whole := false // each part was taken for one: places are the part's own
	for i, u := range look.Utterances {
		whole = whole || i > 0 && u.FromS < look.Utterances[i-1].ToS
	}
	at := 0
	for k, part := range parts {
		from := at
		at += part.Len()
		if spare && k == 1 {
			continue
		}
		for _, u := range look.Utterances {
			a, b := max(int(u.FromS*Rate), from), min(int(u.ToS*Rate), at)
			if b-a >= Rate/5 && u.ToS > u.FromS {
				out = append(out, Span{part.From + a - from, part.From + b - from})
			}
		}
	}
	if whole || len(out) < 2 {
		if out = parts; spare {
			out = []Span{parts[0], parts[2]}
		}
	}
	return out
}

// Performed is a script given by a Guest.
type Performed struct {
	X     []float64 // pressure at 1 m, Pa, at Rate
	Marks []voice.Mark
	Moves []voice.Move
}

// Perform gives a script. Who says something says about as much of the own talk as the
// text is long, from another line on with another seed; what is loud or louder is begun with
// the call; a laugh is the own laugh. How loud all of it is the recording says: efforts and
// levels of the script do not count. Pauses and moves are the script's, and whatever else it
// holds (coughs, claps, breaths) is left out. In between there is the learner's room. What would last
// longer than MostPerformedS ends there. The same script and seed give the same samples.
func (g *Guest) Perform(ctx context.Context, s voice.Script, seed uint64) (*Performed, error) {
	if err := g.Fits(s); err != nil {
		return nil, err
	}
	t := &telling{g: g, room: g.Perf.Room(), scale: g.Look.ScalePa, next: int(seed % uint64(len(g.lines)))}
	t.rest = g.lines[t.next]
	for i := range s {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		e := &s[i]
		if e.AtS != nil {
			t.wait(int(*e.AtS*Rate) - len(t.out.X))
		}
		t.event(e)
	}
	if most := MostPerformedS * Rate; len(t.out.X) > most {
		t.out.X = t.out.X[:most]
		for i := range int(SeamS * Rate) {
			t.out.X[most-1-i] *= float64(i) / (SeamS * Rate)
		}
	}
	return &t.out, nil
}

// Fits returns nil, or why the guest cannot give a script.
func (g *Guest) Fits(s voice.Script) error {
	for i := range s {
		switch {
		case s[i].Talker != "":
			return ErrOthers
		case s[i].Do == "laugh" && g.Perf.Parts[Laugh].Len() == 0:
			return ErrNoOwnLaugh
		}
	}
	return nil
}

// telling is a script being given.
type telling struct {
	g     *Guest
	out   Performed
	room  Room
	scale float64
	next  int  // of g.lines, that rest is of
	rest  Span // of it, what was not said yet
}

// full tells that there is no more room.
func (t *telling) full() bool { return len(t.out.X) > MostPerformedS*Rate }

func (t *telling) event(e *voice.Event) {
	from := float64(len(t.out.X)) / Rate
	do, label := e.Do, e.Do
	if do == "" {
		do, label = "say", "say"
	}
	switch do {
	case "pause":
		t.wait(int(e.OverS * Rate))
		return
	case "lean":
		t.out.Moves = append(t.out.Moves, voice.Move{AtS: from, OverS: e.OverS, DistanceM: e.DistanceM})
		t.mark(from, from+e.OverS, do, do)
		return
	case "laugh":
		t.give(t.g.Perf.Parts[Laugh])
	case "say":
		if max(e.Effort.Value(), e.EffortTo.Value()) >= voice.Loud.Value() && t.g.Perf.Parts[Hey].Len() > 0 {
			t.give(t.g.Perf.Parts[Hey])
			t.mark(from, float64(len(t.out.X))/Rate, "shout", "hey!")
			t.wait(int(PauseS * Rate))
			from = float64(len(t.out.X)) / Rate
		}
		t.say(wordS * float64(len(strings.Fields(e.Text))))
		label = "your own words"
	default:
		return
	}
	t.mark(from, float64(len(t.out.X))/Rate, do, label)
	t.wait(int(PauseS * Rate))
}

func (t *telling) mark(from, to float64, kind, label string) {
	if from < MostPerformedS {
		t.out.Marks = append(t.out.Marks, voice.Mark{StartS: from, EndS: min(to, MostPerformedS), Kind: kind, Label: label, Effort: voice.Normal.Value()})
	}
}

// wait lets the room sound for so many frames; none where there is no time left.
func (t *telling) wait(frames int) {
	for ; frames > 0 && !t.full(); frames-- {
		t.out.X = append(t.out.X, t.room.Next()*t.scale)
	}
}

// give gives a piece of the recording.
func (t *telling) give(s Span) {
	if t.full() {
		return
	}
	for i, v := range t.g.Perf.Samples[s.From:s.To] {
		t.out.X = append(t.out.X, float64(v)*t.scale*Fade(i, s.Len()))
	}
}

// say says lines for about so many seconds, one at least.
func (t *telling) say(seconds float64) {
	for want := int(seconds * Rate); ; {
		s := t.rest
		if s.Len() > want+2*Rate {
			s.To = t.g.Perf.quietest(s.From+max(want, Rate), s.From+want+2*Rate)
		}
		if t.rest.From = s.To; t.rest.Len() < Rate/2 {
			t.next = (t.next + 1) % len(t.g.lines)
			t.rest = t.g.lines[t.next]
		}
		t.give(s)
		if want -= s.Len() + int(PauseS*Rate); want < min(t.rest.Len(), Rate*2)/2 || t.full() {
			return
		}
		t.wait(int(PauseS * Rate))
	}
}

// quietest is the middle of the quietest 20 ms from a up to b.
func (p *Performance) quietest(a, b int) int {
	const n = Rate / 50
	at, least := b, math.Inf(1)
	for i := a; i+n <= min(b, len(p.Samples)); i += n / 2 {
		sum := 0.0
		for _, v := range p.Samples[i : i+n] {
			sum += float64(v) * float64(v)
		}
		if sum < least {
			at, least = i+n/2, sum
		}
	}
	return at
}

// Fade is the gain of sample i of a piece of n: a piece of a recording begins and ends in the
// middle of a room, and not with a step.
func Fade(i, n int) float64 {
	const edge = SeamS * Rate
	return min(edge, float64(n-i), float64(i+1)) / edge
}

// A Room is the quiet part of a performance without end, forwards and backwards.
type Room struct {
	x  []float32
	at int
}

// Room is the learner's own, silence where none was recorded.
func (p *Performance) Room() Room {
	if s := p.Parts[Quiet]; s.Len() >= 2 {
		return Room{x: p.Samples[s.From:s.To]}
	}
	return Room{}
}

// Next is its next sample.
func (r *Room) Next() float64 {
	n := len(r.x)
	if n == 0 {
		return 0
	}
	r.at = (r.at + 1) % (2*n - 2)
	k := r.at
	if k >= n {
		k = 2*n - 2 - k
	}
	return float64(r.x[k])
}
