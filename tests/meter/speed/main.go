// Command speed writes and reads the WAV file that speed.sh times. It is a test
// tool: it reads the 16-bit files it writes, and no others.
//
//	speed write FILE MINUTES KIND   KIND is speech or clipped
//	speed read FILE                 integrated loudness, range and true peak
package main

import (
	"bufio"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"strconv"

	"gainwright/sim/meter"
)

const (
	rate     = 48000
	channels = 2
	header   = 44
)

func main() {
	if err := run(os.Args[1:]); err != nil {
		fmt.Fprintln(os.Stderr, "speed:", err)
		os.Exit(1)
	}
}

func run(args []string) error {
	switch {
	case len(args) == 4 && args[0] == "write":
		minutes, err := strconv.Atoi(args[2])
		if err != nil || minutes < 1 {
			return fmt.Errorf("minutes %q is not a positive number", args[2])
		}
		return write(args[1], minutes, args[3])
	case len(args) == 2 && args[0] == "read":
		return read(args[1])
	}
	return fmt.Errorf("usage: speed write FILE MINUTES speech|clipped, or speed read FILE")
}

// write makes two talkers who take turns, one to a channel with some of it in
// the other; clipped has them 20 dB over full scale.
func write(name string, minutes int, kind string) error {
	gain := map[string]float64{"speech": 0.45, "clipped": 4.5}[kind]
	if gain == 0 {
		return fmt.Errorf("kind %q is neither speech nor clipped", kind)
	}
	// One minute of each talker, repeated at slowly changing levels.
	var talker [2][]float64
	for c := range talker {
		r := rand.New(rand.NewPCG(uint64(c), 1))
		x := make([]float64, 60*rate)
		a, b := 0.0, 0.0
		for i := range x {
			t := float64(i) / rate
			a += 0.12 * (r.NormFloat64() - a)
			b += 0.3 * (a - b)
			s := max(0, math.Sin(2*math.Pi*(3.9+0.4*float64(c))*t))
			p := max(0, math.Sin(2*math.Pi*t/8+math.Pi*float64(c)))
			x[i] = 3*b*s*s*math.Sqrt(p) + 2e-4*r.NormFloat64()
		}
		talker[c] = x
	}
	f, err := os.Create(name)
	if err != nil {
		return err
	}
	w := bufio.NewWriterSize(f, 1<<20)
	frames := minutes * 60 * rate
	size := uint32(frames * channels * 2)
	h := []byte("RIFF\x00\x00\x00\x00WAVEfmt \x10\x00\x00\x00\x01\x00\x02\x00")
	binary.LittleEndian.PutUint32(h[4:], size+header-8)
	h = binary.LittleEndian.AppendUint32(h, rate)
	h = binary.LittleEndian.AppendUint32(h, rate*channels*2)
	h = append(h, channels*2, 0, 16, 0)
	h = append(h, "data"...)
	h = binary.LittleEndian.AppendUint32(h, size)
	w.Write(h)
	var b []byte
	for m := range minutes {
		g := gain * math.Pow(10, 3*math.Sin(float64(m))/20)
		for i := range talker[0] {
			l, r := g*talker[0][i], g*talker[1][i]
			b = b[:0]
			for _, v := range [2]float64{l + 0.1*r, r + 0.1*l} {
				b = binary.LittleEndian.AppendUint16(b, uint16(int16(max(-32768, min(32767, math.Round(v*32768))))))
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
