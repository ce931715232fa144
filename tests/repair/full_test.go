//go:build full && unix

package repair

import (
	"bytes"
	"context"
	"encoding/binary"
	"fmt"
	"math"
	"os/exec"
	"strconv"
	"syscall"
	"testing"

	sr "gainwright/sim/repair"
	"gainwright/tests/repair/speechset"
)

func declip(t testing.TB, e sr.Effort, y []float64, rate int, theta float64) []float64 {
	t.Helper()
	c := sr.Known(y, theta)
	out, _, err := sr.Declip{Effort: e, Clips: &c}.Apply(context.Background(), y, rate, sr.Run{Cores: 1})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func adeclip(t testing.TB, y []float64, rate int) []float64 {
	t.Helper()
	var in, out, msg bytes.Buffer
	binary.Write(&in, binary.LittleEndian, y)
	cmd := exec.Command("ffmpeg", "-v", "error", "-f", "f64le", "-ar", strconv.Itoa(rate), "-ac", "1", "-i", "-", "-af", "adeclip", "-f", "f64le", "-")
	cmd.Stdin, cmd.Stdout, cmd.Stderr = &in, &out, &msg
	if err := cmd.Run(); err != nil {
		t.Fatalf("ffmpeg: %v: %s", err, msg.String())
	}
	x := make([]float64, len(y))
	for i := range x {
		if b := out.Bytes(); 8*i+8 <= len(b) {
			x[i] = math.Float64frombits(binary.LittleEndian.Uint64(b[8*i:]))
		}
	}
	return x
}

// The least that the whole set must gain on average, at the levels where it is
// judged; the reference is ffmpeg's adeclip filter in the same run. The complete
// table is what the command in table/ prints.
func TestDeclipOnRecordings(t *testing.T) {
	if m := speechset.Missing(speechset.Test); m != "" {
		t.Fatalf("%s is missing: install the packages speechset names, or set %s", m, speechset.Env)
	}
	for _, c := range []struct {
		rate       int
		sdr        float64
		fast, best float64
	}{{16000, 3, 4.4, 6.9}, {16000, 10, 8.3, 9.5}} {
		t.Run(fmt.Sprintf("%d Hz %g dB", c.rate, c.sdr), func(t *testing.T) {
			var fast, best, filter float64
			for _, it := range speechset.Test {
				x, err := it.Load(c.rate)
				if err != nil {
					t.Fatal(err)
				}
				y, theta := speechset.Clip(x, c.sdr)
				n := float64(len(speechset.Test))
				f := speechset.SDR(x, declip(t, sr.Fast, y, c.rate, theta)) - c.sdr
				b := speechset.SDR(x, declip(t, sr.Best, y, c.rate, theta)) - c.sdr
				if f < 0 || b < 0 {
					t.Errorf("%s is worse than before: fast %.2f dB, best %.2f dB", it.Name, f, b)
				}
				fast, best = fast+f/n, best+b/n
				filter += (speechset.SDR(x, adeclip(t, y, c.rate)) - c.sdr) / n
			}
			t.Logf("fast %.2f dB, best %.2f dB, adeclip %.2f dB", fast, best, filter)
			if fast < c.fast || best < c.best {
				t.Errorf("fast %.2f dB (want %g), best %.2f dB (want %g)", fast, c.fast, best, c.best)
			}
			if fast < filter+2 || best < filter+4 {
				t.Errorf("too near to adeclip's %.2f dB", filter)
			}
		})
	}
}

// Speed on one core at 48 kHz: seconds of signal per second of processor time, which
// other work on the machine disturbs less than the clock on the wall.
func BenchmarkDeclip(b *testing.B) {
	if m := speechset.Missing(speechset.Test); m != "" {
		b.Fatalf("%s is missing", m)
	}
	const rate = 48000
	var x []float64
	for _, it := range speechset.Test {
		v, err := it.Load(rate)
		if err != nil {
			b.Fatal(err)
		}
		x = append(x, v[:min(len(v), 3*rate/2)]...)
	}
	for _, sdr := range []float64{3, 10, 20} {
		y, theta := speechset.Clip(x, sdr)
		for _, e := range []sr.Effort{sr.Fast, sr.Balanced, sr.Best} {
			b.Run(fmt.Sprintf("%v/%gdB", e, sdr), func(b *testing.B) {
				start := cpu()
				for b.Loop() {
					declip(b, e, y, rate, theta)
				}
				b.ReportMetric(float64(b.N)*float64(len(y))/rate/(cpu()-start), "x-realtime")
			})
		}
	}
}

func cpu() float64 {
	var u syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &u) != nil {
		return 0
	}
	return float64(u.Utime.Sec) + float64(u.Utime.Usec)/1e6
}
