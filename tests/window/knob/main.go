//go:build window

// Command knob turns the gain of a strip while a steady tone is performed, with
// the program, its sound device and its buffer as the window has them, but
// without a window: it prints when, in nanoseconds of the system's clock.
package main

import (
	"encoding/binary"
	"fmt"
	"math"
	"os"
	"strconv"
	"time"

	"gainwright/scenes"
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
	"gainwright/sounds"
	"gainwright/sounds/speaker"
)

type host struct {
	kit.Silent
	buffer int
}

// Load says that all scenes are to be shown.
func (host) Load(key string) string { return map[string]string{"everything": "1"}[key] }

func (h host) OpenSound(rate int) (sounds.Device, int, error) {
	d, err := speaker.Open(rate, h.buffer)
	return d, h.buffer, err
}

// tone is a WAV file of two seconds of 200 Hz.
func tone() []byte {
	const rate, n = 48000, 2 * 48000
	b := append([]byte("RIFF"), binary.LittleEndian.AppendUint32(nil, 36+2*n)...)
	b = append(b, "WAVEfmt \x10\x00\x00\x00\x01\x00\x01\x00"...)
	b = binary.LittleEndian.AppendUint32(b, rate)
	b = binary.LittleEndian.AppendUint32(b, 2*rate)
	b = append(b, "\x02\x00\x10\x00data"...)
	b = binary.LittleEndian.AppendUint32(b, 2*n)
	for i := range n {
		b = binary.LittleEndian.AppendUint16(b, uint16(int16(8000*math.Sin(2*math.Pi*200*float64(i)/rate))))
	}
	return b
}

func main() {
	buffer := speaker.Buffer()
	if len(os.Args) > 1 { // another, to compare
		var err error
		if buffer, err = strconv.Atoi(os.Args[1]); err != nil {
			panic(err)
		}
	}
	p, err := scenes.NewProgram(host{buffer: buffer})
	if err != nil {
		panic(err)
	}
	do := func(id, what string, v float64) {
		if err := p.Apply(ui.Intent{ID: id, Do: what, Value: v}); err != nil {
			fmt.Fprintln(os.Stderr, id, err)
			os.Exit(1)
		}
	}
	began := time.Now()
	in := ui.Input{Size: ink.Point{X: 1280, Y: 720}, Scale: 1, Drops: []ui.Drop{{Name: "steady.wav", Data: tone()}}}
	frames := func(d time.Duration) {
		for end := time.Now().Add(d); time.Now().Before(end); time.Sleep(time.Second / 60) {
			in.Seconds = time.Since(began).Seconds()
			p.Frame(in)
			in.Drops = nil
		}
	}
	frames(time.Second)
	do("sound", "press", 0)
	do("A.limiter.off", "press", 0)
	do("listen.level_db", "set", 0)
	do("listen.matched", "press", 0)
	do("A.gain_db", "set", 20)
	frames(2 * time.Second)
	for i := range 12 {
		do("A.gain_db", "set", 32)
		fmt.Println("LOUD", time.Now().UnixNano())
		frames(300 * time.Millisecond)
		do("A.gain_db", "set", 20)
		frames(time.Duration(500+13*i) * time.Millisecond)
	}
	fmt.Println("BUFFER", buffer, "LATE", p.Counters()["sound_late_pulls"])
}
