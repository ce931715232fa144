// Command gainwright-scene is the scene's own program: in a browser (built for
// GOOS=js by "gainwright open") or, built with the tag "window", in a desktop
// window.
//
//	go run ./cmd/gainwright                          # in the browser
//	go run -tags window ./cmd/gainwright-scene       # in a window of its own
package main

import (
	"fmt"
	"os"
)

func main() {
	if err := run(); err != nil {
		fmt.Fprintln(os.Stderr, "gainwright-scene:", err)
		os.Exit(1)
	}
}
