package sounds

import (
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gainwright/sounds/codec"
)

// TestTones decodes the tones in testdata: format, length, channels, levels.
func TestTones(t *testing.T) {
	for _, c := range []struct {
		ext, format string
		enc         codec.Encoding
		gain, tol   float64 // dB
		rest        float64 // dB, all that is not the tone
	}{
		{".flac", "flac", codec.PCM16, 0, 0.001, -98}, {"-24.flac", "flac", codec.PCM24, 0, 0.001, -130},
		// The MP3 encoder multiplied by 0.95.
		{".ogg", "ogg", codec.Vorbis, 0, 0.1, -50}, {".mp3", "mp3", codec.MP3, -0.446, 0.01, -80},
	} {
		for channels := 1; channels <= 2; channels++ {
			name := fmt.Sprintf("tone%d%s", channels, c.ext)
			r, err := Open(filepath.Join("testdata", name))
			if err != nil {
				t.Fatal(err)
			}
			if i := r.Info(); i.Format != c.format || i.Encoding != c.enc || i.Rate != 44100 || i.Channels != channels || i.Frames != 11025 || i.Seconds != 0.25 || i.HeldAtFullScale != (c.format == "mp3") {
				t.Errorf("%s: %+v", name, i)
			}
			x, err := r.ReadAll()
			if err != nil || len(x) != channels || len(x[0]) != 11025 || len(r.Warnings()) != 0 {
				t.Fatalf("%s: %d × %d, %v, %q", name, len(x), len(x[0]), err, r.Warnings())
			}
			for ch := range x {
				mid := x[ch][2205 : 2205+6615] // away from the abrupt ends
				db, rest := toneLevel(mid, 441*float64(1+ch), 44100)
				if want := c.gain + 20*math.Log10(0.5/float64(1+ch)); math.Abs(db-want) > c.tol || rest > c.rest {
					t.Errorf("%s, channel %d: %.3f dB, want %.3f; rest %.1f dB", name, ch+1, db, want, rest)
				}
			}
			// A second pass gives the same.
			if err := r.Rewind(); err != nil {
				t.Fatal(err)
			}
			y, err := r.ReadAll()
			if err != nil || len(y[0]) != len(x[0]) || y[channels-1][5000] != x[channels-1][5000] {
				t.Errorf("%s: second pass differs (%v)", name, err)
			}
			r.Close()
		}
	}
}

// TestDamagedTones cuts each tone in sixty places and flips bytes there: an
// error or sound, never a panic, never more sound than promised.
func TestDamagedTones(t *testing.T) {
	files, _ := filepath.Glob("testdata/tone*")
	if len(files) != 8 {
		t.Fatal(files)
	}
	for _, p := range files {
		data, err := os.ReadFile(p)
		if err != nil {
			t.Fatal(err)
		}
		for k := 0; k < len(data); k += 1 + len(data)/60 {
			cut := data[:k]
			flip := append([]byte(nil), data...)
			flip[k] ^= 0x55
			for i, b := range [][]byte{cut, flip, cut, flip} {
				var opt []Option
				if i >= 2 {
					opt = []Option{Lenient()}
				}
				r, err := OpenBytes(filepath.Base(p), b, opt...)
				var x [][]float64
				if err == nil {
					x, err = r.ReadAll()
				}
				var in *InputError
				if err != nil && (!errors.As(err, &in) || strings.Contains(err.Error(), "\n")) {
					t.Fatalf("%s at %d: %T %v", p, k, err, err)
				}
				if len(x) > 0 && len(x[0]) > 44100*20 {
					t.Fatalf("%s at %d: %d frames", p, k, len(x[0]))
				}
				if i == 0 && err == nil {
					t.Errorf("%s cut to %d of %d bytes passed as whole", p, k, len(data))
				}
			}
		}
	}
}

// TestID3 puts a tag before MP3 and before FLAC.
func TestID3(t *testing.T) {
	tag := append([]byte("ID3\x04\x00\x00\x00\x00\x02\x00"), make([]byte, 256)...)
	for _, name := range []string{"tone1.mp3", "tone2.flac"} {
		data, _ := os.ReadFile(filepath.Join("testdata", name))
		r, err := OpenBytes("x", append(append([]byte(nil), tag...), data...))
		if err != nil {
			t.Fatal(name, err)
		}
		x, err := r.ReadAll()
		if err != nil || len(x[0]) != 11025 {
			t.Error(name, len(x[0]), err)
		}
	}
	// Rubbish before an MP3 frame is passed over only if the name says MP3.
	data, _ := os.ReadFile("testdata/tone1.mp3")
	dirty := append([]byte("\x00\x01\x02\x03\x04"), data...)
	if _, err := OpenBytes("a.mp3", dirty); err != nil {
		t.Error(err)
	}
	if _, err := OpenBytes("a.bin", dirty); err == nil {
		t.Error("read as MP3 by chance")
	}
}

func BenchmarkDecode(b *testing.B) {
	for _, name := range []string{"tone2.flac", "tone2-24.flac", "tone2.ogg", "tone2.mp3"} {
		data, err := os.ReadFile(filepath.Join("testdata", name))
		if err != nil {
			b.Fatal(err)
		}
		b.Run(name, func(b *testing.B) {
			buf := NewBlock(2, 4096)
			for b.Loop() {
				r, err := OpenBytes(name, data)
				if err != nil {
					b.Fatal(err)
				}
				for {
					if _, err := r.Read(buf); err == io.EOF {
						break
					} else if err != nil {
						b.Fatal(err)
					}
				}
			}
			b.ReportMetric(0.25*float64(b.N)/b.Elapsed().Seconds(), "x_realtime")
		})
	}
	wav, _ := codec.WAVBytes(44100, noise(1, 2, 44100, 1), codec.PCM24)
	b.Run("wav24", func(b *testing.B) {
		buf := NewBlock(2, 4096)
		for b.Loop() {
			r, _ := OpenBytes("x", wav)
			for {
				if _, err := r.Read(buf); err == io.EOF {
					break
				}
			}
		}
		b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "x_realtime")
	})
}
