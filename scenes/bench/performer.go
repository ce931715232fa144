package bench

import (
	"math"
	"math/rand/v2"
	"slices"

	"gainwright/sounds/voice"
)

// SafetyDB is how much lower than the strip it follows a safety track is recorded
// (common practice, no source).
const SafetyDB = 12

// Done is one thing a talker did, in frames of the performance.
type Done struct {
	At   int64  `json:"at"`
	What string `json:"what"`
}

// Performance is what it takes to make a talker's performance again, to the
// sample.
type Performance struct {
	Talker    string  `json:"talker"`
	Seed      uint64  `json:"seed"`
	Effort    float64 `json:"effort"`     // at the start
	DistanceM float64 `json:"distance_m"` // of the mouth, but for leaning in
	Do        []Done  `json:"do,omitempty"`
	File      string  `json:"file,omitempty"` // a recording's name: it cannot be made again
	// Own is the name of the learner's voice that performs in place of the talker, OwnSum
	// its checksum.
	Own    string `json:"own,omitempty"`
	OwnSum uint32 `json:"own_sum,omitempty"`
	// Live was a microphone: it cannot be made again.
	Live bool `json:"live,omitempty"`
}

// performed tells whether somebody performed who can do it again.
func (p *Performance) performed() bool { return p.File == "" && !p.Live }

// performer makes a performance, block by block.
type performer struct {
	perf *Performance
	live *voice.Live
	own  *lent // performs in place of live
	made int64
	next int // of perf.Do
	lean int64
}

func newPerformer(p *Performance) (*performer, error) {
	l, err := voice.NewLive(p.Talker, p.Seed)
	if err != nil {
		return nil, err
	}
	if p.Effort != l.Effort().Value() {
		l.SetEffort(voice.At(p.Effort))
	}
	return &performer{perf: p, live: l, lean: -1}, nil
}

// read makes the next block, Pa at 1 m. The same blocks give the same samples.
func (p *performer) read(dst []float64) {
	for p.next < len(p.perf.Do) && p.perf.Do[p.next].At <= p.made {
		p.do(p.perf.Do[p.next].What)
		p.next++
	}
	if p.own != nil {
		p.own.read(dst)
		p.made += int64(len(dst))
		return
	}
	d := p.perf.DistanceM
	if p.lean >= 0 {
		d = leanAt(d, float64(p.made-p.lean)/Rate)
	}
	p.live.StandAt(d)
	// Live gives all it is asked for.
	_, _ = p.live.Read(dst)
	p.made += int64(len(dst))
}

// do lets the talker do something from here on.
func (p *performer) do(what string) {
	switch what {
	case "talk":
		p.lean = -1
	case "lean_in":
		p.lean = p.made
		return
	}
	switch {
	case p.own != nil:
		p.own.do(what)
	case what == "talk":
		p.live.SetEffort(voice.Normal)
	default:
		// Only what can be triggered gets into the list.
		_ = p.live.Trigger(what)
	}
}

// effort is how loudly the talker talks, 0 to 1.
func (p *performer) effort() float64 {
	if p.own != nil {
		return voice.Normal.Value()
	}
	return p.live.Effort().Value()
}

// now inserts something to do with the next block.
func (p *performer) now(what string) {
	p.perf.Do = slices.Insert(p.perf.Do, p.next, Done{p.made, what})
}

// surprises are what a talker does unasked, by chance: never nothing, and not
// all at once. How often is our own choice.
func surprises(seed uint64) []Done {
	rnd := rand.New(rand.NewPCG(seed, 0x5e))
	kinds := []string{"laugh", "laugh", "laugh", "louder", "louder", "cough", "lean_in", "lean_in", "talk"}
	var out []Done
	for t := 3 + 5*rnd.Float64(); t < MaxTakeSeconds; t += 4 + 4*rnd.Float64() + 4*rnd.ExpFloat64() {
		out = append(out, Done{int64(t * Rate), kinds[rnd.IntN(len(kinds))]})
	}
	// The first quarter of a minute has a laugh in it.
	if !slices.ContainsFunc(out, func(d Done) bool { return d.What == "laugh" && d.At < 15*Rate }) {
		k := 0
		if out[1].At < 15*Rate {
			k = 1
		}
		out[k].What = "laugh"
	}
	return out
}

const (
	sessionBlock = 512
	// performBlock is how much of a performance is made at once; what a talker
	// does begins with one.
	performBlock = 2048
)

// leanM is where leaning in takes the mouth, metres, leanFor how long it stays, seconds.
const (
	leanM   = 0.03
	leanFor = 4.0
)

type leaning struct {
	from, to float64
	start    int64
	on       bool
}

// leanAt is where the mouth is t seconds into leaning in: half a second there,
// a while, half a second back, in equal ratios.
func leanAt(base, t float64) float64 {
	const move = 0.6
	f := min(t/move, (leanFor-t)/move, 1)
	if f <= 0 {
		return base
	}
	f = f * f * (3 - 2*f)
	return base * math.Pow(min(leanM/base, 1), f)
}
