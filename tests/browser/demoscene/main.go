//go:build js || window

// Command demoscene shows the window's test App in a browser or a window.
package main

import (
	"fmt"
	"os"

	"gainwright/scenes/window"
	"gainwright/scenes/window/demo"
)

func main() {
	if err := window.Run(demo.New()); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}
