package plan

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
	"sync"
)

// closestM is the nearest that a mouth comes to a microphone.
const closestM = 0.02

// A Conversation is all that a simulated session depends on: the model, how far the
// microphone stands, and what is known of this guest. It is comparable, so that a
// scene can tell whether a Result is still of the conversation at hand.
type Conversation struct {
	Model
	DistanceM float64
	Guest     Guest
}

// near is how moving about at a distance becomes decibels.
type near struct{ sdDB, leanDB, mostDB float64 }

// near works it out: 8.686·σ/d, linear in dB, and never nearer than closestM.
func (c *Conversation) near() near {
	d := 100 * max(c.DistanceM, 1e-3)
	n := near{sdDB: 20 / math.Ln10 * c.MoveSDCM / d, mostDB: max(0, 20*math.Log10(d/(100*closestM)))}
	if to := max(d-c.LeanCM, 100*closestM); to < d {
		n.leanDB = 20 * math.Log10(d/to)
	}
	return n
}

// MoveDB returns what moving about makes at the distance: the standard deviation in
// dB, and how much louder leaning in is.
func (c Conversation) MoveDB() (sd, lean float64) {
	n := c.near()
	return n.sdDB, n.leanDB
}

// An Event is one thing that happens in a session.
type Event struct {
	AtS     float64
	Kind    Kind
	LevelDB float64 // rms at 1 m, dB SPL, distance as planned
	CrestDB float64
	NearDB  float64 // louder by being nearer than planned
}

// PeakDB is the event's peak pressure as a level, 20·log10(peak/20 µPa), at 1 m
// if the planned distance were 1 m.
func (e Event) PeakDB() float64 { return e.LevelDB + e.CrestDB + e.NearDB }

// A Session is one simulated session.
type Session struct {
	// CheckDB is the guest's own talk in the sound check, LevelDB in the session at its
	// beginning; dB SPL at 1 m.
	CheckDB, LevelDB float64
	OpenLaughDB      float64 // the guest's own open laughs over talk
	Check            []Event // the talk of a minute of the check
	HeldDB           float64 // the peak that a meter held in it, dB SPL re 1 m
	Events           []Event // in order of time
	KnockDB          float64 // the loudest knock's peak, dB SPL re 1 m; −Inf if there was none
}

// streams are the sources of chance: one for each kind of event, so that a change of
// one kind's assumptions leaves the others' events as they are. What two models differ
// by then shows with few sessions.
const (
	streamGuest = uint64(Knock) + 1 + iota
	streamLean
	streamHeld
	streamSpread
)

// simulator draws sessions of one conversation.
type simulator struct {
	c    Conversation
	near near
	held held
	seed uint64
	pcg  *rand.PCG
	rnd  *rand.Rand
	lean []float64 // begin and end of each state, as shares of the session
	last float64   // the loudest knock
}

func newSimulator(c Conversation, seed uint64) *simulator {
	s := &simulator{c: c, near: c.near(), held: c.heldOver(), seed: seed, pcg: rand.NewPCG(0, 0)}
	s.c.Guest = c.Guest.or(&c.Model)
	s.rnd = rand.New(s.pcg)
	return s
}

func (s *simulator) stream(n int, k uint64) { s.pcg.Seed(s.seed, mix(uint64(n)<<4|k)) }

// guest is who came to session n.
type guest struct {
	check, level, open, rate, held float64
}

func (s *simulator) guest(n int) guest {
	s.stream(n, streamGuest)
	r, m, k := s.rnd, &s.c.Model, &s.c.Guest
	var g guest
	g.check = k.TalkDB + k.TalkSDDB*r.NormFloat64()
	g.level = g.check + k.SessionSDDB*r.NormFloat64()
	g.open = k.LaughDB - k.Tied*(g.check-k.TalkDB) + k.LaughSDDB*r.NormFloat64()
	g.rate = m.LaughPerHour
	if k.RateShape > 0 {
		g.rate = gamma(r, k.RateShape) / k.RateHours
	}
	s.stream(n, streamHeld)
	g.held = s.minute(g.check, nil)
	return g
}

// minute draws the peak that a meter holds in a minute of talk of the given level; each
// is nil or gets the utterances.
func (s *simulator) minute(level float64, each func(Event)) float64 {
	m := &s.c.Model
	n := int(math.Round(m.TalkPerMin))
	if n == 0 {
		return level + m.TalkMeterDB
	}
	top := math.Inf(-1)
	for i := range n {
		e := Event{AtS: 60 * float64(i) / float64(n), LevelDB: min(level+m.UtteranceSD*s.rnd.NormFloat64(), m.LoudestDB)}
		e.CrestDB = m.TalkCrest.draw(s.rnd)
		e.NearDB = min(s.near.sdDB*s.rnd.NormFloat64(), s.near.mostDB)
		top = max(top, e.PeakDB())
		if each != nil {
			each(e)
		}
	}
	return top
}

// leaning draws when somebody leans in: states of 10 to 60 s.
func (s *simulator) leaning(n int) {
	s.lean = s.lean[:0]
	m := &s.c.Model
	if m.LeanShare <= 0 || m.LeanCM == 0 {
		return
	}
	const shortest, longest = 10.0, 60.0
	s.stream(n, streamLean)
	seconds := 60 * m.Minutes
	if m.LeanShare >= 1 {
		s.lean = append(s.lean, 0, 1)
		return
	}
	// States may overlap: as many as make the share of the time outside all of them right.
	for k := poisson(s.rnd, -math.Log1p(-m.LeanShare)*seconds/((shortest+longest)/2)); k > 0; k-- {
		a := s.rnd.Float64()
		s.lean = append(s.lean, a, a+(shortest+(longest-shortest)*s.rnd.Float64())/seconds)
	}
}

func (s *simulator) leans(t float64) bool {
	for i := 0; i < len(s.lean); i += 2 {
		if t >= s.lean[i] && t < s.lean[i+1] || t+1 < s.lean[i+1] { // what begins late goes on at the beginning
			return true
		}
	}
	return false
}

// class is one kind of event in one session.
type class struct {
	kind                  Kind
	mean, level, sd, rise float64
	crest                 *Crest
}

func (s *simulator) classes(g *guest) [numVoiced]class {
	m := &s.c.Model
	hours := m.Minutes / 60
	laughs, rise := g.rate*hours, m.RiseDB*m.LaughRiseShare
	laugh := func(k Kind, share, over, sd float64) class {
		return class{k, laughs * share, g.level + over - m.LaughAwayDB, sd, rise, &m.LaughCrest}
	}
	return [numVoiced]class{
		Talk:          {Talk, m.TalkPerMin * m.Minutes, g.level, m.UtteranceSD, m.RiseDB, &m.TalkCrest},
		UnvoicedLaugh: laugh(UnvoicedLaugh, m.Unvoiced.Share, m.Unvoiced.LevelDB, m.Unvoiced.SDDB),
		SocialLaugh:   laugh(SocialLaugh, max(0, m.SocialShare()), m.Social.LevelDB, m.Social.SDDB),
		OpenLaugh:     laugh(OpenLaugh, m.Open.Share, g.open, m.Open.SDDB),
		Outburst:      {Outburst, m.BurstPerHour * hours, g.level + m.BurstDB, m.BurstSDDB, 0, &m.BurstCrest},
		Cough:         {Cough, m.CoughPerHour * hours, g.level + m.CoughDB, m.CoughSDDB, 0, &m.CoughCrest},
	}
}

// events draws the events of session n kind by kind, not in order of time.
func (s *simulator) events(n int, g *guest, each func(*Event)) {
	m, r := &s.c.Model, s.rnd
	s.leaning(n)
	all := s.classes(g)
	var e Event
	for i := range all {
		d := &all[i]
		s.stream(n, uint64(d.kind))
		e.Kind = d.kind
		for k := poisson(r, d.mean); k > 0; k-- {
			t := r.Float64()
			e.AtS = t * m.Minutes * 60
			e.LevelDB = min(d.level+d.rise*t+d.sd*r.NormFloat64(), m.LoudestDB)
			e.CrestDB = d.crest.draw(r)
			e.NearDB = s.near.sdDB * r.NormFloat64()
			if len(s.lean) > 0 && s.leans(t) {
				e.NearDB += s.near.leanDB
			}
			e.NearDB = min(e.NearDB, s.near.mostDB)
			each(&e)
		}
	}
}

// knocks draws the loudest knock of session n: it knows no distance.
func (s *simulator) knocks(n int, g *guest) float64 {
	m, top := &s.c.Model, math.Inf(-1)
	s.stream(n, uint64(Knock))
	for k := poisson(s.rnd, m.KnockPerHour*m.Minutes/60); k > 0; k-- {
		top = max(top, g.level+m.TalkMeterDB+m.KnockDB+m.KnockSDDB*s.rnd.NormFloat64())
	}
	return top
}

// Session returns session number n: the very session that a Run with the same seed
// simulated under that number.
func (c Conversation) Session(seed uint64, n int) Session {
	s := newSimulator(c, seed)
	g := s.guest(n)
	out := Session{CheckDB: g.check, LevelDB: g.level, OpenLaughDB: g.open, HeldDB: g.held}
	s.events(n, &g, func(e *Event) { out.Events = append(out.Events, *e) })
	slices.SortFunc(out.Events, func(a, b Event) int { return cmp.Compare(a.AtS, b.AtS) })
	out.KnockDB = s.knocks(n, &g)
	s.stream(n, streamHeld)
	s.minute(g.check, func(e Event) { out.Check = append(out.Check, e) })
	return out
}

// held is how far the peak held in a minute lies over the level of talk.
type held struct{ mean, sd float64 }

// heldKey is all that a held peak depends on.
type heldKey struct {
	near              near
	crest             Crest
	sd, perMin, meter float64
	loudest           float64
}

// helds keeps what was worked out: it is asked for again and again.
var helds struct {
	sync.Mutex
	of map[heldKey]held
}

// heldOver works it out from many minutes, always the same ones, so that it follows
// the assumptions smoothly.
func (c *Conversation) heldOver() held {
	key := heldKey{c.near(), c.TalkCrest, c.UtteranceSD, c.TalkPerMin, c.TalkMeterDB, c.LoudestDB}
	helds.Lock()
	h, ok := helds.of[key]
	helds.Unlock()
	if ok {
		return h
	}
	h = c.manyMinutes()
	helds.Lock()
	defer helds.Unlock()
	if helds.of == nil || len(helds.of) > 500 {
		helds.of = map[heldKey]held{}
	}
	helds.of[key] = h
	return h
}

func (c *Conversation) manyMinutes() held {
	s := &simulator{c: *c, near: c.near(), pcg: rand.NewPCG(0x6d65746572, 1)}
	s.rnd = rand.New(s.pcg)
	const minutes = 4096
	var sum, sq float64
	for range minutes {
		v := s.minute(0, nil)
		sum += v
		sq += v * v
	}
	mean := sum / minutes
	return held{mean, math.Sqrt(max(0, sq/minutes-mean*mean))}
}

// HeldOver returns how far the highest peak of a minute of talk lies over the level
// of talk, in dB: its mean and standard deviation, to 0.05 dB.
func (c Conversation) HeldOver() (mean, sd float64) {
	h := c.heldOver()
	return h.mean, h.sd
}

// mix spreads neighbouring numbers over all 64 bits (the finaliser of SplitMix64:
// Steele, Lea, Flood, OOPSLA 2014).
func mix(x uint64) uint64 {
	x += 0x9e3779b97f4a7c15
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return x ^ x>>31
}

// poisson draws a count; above 50 by the normal approximation with a continuity
// correction, whose error is far below that of the assumed rates.
func poisson(r *rand.Rand, mean float64) int {
	if mean <= 0 {
		return 0
	}
	if mean > 50 {
		return max(0, int(math.Floor(mean+math.Sqrt(mean)*r.NormFloat64()+0.5)))
	}
	limit, p, n := math.Exp(-mean), 1.0, -1
	for p > limit {
		p *= r.Float64()
		n++
	}
	return n
}

// gamma draws from the Gamma distribution of the given shape and rate 1 (Marsaglia and
// Tsang, ACM TOMS 26, 2000).
func gamma(r *rand.Rand, shape float64) float64 {
	if shape < 1 {
		return gamma(r, shape+1) * math.Pow(1-r.Float64(), 1/shape)
	}
	d := shape - 1.0/3
	c := 1 / math.Sqrt(9*d)
	for {
		x := r.NormFloat64()
		v := 1 + c*x
		if v <= 0 {
			continue
		}
		v = v * v * v
		if u := 1 - r.Float64(); math.Log(u) < x*x/2+d-d*v+d*math.Log(v) {
			return d * v
		}
	}
}
