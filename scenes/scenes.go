package scenes

import (
	"gainwright/scenes/first"
	"gainwright/scenes/gain"
	"gainwright/scenes/kit"
	"gainwright/scenes/lesson"
	"gainwright/scenes/mend"
	"gainwright/scenes/mine"
	"gainwright/scenes/plan"
	"gainwright/scenes/practice"
	"gainwright/scenes/program"
	"gainwright/scenes/recorder"
	"gainwright/scenes/twin"
)

// NewProgram makes the program with all its scenes, showing the first. A nil host is
// Silent.
func NewProgram(host kit.Host) (*program.Program, error) {
	return program.New(host, func(sh kit.Shell) []kit.Scene {
		g := gain.New(sh)
		return []kit.Scene{g, twin.New(sh), mend.New(sh), plan.New(sh), lesson.New(sh, g), practice.New(sh, g), recorder.New(sh), mine.New(sh), first.New(sh, g)}
	})
}
