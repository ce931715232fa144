// Command makewav writes a recording of a given length for measurements: a talker,
// clean, over and over. It streams, so that the length does not matter.
//
//	go run ./tests/cli/makewav -seconds 600 OUT.wav
package main

import (
	"context"
	"flag"
	"fmt"
	"io"
	"os"

	"gainwright/sounds"
	"gainwright/sounds/codec"
	"gainwright/sounds/scenario"
)

func main() {
	seconds := flag.Int("seconds", 60, "length")
	flag.Parse()
	if flag.NArg() != 1 {
		fmt.Fprintln(os.Stderr, "makewav: want one file name")
		os.Exit(2)
	}
	if err := write(flag.Arg(0), *seconds); err != nil {
		fmt.Fprintln(os.Stderr, "makewav:", err)
		os.Exit(1)
	}
}

func write(path string, seconds int) error {
	s := scenario.New()
	p, err := s.Open(context.Background(), nil)
	if err != nil {
		return err
	}
	x := make([]float64, 0, p.Frames)
	buf := make([]float64, 4096)
	for {
		n, err := p.Read(buf)
		for _, v := range buf[:n] {
			x = append(x, v/20) // 20 Pa at 1 m is above any talker
		}
		if err == io.EOF {
			break
		}
		if err != nil {
			return err
		}
	}
	return sounds.WriteFile(path, true, func(w io.WriteSeeker) error {
		z, err := codec.NewWAVWriter(w, p.Rate, 1, codec.PCM24)
		if err != nil {
			return err
		}
		for left := seconds * p.Rate; left > 0; left -= len(x) {
			if err := z.Write([][]float64{x[:min(left, len(x))]}); err != nil {
				return err
			}
		}
		return z.Close()
	})
}
