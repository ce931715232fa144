package codec

import (
	"bytes"
	"math"
	"strings"
	"testing"
)

func TestClampAndRound(t *testing.T) {
	for _, c := range []struct {
		enc  Encoding
		full float64
	}{{PCM16, 1 << 15}, {PCM24, 1 << 23}, {PCM32, 1 << 31}} {
		var m memFile
		z, err := NewWAVWriter(&m, 48000, 1, c.enc)
		if err != nil {
			t.Fatal(err)
		}
		in := []float64{1, -1, 1.5, -1.5, math.Inf(1), math.NaN(), 0.4 / c.full, 0.6 / c.full, -0.6 / c.full, (c.full - 1) / c.full}
		if err := z.Write([][]float64{in}); err != nil {
			t.Fatal(err)
		}
		if err := z.Close(); err != nil {
			t.Fatal(err)
		}
		if z.Clamped() != 5 {
			t.Errorf("%v: %d clamped, want 5", c.enc, z.Clamped())
		}
		f, err := Open("", bytes.NewReader(m.b), int64(len(m.b)), Options{MaxChannels: 1})
		if err != nil {
			t.Fatal(err)
		}
		got := [][]float64{make([]float64, len(in))}
		if n, err := f.Read(got); n != len(in) || err != nil {
			t.Fatal(n, err)
		}
		top := (c.full - 1) / c.full
		want := []float64{top, -1, top, -1, top, 0, 0, 1 / c.full, -1 / c.full, top}
		for i := range want {
			if got[0][i] != want[i] {
				t.Errorf("%v: %v became %v, want %v", c.enc, in[i], got[0][i], want[i])
			}
		}
	}
}

// TestWAVTooLong: the writer stops before the sizes overflow, and says so.
func TestWAVTooLong(t *testing.T) {
	var m memFile
	z, err := NewWAVWriter(&m, 48000, 1, PCM16)
	if err != nil {
		t.Fatal(err)
	}
	z.max = 1000
	if err := z.Write([][]float64{make([]float64, 400)}); err != nil {
		t.Fatal(err)
	}
	err = z.Write([][]float64{make([]float64, 400)})
	if err == nil || !strings.Contains(err.Error(), "at most 4 GiB") || z.Close() == nil {
		t.Error(err)
	}
}
