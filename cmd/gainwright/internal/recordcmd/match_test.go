package recordcmd

import (
	"errors"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/cmd/gainwright/internal/metercmd"
	"gainwright/sim"
	"gainwright/sim/meter"
	"gainwright/sounds/codec"
)

// Three files: one even, one whose burst sets how loud all may be, with a passage that
// the gate of BS.1770 lets pass or not as the gain wants it, and a silent one.
func TestMatchKeepsHeadroom(t *testing.T) {
	const rate = 48000
	tone := func(x []float64, dbfs float64) {
		for i := range x {
			x[i] = math.Pow(10, dbfs/20) * math.Sin(2*math.Pi*997*float64(i)/rate)
		}
	}
	even, burst, silent := make([]float64, 6*rate), make([]float64, 6*rate), make([]float64, 6*rate)
	tone(even, -17)
	tone(burst, -37)
	tone(burst[2*rate:4*rate], -68)
	tone(burst[rate:rate+rate/50], -10)
	s := &session{rate: rate}
	dir := t.TempDir()
	for name, x := range map[string][]float64{"A": even, "B": burst, "C": silent} {
		r := &recorded{name: name, staged: filepath.Join(dir, name+".wav")}
		f, err := os.Create(r.staged)
		if err != nil {
			t.Fatal(err)
		}
		wav, err := codec.NewWAVWriter(f, rate, 1, codec.PCM24)
		if err != nil {
			t.Fatal(err)
		}
		if err := errors.Join(wav.Write([][]float64{x}), wav.Close(), f.Close()); err != nil {
			t.Fatal(err)
		}
		m, err := metercmd.Measure(t.Context(), r.staged, false, cli.NewWatch(io.Discard, true))
		if err != nil {
			t.Fatal(err)
		}
		r.readings = sim.Readings{LoudnessLUFS: m.LoudnessLUFS, TruePeakDBTP: m.TruePeakDBTP}
		s.strips = append(s.strips, r)
	}
	slices.SortFunc(s.strips, func(a, b *recorded) int { return strings.Compare(a.name, b.name) })
	m, err := s.match(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for i, r := range s.strips[:2] {
		l, err := meter.NewLoudness(rate, 1)
		if err != nil {
			t.Fatal(err)
		}
		if err := r.amplified(t.Context(), m.gainDB[i], func(x []float64) error { l.WriteMono(x); return nil }); err != nil {
			t.Fatal(err)
		}
		t.Logf("%s: %.2f LUFS as it is, gain %.2f dB, then %.2f LUFS", r.name, r.readings.LoudnessLUFS, m.gainDB[i], l.Integrated())
		if d := l.Integrated() - m.LUFS; math.Abs(d) > 0.005 {
			t.Errorf("%s has %.3f LUFS, want %.3f", r.name, l.Integrated(), m.LUFS)
		}
	}
	if top := float64(s.strips[1].readings.TruePeakDBTP) + m.gainDB[1]; math.Abs(top-matchTopDBTP) > 0.01 {
		t.Errorf("B's highest peak is %.2f dBTP", top)
	}
	if m.gainDB[2] != 0 {
		t.Errorf("silence gets %v dB", m.gainDB[2])
	}
}
