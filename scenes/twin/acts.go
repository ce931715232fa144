package twin

import (
	"errors"
	"fmt"

	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
)

// IDs of the scene's controls and nodes, besides those that others have too.
const (
	idGain    = "twin.gain_db"     // 26 to 50 dB, of both recordings
	idTreat   = groupTreat + "."   // and none, limiter, compressor, declip, denoise or deliver: what is done to both files
	idListen  = groupListen + "."  // and first, second, first_file, second_file or unknown: what is heard
	idAnswer  = "twin.answer."     // and first or second: says that the recording came from it
	idReset   = "twin.score.reset" // begins the score anew
	idFiles   = "twin.files"       // whether the files are equal; a node
	idPicture = "twin.picture"     // the waves; a node
	idScore   = "twin.score"       // the answers so far; a node
)

// Choices of which one holds.
const (
	groupTreat  = "twin.treat"
	groupListen = "twin.listen"
)

// sceneActs are what the controls do.
func (s *Scene) sceneActs() kit.Acts {
	a := kit.Acts{s.gain.ID: s.setGain, s.reset.ID: kit.Press(s.resetScore)}
	for i, c := range s.treat {
		a[c.ID] = kit.Press(func() { s.want.treat = i; s.renew() })
	}
	for i, c := range s.listen {
		a[c.ID] = kit.Press(func() { s.d.Choose(i) })
	}
	for i, c := range s.answer {
		a[c.ID] = kit.Try(func() error {
			if s.job != nil {
				return errors.New(whyAnew)
			}
			s.judge(i)
			return nil
		})
	}
	return a
}

func (s *Scene) apply(it ui.Intent) error {
	if ok, err := s.d.Apply(it); ok {
		return err
	}
	if ok, err := s.w.Apply(it); ok {
		return err
	}
	if s.st == nil {
		return errors.New(whyTwin)
	}
	if ok, err := s.acts.Apply(it); ok {
		return err
	}
	return fmt.Errorf("there is nothing called %q here", it.ID)
}

func (s *Scene) setGain(it ui.Intent) error {
	v, err := kit.Number(it, s.want.gain, twinGain, 1, twinGain-twinRange, twinGain)
	if err != nil {
		return err
	}
	s.want.gain = v
	s.renew()
	return nil
}

func (s *Scene) resetScore() {
	s.tally = [2]tally{}
	s.draw()
	s.status, s.strong = "The score begins anew.", false
}
