package lesson

import (
	"errors"
	"fmt"
	"strings"

	"gainwright/lessons/model"
	"gainwright/lessons/names"
	"gainwright/lessons/run"
	"gainwright/lessons/take"
	"gainwright/scenes/kit"
	"gainwright/scenes/stage"
	"gainwright/scenes/ui"
	"gainwright/scenes/work"
)

// locked tells why a control of the bench cannot be used in this step, or "".
func (s *Scene) locked(id string) string {
	if key, _, ok := s.lessonKey(id); ok {
		why, _ := s.r.Locked(key)
		if why == "" && s.stage.Rolling() && !s.v.Step.Riding {
			why = "in this step the settings stay as they are while the take rolls"
		}
		return why
	}
	if strings.HasSuffix(id, "."+kit.IDStripMeter) {
		return ""
	}
	for _, p := range stage.BenchFree {
		if strings.HasPrefix(id, p) {
			return ""
		}
	}
	if id == kit.IDRecord {
		switch {
		case s.v.State != run.Recording:
			return "in this step nothing is recorded"
		case s.v.TakesLeft == 0:
			return "all takes of this step are recorded"
		}
		return ""
	}
	return "in a lesson the bench is as the lesson sets it up"
}

// lockBench dims what the step does not unlock, with the reason.
func (s *Scene) lockBench(wait string) {
	for _, c := range s.g.Controls() {
		b := c.Common()
		b.Disabled, b.Why = false, ""
	}
	s.g.Sync()
	for _, c := range s.g.Controls() {
		b := c.Common()
		why := ""
		switch {
		case s.job != nil:
			why = wait
			if stage.Looks(b.ID) {
				why = ""
			}
		default:
			why = s.locked(b.ID)
		}
		if why != "" {
			b.Disabled, b.Why = true, why
		}
	}
}

// unlockBench undoes lockBench where the bench itself does not.
func (s *Scene) unlockBench() {
	for _, c := range s.g.Controls() {
		b := c.Common()
		b.Disabled, b.Why = false, ""
	}
	s.g.Sync()
}

// applyBench carries out an intent on the bench.
func (s *Scene) applyBench(it ui.Intent) error {
	if s.job != nil && !stage.Looks(it.ID) {
		return errors.New(s.doing + "; wait a moment")
	}
	if why := s.locked(it.ID); why != "" {
		return fmt.Errorf("%s: %s", it.ID, why)
	}
	if it.ID == kit.IDRecord {
		return s.toggleTake()
	}
	if key, v, ok := s.lessonKey(it.ID); ok {
		if v == nil {
			var c model.Control
			for _, x := range s.v.Step.Controls {
				if x.Key == key {
					c = x
				}
			}
			now, _ := s.valueOf(key).(float64)
			x, err := kit.Number(it, now, c.Min, max(c.Step, 1e-6), c.Min, c.Max)
			if err != nil {
				return err
			}
			v = x
		}
		return s.set(key, v)
	}
	if it.ID == kit.IDPlay || it.ID == kit.IDCautionPlay || it.ID == kit.IDCheck {
		s.deck.Player.Pause()
		s.shell.Hear(nil)
	}
	return s.g.Apply(it)
}

// toggleTake starts the step's take, or gives it up.
func (s *Scene) toggleTake() error {
	if s.stage.Rolling() {
		s.stopTake()
		return nil
	}
	if s.v.State != run.Recording {
		return errors.New("in this step nothing is recorded")
	}
	if s.v.TakesLeft == 0 {
		return errors.New("all takes of this step are recorded")
	}
	s.deck.Player.Pause()
	s.shell.Hear(nil)
	s.g.DropCaution()
	var sp *take.Speech
	visit := s.stage.Visit
	s.work("The guest gets ready", func(h *work.Context) (err error) {
		sp, err = s.r.Speech(h)
		return err
	}, func(err error) {
		if visit != s.stage.Visit {
			return // the scene was left meanwhile
		}
		if err == nil {
			err = s.stage.Perform(sp)
		}
		if err != nil {
			s.shell.Fail(err)
			return
		}
		s.status = "The take rolls."
	})
	return nil
}

// stopTake gives up the take that rolls.
func (s *Scene) stopTake() {
	if s.stage.Rolling() {
		s.hearTake()
		s.stage.Abort()
		s.dropTake()
	}
}

// hearTake has the lesson know, and keep, how much of the take has sounded.
func (s *Scene) hearTake() {
	if t := s.stage.Now; t != nil && s.r.Heard(t.Seconds()) {
		s.dirty = true
		s.store()
	}
}

// dropTake tells what a take counts that was given up.
func (s *Scene) dropTake() {
	counts := s.r.Drop()
	s.dirty = true
	s.store()
	s.view()
	switch v := &s.v; {
	case !counts:
		s.status = "The take was given up before a second had sounded: it does not count."
	case v.Owed:
		s.status = "The take was given up, and it was the last: " + run.OwedWords + "."
	case v.TakesLeft >= 0:
		s.status = fmt.Sprintf("The take was given up, and counts as one. Takes left: %d.", v.TakesLeft)
	default:
		s.status = "The take was given up. The result tells of it."
	}
}

// updateTake sees to it that a take performed to its end is recorded.
func (s *Scene) updateTake() bool {
	ended, whole := s.stage.Update()
	if !ended {
		s.hearTake()
		return s.stage.Rolling()
	}
	if !whole {
		s.dropTake()
		return true
	}
	live, changes := map[string]names.Measured{}, s.stage.Changes()
	if all, _, ok := s.stage.Readings(); ok {
		for i, n := range s.onBench {
			live[n] = all[i]
		}
	}
	// Strips that the bench has no room for are run here.
	s.work("The readings are taken", func(h *work.Context) error {
		return s.r.Performed(h, live, func(p float64) { h.Report("", p) }, changes...)
	}, func(err error) {
		if err != nil {
			s.shell.Fail(err)
			return
		}
		s.dirty = true
		s.view()
		if len(changes) > 0 {
			// The next take begins as this one began.
			s.scn = s.r.Bench()
			s.putChains()
		}
		s.store()
		s.pictures, s.tocome = false, true
		s.status = s.takeWords()
	})
	return true
}
