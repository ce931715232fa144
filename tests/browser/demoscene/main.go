//go:build js

// Command demoscene shows the window's test App in a browser.
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
