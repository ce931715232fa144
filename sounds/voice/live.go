package voice

import (
	"fmt"
	"gainwright/sounds/voice/english"
	"strings"
)

// Live is a talker who never stops: ordinary sentences with pauses, until
// Trigger asks for something else. Like Performance it gives pascal at 1 m,
// 48 kHz. It is not safe for use from several goroutines at once.
type Live struct {
	talker   Talker
	rnd      rng
	distance float64
	effort   float64
	pos      int

	src        source
	wait       int // frames of silence before the next piece
	queue      []liveItem
	said       *clause // being said, with the frame at which it began
	saidAt     int
	saidEffort float64
	rest       []restItem // of the sentence begun
	order      []int      // a shuffled order of sentences
	cut        int        // frame at which what is said breaks off, -1 for never
}

// restItem is a clause still to be said; effort < 0 means that of the talk.
type restItem struct {
	c      clause
	effort float64
}

type liveItem struct {
	do     string
	effort float64
	level  float64
}

// fadeFrames is how quickly speech breaks off for a triggered event.
const fadeFrames = 30 * Rate / 1000

// Triggers lists what Trigger understands.
func Triggers() []string {
	return []string{"louder", "softer", "laugh", "cough", "breath", "shout", "pop", "clap", "chair"}
}

// NewLive starts an endless talker at normal effort. The same talker and seed,
// triggered at the same samples, give the same sound.
func NewLive(talker string, seed uint64) (*Live, error) {
	t, err := Find(talker)
	if err != nil {
		return nil, err
	}
	return &Live{talker: t, rnd: *newRNG(seed, hashString(t.Name), 99), distance: 1, effort: Normal.value, cut: -1}, nil
}

// Talker is who talks.
func (l *Live) Talker() Talker { return l.talker }

// Effort is the effort of the talk at present.
func (l *Live) Effort() Effort { return At(l.effort) }

// SetEffort changes the effort of the talk from the next word on.
func (l *Live) SetEffort(e Effort) {
	l.effort = At(e.Value()).value
	l.breakOff()
}

// StandAt says how far the mouth is from the microphone now, in metres;
// plosives pop when it is close.
func (l *Live) StandAt(m float64) { l.distance = max(.01, m) }

// Position is the number of samples read so far.
func (l *Live) Position() int { return l.pos }

// Trigger asks for an event; it begins within about 0.3 s, at the end of a word
// where one ends by then. "louder" and "softer" move the effort of the talk by
// an eighth of its range and keep it there; the others happen once.
func (l *Live) Trigger(do string) error {
	switch do {
	case "louder":
		l.SetEffort(At(l.effort + .125))
		return nil
	case "softer":
		l.SetEffort(At(l.effort - .125))
		return nil
	case "clap", "chair", "laugh", "cough", "breath", "shout", "pop":
	default:
		return fmt.Errorf("trigger %q: not one of %s", do, strings.Join(Triggers(), ", "))
	}
	if len(l.queue) >= 8 {
		return nil // someone leans on the button
	}
	item := liveItem{do: do}
	switch do {
	case "laugh":
		item.effort = min(1, max(.5, l.effort+.3))
	case "shout":
		item.effort = 1
	case "cough":
		item.effort = .5
	default:
		item.effort = l.effort
	}
	l.queue = append(l.queue, item)
	l.breakOff()
	return nil
}

// breakOff ends what is being said at the next word, or in 0.3 s, and leaves
// the remaining words for later.
func (l *Live) breakOff() {
	l.wait = min(l.wait, Rate/20)
	if l.src == nil || l.said == nil || l.cut >= 0 {
		return
	}
	const hurry = 3 * Rate / 10
	now := l.pos - l.saidAt
	c := l.said
	word, at := -1, 0
	for i := range c.segs {
		s := &c.segs[i]
		if s.first && i > 0 && s.start*tickFrames > now+fadeFrames {
			word, at = s.word, s.start*tickFrames
			break
		}
	}
	switch {
	case word < 0: // the last word
		if c.ticks*tickFrames <= now+hurry {
			return
		}
		l.cut = l.pos + hurry
	case at <= now+hurry:
		l.cut = l.saidAt + at
	default:
		l.cut = l.pos + hurry
	}
	if word >= 0 {
		l.rest = append([]restItem{{c.from(word), l.saidEffort}}, l.rest...)
	}
}

// from is the clause from that word on.
func (c *clause) from(word int) clause {
	out := clause{end: c.end, yesNo: c.yesNo, words: c.words, span: c.span}
	for _, s := range c.segs {
		if s.word >= word {
			out.segs = append(out.segs, s)
		}
	}
	out.span[0] += (c.span[1] - c.span[0]) * float64(word) / float64(len(c.words))
	return out
}

// Read fills dst; it never ends and always returns len(dst), nil.
func (l *Live) Read(dst []float64) (int, error) {
	clear(dst)
	for at := 0; at < len(dst); {
		if l.wait > 0 {
			n := min(l.wait, len(dst)-at)
			l.wait -= n
			at += n
			l.pos += n
			continue
		}
		if l.src == nil {
			l.begin()
			continue
		}
		part := dst[at:]
		if l.cut >= 0 {
			part = part[:min(len(part), max(0, l.cut+fadeFrames-l.pos))]
		}
		n := l.src.render(part)
		if l.cut >= 0 {
			for i := range n {
				if k := l.pos + i - l.cut; k >= 0 {
					part[i] *= ease(float64(k) / fadeFrames)
				}
			}
		}
		l.pos += n
		at += n
		if n < len(part) || l.cut >= 0 && l.pos >= l.cut+fadeFrames {
			l.end()
		}
	}
	return len(dst), nil
}

// end closes what sounded and sets the pause after it.
func (l *Live) end() {
	broke := l.cut >= 0
	l.src, l.cut = nil, -1
	var gap float64
	switch {
	case len(l.queue) > 0:
		gap = .04
	case broke:
		gap = .08
	case l.said == nil:
		gap = .25
	case len(l.rest) > 0:
		gap = commaPause * l.rnd.between(.7, 1.3)
		if l.said.end != ',' {
			gap = sentencePause * l.rnd.between(.7, 1.3)
		}
	default:
		gap = sentencePause * l.rnd.between(.8, 1.8)
	}
	l.said = nil
	l.wait = int(gap * Rate)
}

// begin starts the next thing: a triggered event, the rest of a sentence, or
// a new one.
func (l *Live) begin() {
	if len(l.queue) > 0 {
		item := l.queue[0]
		l.queue = l.queue[1:]
		if item.do == "shout" {
			parts, _ := english.Parse(calls[l.rnd.index(len(calls))])
			l.say(clauses(parts), item.effort)
			return
		}
		p, err := noisePiece(&l.talker, item.do, item.effort, &Event{}, &l.rnd)
		if err == nil {
			l.src = p.open(l.distance)
		}
		return
	}
	if len(l.rest) > 0 {
		l.next()
		return
	}
	if len(l.order) == 0 {
		l.order = shuffled(len(ordinary), &l.rnd)
	}
	parts, err := english.Parse(ordinary[l.order[0]])
	l.order = l.order[1:]
	if err == nil {
		l.say(clauses(parts), -1)
	}
}

// say puts clauses before what is still to be said, and starts the first.
func (l *Live) say(cs []clause, effort float64) {
	var items []restItem
	for _, c := range cs {
		items = append(items, restItem{c, effort})
	}
	l.rest = append(items, l.rest...)
	l.next()
}

func (l *Live) next() {
	c, effort := l.rest[0].c, l.rest[0].effort
	l.rest = l.rest[1:]
	l.saidEffort = effort
	if effort < 0 {
		effort = l.effort
	}
	p := clausePiece(&l.talker, &c, effort, l.rnd.between(-1.2, 1.2), 0, *newRNG(l.rnd.next()))
	l.src = p.open(l.distance)
	l.said = &c
	l.saidAt = l.pos
}
