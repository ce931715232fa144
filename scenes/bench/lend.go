package bench

import (
	"fmt"
	"slices"

	"gainwright/sim"
)

// Loan is how the bench stood before it was lent.
type Loan struct {
	set     Setup
	file    *Recording
	voice   *Voice
	take    *Take
	remake  *remaking // that was going on
	recipes []Recipe
}

// Seed is that of the set-up that the bench comes back to.
func (l *Loan) Seed() uint64 { return l.set.Seed }

// Lend makes the bench free for somebody else: at the sound check, with no take to
// be seen. Return gives it back as it was.
func (s *Session) Lend() *Loan {
	s.Stop()
	s.EndLive()
	l := &Loan{set: s.Setup(), file: s.File(), voice: s.Voice(), take: s.take, remake: s.remake, recipes: slices.Clone(s.Recipes())}
	s.remake = nil
	s.StartCheck()
	s.Show(nil)
	return l
}

// Return puts the bench back to how it stood when it was lent.
func (s *Session) Return(l *Loan) {
	s.Stop()
	s.Tick()
	s.StartCheck()
	s.Show(l.take)
	s.recipes = l.recipes
	// What stood there was valid.
	_ = s.SetSetup(l.set)
	_ = s.SetTalker(l.set.Talker)
	if l.voice != nil {
		_ = s.PerformVoice(l.voice)
	}
	if l.file != nil {
		_ = s.SetFile(l.file)
	}
	s.remake = l.remake
}

// Show makes a finished take, or none, the one that can be played.
func (s *Session) Show(t *Take) {
	if s.Mode() == ModeRecord {
		s.Stop()
	}
	s.take = nil
	if t != nil && t.Done {
		s.take = t
	}
	s.loadTake()
	if l := s.d.listen; s.take != nil && l != ListenSpoken && int(l) >= s.take.N {
		s.d.listen = ListenA
	}
	if s.take != nil {
		s.player.Select(s.track(s.d.listen))
	}
	s.loopTake()
	s.push()
}

// Perform starts a take of x, Pa at 1 m, which ends with it; the mouth moves as told.
// Whatever is turned meanwhile holds from the next step on.
func (s *Session) Perform(x []float64, moves []sim.Move, seed uint64) error {
	if s.mode == ModeRecord {
		return fmt.Errorf("a take is being recorded")
	}
	if len(x) == 0 || len(x) > maxFrames {
		return fmt.Errorf("the performance lasts %.0f s: a take has a sample at least, and %d s at most", float64(len(x))/Rate, MaxTakeSeconds)
	}
	t, err := newTake(s.takes+1, s.set.N)
	if err != nil {
		return err
	}
	// The file's name keeps it from the takes that could be made anew.
	t.perf = Performance{Talker: s.set.Talker, Seed: seed, Effort: s.Effort(), DistanceM: s.set.Chain[0].DistanceM, File: "a lesson's take"}
	t.given, t.limit = newGiven(x, moves, s.d.turnRev, &s.set.Chain), int64(len(x))
	return s.roll(t)
}

// Turns counts the settings turned while such takes were performed.
func (s *Session) Turns() uint64 { return s.d.turnRev }

// Running gives the settings that strip i runs with: those of Chain with the mouth
// where it is at this moment.
func (s *Session) Running(i int) sim.Chain {
	g := s.given()
	if g == nil {
		return s.strips[i].Chain()
	}
	c := s.set.Chain[i]
	if c.DistanceM == s.take.Chain[i].DistanceM {
		c.DistanceM = sim.DistanceAt(g.moves, c.DistanceM, s.take.Seconds())
	}
	return c
}

// PerformPressure performs a recording whose samples are pressures, Pa at 1 m, over
// and over; levelDB is told to be its level.
func (s *Session) PerformPressure(r *Recording, levelDB float64) error {
	if err := s.SetFile(r); err != nil {
		return err
	}
	r.scale, r.LevelDB = 1, levelDB
	s.ClearHold()
	return nil
}

// Repeats reports whether a performance is given that is there already: that of an
// earlier take, or a lesson's.
func (s *Session) Repeats() bool { return s.again != nil || s.given() != nil }

// HushRemake lets the take that is made again for the bench as it was come without
// being shown; number is the take's. ok is false where none is being made.
func (s *Session) HushRemake() (number int, ok bool) {
	m := s.remake
	if m == nil || !m.restore {
		return 0, false
	}
	m.take.Quiet = true
	return m.r.Number, true
}
