package bench

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"sync/atomic"

	"gainwright/sim"
	"gainwright/sounds"
	"gainwright/sounds/voice"
)

const (
	ringFrames = 1 << 17
	// aheadFrames is how much of the performance is made ready before it is
	// needed: a third of a second, so that a triggered laugh still comes soon.
	// Where it was not enough once, more is made ready from then on, up to
	// mostAhead.
	aheadFrames = Rate / 3
	mostAhead   = Rate
	// ListenLUFS is the loudness that sources are matched to.
	ListenLUFS = -23
)

// snapshot is an immutable snapshot of what the clock's side has to know.
type snapshot struct {
	mode     Mode
	modeRev  uint64
	take     *Take // recorded
	n        int   // strips
	strips   [MaxStrips]*sim.Strip
	readout  [MaxStrips]*sim.Readout
	holdRev  uint64
	skipTo   int64 // the performance before this frame of the ring is dropped
	listen   Listen
	gain     [NumListen]float64                  // on the strips, on the performance in Pa
	toEq     [MaxStrips][sim.NumStations]float64 // native unit → full scale of the file
	settings [MaxStrips]sim.Chain                // for the readouts
	live     *live                               // drives the strips in place of the performance
	turnRev  uint64                              // counts those turned while a performance is given
}

// Session is the bench without its screen: one performance, two to four strips, a take,
// and listening to it. The screen's goroutine calls everything but Stream; the
// one clock that pulls calls Stream.
type Session struct {
	strips [MaxStrips]*sim.Strip
	set    Setup // the distance on the strips may be leaning
	own    owned

	// The performance, made ahead by the screen's side and used by the clock's.
	ring         [ringFrames]float64
	wrote, taken atomic.Int64
	seed         uint64
	perf         *performer // who performs, unless a recording does
	known        []*Voice   // of the learner's own
	live         *live      // who performs in place of all others, or nil
	phones       bool       // live may be heard
	noted        int        // of perf.perf.Do, how many have come to be heard
	file         *Recording
	filePos      int
	again        *Take // perform the last take's performance again
	againPos     int64
	feed         []float64

	next  atomic.Pointer[snapshot]
	d     snapshot
	views mailbox[View]
	shots mailbox[Window]

	// The clock's side.
	seen     *snapshot
	blk      []float64
	taps     [MaxStrips]*sim.Taps
	peaks    [MaxStrips]peaks // of the block in taps
	view     View
	last     float64 // the last sample given
	tail     float64 // what is left of the last one of another mode
	curGain  [NumListen]float64
	hist     *history
	holdAt   [MaxStrips]int64 // when the meters' holds were set
	nextRead int64            // when the readouts are read again
	skip     int
	to       *[MaxStrips][sim.NumStations]float64 // native unit → full scale of the file, in this block
	cut      [MaxStrips]*sim.Taps
	slow     [MaxStrips][sim.NumStations]float64 // mean squares
	tenth    tenth
	loudest  float64
	pending  int64 // frame of a loudest moment not yet taken over, −1 for none

	// The screen's side.
	take      *Take
	takes     int
	spare     []*chunk
	renewAt   int64 // frame at which stale readouts are replaced
	lean      leaning
	heard     hearing
	ahead     int64 // frames of the performance made ready
	dropout   int64 // as it was when ahead was last looked at
	recipes   []Recipe
	RecipeRev int // counts their changes
	remake    *remaking
	mended    MendedTrack
	matched   bool
	loop      bool
	mode      Mode
	modeRev   uint64
	player    *sounds.Player
	lastView  *View
	ofTake    View  // what the take shows
	ofID      int64 // of the take it was made of
	lastShot  *Window
	liveLUFS  [NumListen]float64
}

// Recording is a sound file brought along: mono at Rate, full scale = 1.
type Recording struct {
	Name    string
	Samples []float32
	LevelDB float64 // dB SPL at 1 m of its loudest second
	scale   float64
}

// NewSession starts a sound check with the given talker. The same seed, driven
// the same way, gives the same samples.
func NewSession(talker string, seed uint64) (*Session, error) {
	s := &Session{
		seed: seed, matched: true, ahead: aheadFrames,
		blk: make([]float64, sessionBlock), feed: make([]float64, performBlock),
		hist: new(history), pending: -1, player: sounds.NewPlayer(Rate),
	}
	s.views.init()
	s.shots.init()
	s.lastView, _ = s.views.get()
	s.lastShot, _ = s.shots.get()
	for i := range s.liveLUFS {
		s.liveLUFS[i] = math.NaN()
	}
	s.set = StartSetup(talker)
	for i := range MaxStrips {
		s.taps[i] = sim.NewTaps(sessionBlock)
		s.cut[i] = new(sim.Taps)
	}
	if err := s.freshStrips(seed); err != nil {
		return nil, err
	}
	s.renew()
	if err := s.SetTalker(talker); err != nil {
		return nil, err
	}
	return s, nil
}

// StartSetup is how the bench is set up at a first visit: strip A as people do it
// who fear noise, strip B with room.
func StartSetup(talker string) Setup {
	a, b := sim.Default(), sim.Default()
	a.Preamp.GainDB = GainDefault[0]
	a = a.WithPlace(sim.LimiterAfter)
	b.Preamp.GainDB = GainDefault[1]
	return Setup{N: MinStrips, Talker: talker, Chain: [MaxStrips]sim.Chain{a, b, b, b}}
}

// freshStrips replaces the strips by new ones, all in the same state: equal
// settings give equal samples from here on.
func (s *Session) freshStrips(seed uint64) error {
	for i := range s.set.N {
		c := s.set.Chain[i]
		c.DistanceM = s.distance(c.DistanceM)
		st, err := sim.NewStrip(Rate, c, seed)
		if err != nil {
			return err
		}
		s.strips[i] = st
	}
	s.d.n, s.d.strips = s.set.N, s.strips
	return nil
}

// push publishes a snapshot of the settings to the clock's side.
func (s *Session) push() {
	d := s.d
	d.mode, d.modeRev, d.take = s.mode, s.modeRev, s.take
	if d.listen == ListenMended && s.mode != ModeReview {
		// Nothing that is still going on can be mended.
		d.listen = Listen(min(s.mended.strip, s.set.N-1))
	}
	d.settings = s.set.Chain
	for i := range s.set.N {
		d.toEq[i] = sim.ToFullScale(s.strips[i].Chain())
	}
	for i, g := range s.gains(s.liveLUFS, spokenDB(s.set.Chain[0])) {
		d.gain[i] = sim.DB(g).Lin()
		if s.live != nil && !s.phones && s.mode != ModeReview {
			d.gain[i] = 0 // it would howl
		}
	}
	if d.live = s.live; s.again != nil || s.given() != nil {
		d.live = nil
	}
	s.playGains()
	s.next.Store(&d)
}

// N is how many strips there are.
func (s *Session) N() int { return s.set.N }

// given is the performance that is given, or nil.
func (s *Session) given() *given {
	if s.mode != ModeRecord {
		return nil
	}
	return s.take.given
}

// Chain gives the settings of strip i, counted from 0.
func (s *Session) Chain(i int) sim.Chain { return s.set.Chain[i] }

// SetChain changes the settings of a strip, and of the safety track that follows
// it. While recording, turning the gain becomes part of the take.
func (s *Session) SetChain(i int, c sim.Chain) error {
	if s.set.Locked[i] {
		return fmt.Errorf("strip %s is locked", StripNames[i])
	}
	if k := s.set.Safety[i]; k > 0 {
		return fmt.Errorf("strip %s follows strip %s, %d dB lower", StripNames[i], StripNames[k-1], SafetyDB)
	}
	if c == s.set.Chain[i] {
		return nil
	}
	next := s.set
	next.Chain[i] = c
	next.SyncSafety()
	return s.change(next)
}

// change takes over a set-up with the same strips and talker.
func (s *Session) change(next Setup) error {
	for i := range next.N {
		if err := next.Chain[i].Validate(); err != nil {
			return err
		}
	}
	old, turned := s.set, false
	s.set = next
	for i := range next.N {
		c := next.Chain[i]
		if c == old.Chain[i] {
			continue
		}
		if s.given() != nil {
			turned = true // the clock sets it when its time comes
		} else {
			on := c
			on.DistanceM = s.distance(c.DistanceM)
			if err := s.strips[i].Apply(on); err != nil {
				panic("bench: " + err.Error()) // it was valid just now
			}
		}
		if s.mode == ModeRecord {
			s.take.change(i, old.Chain[i], c)
		}
	}
	if turned {
		s.d.turnRev++
	}
	if s.mode != ModeRecord && next.Chain != old.Chain {
		s.ClearHold()
		if s.mode == ModeReview {
			s.SetMode(ModeCheck)
		}
	}
	s.push()
	return nil
}

// ClearHold forgets the loudest moment so far.
func (s *Session) ClearHold() {
	if s.mode == ModeRecord {
		return
	}
	s.d.holdRev++
	s.renewAt = s.lastView.Frame + Rate/4
	s.push()
}

func (s *Session) distance(base float64) float64 {
	if !s.lean.on {
		return base
	}
	t := float64(s.lastView.Frame-s.lean.start) / Rate
	return leanAt(base, t)
}

// Talker is who talks.
func (s *Session) Talker() string { return s.set.Talker }

// SetTalker changes who talks.
func (s *Session) SetTalker(name string) error {
	s.EndLive()
	if err := s.startPerformance(Performance{Talker: name, Seed: s.seed, Effort: voice.Normal.Value(), DistanceM: s.set.Chain[0].DistanceM}); err != nil {
		return err
	}
	s.set.Talker = s.perf.perf.Talker
	s.file = nil
	s.again = nil
	s.heard.anew(s.aheadFrame())
	s.applyDistance()
	s.ClearHold()
	return nil
}

// Trigger lets the talker do something.
func (s *Session) Trigger(event string) error {
	switch {
	case s.live != nil:
		return errors.New("you are live: do it yourself")
	case s.file != nil:
		return fmt.Errorf("a recording cannot be asked to %s", event)
	}
	v := s.Voice()
	switch {
	case v == nil && !slices.Contains(Events, event):
		return fmt.Errorf("a talker cannot be asked to %q", event)
	case v != nil && !v.Can(event):
		return fmt.Errorf("%s: that is not in your performance; it can be asked for talk, a laugh and a shout, as far as you have recorded them", eventWords[event])
	}
	s.perf.now(event)
	if s.mode != ModeRecord {
		// In a take this happens when it has come to be recorded.
		at := s.aheadFrame()
		s.heard.note(event, at)
		switch event {
		case "lean_in":
			s.lean = leaning{on: true, start: at}
		case "talk":
			s.lean = leaning{}
			s.applyDistance()
		}
	}
	return nil
}

// aheadFrame is the frame at which what is made now will be heard.
func (s *Session) aheadFrame() int64 {
	return s.lastView.Frame + s.wrote.Load() - max(s.taken.Load(), s.d.skipTo)
}

// Leaning reports whether the talker is closer than usual.
func (s *Session) Leaning() bool { return s.lean.on }

// Effort is how loudly the talker talks, 0 to 1.
func (s *Session) Effort() float64 { return s.perf.effort() }

func (s *Session) applyDistance() {
	if s.given() != nil {
		return // the mouth moves as was told
	}
	changed := false
	for i := range s.set.N {
		c := s.set.Chain[i]
		c.DistanceM = s.distance(c.DistanceM)
		if c != s.strips[i].Chain() {
			if s.strips[i].Apply(c) == nil {
				changed = true
			}
		}
	}
	if changed {
		s.push()
	}
}

// Mode is what the session is doing.
func (s *Session) Mode() Mode { return s.mode }

// SetMode changes what the session is doing.
func (s *Session) SetMode(m Mode) {
	if m != s.mode {
		s.mode = m
		s.modeRev++
		if m == ModeCheck {
			s.renew()
		}
		s.push()
	}
}

// renew gives the sound check empty readouts.
func (s *Session) renew() {
	s.renewAt = 0
	for i := range s.d.readout {
		r, err := sim.NewReadout(Rate)
		if err != nil {
			panic("bench: " + err.Error()) // the rate was accepted before
		}
		s.d.readout[i] = r
	}
}

// StartCheck goes back to the sound check.
func (s *Session) StartCheck() {
	if s.mode == ModeRecord {
		return
	}
	s.again = nil
	if s.mode != ModeCheck {
		s.ClearHold()
	}
	s.SetMode(ModeCheck)
}

// Record starts a take. With again, the performance of the last take is given
// once more, to the sample, and the take ends with it.
func (s *Session) Record(again bool) error {
	if s.mode == ModeRecord {
		return nil
	}
	old := s.take
	if again && (old == nil || !old.Done) {
		return fmt.Errorf("there is no take whose performance could be given again")
	}
	t, err := newTake(s.takes+1, s.set.N)
	if err != nil {
		return err
	}
	seed := s.set.Seed
	if seed == 0 {
		seed = s.seed + uint64(s.takes+1)*0x9e3779b97f4a7c15>>11
	}
	perf := Performance{Talker: s.set.Talker, Seed: seed, Effort: s.Effort(), DistanceM: s.set.Chain[0].DistanceM}
	switch {
	case again:
		perf = old.perf
	case s.live != nil:
		perf.Live = true
	case s.file != nil:
		perf.File = s.file.Name
	default:
		v := s.Voice()
		if v != nil {
			perf = s.ownPerformance(v, seed)
		}
		switch {
		case s.set.Surprise && v != nil:
			perf.Do = v.surprises(seed)
		case s.set.Surprise:
			perf.Do = surprises(seed)
		}
		if err := s.startPerformance(perf); err != nil {
			return err
		}
	}
	s.again = nil
	t.perf = perf
	if again {
		s.again, s.againPos = old, 0
		t.limit = old.Frames()
	} else if old != nil && old.Done {
		old.release(&s.spare)
	}
	return s.roll(t)
}

// roll lets a take begin.
func (s *Session) roll(t *Take) error {
	s.takes++
	s.remake = nil
	s.lean = leaning{}
	s.noted = 0
	s.heard.marks = 0
	// What was made ready belongs to another performance. The strips' delay is let
	// pass, so that the take begins with the performance's first sample; and they
	// are new, so that the same take can be made again.
	s.d.skipTo = s.wrote.Load()
	if err := s.freshStrips(t.perf.Seed); err != nil {
		return err
	}
	t.skip = s.strips[0].Latency()
	t.Chain, t.End = s.set.Chain, s.set.Chain
	t.ready(&s.spare)
	if t.given == nil {
		s.Prepare()
	}
	s.take = t
	s.d.holdRev++
	s.d.readout = t.readout
	s.player.Pause()
	s.SetMode(ModeRecord)
	return nil
}

// Stop ends recording, or pauses playing.
func (s *Session) Stop() {
	if s.mode != ModeRecord {
		s.player.Pause()
		return
	}
	if t := s.take; s.again == nil && t.perf.performed() {
		t.perf.Do = slices.Clone(s.perf.perf.Do)
		// What is to come in the sound check is not what would have come in the take.
		s.perf.perf.Do = s.perf.perf.Do[:min(s.perf.next, len(s.perf.perf.Do))]
	}
	if s.again != nil {
		s.again.release(&s.spare)
		s.again = nil
	}
	if s.given() != nil {
		// What the clock has turned the strips do not tell.
		for i := range s.set.N {
			if err := s.strips[i].Apply(s.set.Chain[i]); err != nil {
				panic("bench: " + err.Error()) // it was valid when it was set
			}
		}
	}
	s.SetMode(ModeReview)
}

func (s *Session) loopTake() {
	s.player.ClearLoop()
	if s.loop && s.take != nil && s.take.Done {
		// Too short a take plays once.
		_ = s.player.SetLoop(0, s.player.Frames())
	}
}

// SetListen chooses what one hears.
func (s *Session) SetListen(l Listen) {
	s.d.listen = l
	s.player.Select(s.track(l))
	s.push()
}

// track is the player's number for a source: the take's strips, then what was
// spoken.
func (s *Session) track(l Listen) int {
	if t := s.take; t != nil {
		switch l {
		case ListenSpoken:
			return t.N
		case ListenMended:
			return t.N + 1
		}
	}
	return int(l)
}

// Listening is what one hears.
func (s *Session) Listening() Listen { return s.d.listen }

// Take is the last take, also while it is being recorded; nil before the first.
func (s *Session) Take() *Take { return s.take }

// gains are the gains in dB that the strips and the performance are heard at,
// before the listening level: with them matched, so that each has ListenLUFS.
func (s *Session) gains(lufs [NumListen]float64, spokenDB float64) (g [NumListen]float64) {
	g[ListenSpoken] = spokenDB
	if s.matched {
		for i, l := range lufs {
			if !math.IsNaN(l) && !math.IsInf(l, 0) {
				g[i] = min(max(ListenLUFS-l, -80), 60)
			}
		}
	}
	return g
}

func spokenDB(c sim.Chain) float64 { return float64(sim.ToDB(sim.ToFullScale(c)[sim.AtTalker])) }

// playGains sets the player's gains.
func (s *Session) playGains() {
	t := s.take
	if t == nil || !t.Done {
		return
	}
	var lufs [NumListen]float64
	for i := range t.N {
		lufs[i] = float64(t.Readings[i].LoudnessLUFS)
	}
	lufs[ListenSpoken] = t.SpokenLUFS
	lufs[ListenMended] = s.mended.Lufs
	for i, g := range s.gains(lufs, spokenDB(t.End[0])) {
		if i >= t.N && Listen(i) != ListenSpoken && (Listen(i) != ListenMended || !s.HasMended()) {
			continue
		}
		if err := s.player.SetGain(s.track(Listen(i)), min(max(g, -80), 60)); err != nil {
			panic("bench: " + err.Error())
		}
	}
}

// Tick does what has to be done beside the clock, once a frame of the screen:
// it makes the performance ready, keeps memory ahead of a recording, takes over
// what the clock's side has published.
func (s *Session) Tick() {
	v, fresh := s.views.get()
	s.lastView = v
	if w, ok := s.shots.get(); ok {
		s.lastShot = w
	}
	if s.lean.on {
		if t := float64(v.Frame-s.lean.start) / Rate; t >= leanFor {
			s.lean = leaning{}
		}
		s.applyDistance()
	}
	if t := s.take; t != nil && !t.Done && s.mode != ModeRecord && v.ModeRev == s.modeRev {
		s.finish(t)
	}
	switch s.mode {
	case ModeRecord:
		t := s.take
		t.ready(&s.spare)
		was := s.lean
		if s.again == nil && t.perf.performed() {
			t.perf.Do = s.perf.perf.Do
		}
		t.note(&s.noted, t.Frames(), func(at int64) { s.lean = leaning{on: true, start: v.Frame - (t.Frames() - at)} },
			func() { s.lean = leaning{} })
		if s.lean != was {
			s.applyDistance()
		}
		if v.ModeRev == s.modeRev {
			s.heard.hearMarks(v.Frame-v.Take, s.take.Marks)
			s.heard.hear(&v.Tenths, s.heard.start, v.Frame-heardLate, s.again != nil)
		}
		if s.take.full.Load() {
			s.Stop()
		}
	case ModeReview:
		s.heard.hear(&v.Tenths, s.heard.start, v.Frame, s.again != nil) // the rest of the take
	case ModeCheck:
		s.heard.hear(&v.Tenths, math.MaxInt64, v.Frame-heardLate, false)
		if s.renewAt != 0 && v.Frame >= s.renewAt {
			s.renew()
			s.push()
		}
	}
	if fresh && s.mode == ModeCheck {
		s.matchLoudness(v)
	}
	if v.Dropout > s.dropout {
		s.dropout = v.Dropout
		s.ahead = min(s.ahead*3/2, mostAhead)
	}
	s.remakeOn()
	s.Prepare()
}

// finish closes a take that nobody records any more and loads it for playing.
func (s *Session) finish(t *Take) {
	s.install(t)
	s.keep(t)
}

// install makes a complete take the one that is shown and played.
func (s *Session) install(t *Take) {
	t.finish()
	s.take = t
	s.loadTake()
	s.HearTake()
	s.player.Select(s.track(s.d.listen))
	s.player.SeekTo(0)
	s.loopTake()
	s.playGains()
}

// HearTake sees to it that what is heard is in the take.
func (s *Session) HearTake() {
	if l := s.d.listen; l <= ListenD && int(l) >= s.take.N {
		s.SetListen(ListenA)
	}
}

// matchLoudness keeps the sources matched in the sound check, in steps small
// enough not to be heard as a change.
func (s *Session) matchLoudness(v *View) {
	changed := false
	n := s.set.N
	for i := range n {
		l := float64(v.Strip[i].Readings.LoudnessLUFS)
		if math.IsInf(l, 0) || math.IsNaN(l) {
			continue
		}
		if math.IsNaN(s.liveLUFS[i]) || math.Abs(l-s.liveLUFS[i]) > 0.5 {
			s.liveLUFS[i] = l
			changed = true
		}
	}
	// The performance through the gains of the strip with the lowest gain, as that
	// loses the least.
	least := 0
	for i := range n {
		if s.set.Chain[i].Preamp.GainDB < s.set.Chain[least].Preamp.GainDB {
			least = i
		}
	}
	if b := s.liveLUFS[least]; !math.IsNaN(b) {
		to := sim.ToFullScale(s.set.Chain[least])[sim.AtTalker]
		s.liveLUFS[ListenSpoken] = b - float64(sim.ToDB(to))
	}
	if changed {
		s.push()
	}
}

// Prepare makes the performance up to aheadFrames ahead of the clock.
func (s *Session) Prepare() {
	if s.mode != ModeReview && s.given() == nil && (s.live == nil || s.again != nil) {
		s.prepare(s.ahead)
	}
}

func (s *Session) prepare(ahead int64) {
	for s.wrote.Load()-max(s.taken.Load(), s.d.skipTo) < ahead {
		n := s.perform(s.feed)
		if n == 0 {
			return
		}
		w := s.wrote.Load()
		for i, v := range s.feed[:n] {
			s.ring[(w+int64(i))%ringFrames] = v
		}
		s.wrote.Store(w + int64(n))
	}
}

// perform makes the next samples of the performance, Pa at 1 m.
func (s *Session) perform(dst []float64) int {
	switch {
	case s.again != nil:
		end := s.again.Frames()
		n := int(max(0, min(int64(len(dst)), end-s.againPos)))
		for i := range n {
			dst[i] = float64(s.again.Spoken[s.againPos+int64(i)])
		}
		s.againPos += int64(n)
		if n < len(dst) { // silence pushes the last samples out of the strips
			clear(dst[n:])
		}
		return len(dst)
	case s.file != nil:
		for i := range dst {
			if s.filePos >= len(s.file.Samples) {
				s.filePos = 0
			}
			dst[i] = float64(s.file.Samples[s.filePos]) * s.file.scale
			s.filePos++
		}
		return len(dst)
	}
	s.perf.read(dst)
	if p := s.perf; s.mode == ModeCheck && p.next == len(p.perf.Do) {
		p.perf.Do, p.next = p.perf.Do[:0], 0
	}
	return len(dst)
}

// Shown is the finished take that is looked at: whatever is drawn or told is its own.
// It is nil while somebody talks.
func (s *Session) Shown() *Take {
	if t := s.take; t != nil && t.Done && s.mode == ModeReview {
		return t
	}
	return nil
}

// View is the newest picture of the strips as of the last Tick: of the take where one
// is shown, else of what goes on. Where that has begun anew and the clock does not
// know yet, nothing has been heard.
func (s *Session) View() *View {
	v, t := s.lastView, s.Shown()
	blank := t == nil && s.mode != ModeReview && v.HoldRev != s.d.holdRev
	if t == nil && !blank {
		return v
	}
	o := &s.ofTake
	o.Frame, o.Mode, o.ModeRev, o.HoldRev, o.Take, o.Dropout, o.Loudest = v.Frame, v.Mode, v.ModeRev, v.HoldRev, v.Take, v.Dropout, v.Loudest
	if blank {
		o.Strip, s.ofID = v.Strip, 0
		for i := range o.Strip {
			sv := &o.Strip[i]
			sv.Loudest, sv.Overs, sv.MeterHold, sv.MeterWanted = Loudest{}, 0, 0, 0
		}
		return o
	}
	if s.ofID != t.ID {
		s.ofID = t.ID
		for i := range o.Strip {
			o.Strip[i] = t.view(i)
		}
	}
	return o
}
