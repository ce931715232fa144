//go:build !js && !window

package main

import "errors"

func run() error {
	return errors.New(`built without a window: run "go run ./cmd/gainwright" for the scene in the browser, or "go run -tags window ./cmd/gainwright-scene" for a window (on Linux that needs a C compiler and the X11, OpenGL and ALSA headers)`)
}
