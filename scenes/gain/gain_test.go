package gain

import (
	"testing"

	"gainwright/scenes/bench"
	"gainwright/scenes/kit"
	"gainwright/scenes/mend"
	"gainwright/scenes/program"
	"gainwright/scenes/scenetest"
)

// gainScenes are the scene with the strips and stand-ins, of which two borrow the
// bench as lessons and practice do.
func gainScenes(sh kit.Shell) []kit.Scene {
	g := New(sh)
	return scenetest.Amid(g, mend.New(sh), &borrower{scenetest.Other{Tab: "tab.lessons", Label: "Lessons"}, sh, g, nil}, &borrower{scenetest.Other{Tab: "tab.practice", Label: "Practice"}, sh, g, nil})
}

// borrower is a scene that borrows the bench while it is shown.
type borrower struct {
	scenetest.Other
	sh   kit.Shell
	g    *Scene
	loan *bench.Loan
}

func (s *borrower) Enter() {
	s.g.Lend()
	s.loan = s.sh.Bench().Lend()
	s.g.MarkAnnounced()
}

func (s *borrower) Leave() {
	s.sh.Bench().Return(s.loan)
	s.g.MarkAnnounced()
	s.g.Restore()
}

func gainBench(t testing.TB) *scenetest.Driver {
	return scenetest.Drive(t, scenetest.Build(t, nil, gainScenes))
}

// gainOf is the scene with the strips.
func gainOf(p *program.Program) *Scene { return p.SceneOf("tab.gain").(*Scene) }
