//go:build full

package voice_test

import (
	"encoding/binary"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"gainwright/sounds/voice"
	"gainwright/tests/limited"
	"gainwright/tests/repair/speechset"
	"gainwright/tests/trust"
)

// Laughs, coughs and shouts of people: open recordings (CC-BY-SA-3.0) that the Debian
// package scratch carries; four laughs, two coughs, three screams, most of them at
// 11025 Hz. Everything is compared at that rate. Their level is not known.
const outRate = 11025

func people(t *testing.T, pattern string) map[string][]float64 {
	t.Helper()
	dir := filepath.Join(speechset.Root(), "usr/share/scratch/Media/Sounds/Human")
	paths, _ := filepath.Glob(filepath.Join(dir, pattern))
	if len(paths) == 0 {
		t.Fatal(speechset.Absent(filepath.Join(dir, pattern)))
	}
	out := map[string][]float64{}
	for _, p := range paths {
		raw, err := limited.Command(t, time.Minute, "ffmpeg", "-nostdin", "-v", "error", "-i", p,
			"-f", "f64le", "-ar", fmt.Sprint(outRate), "-ac", "1", "-").Output()
		if err != nil {
			t.Fatalf("ffmpeg, %s: %v", p, err)
		}
		out[strings.TrimSuffix(filepath.Base(p), filepath.Ext(p))] = floats(raw)
	}
	return out
}

func floats(raw []byte) []float64 {
	x := make([]float64, len(raw)/8)
	for i := range x {
		x[i] = math.Float64frombits(binary.LittleEndian.Uint64(raw[8*i:]))
	}
	return x
}

// outburst is what a talker does, at outRate.
func outburst(t *testing.T, talker string, e voice.Event, seed uint64) []float64 {
	t.Helper()
	p, err := voice.New(voice.Script{e}, talker, seed)
	if err != nil {
		t.Fatal(err)
	}
	x := make([]float64, p.Length())
	for at := 0; at < len(x); {
		n, err := p.Read(x[at:])
		if err != nil {
			t.Fatal(err)
		}
		at += n
	}
	raw := make([]byte, 8*len(x))
	for i, v := range x {
		binary.LittleEndian.PutUint64(raw[8*i:], math.Float64bits(v))
	}
	in := filepath.Join(t.TempDir(), "x.f64")
	if err := os.WriteFile(in, raw, 0o644); err != nil {
		t.Fatal(err)
	}
	raw, err = limited.Command(t, time.Minute, "ffmpeg", "-nostdin", "-v", "error", "-f", "f64le", "-ar", fmt.Sprint(voice.Rate), "-i", in,
		"-f", "f64le", "-ar", fmt.Sprint(outRate), "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	return floats(raw)
}

// burstFigures are what is compared.
type burstFigures struct {
	rate   float64    // notes a second
	note   float64    // length of a note, ms
	voiced float64    // share of sounding frames that have a pitch
	fall   float64    // level of the notes, dB a second, by least squares
	f0     float64    // mean, Hz
	drop   float64    // pitch, semitones a second, by least squares
	length float64    // s, from where it comes within 25 dB of its top to where it leaves
	peak   float64    // crest: peak over the rms of sounding frames, dB
	bands  [5]float64 // octaves from 250 Hz, dB re their sum
}

// slope is the least-squares slope of y over x.
func slope(x, y []float64) float64 {
	mx, my := average(x), average(y)
	s, d := 0.0, 0.0
	for i := range x {
		s += (x[i] - mx) * (y[i] - my)
		d += (x[i] - mx) * (x[i] - mx)
	}
	if d == 0 {
		return 0
	}
	return s / d
}

func average(x []float64) float64 {
	s := 0.0
	for _, v := range x {
		s += v / float64(len(x))
	}
	return s
}

// envelope is the power over 20 ms every 5 ms.
func envelope(x []float64) (env []float64, top float64) {
	const win, hop = outRate / 50, outRate / 200
	for at := 0; at+win <= len(x); at += hop {
		s := 0.0
		for _, v := range x[at : at+win] {
			s += v * v
		}
		env = append(env, s/win)
		top = max(top, s/win)
	}
	return env, top
}

const hopS = float64(outRate/200) / outRate

// notes finds where the envelope stands within 7 dB of what is loudest within 100 ms,
// and within 25 dB of the top: onset and length in s, level in dB.
func notes(env []float64, top float64) (on, length, db []float64) {
	local := func(i int) float64 {
		m := 0.0
		for k := max(0, i-20); k <= min(len(env)-1, i+20); k++ {
			m = max(m, env[k])
		}
		return m
	}
	for i := 0; i < len(env); i++ {
		if env[i] < local(i)/5 || env[i] < top/316 {
			continue
		}
		k, m := i, 0.0
		for k < len(env) && env[k] >= local(k)/5 {
			m = max(m, env[k])
			k++
		}
		if k-i >= 6 {
			on, length, db = append(on, float64(i)*hopS), append(length, float64(k-i)*hopS), append(db, 10*math.Log10(m))
		}
		i = k
	}
	return on, length, db
}

// pitch is the frequency of the best normalised autocorrelation of w between 120 and
// 1100 Hz, and that correlation.
func pitch(w []float64) (hz, r float64) {
	half := len(w) / 2
	cor := make([]float64, outRate/120+2)
	for l := outRate/1100 - 1; l < len(cor); l++ {
		c, e, f := 0.0, 0.0, 0.0
		for i := range half {
			c += w[i] * w[i+l]
			e += w[i] * w[i]
			f += w[i+l] * w[i+l]
		}
		cor[l] = c / math.Sqrt(e*f+1e-30)
	}
	for l := outRate / 1100; l < len(cor)-1; l++ {
		if cor[l] > r+.03 && cor[l] >= cor[l-1] && cor[l] >= cor[l+1] {
			r, hz = cor[l], outRate/float64(l)
		}
	}
	return hz, r
}

func figuresOf(x []float64) (f burstFigures) {
	env, top := envelope(x)
	on, length, db := notes(env, top)
	if n := len(on); n > 1 {
		f.rate = float64(n-1) / (on[n-1] - on[0])
	}
	f.note, f.fall = 1000*average(length), slope(on, db)
	first, last, sounding, sum, pk := -1, 0, 0.0, 0.0, 0.0
	for i, e := range env {
		if e > top/316 {
			if first < 0 {
				first = i
			}
			last = i
			sounding++
			sum += e
		}
	}
	for _, v := range x {
		pk = max(pk, math.Abs(v))
	}
	f.length = float64(last-first) * hopS
	f.peak = 20 * math.Log10(pk/math.Sqrt(sum/sounding))
	var at, st []float64
	frames, hz := 0.0, 0.0
	const win = 2 * (outRate / 50)
	for i := 0; i+win <= len(x); i += outRate / 100 {
		e := 0.0
		for _, v := range x[i : i+win] {
			e += v * v / win
		}
		if e < top/316 {
			continue
		}
		frames++
		if h, r := pitch(x[i : i+win]); r > .6 {
			at, st = append(at, float64(i)/outRate), append(st, 12*math.Log2(h))
			hz += h
		}
	}
	f.voiced, f.f0, f.drop = float64(len(at))/frames, hz/float64(len(at)), slope(at, st)
	f.bands = octaves(x)
	return f
}

// octaves are the band levels about 250 Hz .. 4 kHz re their sum, in dB: by the
// transform of the whole, since an outburst is short.
func octaves(x []float64) (out [5]float64) {
	sum := 0.0
	for b := range out {
		c := 250 * math.Exp2(float64(b))
		lo, hi := c/math.Sqrt2, c*math.Sqrt2
		for f := lo; f < hi; f += 15 {
			s, k := math.Sincos(2 * math.Pi * f / outRate)
			re, im, cr, ci := 0.0, 0.0, 1.0, 0.0
			for _, v := range x {
				re += v * cr
				im += v * ci
				cr, ci = cr*k-ci*s, cr*s+ci*k
			}
			out[b] += re*re + im*im
		}
		sum += out[b]
	}
	for b := range out {
		out[b] = 10 * math.Log10(out[b]/sum)
	}
	return out
}

func (f burstFigures) String() string {
	return fmt.Sprintf("%4.1f notes/s of %3.0f ms, voiced %3.0f %%, %+5.1f dB/s, F0 %3.0f Hz, %+5.1f st/s, %.2f s, crest %4.1f dB, octaves %5.1f %5.1f %5.1f %5.1f %5.1f",
		f.rate, f.note, 100*f.voiced, f.fall, f.f0, f.drop, f.length, f.peak, f.bands[0], f.bands[1], f.bands[2], f.bands[3], f.bands[4])
}

// spread is the range of a figure over several outbursts, and its mean.
type spread struct{ least, most, mean float64 }

func spreadOf(fs []burstFigures, of func(burstFigures) float64) spread {
	s := spread{math.Inf(1), math.Inf(-1), 0}
	for _, f := range fs {
		v := of(f)
		s.least, s.most, s.mean = min(s.least, v), max(s.most, v), s.mean+v/float64(len(fs))
	}
	return s
}

// measured gives the figures of people's recordings and of each talker's own outbursts.
func measured(t *testing.T, files string, e voice.Event) (recorded []burstFigures, own map[string][]burstFigures) {
	t.Helper()
	for name, x := range people(t, files) {
		f := figuresOf(x)
		t.Logf("%-14s %v", name, f)
		recorded = append(recorded, f)
	}
	own = map[string][]burstFigures{}
	for _, tk := range chosen(t) {
		for seed := range uint64(4) {
			f := figuresOf(outburst(t, tk.Name, e, seed))
			t.Logf("%-14s %v", tk.Name, f)
			own[tk.Name] = append(own[tk.Name], f)
		}
	}
	return recorded, own
}

// TestLaughsOfPeople holds bouts to four recorded ones: notes a second, share with a
// pitch, fall of level and pitch over the bout, crest, spectrum. A talker's mean must lie
// within what the recordings span, widened as stated, since four are few.
func TestLaughsOfPeople(t *testing.T) {
	needs(t, "ffmpeg")
	people, own := measured(t, "Laugh-*", voice.Event{Do: "laugh", Effort: voice.Raised})
	const source = "four recorded laughs of the Debian package scratch (CC-BY-SA-3.0), widened"
	for _, c := range []struct {
		what, unit string
		wider      float64
		of         func(burstFigures) float64
	}{
		{"notes a second", "", .5, func(f burstFigures) float64 { return f.rate }},
		{"length of a note", "ms", 10, func(f burstFigures) float64 { return f.note }},
		{"share with a pitch", "%", 10, func(f burstFigures) float64 { return 100 * f.voiced }},
		{"change of level over the bout", "dB/s", 6, func(f burstFigures) float64 { return f.fall }},
		{"change of pitch over the bout", "semitones/s", 6, func(f burstFigures) float64 { return f.drop }},
		{"crest over the sounding part", "dB", 2, func(f burstFigures) float64 { return f.peak }},
		{"octave about 500 Hz re all", "dB", 5, func(f burstFigures) float64 { return f.bands[1] }},
		{"octave about 1 kHz re all", "dB", 3, func(f burstFigures) float64 { return f.bands[2] }},
		{"octave about 2 kHz re all", "dB", 8, func(f burstFigures) float64 { return f.bands[3] }},
	} {
		p := spreadOf(people, c.of)
		for _, tk := range chosen(t) {
			trust.Record(t, trust.Check{Area: "laughter", What: tk.Name + ", beside people: " + c.what, Source: source,
				Got: spreadOf(own[tk.Name], c.of).mean, Expected: (p.least + p.most) / 2, Tolerance: (p.most-p.least)/2 + c.wider, Unit: c.unit})
		}
	}
}

// TestCoughsAndShoutsOfPeople: two recorded coughs, three screams. What is compared is
// what so few can tell: where most of the power lies, and the pitch of a cough's voiced
// end. (People's coughs here have several expulsions in 0.65 s, ours one in 0.3 s.)
func TestCoughsAndShoutsOfPeople(t *testing.T) {
	needs(t, "ffmpeg")
	loudest := func(f burstFigures) float64 {
		at := 0
		for b := range f.bands {
			if f.bands[b] > f.bands[at] {
				at = b
			}
		}
		return 250 * math.Exp2(float64(at))
	}
	for _, c := range []struct {
		what, files string
		e           voice.Event
	}{
		{"cough", "Cough-*", voice.Event{Do: "cough", Effort: voice.Raised}},
		{"shout", "Scream-*", voice.Event{Text: "/AA1/!", Effort: voice.Shout}},
	} {
		people, own := measured(t, c.files, c.e)
		p := spreadOf(people, loudest)
		for _, tk := range chosen(t) {
			for _, f := range own[tk.Name] {
				if at := loudest(f); at < p.least/2 || at > p.most*2 {
					t.Errorf("%s, %s: loudest about %.0f Hz, people's about %.0f to %.0f Hz", tk.Name, c.what, at, p.least, p.most)
				}
			}
			if c.what == "cough" {
				of := func(f burstFigures) float64 { return f.f0 }
				q := spreadOf(people, of)
				trust.Record(t, trust.Check{Area: "cough", What: tk.Name + ": pitch of the voiced end",
					Source: "two recorded coughs of the Debian package scratch (CC-BY-SA-3.0), half either way",
					Got:    spreadOf(own[tk.Name], of).mean, Expected: q.mean, Tolerance: q.mean * .5, Unit: "Hz"})
			}
		}
	}
}
