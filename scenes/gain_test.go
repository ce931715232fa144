package scenes

import (
	"testing"
)

// gainScenes are the scene with the strips and stand-ins, of which two borrow the
// bench as lessons and practice do.
func gainScenes(sh Shell) []Scene {
	g := newGainScene(sh)
	return amid(g, newMendScene(sh), &borrower{otherScene{"tab.lessons", "Lessons"}, sh, g, nil}, &borrower{otherScene{"tab.practice", "Practice"}, sh, g, nil})
}

// borrower is a scene that borrows the bench while it is shown.
type borrower struct {
	otherScene
	sh   Shell
	g    *gainScene
	loan *Loan
}

func (s *borrower) Enter() {
	s.g.lend()
	s.loan = s.sh.Bench().Lend()
	s.g.told()
}

func (s *borrower) Leave() {
	s.sh.Bench().Return(s.loan)
	s.g.told()
	s.g.restore()
}

func gainBench(t testing.TB) *bench { return drive(t, build(t, nil, gainScenes)) }

// gainOf is the scene with the strips.
func gainOf(p *Program) *gainScene { return p.SceneOf("tab.gain").(*gainScene) }
