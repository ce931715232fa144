package recordcmd

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/cmd/gainwright/internal/picture"
	"gainwright/sim/meter"
	"gainwright/sounds"
	"gainwright/sounds/codec"
)

func matchedName(strip string) string { return strip + "-matched.wav" }

// matching is how loud the listening copies are made.
type matching struct {
	LUFS   float64 // of every copy
	gainDB []float64
}

// match finds the gains. A silent strip is left as it is. Loudness does not follow a
// gain exactly, since the gates of BS.1770 let other blocks pass: the gains are found
// by measuring again.
func (s *session) match(ctx context.Context) (matching, error) {
	m := matching{LUFS: matchLUFS, gainDB: make([]float64, len(s.strips))}
	for range 4 {
		over := 0.0
		for i, r := range s.strips {
			if !cli.Finite(r.readings.LoudnessLUFS) {
				continue
			}
			g, err := gainTo(ctx, r, m.LUFS, s.rate)
			if err != nil {
				return m, err
			}
			m.gainDB[i] = g
			over = max(over, float64(r.readings.TruePeakDBTP)+g-matchTopDBTP)
		}
		if over < 0.005 || math.IsInf(over, 0) {
			break
		}
		m.LUFS -= over
	}
	return m, nil
}

// gainTo is the gain in dB that brings a strip's file to a loudness.
func gainTo(ctx context.Context, r *recorded, lufs float64, rate int) (float64, error) {
	g := lufs - float64(r.readings.LoudnessLUFS)
	best, off := g, math.Inf(1)
	for range 4 {
		l, err := meter.NewLoudness(rate, 1)
		if err != nil {
			return 0, err
		}
		if err := r.amplified(ctx, g, func(x []float64) error { l.WriteMono(x); return nil }); err != nil {
			return 0, err
		}
		d := lufs - l.Integrated()
		if math.Abs(d) < off {
			best, off = g, math.Abs(d)
		}
		if off < 0.002 {
			break
		}
		g += d
	}
	return best, nil
}

// text says what was done to the copies.
func (m matching) text(s *session) string {
	var gains []string
	for i, r := range s.strips {
		gains = append(gains, r.name+" "+cli.SignedDB(m.gainDB[i]))
	}
	line := fmt.Sprintf("Listening copies at %s: %s", picture.DB(m.LUFS, "LUFS"), strings.Join(gains, ", "))
	if m.LUFS < matchLUFS-0.05 {
		line += fmt.Sprintf(" (at %s the highest peak would have passed %s)", picture.DB(matchLUFS, "LUFS"), picture.DB(matchTopDBTP, "dBTP"))
	}
	return line + "."
}

// writeMatched reads the strip's file back and writes it with a gain, 24 bit. Its
// rounding lies below anything a 24-bit converter has.
func writeMatched(ctx context.Context, r *recorded, gainDB float64, to io.WriteSeeker, rate int) error {
	wav, err := codec.NewWAVWriter(to, rate, 1, codec.PCM24)
	if err != nil {
		return err
	}
	part := make([][]float64, 1)
	err = r.amplified(ctx, gainDB, func(x []float64) error {
		part[0] = x
		return wav.Write(part)
	})
	if err != nil {
		return err
	}
	return wav.Close()
}

// amplified reads a strip's file back, with a gain, in blocks that last until do
// returns.
func (r *recorded) amplified(ctx context.Context, gainDB float64, do func(x []float64) error) error {
	src, err := sounds.Open(r.staged)
	if err != nil {
		return fmt.Errorf("reading back strip %s: %w", r.name, err)
	}
	defer src.Close()
	g := math.Pow(10, gainDB/20)
	buf := sounds.NewBlock(1, 8192)
	for {
		if err := ctx.Err(); err != nil {
			return err
		}
		n, err := src.Read(buf)
		x := buf[0][:n]
		for i := range x {
			x[i] *= g
		}
		if e := do(x); e != nil {
			return e
		}
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
	}
}
