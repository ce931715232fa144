package voice

import (
	"context"
	"fmt"
	"gainwright/sounds/voice/english"
	"io"
	"math"
	"sort"
)

// Mark says what happened when.
type Mark struct {
	StartS float64 `json:"start_s"`
	EndS   float64 `json:"end_s"`
	Kind   string  `json:"kind"`  // the event's Do
	Label  string  `json:"label"` // what was said, or the kind
	Talker string  `json:"talker"`
	Effort float64 `json:"effort"` // 0..1
}

// Move is a talker's move towards the microphone or away from it.
type Move struct {
	AtS       float64 `json:"at_s"`
	OverS     float64 `json:"over_s"`
	DistanceM float64 `json:"distance_m"`
	Talker    string  `json:"talker"`
}

// source gives its samples once, adding them to dst; fewer than len(dst) mean
// that it has ended.
type source interface{ render(dst []float64) int }

// piece is one breath group or one noise in its place.
type piece struct {
	start, frames int
	open          func(distance float64) source
	src           source
	talker        string
}

// Performance is a script turned into sound: pressure in pascal, 1 m in front
// of the talker's lips, 48 kHz, mono. Planning is done by New; the sound is
// made as it is read, and depends neither on the sizes of the reads nor on the
// platform but for rounding.
type Performance struct {
	pieces  []piece
	active  []int
	next    int // first piece not yet opened
	length  int
	pos     int
	marks   []Mark
	moves   []Move
	standAt float64
}

// New plans a script for a talker (the one who acts where an event names no
// other). The same script, talker and seed give the same samples.
func New(script Script, talker string, seed uint64) (*Performance, error) {
	if err := script.Validate(); err != nil {
		return nil, err
	}
	main, err := Find(talker)
	if err != nil {
		return nil, err
	}
	p := &Performance{standAt: 1}
	k := keeper{free: map[string]float64{}}
	for i := range script {
		e := &script[i]
		t := main
		if e.Talker != "" {
			t, _ = Find(e.Talker)
		}
		pcs, at, end, err := k.place(&t, e, seed, i)
		if err != nil {
			return nil, fmt.Errorf("script entry %d: %w", i+1, err)
		}
		if end > maxSeconds {
			return nil, fmt.Errorf("script entry %d: the performance would last over %d hours", i+1, maxSeconds/3600)
		}
		p.pieces = append(p.pieces, pcs...)
		p.length = max(p.length, int(math.Ceil(k.prevEnd*Rate)))
		m := Mark{at, end, e.deed(), e.deed(), t.Name, effortOf(e.deed(), e.Effort).Value()}
		switch e.deed() {
		case "pause":
			continue
		case "lean":
			p.moves = append(p.moves, Move{at, e.OverS, e.DistanceM, t.Name})
			m.Effort = 0
		case "say":
			m.Label = e.Text
		}
		p.marks = append(p.marks, m)
	}
	sort.SliceStable(p.pieces, func(a, b int) bool { return p.pieces[a].start < p.pieces[b].start })
	for _, x := range p.pieces {
		p.length = max(p.length, x.start+x.frames)
	}
	sort.SliceStable(p.moves, func(a, b int) bool { return p.moves[a].AtS < p.moves[b].AtS })
	return p, nil
}

// keeper keeps the time of a script that is being planned.
type keeper struct {
	prevEnd float64
	free    map[string]float64 // when each mouth is free
}

// place plans event i of a script and says when it starts and ends.
func (k *keeper) place(t *Talker, e *Event, seed uint64, i int) (pcs []piece, at, end float64, err error) {
	at = k.prevEnd
	if e.AtS != nil {
		at = *e.AtS
	}
	do := e.deed()
	switch do {
	case "lean": // talking goes on meanwhile
		k.prevEnd = max(k.prevEnd, at)
		return nil, at, at + e.OverS, nil
	case "pause":
		k.prevEnd = at + e.OverS
		return nil, at, k.prevEnd, nil
	}
	mouth := do != "clap" && do != "chair"
	if mouth {
		at = max(at, k.free[t.Name])
	}
	pcs, end, err = plan(t, e, at, newRNG(seed, hashString(t.Name), uint64(i)))
	if err != nil {
		return nil, 0, 0, err
	}
	if mouth {
		k.free[t.Name] = end
	}
	k.prevEnd = end
	return pcs, at, end, nil
}

// effortOf is the effort of a deed where none is given.
func effortOf(do string, e Effort) Effort {
	if e.IsZero() && do == "laugh" {
		return At(0.6)
	}
	return At(e.Value())
}

// StandAt says how far from the microphone the performance starts, in metres
// (1 unless told). It matters for plosives only, whose breath reaches a close
// microphone; levels at the microphone are the caller's business. Call it
// before reading.
func (p *Performance) StandAt(m float64) { p.standAt = max(0.01, m) }

// Length is the number of samples in all.
func (p *Performance) Length() int { return p.length }

// Position is the number of samples read so far.
func (p *Performance) Position() int { return p.pos }

func (p *Performance) Seconds() float64 { return float64(p.length) / Rate }

// Marks lists what happens when, in the order of the script.
func (p *Performance) Marks() []Mark { return append([]Mark(nil), p.marks...) }

// Moves lists the talkers' moves in the order of time.
func (p *Performance) Moves() []Move { return append([]Move(nil), p.moves...) }

// distance is how far the talker is at frame n.
func (p *Performance) distance(talker string, n int) float64 {
	d := p.standAt
	at := float64(n) / Rate
	for _, m := range p.moves {
		if m.Talker != talker || at < m.AtS {
			continue
		}
		if m.OverS <= 0 || at >= m.AtS+m.OverS {
			d = m.DistanceM
		} else {
			d += (m.DistanceM - d) * (at - m.AtS) / m.OverS
		}
	}
	return d
}

// Read fills dst with the next samples and returns how many there were; at the
// end it returns 0 and io.EOF.
func (p *Performance) Read(dst []float64) (int, error) {
	n := min(len(dst), p.length-p.pos)
	if n <= 0 {
		if len(dst) == 0 {
			return 0, nil
		}
		return 0, io.EOF
	}
	dst = dst[:n]
	clear(dst)
	for p.next < len(p.pieces) && p.pieces[p.next].start < p.pos+n {
		p.active = append(p.active, p.next)
		p.next++
	}
	keep := p.active[:0]
	for _, k := range p.active {
		x := &p.pieces[k]
		if x.src == nil {
			x.src = x.open(p.distance(x.talker, x.start))
			x.open = nil
		}
		from := max(0, x.start-p.pos)
		if got := x.src.render(dst[from:]); got == n-from {
			keep = append(keep, k)
		} else {
			x.src = nil
		}
	}
	p.active = keep
	p.pos += n
	return n, nil
}

// Render gives all samples not yet read. progress (may be nil) is told about
// every tenth of a second of sound; ctx stops the work.
func (p *Performance) Render(ctx context.Context, progress func(done, total int)) ([]float64, error) {
	out := make([]float64, p.length-p.pos)
	start := p.pos
	for p.pos-start < len(out) {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		at := p.pos - start
		if _, err := p.Read(out[at:min(len(out), at+Rate/10)]); err != nil {
			return nil, err
		}
		if progress != nil {
			progress(p.pos, p.length)
		}
	}
	return out, nil
}

// Pauses, in seconds: between clauses, between sentences (Klatt's 0.4 and
// 0.8 s, scattered), and after an event before the next one that follows it.
const (
	commaPause    = 0.34
	sentencePause = 0.68
	eventPause    = 0.45
)

// plan turns an event into pieces and says when the next may follow.
func plan(t *Talker, e *Event, at float64, rnd *rng) ([]piece, float64, error) {
	do := e.deed()
	eff := effortOf(do, e.Effort).Value()
	if do != "say" {
		s, err := noisePiece(t, do, eff, e, rnd)
		if err != nil {
			return nil, 0, err
		}
		s.start = int(at*Rate + .5)
		s.talker = t.Name
		return []piece{s}, at + float64(s.frames)/Rate + 0.12, nil
	}
	parts, err := english.Parse(e.Text)
	if err != nil {
		return nil, 0, fmt.Errorf("text: %w", err)
	}
	to := eff
	if !e.EffortTo.IsZero() {
		to = e.EffortTo.Value()
	}
	cs := clauses(parts)
	var out []piece
	shift := rnd.between(-1.2, 1.2)
	for i := range cs {
		c := &cs[i]
		now := eff
		if len(cs) > 1 {
			now += (to - eff) * float64(i) / float64(len(cs)-1)
		}
		x := clausePiece(t, c, now, shift, e.LevelDB, *newRNG(rnd.next()))
		x.start = int(at*Rate + .5)
		out = append(out, x)
		at += float64(c.ticks) * .002
		if i+1 == len(cs) {
			at += eventPause * rnd.between(.8, 1.2) / t.rate
			break
		}
		switch c.end {
		case ',':
			at += commaPause * rnd.between(.7, 1.3) / t.rate
		default:
			at += sentencePause * rnd.between(.7, 1.3) / t.rate
			shift = rnd.between(-1.2, 1.2) // sentences vary in level
		}
	}
	return out, at, nil
}

// clausePiece arranges a clause and promises its sound. shift is how much
// louder (dB) this sentence is than the effort says: the voice changes with it.
func clausePiece(t *Talker, c *clause, effort, shift, levelDB float64, rnd rng) piece {
	want := ladder(effortSPL, effort) + shift
	voiced := EffortForSPL(want).Value()
	c.arrange(t, voiced, &rnd)
	level := levelDB + want - ladder(effortSPL, voiced)
	cl, tk := *c, *t
	return piece{
		frames: c.ticks*tickFrames + tailMS*Rate/1000,
		talker: t.Name,
		open: func(distance float64) source {
			return newSpeaking(&tk, &cl, voiced, level, distance, rnd)
		},
	}
}

// refVowel is the steady vowel against which levels are set.
func refVowel(t *Talker, sh shape) control {
	var c control
	p := phones["AA"]
	for j := range 3 {
		c.f[j] = p.f[j] * t.scale[j]
		c.bw[j] = p.bw[j]
	}
	c.f[0] = raiseF1(c.f[0], sh.f1)
	c.tilt = sh.tilt
	c.f0 = t.F0Hz * math.Exp2(sh.shift/12)
	return c
}

// speaking is a clause being spoken.
type speaking struct {
	*tract
	jets []jet
}

func newSpeaking(t *Talker, c *clause, effort, levelDB, distance float64, rnd rng) *speaking {
	sh := shapeOf(t, effort)
	p := newPulse(sh.rd)
	tn := tuned(t.Name, effort)
	eq := tn.sections()
	voice, asp := steady(t, p, eq, refVowel(t, sh))
	sp := c.build(t, sh, voice, asp, &rnd)
	r := newTract(t, p, eq)
	r.gain = pascal(ladder(effortSPL, effort)+levelDB+tn.level) / voice
	r.load(sp.controls, sp.hisses, rnd)
	s := &speaking{tract: r}
	s.jets = c.jets(ladder(effortSPL, effort)+levelDB, distance, newRNG(uint64(rnd), 7))
	return s
}

func (s *speaking) render(dst []float64) int {
	at := s.frame
	n := s.tract.render(dst)
	for i := range s.jets {
		s.jets[i].add(dst[:n], at)
	}
	return n
}

// pascal turns dB SPL into pascal.
func pascal(db float64) float64 { return 20e-6 * math.Pow(10, db/20) }
