package meter

import (
	"testing"
)

// Ten seconds of material, fed in blocks of 480 as a live strip would.
var benchSignals = []struct {
	name string
	make func() []float64
}{
	{"speech", func() []float64 { return babble(1, rate48, 10*rate48) }},
	{"tone", func() []float64 { return sine(rate48, 997, 0.5, 0, 10*rate48) }},
	{"noise", func() []float64 { return noise(1, 0.1, 10*rate48) }},
	// The hardest for the true peak: every stretch is near the maximum.
	{"clipped", func() []float64 {
		x := sine(rate48, 997, 4, 0, 10*rate48)
		for i := range x {
			x[i] = max(-1, min(1, x[i]))
		}
		return x
	}},
}

func benchmark(b *testing.B, x []float64, channels int, write func([]float64)) {
	b.ReportAllocs()
	for b.Loop() {
		for at := 0; at < len(x); at += 480 {
			write(x[at : at+480])
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(len(x)*channels), "ns/sample")
}

func BenchmarkMeters(b *testing.B) {
	x := benchSignals[0].make()
	for _, s := range allStreamed(b, rate48) {
		b.Run(s.name, func(b *testing.B) {
			m := s.make()
			benchmark(b, x, 1, func(x []float64) { s.write(m, x) })
		})
	}
}

func BenchmarkTruePeak(b *testing.B) {
	for _, s := range benchSignals {
		b.Run(s.name, func(b *testing.B) {
			p := NewTruePeak(rate48)
			benchmark(b, s.make(), 1, p.Write)
		})
	}
}

// strip is the whole live meter set of a mono strip.
type strip struct {
	loud    *Loudness
	true_   *TruePeak
	sample  *SamplePeak
	ppm     *PPM
	vu      *VU
	over    *Overs
	plain   *Overs
	stats   *Stats
	reading float64
}

func (s *strip) Write(x []float64) {
	s.loud.WriteMono(x)
	s.true_.Write(x)
	s.sample.Write(x)
	s.ppm.Write(x)
	s.vu.Write(x)
	s.over.Write(x)
	s.plain.Write(x)
	s.stats.Write(x)
	// What a screen asks for.
	s.reading = s.loud.Momentary() + s.loud.ShortTerm() + s.true_.DB() + s.sample.BarDB() + s.ppm.DB() + s.vu.DB()
}

func BenchmarkStrip(b *testing.B) {
	for _, c := range benchSignals {
		b.Run(c.name, func(b *testing.B) {
			l, err := NewLoudness(rate48, 1)
			if err != nil {
				b.Fatal(err)
			}
			s := &strip{l, NewTruePeak(rate48), NewSamplePeak(rate48, 2), NewPPM(rate48, TypeIIb), NewVU(rate48), NewOvers(rate48, 1), NewMeterOvers(rate48, 3, 1), NewStats(rate48), 0}
			benchmark(b, c.make(), 1, s.Write)
		})
	}
}

func BenchmarkReadings(b *testing.B) {
	l, _ := NewLoudness(rate48, 1)
	l.WriteMono(babble(1, rate48, 60*rate48))
	b.Run("integrated", func(b *testing.B) {
		for b.Loop() {
			l.Integrated()
		}
	})
	b.Run("range", func(b *testing.B) {
		for b.Loop() {
			l.Range()
		}
	})
	s := NewStats(rate48)
	s.Write(babble(1, rate48, 60*rate48))
	b.Run("active level", func(b *testing.B) {
		for b.Loop() {
			s.ActiveDB()
		}
	})
	b.Run("noise floor", func(b *testing.B) {
		for b.Loop() {
			s.NoiseRMS()
		}
	})
}
