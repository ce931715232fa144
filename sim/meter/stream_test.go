package meter

import (
	"encoding/binary"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

// harsh is a stream that exercises every branch: babble, a burst over full
// scale, silence, a tone.
func harsh(rate int) []float64 {
	x := babble(3, rate, 5*rate)
	x = append(x, sine(rate, 997, 1.4, 0.3, rate/2)...)
	x = append(x, make([]float64, rate/2)...)
	return append(x, sine(rate, 3000, 0.35, 0, rate/3+13)...)
}

func TestBlockSizesDoNotMatter(t *testing.T) {
	for _, rate := range []int{8000, 11025, 48000} {
		x := harsh(rate)
		for _, s := range allStreamed(t, rate) {
			t.Run(fmt.Sprintf("%s at %d", s.name, rate), func(t *testing.T) {
				whole := s.make()
				s.write(whole, x)
				want := s.read(whole)
				feed := func(next func() int) {
					m := s.make()
					for rest := x; len(rest) > 0; {
						n := min(next(), len(rest))
						s.write(m, rest[:n])
						rest = rest[n:]
					}
					if got := s.read(m); !equal(got, want) {
						t.Errorf("cut into blocks it reads %v, whole %v", got, want)
					}
				}
				for _, n := range blockSizes[1:] {
					feed(func() int { return n })
				}
				r := rand.New(rand.NewPCG(5, 6))
				feed(func() int { return blockSizes[r.IntN(len(blockSizes))] })
			})
		}
	}
}

// Reading must not disturb, and a reading halfway must equal the reading of
// half the stream.
func TestReadingsOnTheWay(t *testing.T) {
	x := harsh(rate48)
	for _, s := range allStreamed(t, rate48) {
		m := s.make()
		for _, cut := range []int{0, 1, 1000, 4801, 30001, 200000, len(x)} {
			whole := s.make()
			s.write(whole, x[:cut])
			fresh := s.make()
			for i := 0; i < cut; i += 3001 {
				s.write(fresh, x[i:min(i+3001, cut)])
				s.read(fresh)
			}
			if a, b := s.read(whole), s.read(fresh); !equal(a, b) {
				t.Errorf("%s after %d samples: %v when read on the way, %v when not", s.name, cut, b, a)
			}
		}
		s.read(m)
	}
}

func TestResetIsFresh(t *testing.T) {
	x := harsh(rate48)
	x[100], x[200] = math.NaN(), math.Inf(1)
	y := babble(9, rate48, 4*rate48+77)
	for _, s := range allStreamed(t, rate48) {
		used := s.make()
		s.write(used, x)
		s.reset(used)
		fresh := s.make()
		if a, b := s.read(used), s.read(fresh); !equal(a, b) {
			t.Errorf("%s reads %v after Reset, %v when new", s.name, a, b)
		}
		s.write(used, y)
		s.write(fresh, y)
		if a, b := s.read(used), s.read(fresh); !equal(a, b) || s.bad(used) != 0 {
			t.Errorf("%s reads %v after Reset and use, %v when new; invalid %d", s.name, a, b, s.bad(used))
		}
	}
}

// What is no sample counts as zero, and is counted.
func TestUnusableSamples(t *testing.T) {
	x := harsh(rate48)
	clean := append([]float64(nil), x...)
	r := rand.New(rand.NewPCG(1, 9))
	odd := []float64{math.NaN(), math.Inf(1), math.Inf(-1), math.Ldexp(1, 129), -math.MaxFloat64}
	want := 0
	for i := 0; i < len(x); i += 1 + r.IntN(5000) {
		x[i], clean[i] = odd[want%len(odd)], 0
		want++
	}
	for _, s := range allStreamed(t, rate48) {
		a, b := s.make(), s.make()
		for i := 0; i < len(x); i += 777 {
			s.write(a, x[i:min(i+777, len(x))])
		}
		s.write(b, clean)
		if !equal(s.read(a), s.read(b)) {
			t.Errorf("%s reads %v, with zeros instead %v", s.name, s.read(a), s.read(b))
		}
		per := want
		if s.name == "loudness stereo" {
			per *= 2
		}
		if s.bad(a) != per || s.bad(b) != 0 {
			t.Errorf("%s counted %d unusable samples, want %d", s.name, s.bad(a), per)
		}
	}
	// The largest usable magnitude goes through every meter without harm.
	huge := make([]float64, rate48)
	for i := range huge {
		huge[i] = math.Nextafter(math.Ldexp(1, 128), 0) * float64(1-2*(i&1))
	}
	for _, s := range allStreamed(t, rate48) {
		m := s.make()
		s.write(m, huge)
		for _, v := range s.read(m) {
			if math.IsNaN(v) || math.IsInf(v, 1) && s.name != "stats" {
				t.Errorf("%s reads %v for huge samples", s.name, v)
				break
			}
		}
	}
}

func TestNoAllocation(t *testing.T) {
	x := harsh(rate48)[:3*rate48]
	x[5] = math.NaN()
	for _, s := range allStreamed(t, rate48) {
		m := s.make()
		s.write(m, x)
		at := 0
		if n := testing.AllocsPerRun(100, func() {
			s.write(m, x[at:at+1024])
			at = (at + 1024) % (len(x) - 1024)
		}); n != 0 {
			t.Errorf("%s allocates %v times a block", s.name, n)
		}
	}
	l, _ := NewLoudness(rate48, 2)
	p := repeat(x[:480], 2)
	if n := testing.AllocsPerRun(100, func() { l.Write(p); l.Integrated(); l.Range(); l.Momentary() }); n != 0 {
		t.Errorf("loudness of two channels and its readings allocate %v times", n)
	}
}

// Twice the level is 6.02 dB more on every scale in dB, and nothing else.
func TestGainShiftsReadings(t *testing.T) {
	x := harsh(rate48)
	r := rand.New(rand.NewPCG(4, 4))
	gains := []float64{-20, -6, 0.25, 12}
	for range 4 {
		gains = append(gains, 30*r.Float64()-20)
	}
	for _, g := range gains {
		y := make([]float64, len(x))
		for i := range x {
			y[i] = x[i] * FromDB(g)
		}
		pair := func(name string, f func(x []float64) float64, tol float64) {
			t.Helper()
			if a, b := f(x), f(y); math.Abs(b-a-g) > tol {
				t.Errorf("%s: %v became %v with %v dB of gain", name, a, b, g)
			}
		}
		loud := func(read func(*Loudness) float64) func([]float64) float64 {
			return func(x []float64) float64 {
				l, _ := NewLoudness(rate48, 1)
				l.WriteMono(x)
				return read(l)
			}
		}
		pair("momentary", loud((*Loudness).Momentary), 1e-9)
		pair("short-term", loud((*Loudness).ShortTerm), 1e-9)
		pair("max momentary", loud((*Loudness).MaxMomentary), 1e-9)
		pair("max short-term", loud((*Loudness).MaxShortTerm), 1e-9)
		pair("true peak", func(x []float64) float64 { p := NewTruePeak(rate48); p.Write(x); return p.DB() }, 1e-9)
		pair("sample peak", func(x []float64) float64 { p := NewSamplePeak(rate48, 1); p.Write(x); return p.DB() }, 1e-9)
		pair("bar", func(x []float64) float64 { p := NewSamplePeak(rate48, 1); p.Write(x); return p.BarDB() }, 1e-9)
		pair("PPM", func(x []float64) float64 { p := NewPPM(rate48, TypeIIb); p.Write(x); return p.DB() }, 1e-9)
		pair("VU", func(x []float64) float64 { p := NewVU(rate48); p.Write(x); return p.DB() }, 1e-9)
		pair("rms", func(x []float64) float64 { s := NewStats(rate48); s.Write(x); return DB(s.RMS()) }, 1e-9)
		crest := func(x []float64) float64 { s := NewStats(rate48); s.Write(x); return s.CrestDB() }
		near(t, "crest factor", crest(y), crest(x), 1e-9)
		// Histograms: to a step of 0.05 dB, and to the interpolation between
		// thresholds a quarter of a decibel apart.
		pair("noise floor", func(x []float64) float64 { s := NewStats(rate48); s.Write(x); return DB(s.NoiseRMS()) }, 0.05)
		pair("active level", func(x []float64) float64 { s := NewStats(rate48); s.Write(x); return s.ActiveDB() }, 0.02)
		// The absolute gate does not move with the signal: compare above it.
		z := append(babble(12, rate48, 20*rate48), sine(rate48, 200, 0.05, 0, 5*rate48)...)
		for i := range z {
			z[i] += 0.03 * math.Sin(float64(i))
		}
		shifted := make([]float64, len(z))
		for i := range z {
			shifted[i] = z[i] * FromDB(g)
		}
		a, _ := NewLoudness(rate48, 1)
		b, _ := NewLoudness(rate48, 1)
		a.WriteMono(z)
		b.WriteMono(shifted)
		near(t, fmt.Sprintf("integrated at %v dB", g), b.Integrated()-a.Integrated(), g, 0.01)
		near(t, fmt.Sprintf("range at %v dB", g), b.Range(), a.Range(), 0.01)
	}
}

// Polarity and channel order carry no loudness and no peak.
func TestPolarity(t *testing.T) {
	x := harsh(rate48)
	y := make([]float64, len(x))
	for i := range x {
		y[i] = -x[i]
	}
	for _, s := range allStreamed(t, rate48) {
		if s.name == "K-weighting" || s.name == "A-weighting" || s.name == "CCIR-RMS weighting" || s.name == "stats" {
			continue // their readings here have a sign
		}
		a, b := s.make(), s.make()
		s.write(a, x)
		s.write(b, y)
		if !equal(s.read(a), s.read(b)) {
			t.Errorf("%s depends on polarity", s.name)
		}
	}
}

func FuzzLoudness(f *testing.F) {
	f.Add([]byte{0, 1, 2, 3}, uint16(48000), uint8(2), uint8(7))
	f.Add(binary.LittleEndian.AppendUint64(nil, math.Float64bits(math.NaN())), uint16(8000), uint8(1), uint8(0))
	f.Add(binary.LittleEndian.AppendUint64(nil, math.Float64bits(1e38)), uint16(44100), uint8(5), uint8(255))
	f.Add(binary.LittleEndian.AppendUint64(nil, math.Float64bits(5e-324)), uint16(11025), uint8(6), uint8(3))
	f.Fuzz(func(t *testing.T, data []byte, hz uint16, channels, block uint8) {
		l, err := NewLoudness(int(hz), int(channels%9))
		if err != nil {
			if hz >= MinRate && channels%9 > 0 {
				t.Fatal(err)
			}
			return
		}
		var pattern []float64
		for ; len(data) >= 8; data = data[8:] {
			pattern = append(pattern, math.Float64frombits(binary.LittleEndian.Uint64(data)))
		}
		for _, b := range data {
			pattern = append(pattern, float64(int8(b))/128)
		}
		if len(pattern) == 0 {
			return
		}
		// 3.2 s of the pattern, each channel at its own offset, so that every
		// window and gate comes into play.
		n := int(hz) * 16 / 5
		planar := make([][]float64, channels%9)
		for c := range planar {
			planar[c] = make([]float64, n)
			for i := range planar[c] {
				planar[c][i] = pattern[(i+3*c)%len(pattern)]
			}
		}
		part := make([][]float64, len(planar))
		step := int(block)*17 + 1
		for at := 0; at < n; at += step {
			for c := range planar {
				part[c] = planar[c][at:min(at+step, n)]
			}
			l.Write(part)
		}
		whole, _ := NewLoudness(int(hz), len(planar))
		whole.Write(planar)
		if a, b := loudnessReadings(l), loudnessReadings(whole); !equal(a, b) {
			t.Fatalf("in blocks of %d: %v, whole: %v", step, a, b)
		}
		for i, v := range loudnessReadings(l) {
			if math.IsNaN(v) || math.IsInf(v, 1) {
				t.Fatalf("reading %d is %v", i, v)
			}
		}
		if l.Momentary() > l.MaxMomentary() || l.ShortTerm() > l.MaxShortTerm() || l.Range() < 0 {
			t.Fatalf("maximum below reading, or negative range: %v", loudnessReadings(l))
		}
		bad := 0
		for _, c := range planar {
			for _, v := range c {
				if !(math.Abs(v) < math.Ldexp(1, 128)) {
					bad++
				}
			}
		}
		if l.Invalid() != bad {
			t.Fatalf("%d unusable samples counted, want %d", l.Invalid(), bad)
		}
	})
}
