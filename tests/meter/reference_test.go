//go:build full

package meter

import (
	"bufio"
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"gainwright/sim/meter"
	"gainwright/tests/limited"
	"gainwright/tests/trust"
)

// build compiles a C program of ours against libebur128.
func build(t *testing.T, source string) string {
	t.Helper()
	cc := os.Getenv("CC")
	if cc == "" {
		cc = "cc"
	}
	if _, err := exec.LookPath(cc); err != nil {
		t.Fatalf("the full tests need a C compiler: %v", err)
	}
	bin := filepath.Join(t.TempDir(), "reference")
	out, err := limited.Command(t, 5*time.Minute, cc, "-O2", "-o", bin, source, "-lebur128", "-lm").CombinedOutput()
	if err != nil {
		t.Fatalf("the full tests need libebur128 with its headers (Debian: libebur128-dev); compiling %s failed: %v\n%s", source, err, out)
	}
	return bin
}

// generated is one file: its channels, how far a true peak may read over the
// library's, dB (0.1 where there is nothing high enough for its grid to miss),
// and how far under the exact one (0.1 unless the file has energy right up to
// half the rate, where no short interpolator reaches).
type generated struct {
	name        string
	grid, under float64
	x           [][]float64
}

const seconds = 22

// generate makes the test files for a rate. All of it is made here, from seeds.
func generate(rate int) []generated {
	n := seconds * rate
	fs := float64(rate)
	white := func(seed uint64) []float64 {
		r := rand.New(rand.NewPCG(seed, uint64(rate)))
		x := make([]float64, n)
		for i := range x {
			x[i] = r.NormFloat64()
		}
		return x
	}
	lowpass := func(x []float64, hz float64) []float64 {
		a, y := -math.Expm1(-2*math.Pi*hz/fs), 0.0
		for i, v := range x {
			y += a * (v - y)
			x[i] = y
		}
		return x
	}
	scale := func(x []float64, db float64) []float64 {
		p := 0.0
		for _, v := range x {
			p += v * v
		}
		g := math.Pow(10, db/20) / math.Sqrt(p/float64(len(x)))
		for i := range x {
			x[i] *= g
		}
		return x
	}
	tone := func(hz, db float64) []float64 {
		x := make([]float64, n)
		for i := range x {
			x[i] = math.Pow(10, db/20) * math.Sin(2*math.Pi*hz*float64(i)/fs)
		}
		return x
	}
	// pink noise, by a sum of octave-spaced one-pole filters
	pink := func(seed uint64) []float64 {
		w := white(seed)
		x := make([]float64, n)
		for hz := 20.0; hz < 20000; hz *= 4 {
			a, y := -math.Expm1(-2*math.Pi*hz/fs), 0.0
			for i, v := range w {
				y += a * (v - y)
				x[i] += y / math.Sqrt(hz)
			}
		}
		return x
	}
	// speech-like: low-passed noise under a syllable rhythm, with phrases
	speech := func(seed uint64, db float64) []float64 {
		x := lowpass(lowpass(white(seed), 900), 3000)
		r := rand.New(rand.NewPCG(seed, 5))
		rate, phrase := 3+2*r.Float64(), 0.2+0.2*r.Float64()
		for i := range x {
			t := float64(i) / fs
			s := max(0, math.Sin(2*math.Pi*rate*t+float64(seed)))
			p := max(0.0, math.Sin(2*math.Pi*phrase*t+float64(seed)))
			x[i] *= s*s*math.Sqrt(p) + 1e-3
		}
		return scale(x, db)
	}
	steps := func(x []float64, db ...float64) []float64 {
		for i := range x {
			x[i] *= math.Pow(10, db[i*len(db)/len(x)]/20)
		}
		return x
	}
	clip := func(x []float64, c float64) []float64 {
		for i := range x {
			x[i] = max(-c, min(c, x[i]))
		}
		return x
	}
	bursts := tone(1000, -12)
	for i := range bursts {
		// fades of 5 ms: a hard edge would be a test of how filters ring
		t := math.Mod(float64(i)/fs, 1.73)
		bursts[i] *= max(0, min(1, t/0.005, (0.61-t)/0.005))
	}
	sweep := make([]float64, n)
	for i := range sweep {
		t := float64(i) / fs
		k := math.Log(8000.0/40) / seconds
		sweep[i] = 0.4 * math.Sin(2*math.Pi*40/k*math.Expm1(k*t))
	}
	offset := speech(7, -30)
	for i := range offset {
		offset[i] += 0.05
	}
	hum := speech(8, -28)
	for i, v := range tone(50, -40) {
		hum[i] += v
	}
	return []generated{
		{"997 Hz stereo", 0.1, 0.1, [][]float64{tone(997, -23), tone(997, -23)}},
		{"60 Hz mono", 0.1, 0.1, [][]float64{tone(60, -10)}},
		{"8 kHz left only", 0.5, 0.1, [][]float64{tone(8000, -20), make([]float64, n)}},
		{"speech mono", 0.1, 0.1, [][]float64{speech(1, -26)}},
		{"speech stereo", 0.1, 0.1, [][]float64{speech(2, -24), speech(3, -33)}},
		{"speech with a laugh", 0.1, 0.1, [][]float64{steps(speech(4, -32), 0, 0, 0, 16, 0, 0)}},
		{"wide range", 0.1, 0.1, [][]float64{steps(speech(5, -20), -30, -15, 0, -22, -8)}},
		{"low noise near the gate", 0.5, 0.3, [][]float64{steps(scale(lowpass(white(6), 2000), -60), 0, -8, -14, 2)}},
		{"pink noise stereo", 0.5, 0.3, [][]float64{scale(pink(9), -18), scale(pink(10), -21)}},
		{"clipped speech", 0.5, 0.3, [][]float64{clip(speech(11, -8), 0.5)}},
		{"bursts", 0.1, 0.1, [][]float64{bursts, bursts}},
		{"sweep", 0.1, 0.1, [][]float64{sweep}},
		{"speech on an offset", 0.1, 0.1, [][]float64{offset}},
		{"speech with hum", 0.1, 0.1, [][]float64{hum}},
		{"five channels", 0.1, 0.1, [][]float64{speech(12, -28), speech(13, -28), speech(14, -24), speech(15, -35), speech(16, -33)}},
	}
}

// finePeakDB finds the true peak with a sinc of 1024 taps at 32 points a sample,
// around the 1000 highest of the stretches that a short sinc at four points a
// sample finds.
func finePeakDB(x []float64) float64 {
	const half, points, beta = 512, 32, 10
	type pair struct {
		at int
		v  float64
	}
	top := make([]pair, 1000) // a heap, whose first is the lowest
	bessel := func(x float64) float64 {
		s, t := 1.0, 1.0
		for k := 1.0; t > 1e-17*s; k++ {
			t *= (x / 2 / k) * (x / 2 / k)
			s += t
		}
		return s
	}
	taps := fineTaps
	if taps[1] == nil {
		for p := range taps {
			taps[p] = make([]float64, 2*half)
			for k := range taps[p] {
				t := float64(k-half+1) - float64(p)/points
				s := 1.0
				if t != 0 {
					s = math.Sin(math.Pi*t) / (math.Pi * t)
				}
				taps[p][k] = s * bessel(beta*math.Sqrt(max(0, 1-t/half*t/half))) / bessel(beta)
			}
		}
	}
	const short = 12
	for i := range len(x) - 1 - half {
		v := 0.0
		for p := 0; p < points; p += points / 4 {
			y := 0.0
			h := taps[p][half-short : half+short]
			for k, c := range x[max(0, i-short+1) : i+short+1] {
				y += h[k+max(0, short-1-i)] * c
			}
			v = max(v, math.Abs(y))
		}
		if v <= top[0].v {
			continue
		}
		at := 0
		for child := 1; child < len(top); child = 2*at + 1 {
			if child+1 < len(top) && top[child+1].v < top[child].v {
				child++
			}
			if top[child].v >= v {
				break
			}
			top[at] = top[child]
			at = child
		}
		top[at] = pair{i, v}
	}
	peak := 0.0
	for _, c := range top {
		lo, hi := max(0, c.at-half+1), min(len(x), c.at+half+1)
		for p := range taps {
			h := taps[p][lo-(c.at-half+1):]
			y := 0.0
			for k, v := range x[lo:hi] {
				y += h[k] * v
			}
			peak = max(peak, math.Abs(y))
		}
	}
	return 20 * math.Log10(peak)
}

var fineTaps = make([][]float64, 32)

// reference runs the C program on a signal.
func reference(t *testing.T, bin string, rate int, x [][]float64) []float64 {
	t.Helper()
	name := filepath.Join(t.TempDir(), "x.raw")
	f, err := os.Create(name)
	if err != nil {
		t.Fatal(err)
	}
	w := bufio.NewWriterSize(f, 1<<20)
	var b []byte
	for i := range x[0] {
		b = b[:0]
		for _, c := range x {
			b = binary.NativeEndian.AppendUint64(b, math.Float64bits(c[i]))
		}
		w.Write(b)
	}
	if err := w.Flush(); err != nil {
		t.Fatal(err)
	}
	f.Close()
	defer os.Remove(name)
	out, err := limited.Command(t, 5*time.Minute, bin, name, strconv.Itoa(rate), strconv.Itoa(len(x))).Output()
	if err != nil {
		t.Fatalf("reference program: %v", err)
	}
	var v []float64
	for _, f := range bytes.Fields(out) {
		n, err := strconv.ParseFloat(string(f), 64)
		if err != nil {
			t.Fatalf("reference program said %q", out)
		}
		v = append(v, n)
	}
	if len(v) != 7 {
		t.Fatalf("reference program said %q", out)
	}
	return v
}

func TestAgainstLibebur128(t *testing.T) {
	const area, src = "loudness against libebur128", "libebur128 1.2, fed the same samples"
	bin := build(t, filepath.Join("testdata", "reference.c"))
	files := 0
	for _, rate := range []int{44100, 48000, 96000} {
		for _, g := range generate(rate) {
			files++
			want := reference(t, bin, rate, g.x)
			l, err := meter.NewLoudness(rate, len(g.x))
			if err != nil {
				t.Fatal(err)
			}
			l.Write(g.x)
			tp, sp, exact := math.Inf(-1), math.Inf(-1), math.Inf(-1)
			for _, c := range g.x {
				exact = max(exact, finePeakDB(c))
				p := meter.NewTruePeak(rate)
				p.Write(c)
				tp = max(tp, p.DB())
				s := meter.NewSamplePeak(rate, 0)
				s.Write(c)
				sp = max(sp, s.DB())
			}
			check := func(what string, want, got, tol float64, unit string) {
				trust.Record(t, trust.Check{Area: area, What: fmt.Sprintf("%s, %d Hz: %s", g.name, rate, what), Source: src,
					Expected: want, Got: got, Tolerance: tol, Unit: unit})
			}
			check("integrated", want[0], l.Integrated(), 0.02, "LUFS")
			check("range, short-term values every 100 ms", want[2], l.Range(), 0.02, "LU")
			check("maximum momentary", want[3], l.MaxMomentary(), 0.02, "LUFS")
			check("maximum short-term", want[4], l.MaxShortTerm(), 0.02, "LUFS")
			check("sample peak", want[6], sp, 1e-6, "dBFS")
			// The library looks at a grid of four (96 kHz: two) points a sample and
			// reads low between them, by up to 0.69 dB for what is near half
			// the rate. Ours must never read less, and must be right.
			trust.Record(t, trust.Check{Area: area, What: fmt.Sprintf("%s, %d Hz: true peak", g.name, rate), Source: src + "; its grid reads low on high frequencies",
				Expected: want[5], Got: tp, Tolerance: g.grid, Below: 0.1, Unit: "dBTP"})
			trust.Record(t, trust.Check{Area: area, What: fmt.Sprintf("%s, %d Hz: true peak, exactly", g.name, rate), Source: "sinc of 1024 taps at 32 points a sample, computed in the test",
				Expected: exact, Got: tp, Tolerance: 0.1, Below: g.under, Unit: "dBTP"})
		}
	}
	// The library takes a short-term value for the range every second, where
	// Tech 3342 asks for ten. On level steps the two must agree.
	for i, levels := range [][]float64{{-20, -30}, {-20, -15}, {-40, -20}, {-50, -35, -20, -35, -50}} {
		const rate = 48000
		var x []float64
		for _, db := range levels {
			for range 20 * rate {
				x = append(x, math.Pow(10, db/20)*math.Sin(2*math.Pi*1000*float64(len(x))/rate))
			}
		}
		files++
		want := reference(t, bin, rate, [][]float64{x, x})
		l, err := meter.NewLoudness(rate, 2)
		if err != nil {
			t.Fatal(err)
		}
		l.Write([][]float64{x, x})
		trust.Record(t, trust.Check{Area: area, What: fmt.Sprintf("Tech 3342 signal %d: range as the library has it", i+1), Source: src,
			Expected: want[1], Got: l.Range(), Tolerance: 0.02, Unit: "LU"})
	}
	if files < 40 {
		t.Errorf("only %d files compared", files)
	}
}
