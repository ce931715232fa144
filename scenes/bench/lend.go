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
	l := &Loan{set: s.Setup(), file: s.File(), take: s.take, remake: s.remake, recipes: slices.Clone(s.Recipes())}
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

// Perform starts a take of x, Pa at 1 m, which ends with it.
func (s *Session) Perform(x []float64, seed uint64) error {
	if len(x) > maxFrames {
		return fmt.Errorf("the performance is longer than %d s", MaxTakeSeconds)
	}
	// It is given as a take's performance is given again. The file's name keeps it
	// from the takes that could be made anew.
	old := &Take{Number: s.takes, N: s.N(), Done: true, Spoken: make([]float32, len(x)),
		perf: Performance{Talker: s.Talker(), Seed: seed, DistanceM: s.Chain(0).DistanceM, File: "a lesson's take"}}
	for i, v := range x {
		old.Spoken[i] = float32(v)
	}
	old.frames.Store(int64(len(x)))
	s.take = old
	return s.Record(true)
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

// Lean puts the mouth where the moves have it t seconds after they began; Settle
// puts it back to where it is set.
func (s *Session) Lean(moves []sim.Move, t float64) {
	changed := false
	for i := range s.N() {
		c := s.Chain(i)
		c.DistanceM = sim.DistanceAt(moves, c.DistanceM, t)
		if c != s.strips[i].Chain() && s.strips[i].Apply(c) == nil {
			changed = true
		}
	}
	if changed {
		s.push()
	}
}

// Settle puts the mouth back to where it is set.
func (s *Session) Settle() { s.applyDistance() }

// Running gives the settings that strip i runs with: those of Chain with the mouth
// where it is at this moment.
func (s *Session) Running(i int) sim.Chain { return s.strips[i].Chain() }

// Repeats reports whether the performance of an earlier take is given again.
func (s *Session) Repeats() bool { return s.again != nil }

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
