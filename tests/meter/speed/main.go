// Command speed writes and reads the WAV file that speed.sh times. It is a test
// tool: it reads the 16-bit files it writes, and no others.
//
//	speed write FILE MINUTES KIND [CHANNELS]   KIND: see kinds; 1 or 2 channels, 2 if not said
//	speed read FILE                            integrated loudness, range and true peak of two channels
package main

import (
	"bufio"
	"encoding/binary"
	"fmt"
	"io"
	"maps"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"

	"gainwright/sim/meter"
	"gainwright/sounds/voice"
)

const (
	rate   = 48000
	minute = 60 * rate
	header = 44
)

// kinds make a minute of two channels, which is repeated at slowly changing levels.
var kinds = map[string]func() ([2][]float64, error){
	"speech":  func() ([2][]float64, error) { return bursts(0.45), nil },
	"clipped": func() ([2][]float64, error) { return bursts(4.5), nil },
	"talk":    talk,
	"noise":   func() ([2][]float64, error) { return noise(), nil },
	"tones":   func() ([2][]float64, error) { return tones(), nil },
}

func main() {
	if err := run(os.Args[1:]); err != nil {
		fmt.Fprintln(os.Stderr, "speed:", err)
		os.Exit(1)
	}
}

func run(args []string) error {
	switch {
	case (len(args) == 4 || len(args) == 5) && args[0] == "write":
		minutes, err := strconv.Atoi(args[2])
		if err != nil || minutes < 1 {
			return fmt.Errorf("minutes %q is not a positive number", args[2])
		}
		channels := 2
		if len(args) == 5 {
			if channels, err = strconv.Atoi(args[4]); err != nil || channels < 1 || channels > 2 {
				return fmt.Errorf("channels %q is neither 1 nor 2", args[4])
			}
		}
		sound := kinds[args[3]]
		if sound == nil {
			return fmt.Errorf("kind %q is none of %v", args[3], slices.Sorted(maps.Keys(kinds)))
		}
		x, err := sound()
		if err != nil {
			return err
		}
		return write(args[1], minutes, x[:channels])
	case len(args) == 2 && args[0] == "read":
		return read(args[1])
	}
	return fmt.Errorf("usage: speed write FILE MINUTES KIND [CHANNELS], or speed read FILE")
}

// bursts are two noises that take turns like talkers, one to a channel with some of
// it in the other.
func bursts(gain float64) (x [2][]float64) {
	for c := range x {
		r := rand.New(rand.NewPCG(uint64(c), 1))
		x[c] = make([]float64, minute)
		a, b := 0.0, 0.0
		for i := range x[c] {
			t := float64(i) / rate
			a += 0.12 * (r.NormFloat64() - a)
			b += 0.3 * (a - b)
			s := max(0, math.Sin(2*math.Pi*(3.9+0.4*float64(c))*t))
			p := max(0, math.Sin(2*math.Pi*t/8+math.Pi*float64(c)))
			x[c][i] = gain * (3*b*s*s*math.Sqrt(p) + 2e-4*r.NormFloat64())
		}
	}
	for i, l := range x[0] {
		r := x[1][i]
		x[0][i], x[1][i] = l+0.1*r, r+0.1*l
	}
	return x
}

// talk is a conversation of two built-in talkers at two microphones 30 cm apart, the
// noise of each 60 dB below its highest peak, which stands at −9 dBFS.
func talk() (x [2][]float64, err error) {
	p, err := voice.New(voice.GenerateConversation(7, 1), "captain", 7)
	if err != nil {
		return x, err
	}
	y := make([]float64, minute)
	for n := 0; n < minute; {
		m, err := p.Read(y[n:])
		if err == io.EOF {
			break
		}
		if err != nil {
			return x, err
		}
		n += m
	}
	top := 0.0
	for _, v := range y {
		top = max(top, math.Abs(v))
	}
	const delay = 42 // samples
	r := rand.New(rand.NewPCG(3, 1))
	for c := range x {
		x[c] = make([]float64, minute)
		for i := range x[c] {
			v := 0.7 * y[(i+minute-delay)%minute]
			if c == 0 {
				v = y[i]
			}
			x[c][i] = 0.35 * (v/top + 1e-3*r.NormFloat64())
		}
	}
	return x, nil
}

// noise is white, 20 dB below full scale: half of its samples end a half-wave.
func noise() (x [2][]float64) {
	r := rand.New(rand.NewPCG(5, 1))
	for c := range x {
		x[c] = make([]float64, minute)
		for i := range x[c] {
			x[c][i] = 0.1 * r.NormFloat64()
		}
	}
	return x
}

// tones are four voices in chords that change every second, eight partials each,
// struck and dying away.
func tones() (x [2][]float64) {
	x[0], x[1] = make([]float64, minute), make([]float64, minute)
	steps := [...]float64{0, 5, 7, 2, 9, 4}
	for k := range 60 {
		for n, base := range [...]float64{110, 165, 220, 277.2} {
			f := base * math.Pow(2, steps[(k+n)%len(steps)]/12)
			for h := 1.0; h <= 8; h++ {
				w, g := 2*math.Pi*f*h/rate, 0.08/h
				fall := math.Exp(-h / rate)
				for i := range rate {
					g *= fall
					v := g * math.Sin(w*float64(i)) * min(1, float64(i)/240, float64(rate-i)/240)
					x[0][k*rate+i] += v
					x[1][k*rate+i] += v * float64(n+1) / 4
				}
			}
		}
	}
	return x
}

// write repeats a minute of sound.
func write(name string, minutes int, x [][]float64) error {
	channels := len(x)
	f, err := os.Create(name)
	if err != nil {
		return err
	}
	w := bufio.NewWriterSize(f, 1<<20)
	frames := minutes * minute
	size := uint32(frames * channels * 2)
	h := []byte("RIFF\x00\x00\x00\x00WAVEfmt \x10\x00\x00\x00\x01\x00")
	h = append(h, byte(channels), 0)
	h = binary.LittleEndian.AppendUint32(h, rate)
	h = binary.LittleEndian.AppendUint32(h, uint32(rate*channels*2))
	h = append(h, byte(channels*2), 0, 16, 0)
	h = append(h, "data"...)
	h = binary.LittleEndian.AppendUint32(h, size)
	binary.LittleEndian.PutUint32(h[4:], size+header-8)
	w.Write(h)
	var b []byte
	for m := range minutes {
		g := math.Pow(10, 3*math.Sin(float64(m))/20)
		for i := range x[0] {
			b = b[:0]
			for _, c := range x {
				b = binary.LittleEndian.AppendUint16(b, uint16(int16(max(-32768, min(32767, math.Round(g*c[i]*32768))))))
			}
			w.Write(b)
		}
	}
	if err := w.Flush(); err != nil {
		f.Close()
		return err
	}
	return f.Close()
}

func read(name string) error {
	f, err := os.Open(name)
	if err != nil {
		return err
	}
	defer f.Close()
	if _, err := f.Seek(header, io.SeekStart); err != nil {
		return err
	}
	const channels = 2
	l, err := meter.NewLoudness(rate, channels)
	if err != nil {
		return err
	}
	tp := [channels]*meter.TruePeak{meter.NewTruePeak(rate), meter.NewTruePeak(rate)}
	const block = 4096
	var planar [channels][block]float64
	raw := make([]byte, block*channels*2)
	part := make([][]float64, channels)
	for {
		n, err := io.ReadFull(f, raw)
		n /= channels * 2
		for i := range n {
			v := binary.LittleEndian.Uint32(raw[4*i:])
			planar[0][i] = float64(int16(v)) / 32768
			planar[1][i] = float64(int16(v>>16)) / 32768
		}
		for c := range part {
			part[c] = planar[c][:n]
			tp[c].Write(part[c])
		}
		l.Write(part)
		if err == io.EOF || err == io.ErrUnexpectedEOF {
			break
		}
		if err != nil {
			return err
		}
	}
	fmt.Printf("I %.2f LUFS  LRA %.2f LU  TP %.2f dBTP\n", l.Integrated(), l.Range(), max(tp[0].DB(), tp[1].DB()))
	return nil
}
