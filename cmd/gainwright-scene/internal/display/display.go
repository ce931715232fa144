//go:build window && (linux || freebsd || netbsd || openbsd)

package display

import "os"

func init() {
	if os.Getenv("DISPLAY") == "" {
		os.Stderr.WriteString("gainwright-scene: there is no display here (DISPLAY is not set): run \"go run ./cmd/gainwright open --no-browser\" and open its address in a browser, or start this from a desktop\n")
		os.Exit(1)
	}
}
