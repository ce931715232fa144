package mend

import (
	"errors"
	"fmt"
	"strings"

	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
	"gainwright/scenes/work"
	"gainwright/sim/repair"
)

// IDs of the scene's controls and nodes, besides those that others have too.
const (
	idKind    = "mend."              // and declip, splice, highpass, denoise, compress, limit or deliver: turns that treatment on or off
	idUp      = ".up"                // behind a treatment's: an earlier place in the order
	idDown    = ".down"              // behind a treatment's: a later one
	idSource  = groupSource + "."    // and A to D: mends that strip of the last take
	idBuiltin = idSource + "builtin" // mends a built-in take
	idEffort  = groupEffort + "."    // and fast, balanced or best: how much work declip takes
	idUnlimit = "mend.undo_limiter"  // leaves the gain out that a limiter moved after the clipping, where the tops tell it
	idListen  = groupListen + "."    // and spoken, recorded, mended or lower: what is heard
	idCancel  = "mend.cancel"        // gives up the work going on; then begins it again
	idSave    = "mend.save"          // hands out the mended sound
	idVerdict = "mend.verdict"       // what the treatments bring; a node
	idPicture = "mend.picture"       // the waves; a node
	idFigures = "mend.figures."      // and recorded, mended or lower: what was measured; a node
)

// Choices of which one holds.
const (
	groupSource = "mend.source"
	groupEffort = "mend.effort"
	groupListen = "mend.listen"
)

var efforts = [3]repair.Effort{repair.Fast, repair.Balanced, repair.Best}

// mendTracks are what can be listened to.
var mendTracks = [4]struct{ id, name, label string }{
	mendSpoken:   {"spoken", "Listen to what was spoken", "as spoken"},
	mendRecorded: {"recorded", "Listen to the take as recorded", "as recorded"},
	mendMended:   {"mended", "Listen to the mended take", "mended"},
	mendLower:    {"lower", "Listen to the take with 12 dB less gain", "12 dB less gain"},
}

// sceneActs are what the controls do.
func (s *Scene) sceneActs() kit.Acts {
	a := kit.Acts{
		kit.IDMendFile: s.bring,
		s.open.ID:      kit.Press(func() { s.shell.Choose(work.AcceptSound) }),
		s.matched.ID:   kit.Press(func() { s.inStep = !s.inStep; s.gains() }),
		s.cancel.ID:    kit.Try(s.cancelOrMend),
		s.keep.ID:      s.withTake(s.save),
	}
	for _, c := range s.source {
		a[c.ID] = kit.Try(func() error { return s.choose(c.ID) })
	}
	for i, c := range s.listen {
		a[c.ID] = s.withTake(func() error {
			if c.Disabled {
				return errors.New(c.Why)
			}
			s.d.Choose(i)
			return nil
		})
	}
	for i, c := range s.effort {
		a[c.ID] = s.withTake(func() error {
			s.order.effort = efforts[i]
			s.renew()
			return nil
		})
	}
	a[s.unlimit.ID] = s.withTake(func() error {
		if s.unlimit.Disabled || s.unlimit.Hidden {
			return errors.New(s.unlimit.Why)
		}
		s.order.unlimit = !s.order.unlimit
		s.renew()
		return nil
	})
	for i := range mendKinds {
		a[s.on[i].ID] = s.withTake(func() error { return s.turn(i) })
		a[s.up[i].ID] = s.withTake(func() error { return s.move(i, -1) })
		a[s.down[i].ID] = s.withTake(func() error { return s.move(i, 1) })
	}
	return a
}

// withTake is what a control does that needs a take.
func (s *Scene) withTake(do func() error) func(ui.Intent) error {
	return func(ui.Intent) error {
		if s.take == nil {
			return errors.New(whyNoMend)
		}
		return do()
	}
}

func (s *Scene) apply(it ui.Intent) error {
	for _, f := range []func(ui.Intent) (bool, error){s.d.Apply, s.w.Apply, s.acts.Apply} {
		if ok, err := f(it); ok {
			return err
		}
	}
	return fmt.Errorf("there is nothing called %q here", it.ID)
}

// bring takes a recording that another scene brings along.
func (s *Scene) bring(it ui.Intent) error {
	if it.File == nil {
		return errors.New(kit.IDMendFile + " needs a recording")
	}
	if err := s.drop(*it.File); err != nil {
		return err
	}
	s.seen = s.lastTake() // the recording is meant, not the take
	return nil
}

// cancelOrMend gives up what goes on; where that was done, it begins again.
func (s *Scene) cancelOrMend() error {
	switch {
	case s.load != nil:
		s.load.Job.Cancel()
		s.load, s.status = nil, "Reading was cancelled."
	case s.job != nil:
		s.drop0()
		s.given, s.status, s.strong = true, "Cancelled.", false
		if s.take == nil {
			s.from = "none"
		}
	case s.given:
		s.given = false
		if s.take == nil {
			s.from, s.seen = "", nil
		}
	default:
		return errors.New("nothing is going on")
	}
	return nil
}

// turn turns treatment i on or off.
func (s *Scene) turn(i int) error {
	if s.on[i].Disabled {
		return errors.New(s.on[i].Why)
	}
	s.order.on[i] = !s.order.on[i]
	s.renew()
	return nil
}

func (s *Scene) move(k, by int) error {
	at := s.place(k)
	to := at + by
	if to < 0 || to >= len(mendKinds) {
		return fmt.Errorf("%s stands at the end already", strings.ToLower(mendKinds[k].name))
	}
	o := &s.order.kinds
	o[at], o[to] = o[to], o[at]
	s.shell.Relayout() // the rows change places
	s.renew()
	return nil
}

// renew gives up work on a stack that is no longer wanted; the next frame begins
// anew.
func (s *Scene) renew() {
	s.given = false
	if s.take != nil {
		s.drop0()
	}
}
