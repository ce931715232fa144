package scenes

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"time"

	"gainwright/sim"
	"gainwright/sounds/voice"
)

// SafetyDB is how much lower than the strip it follows a safety track is recorded
// (common practice, no source).
const SafetyDB = 12

// Setup is all that can be set on the bench and undone again: plain, comparable
// values.
type Setup struct {
	N      int // strips in use
	Chain  [MaxStrips]sim.Chain
	Locked [MaxStrips]bool
	// Safety is 0, or 1 + the strip that this one follows SafetyDB lower.
	Safety [MaxStrips]int
	Talker string
	// Seed of the performances; 0 for a new one with each take.
	Seed uint64
	// Surprise lets things happen unasked while a take is recorded.
	Surprise bool
}

// follow sets the safety tracks by the strips that they follow.
func (p *Setup) follow() {
	for i := range p.N {
		if k := p.Safety[i]; k > 0 && k <= p.N && k-1 != i {
			p.Chain[i] = p.Chain[k-1].WithPlace(sim.LimiterOff)
			p.Chain[i].Preamp.GainDB -= SafetyDB
		}
	}
}

// Validate returns nil, or what is wrong with the set-up.
func (p *Setup) Validate() error {
	// A lesson may do with a single strip.
	if p.N < 1 || p.N > MaxStrips {
		return fmt.Errorf("%d strips: there are %d to %d", p.N, MinStrips, MaxStrips)
	}
	for i := range p.N {
		if err := p.Chain[i].Validate(); err != nil {
			return fmt.Errorf("strip %s: %w", stripNames[i], err)
		}
		if k := p.Safety[i]; k != 0 && (k < 1 || k > p.N || k-1 == i || p.Safety[k-1] != 0) {
			return fmt.Errorf("strip %s follows a strip that there is not, or that follows another", stripNames[i])
		}
	}
	if _, err := voice.Find(p.Talker); err != nil {
		return err
	}
	return nil
}

// Setup gives all that is set.
func (s *Session) Setup() Setup { return s.set }

// SetSetup changes all that can be set, whole or not at all.
func (s *Session) SetSetup(next Setup) error {
	if s.mode == ModeRecord && (next.N != s.set.N || next.Talker != s.set.Talker) {
		return fmt.Errorf("a take is being recorded: strips and talker stay")
	}
	if err := next.Validate(); err != nil {
		return err
	}
	for i := next.N; i < MaxStrips; i++ {
		next.Locked[i], next.Safety[i] = false, 0
	}
	old := s.set
	if next.N != old.N {
		s.set.N, s.set.Chain = next.N, next.Chain
		if l := s.d.listen; l != ListenSpoken && int(l) >= next.N {
			s.d.listen = ListenA
		}
		// All anew, so that equal strips stay equal.
		if err := s.freshStrips(s.seed); err != nil {
			return err
		}
		if s.mode == ModeReview {
			s.setMode(ModeCheck)
		}
		s.renew()
		s.ClearHold()
	}
	if err := s.change(next); err != nil {
		return err
	}
	if next.Talker != old.Talker {
		if s.mode == ModeReview {
			s.setMode(ModeCheck)
		}
		return s.SetTalker(next.Talker)
	}
	return nil
}

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
}

// performer makes a performance, block by block.
type performer struct {
	perf *Performance
	live *voice.Live
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
		switch e := p.perf.Do[p.next]; e.What {
		case "talk":
			p.live.SetEffort(voice.Normal)
			p.lean = -1
		case "lean_in":
			p.lean = p.made
		default:
			// Only what can be triggered gets into the list.
			_ = p.live.Trigger(e.What)
		}
		p.next++
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

// now inserts something to do with the next block.
func (p *performer) now(what string) {
	p.perf.Do = slices.Insert(p.perf.Do, p.next, Done{p.made, what})
}

// startPerformance begins another performance.
func (s *Session) startPerformance(perf Performance) error {
	p := new(Performance)
	*p = perf
	l, err := newPerformer(p)
	if err != nil {
		return err
	}
	p.Talker = l.live.Talker().Name
	s.perf, s.noted = l, 0
	return nil
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

// Change is a change of a strip's settings during a take.
type Change struct {
	At    int64     `json:"at"` // frame of the take
	Strip int       `json:"strip"`
	Chain sim.Chain `json:"chain"`
}

// Recipe is what it takes to make a take again: who did what, and what was set.
// A take without changes while it ran comes out the same to the sample.
type Recipe struct {
	Number  int         `json:"number"`
	Frames  int64       `json:"frames"`
	Perf    Performance `json:"performance"`
	N       int         `json:"strips"`
	Chain   []sim.Chain `json:"chains"`
	Changes []Change    `json:"changes,omitempty"`
}

const (
	maxRecipes = 12
	maxChanges = 400
)

// Validate returns nil, or why nothing can be made of the recipe.
func (r *Recipe) Validate() error {
	if r.Number < 1 || r.Frames < 1 || r.Frames > maxFrames || r.N < MinStrips || r.N > MaxStrips || len(r.Chain) != r.N {
		return fmt.Errorf("take %d: a length or a number of strips that there is not", r.Number)
	}
	if r.Perf.File != "" {
		return fmt.Errorf("take %d was made of the recording %s, which is not kept", r.Number, r.Perf.File)
	}
	if _, err := voice.Find(r.Perf.Talker); err != nil {
		return fmt.Errorf("take %d: %w", r.Number, err)
	}
	if d := r.Perf.DistanceM; !(d > 0 && d < 100) || !(r.Perf.Effort >= 0 && r.Perf.Effort <= 1) {
		return fmt.Errorf("take %d: a distance or an effort that there is not", r.Number)
	}
	last := int64(0)
	for _, d := range r.Perf.Do {
		if !slices.Contains(Events, d.What) || d.At < last {
			return fmt.Errorf("take %d: something that a talker cannot do", r.Number)
		}
		last = d.At
	}
	for i := range r.Chain {
		if err := r.Chain[i].Validate(); err != nil {
			return fmt.Errorf("take %d, strip %s: %w", r.Number, stripNames[i], err)
		}
	}
	last = 0
	for i := range r.Changes {
		c := &r.Changes[i]
		if c.Strip < 0 || c.Strip >= r.N || c.At < last {
			return fmt.Errorf("take %d: a change of a strip that there is not", r.Number)
		}
		last = c.At
		if err := c.Chain.Validate(); err != nil {
			return fmt.Errorf("take %d: %w", r.Number, err)
		}
	}
	return nil
}

// Recipes are those of the takes so far, oldest first; at most maxRecipes.
func (s *Session) Recipes() []Recipe { return s.recipes }

// remaking is a take being made again, a step at a time.
type remaking struct {
	r      Recipe
	take   *Take
	perf   *performer
	strips [MaxStrips]*sim.Strip
	taps   [MaxStrips]*sim.Taps
	cut    [MaxStrips]*sim.Taps
	peaks  [MaxStrips]peaks
	to     [MaxStrips][sim.NumStations]float64
	feed   []float64
	lean   leaning
	noted  int
	change int
	// restore leaves the bench as it is set up.
	restore bool
}

// Restore begins to make a take of an earlier visit again, as Remake does, but the
// bench stays set up as it is, and a quiet take does not end the sound check.
func (s *Session) Restore(r Recipe, quiet bool) error {
	err := s.Remake(r)
	if err == nil {
		s.remake.restore, s.remake.take.quiet = true, quiet
	}
	return err
}

// Remake begins to make a take again; Tick goes on with it, and when it is
// complete it is the take that is shown.
func (s *Session) Remake(r Recipe) error {
	if s.mode == ModeRecord {
		return fmt.Errorf("a take is being recorded")
	}
	if err := r.Validate(); err != nil {
		return err
	}
	t, err := newTake(r.Number, r.N)
	if err != nil {
		return err
	}
	m := &remaking{r: r, take: t, feed: make([]float64, performBlock)}
	perf := r.Perf
	perf.Do = slices.Clone(perf.Do)
	if m.perf, err = newPerformer(&perf); err != nil {
		return err
	}
	t.perf = perf
	for i := range r.N {
		if m.strips[i], err = sim.NewStrip(Rate, r.Chain[i], perf.Seed); err != nil {
			return err
		}
		m.taps[i], m.cut[i] = sim.NewTaps(sessionBlock), new(sim.Taps)
		t.Chain[i], t.end[i] = r.Chain[i], r.Chain[i]
	}
	t.limit, t.skip = r.Frames, m.strips[0].Latency()
	s.remake = m
	return nil
}

// Remaking tells how far that is, 0 to 1; ok is false if no take is being made
// again.
func (s *Session) Remaking() (number int, part float64, ok bool) {
	if m := s.remake; m != nil {
		return m.r.Number, float64(m.take.Frames()) / float64(m.r.Frames), true
	}
	return 0, 0, false
}

// goOn makes the next block; it reports whether the take is complete.
func (m *remaking) goOn(spare *[]*chunk) bool {
	t := m.take
	t.ready(spare)
	m.perf.read(m.feed)
	for at := 0; at < len(m.feed); {
		n := min(sessionBlock, len(m.feed)-at)
		if t.skip > 0 {
			n = min(n, t.skip)
		}
		in := m.feed[at : at+n]
		at += n
		f := t.Frames()
		t.note(&m.noted, f, func(at int64) { m.lean = leaning{on: true, start: at} }, func() { m.lean = leaning{} })
		for m.change < len(m.r.Changes) && m.r.Changes[m.change].At <= f {
			c := &m.r.Changes[m.change]
			t.change(c.Strip, t.end[c.Strip], c.Chain)
			m.change++
		}
		for i := range m.r.N {
			c := t.end[i]
			if m.lean.on {
				c.DistanceM = leanAt(c.DistanceM, float64(f-m.lean.start)/Rate)
			}
			if c != m.strips[i].Chain() {
				if err := m.strips[i].Apply(c); err != nil {
					panic("scenes: " + err.Error()) // its parts were valid
				}
			}
			m.strips[i].Process(in, m.taps[i])
		}
		if t.skip > 0 {
			t.skip -= n
			continue
		}
		for i := range m.r.N {
			m.peaks[i].of(m.taps[i])
			m.to[i] = sim.ToFullScale(m.strips[i].Chain())
		}
		if !t.record(&m.taps, &m.cut, &m.peaks, &m.to) || t.Frames() >= m.r.Frames {
			return true
		}
	}
	return false
}

// remakeOn goes on making a take again, for about as long as a frame can bear.
func (s *Session) remakeOn() {
	m := s.remake
	if m == nil || s.mode == ModeRecord {
		return
	}
	if !m.goOn(&s.spare) {
		return
	}
	s.remake = nil
	if m.r.N != s.set.N && !m.restore {
		// The bench shows as many strips as the take has.
		next := s.set
		next.N = m.r.N
		for i := range next.N {
			if next.Safety[i] > next.N {
				next.Safety[i] = 0
			}
			next.Chain[i] = m.take.end[i]
		}
		if s.SetSetup(next) != nil {
			return
		}
	}
	if old := s.take; old != nil && old.Done {
		old.release(&s.spare)
	}
	s.install(m.take)
	if !m.take.quiet {
		s.setMode(ModeReview)
	}
}

// remakeFor goes on making a take again for that long; breathe is called in between.
func (s *Session) remakeFor(d time.Duration, breathe func()) {
	for end := time.Now().Add(d); s.remake != nil && s.mode != ModeRecord && time.Now().Before(end); breathe() {
		s.remakeOn()
	}
}

// keep notes the recipe of a finished take.
func (s *Session) keep(t *Take) {
	s.recipeRev++
	r := Recipe{Number: t.Number, Frames: t.Frames(), Perf: t.perf, N: t.N, Chain: slices.Clone(t.Chain[:t.N]), Changes: t.changes}
	r.Perf.Do = nil
	for _, d := range t.perf.Do {
		if d.At < r.Frames {
			r.Perf.Do = append(r.Perf.Do, d)
		}
	}
	i := slices.IndexFunc(s.recipes, func(o Recipe) bool { return o.Number == t.Number })
	if i >= 0 {
		s.recipes[i] = r
		return
	}
	s.recipes = append(s.recipes, r)
	if len(s.recipes) > maxRecipes {
		s.recipes = slices.Delete(s.recipes, 0, len(s.recipes)-maxRecipes)
	}
}

// SetRecipes takes over the recipes of an earlier visit.
func (s *Session) SetRecipes(rs []Recipe) {
	s.recipes = rs
	for _, r := range rs {
		s.takes = max(s.takes, r.Number)
	}
}
