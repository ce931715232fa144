package meter

import (
	"fmt"
	"math"
	"testing"
)

const (
	srcPPM  = "from memory: IEC 60268-10 tone-burst table"
	srcFall = "IEC 60268-10 (transcription)"
	srcVU   = "IEC 60268-17 (transcription): 99 % in 300 ms, overswing 1 to 1.5 %"
	srcPeak = "from memory: IEC 60268-18"
)

// burst returns the highest reading for a 5 kHz burst under the reading of the
// steady tone, in dB.
func burst(kind PPMType, rate int, ms float64) float64 {
	p := NewPPM(rate, kind)
	p.Write(sine(rate, 5000, 0.5, 0, rate))
	steady := p.MaxDB()
	p.Reset()
	p.Write(append(sine(rate, 5000, 0.5, 0, int(math.Round(ms*float64(rate)/1000))), make([]float64, rate/10)...))
	return p.MaxDB() - steady
}

func TestPPM(t *testing.T) {
	for kind, table := range map[PPMType]map[float64]float64{
		TypeI:   {10: -1, 5: -2, 3: -4, 0.4: -15},
		TypeIIa: {100: 0, 10: -2.2, 5: -4, 1.5: -9, 0.5: -17},
		TypeIIb: {100: 0, 10: -2.2, 5: -4, 1.5: -9, 0.5: -17},
	} {
		for ms, db := range table {
			for _, rate := range []int{44100, 48000, 96000} {
				check(t, "programme meters", fmt.Sprintf("PPM %v, 5 kHz burst of %g ms, %d Hz rate", kind, ms, rate), srcPPM, db, burst(kind, rate, ms), 0.6, "dB")
			}
		}
	}
	for kind, c := range map[PPMType]struct{ db, seconds, tol float64 }{TypeI: {20, 1.7, 0.3}, TypeIIa: {24, 2.8, 0.3}, TypeIIb: {24, 2.8, 0.3}} {
		p := NewPPM(rate48, kind)
		p.Write(sine(rate48, 1000, 1, 0, rate48))
		start := p.DB()
		n := 0
		for z := make([]float64, 48); p.DB() > start-c.db; n++ {
			p.Write(z)
		}
		check(t, "programme meters", fmt.Sprintf("PPM %v, time to fall %g dB", kind, c.db), srcFall, c.seconds, float64(n)/1000, c.tol, "s")
		near(t, kind.String()+" fall", float64(n)/1000, c.seconds, 0.01)
	}
	for _, hz := range []float64{50, 100, 997, 5000, 12000} {
		for _, kind := range []PPMType{TypeI, TypeIIa} {
			p := NewPPM(rate48, kind)
			p.Write(sine(rate48, hz, FromDB(-9), 0, 2*rate48))
			check(t, "programme meters", fmt.Sprintf("PPM %v, steady %g Hz at −9 dBFS, highest reading", kind, hz), "definition", -9, p.MaxDB(), 0.3, "dBFS")
		}
	}
	// Scales: the test level reads 4, TEST, and 9 under the maximum.
	for kind, mark := range map[PPMType]float64{TypeI: -9, TypeIIa: 4, TypeIIb: 0} {
		p := NewPPM(rate48, kind)
		p.Write(sine(rate48, 1000, FromDB(-18), 0, rate48))
		near(t, kind.String()+" at the test level", p.Mark(-18), mark, 0.05)
	}
}

func TestVU(t *testing.T) {
	for _, rate := range []int{8000, 44100, 48000, 192000} {
		v := NewVU(rate)
		one := make([]float64, 1)
		one[0] = 0.5
		at300, peak, peakAt := 0.0, 0.0, 0
		for i := range rate {
			v.Write(one)
			l := v.Level() / (0.5 * math.Pi / 2)
			if i+1 == rate*3/10 {
				at300 = l
			}
			if l > peak {
				peak, peakAt = l, i
			}
		}
		check(t, "programme meters", fmt.Sprintf("VU, step, share reached after 300 ms, %d Hz rate", rate), srcVU, 0.99, at300, 0.002, "")
		check(t, "programme meters", fmt.Sprintf("VU, step, overswing, %d Hz rate", rate), srcVU, 0.0125, peak-1, 0.0025, "")
		near(t, "time of the overswing", float64(peakAt)/float64(rate), 0.399, 0.003)
	}
	v := NewVU(rate48)
	v.Write(sine(rate48, 997, FromDB(-18), 0, 3*rate48))
	check(t, "programme meters", "VU, steady 997 Hz at −18 dBFS", "rectified mean of a sine, 2/π", -18, v.DB(), 0.02, "dBFS")
	// White noise: a rectified-mean meter reads rms minus 1.05 dB when
	// calibrated on a sine: √(2/π)·π/2 over √2.
	v.Reset()
	v.Write(noise(1, 0.1, 20*rate48))
	check(t, "programme meters", "VU, Gaussian noise, reading under its level in dBFS", "closed form, 20·log10(√π/2)", DB(math.Sqrt(math.Pi)/2), v.DB()-SineDB(0.1), 0.15, "dB")
}

func TestSamplePeak(t *testing.T) {
	p := NewSamplePeak(rate48, 2)
	p.Write([]float64{0.2, -0.8, 0.1})
	near(t, "bar", p.Bar(), 0.8*FromDB(-peakFallDB/rate48), 1e-12)
	if p.Peak() != 0.8 || p.Held() != 0.8 {
		t.Errorf("peak %v, held %v, want 0.8", p.Peak(), p.Held())
	}
	start := p.BarDB()
	z := make([]float64, 48)
	n := 0
	for ; p.BarDB() > start-20; n++ {
		p.Write(z)
	}
	check(t, "sample peak", "time for the bar to fall 20 dB", srcPeak, 1.7, float64(n)/1000, 0.01, "s")
	near(t, "held before 2 s", p.HeldDB(), DB(0.8), 1e-12)
	for range 2000 - n + 5 {
		p.Write(z)
	}
	if p.Held() != p.Bar() {
		t.Errorf("after the hold time the mark is at %v dB, the bar at %v dB", p.HeldDB(), p.BarDB())
	}
	// A smaller peak after the hold takes the mark, a smaller one before does not.
	p.Write([]float64{0.5})
	near(t, "new mark", p.Held(), 0.5, 0)
	p.Write([]float64{0.4})
	near(t, "mark stays", p.Held(), 0.5, 0)
	if p.DB() != DB(0.8) {
		t.Errorf("largest sample forgotten: %v", p.DB())
	}
	p.ResetHold()
	if p.Held() != p.Bar() || p.Peak() != p.Bar() {
		t.Error("ResetHold left the mark")
	}
	// The bar goes to silence.
	p.Write(make([]float64, 600*rate48))
	if !math.IsInf(p.BarDB(), -1) || !math.IsInf(p.HeldDB(), -1) {
		t.Errorf("after ten minutes of silence: bar %v, mark %v", p.BarDB(), p.HeldDB())
	}
	forever := NewSamplePeak(rate48, math.Inf(1))
	forever.Write([]float64{1})
	forever.Write(make([]float64, 100*rate48))
	if forever.Held() != 1 {
		t.Error("an endless hold ended")
	}
}

func TestOvers(t *testing.T) {
	o := NewOvers(rate48, 1)
	o.Write([]float64{0, 1, 1.5, -1.2, 1, 0, 2})
	o.Write([]float64{2, -3, 0.5, 1.1, 1.1})
	want := []Run{{2, 2, 1.5}, {6, 3, 3}, {10, 2, 1.1}}
	if o.Count() != 3 || o.Samples() != 7 || o.Longest() != 3 || o.First() != 2 || o.Demand() != 3 || fmt.Sprint(o.Runs()) != fmt.Sprint(want) {
		t.Errorf("count %d, samples %d, longest %d, first %d, demand %v, runs %v", o.Count(), o.Samples(), o.Longest(), o.First(), o.Demand(), o.Runs())
	}
	near(t, "fraction", o.Fraction(), 7.0/12, 1e-15)
	near(t, "longest in ms", o.LongestMS(), 3/48.0, 1e-15)
	if NewOvers(rate48, 1).First() != -1 {
		t.Error("no run, but a first one")
	}

	// A plain meter: full scale itself counts, from three samples on.
	m := NewMeterOvers(rate48, 3, 1)
	m.Write([]float64{1, 1, 0, 1, 1, 1, 0.9, -1, -1, -1, -1, 0.99, 1})
	if m.Count() != 2 || m.Samples() != 7 || m.Longest() != 4 || m.First() != 3 {
		t.Errorf("meter overs: count %d, samples %d, longest %d, runs %v", m.Count(), m.Samples(), m.Longest(), m.Runs())
	}
	// 16-bit full scale: the largest positive code counts, one below does not.
	m = NewMeterOvers(rate48, 3, 1-1.0/32768)
	top := 32767.0 / 32768
	m.Write([]float64{top, top, top, 0, 32766.0 / 32768, top, top, -1, -1, -1})
	if m.Count() != 2 || m.Longest() != 5 {
		t.Errorf("16-bit overs: count %d, longest %d", m.Count(), m.Longest())
	}
	// The list is bounded, the count is not.
	o = NewOvers(rate48, 0.5)
	for range maxRuns + 10 {
		o.Write([]float64{1, 0})
	}
	if o.Count() != maxRuns+10 || len(o.Runs()) != maxRuns || o.Unlisted() != 10 {
		t.Errorf("count %d, listed %d, unlisted %d", o.Count(), len(o.Runs()), o.Unlisted())
	}
	// A clipped sine's time beyond the ceiling, from the closed form.
	for _, over := range []float64{1, 3, 6, 12} {
		a := FromDB(over)
		o := NewOvers(rate48, 1)
		o.Write(sine(rate48, 997, a, 0, 10*rate48))
		check(t, "overs", fmt.Sprintf("997 Hz sine %g dB over the ceiling, share of time beyond", over), "closed form, 1 − 2·arcsin(1/A)/π",
			1-2*math.Asin(1/a)/math.Pi, o.Fraction(), 0.002, "")
		check(t, "overs", fmt.Sprintf("997 Hz sine %g dB over the ceiling for 10 s, number of overs", over), "two each period", 2*997*10, float64(o.Count()), 1, "")
	}
	for _, bad := range []func(){
		func() { NewOvers(rate48, 0) }, func() { NewOvers(rate48, math.NaN()) }, func() { NewOvers(100, 1) },
		func() { NewMeterOvers(rate48, 0, 1) }, func() { NewSamplePeak(rate48, -1) }, func() { NewPPM(rate48, 9) }, func() { NewTruePeak(1) },
	} {
		func() {
			defer func() {
				if recover() == nil {
					t.Error("a constructor took nonsense")
				}
			}()
			bad()
		}()
	}
}
