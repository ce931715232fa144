package main

import (
	"gainwright/cmd/gainwright-scene/archive"
	"gainwright/scenes/kit"
	"gainwright/sounds/microphone"
)

var (
	_ kit.Listener  = (*host)(nil)
	_ kit.Archivist = (*host)(nil)
)

// Listen asks the browser for the microphone.
func (*host) Listen(live bool) kit.Microphone { return input{microphone.Ask(live)} }

// input is the browser's, to the scenes.
type input struct{ d *microphone.Device }

func (m input) Report() kit.MicReport {
	state, err := m.d.State()
	told := m.d.Told()
	r := kit.MicReport{State: state, Err: err, Opened: kit.Opened{Label: told.Label, DeviceRate: told.Rate, LatencyS: told.LatencyS,
		Echo: told.Echo, Noise: told.Noise, Gain: told.Gain}}
	if in := m.d.Input(); in != nil {
		r.Breaks, r.LostS = in.Faults()
		r.DriftPPM = in.DriftPPM()
	}
	return r
}

func (m input) Read(dst []float64) int {
	if in := m.d.Input(); in != nil {
		return in.Read(dst)
	}
	return 0
}

func (m input) Pull(dst []float64) {
	if in := m.d.Input(); in != nil {
		in.Pull(dst)
		return
	}
	clear(dst)
}

func (m input) Close() { m.d.Close() }

// later has f answer beside the screen.
func later[T any](f func() T) <-chan T {
	answer := make(chan T, 1)
	go func() { answer <- f() }()
	return answer
}

// Keep keeps a copy in the browser's database, as the methods after it go on with it.
func (h *host) Keep(name string, data []byte) <-chan error {
	bytes, err := archive.Bytes(data)
	return later(func() error {
		if err != nil {
			return err
		}
		return h.archive.Keep(name, bytes)
	})
}

func (h *host) Kept() <-chan kit.KeptNames {
	return later(func() (k kit.KeptNames) {
		k.Names, k.Err = h.archive.Kept()
		return k
	})
}

func (h *host) Fetch(name string) <-chan kit.KeptData {
	return later(func() (k kit.KeptData) {
		k.Data, k.Err = h.archive.Fetch(name)
		return k
	})
}

func (h *host) Forget(name string) <-chan error {
	return later(func() error { return h.archive.Forget(name) })
}
