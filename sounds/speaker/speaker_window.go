//go:build window && !js

package speaker

// worklet is the browser's.
type worklet struct{}

func (d *device) start() error { return d.startBeep() }

func (d *device) Name() string { return "the system's sound output" }

func afterPicture(f func()) { f() }
