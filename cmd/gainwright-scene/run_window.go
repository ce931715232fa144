//go:build js || window

package main

import (
	_ "gainwright/cmd/gainwright-scene/internal/display" // before ebiten, which panics
	"gainwright/scenes"
	"gainwright/scenes/kit"
	"gainwright/scenes/program"
	"gainwright/scenes/window"
	"gainwright/sounds"
	"gainwright/sounds/speaker"
)

func run() error {
	window.Hasten()
	h, err := newHost()
	if err != nil {
		return err
	}
	p, err := scenes.NewProgram(h)
	if err != nil {
		return err
	}
	return window.Run(p)
}

// The program is what the window wants of it, also where that is optional.
var (
	_ window.App     = (*program.Program)(nil)
	_ window.Chooser = (*program.Program)(nil)
	_ window.Saver   = (*program.Program)(nil)
	_ window.Saved   = (*program.Program)(nil)
	_ window.Counted = (*program.Program)(nil)
	_ window.Hurried = (*program.Program)(nil)
	_ window.Holder  = (*program.Program)(nil)
	_ kit.Chancer    = (*host)(nil)
)

// OpenSound opens the system's sound output. Without one the program runs on the
// clock of its pictures.
func (*host) OpenSound(rate int) (sounds.Device, int, error) {
	buffer := speaker.Buffer()
	dev, err := speaker.Open(rate, buffer)
	if err != nil {
		return nil, 0, err
	}
	return dev, buffer, nil
}
