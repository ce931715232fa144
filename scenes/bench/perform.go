package bench

import (
	"fmt"
	"slices"
	"time"

	"gainwright/sim"
)

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
			s.SetMode(ModeCheck)
		}
		s.renew()
		s.ClearHold()
	}
	if err := s.change(next); err != nil {
		return err
	}
	if next.Talker != old.Talker {
		if s.mode == ModeReview {
			s.SetMode(ModeCheck)
		}
		return s.SetTalker(next.Talker)
	}
	return nil
}

// startPerformance begins another performance.
func (s *Session) startPerformance(perf Performance) error {
	p := new(Performance)
	*p = perf
	l, err := s.performerOf(p)
	if err != nil {
		return err
	}
	if l.live != nil {
		p.Talker = l.live.Talker().Name
	}
	s.perf, s.noted = l, 0
	return nil
}

// Recipes are those of the takes so far, oldest first; at most MaxRecipes.
func (s *Session) Recipes() []Recipe { return s.recipes }

// Restore begins to make a take of an earlier visit again, as Remake does, but the
// bench stays set up as it is, and a quiet take does not end the sound check.
func (s *Session) Restore(r Recipe, quiet bool) error {
	err := s.Remake(r)
	if err == nil {
		s.remake.restore, s.remake.take.Quiet = true, quiet
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
	if m.perf, err = s.performerOf(&perf); err != nil {
		return err
	}
	t.perf = perf
	for i := range r.N {
		if m.strips[i], err = sim.NewStrip(Rate, r.Chain[i], perf.Seed); err != nil {
			return err
		}
		m.taps[i], m.cut[i] = sim.NewTaps(sessionBlock), new(sim.Taps)
		t.Chain[i], t.End[i] = r.Chain[i], r.Chain[i]
	}
	t.Told = r.Told
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
			next.Chain[i] = m.take.End[i]
		}
		if s.SetSetup(next) != nil {
			return
		}
	}
	if old := s.take; old != nil && old.Done {
		old.release(&s.spare)
	}
	s.install(m.take)
	if !m.take.Quiet {
		s.SetMode(ModeReview)
	}
}

// RemakeFor goes on making a take again for that long; breathe is called in between.
func (s *Session) RemakeFor(d time.Duration, breathe func()) {
	for end := time.Now().Add(d); s.remake != nil && s.mode != ModeRecord && time.Now().Before(end); breathe() {
		s.remakeOn()
	}
}

// keep notes the recipe of a finished take.
func (s *Session) keep(t *Take) {
	s.RecipeRev++
	r := Recipe{Number: t.Number, Frames: t.Frames(), Perf: t.perf, N: t.N, Chain: slices.Clone(t.Chain[:t.N]), Changes: t.changes, Told: t.Told}
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
	if len(s.recipes) > MaxRecipes {
		s.recipes = slices.Delete(s.recipes, 0, len(s.recipes)-MaxRecipes)
	}
}

// SetRecipes takes over the recipes of an earlier visit.
func (s *Session) SetRecipes(rs []Recipe) {
	s.recipes = rs
	for _, r := range rs {
		s.takes = max(s.takes, r.Number)
	}
}
