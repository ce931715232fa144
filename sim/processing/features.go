package processing

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/dsp/fourier"

	"gainwright/sim/meter"
)

// Features are what is measured; levels in dBFS in the sense of AES17, differences in dB.
type Features struct {
	Quiet             float64 // level of the quiet part
	Talk, Again, Loud float64 // active levels
	Pauses            float64 // level of the quietest twentieth within the sentences, above rumble
	// Fall is how far Pauses lies under what the quietest moments of the quiet part
	// have, by the same measure: a gate that had opened, or a control that had
	// turned up the silence.
	Fall float64
	// Under is how far the noise below speech, 20 to 55 Hz, is louder under words than
	// between them; NaN where there is none to measure.
	Under float64
	// UnderAll is the same where that noise is lowest under words: breath and pops come with
	// some of them, what a gate lets through comes with all.
	UnderAll float64
	// Rise is how much the noise above rumble rises over a second of quiet.
	Rise float64
	// Ragged is how far the spectrum of the noise is from chance: its flatness about its own
	// mean, which is −2.5 dB for any noise that is steady; lower where parts of it are taken away.
	Ragged float64
	// Nothing is the share of quiet time, or of pauses, in which samples are all alike.
	Nothing float64
	// Drift is how much louder the first third of both sentences is than their last, on average.
	Drift float64
	// TopHz and Cliff tell where the band ends, and by how much it falls there.
	// NoiseCliff is by how much the quiet part's noise falls there, or within an octave below.
	TopHz, Cliff, NoiseCliff float64
	// Bass is the level of 80 to 250 Hz over that of 300 to 800 Hz, in talk.
	Bass float64
	// NoiseBass is the density of the quiet part's noise from 80 to 200 Hz over that
	// from 400 to 1000 Hz.
	NoiseBass float64
}

const frameS = 0.02

// levels are of frames of 20 ms, in dB re full-scale sine.
func levels(x []float64, rate int) []float64 {
	n := int(frameS * float64(rate))
	var out []float64
	for ; len(x) >= n; x = x[n:] {
		out = append(out, meter.SineDB(math.Sqrt(meter.MeanSquare(x[:n])+1e-20)))
	}
	return out
}

// rumbleHz is where rumble ends. It is what rooms have most of, and too few waves of it pass in
// 20 ms for a level.
const rumbleHz = 150

// steady are the levels of the quiet part and of both sentences, above rumble.
func steady(t Take) (quiet, talk, again []float64) {
	above := func(x []float64) []float64 {
		y := section(section(x, t.Rate, rumbleHz, true), t.Rate, rumbleHz, true)
		// The filter begins with what the part begins with.
		return levels(y[min(len(y), t.Rate/20):], t.Rate)
	}
	return above(t.Quiet), above(t.Talk), above(t.Again)
}

func quantile(x []float64, q float64) float64 {
	if len(x) == 0 {
		return math.NaN()
	}
	s := slices.Clone(x)
	slices.Sort(s)
	return s[min(len(s)-1, int(q*float64(len(s))))]
}

func active(x []float64, rate int) float64 {
	a := meter.NewActiveLevel(rate)
	a.Write(x)
	return a.Level() + meter.SineDB(1)
}

func featuresOf(t Take) Features {
	q, talk, again := steady(t)
	f := Features{Talk: active(t.Talk, t.Rate), Again: active(t.Again, t.Rate), Loud: active(t.Loud, t.Rate)}
	f.Quiet = meter.SineDB(math.Sqrt(meter.MeanSquare(t.Quiet) + 1e-20))
	both := append(slices.Clone(talk), again...)
	f.Pauses = quantile(both, .05)
	f.Fall = quantile(q, .1) - f.Pauses
	f.Under, f.UnderAll = under(t)
	f.Rise = slope(q)
	f.Ragged = ragged(t.Quiet, t.Rate)
	f.Nothing = nothing(t.Quiet, t.Rate)
	f.Drift = (drift(talk) + drift(again)) / 2
	long := append(slices.Clone(t.Talk), t.Again...)
	f.TopHz, f.Cliff, f.NoiseCliff = top(long, t.Quiet, t.Rate)
	f.Bass = meter.PowerDB(meter.BandPower(long, t.Rate, 80, 250)) - meter.PowerDB(meter.BandPower(long, t.Rate, 300, 800))
	f.NoiseBass = density(t.Quiet, t.Rate, 80, 200) - density(t.Quiet, t.Rate, 400, 1000)
	return f
}

// speech are the frames within 25 dB of the loudest tenth.
func speech(frames []float64) []float64 {
	at := quantile(frames, .9) - 25
	var out []float64
	for _, v := range frames {
		if v > at {
			out = append(out, v)
		}
	}
	return out
}

// density is the mean level per hertz in a band, dB.
func density(x []float64, rate int, lo, hi float64) float64 {
	return meter.PowerDB(meter.BandPower(x, rate, lo, hi)/(hi-lo) + 1e-30)
}

func drift(frames []float64) float64 {
	s := speech(frames)
	n := len(s) / 3
	if n == 0 {
		return 0
	}
	return quantile(s[:n], .7) - quantile(s[len(s)-n:], .7)
}

// slope is the median of slopes between frames half of the part apart (Theil and Sen's, in part), dB/s.
func slope(frames []float64) float64 {
	h := len(frames) / 2
	var s []float64
	for i := 0; i+h < len(frames); i++ {
		s = append(s, (frames[i+h]-frames[i])/(float64(h)*frameS))
	}
	return quantile(s, .5)
}

// nothing is the share of time in runs of 10 ms and more in which all samples are alike.
func nothing(x []float64, rate int) float64 {
	most, run, sum := rate/100, 1, 0
	for i := 1; i <= len(x); i++ {
		if i < len(x) && x[i] == x[i-1] {
			run++
			continue
		}
		if run >= most {
			sum += run
		}
		run = 1
	}
	return float64(sum) / float64(len(x))
}

// spectra are powers of overlapping frames of n samples, Hann's window.
func spectra(x []float64, n int) [][]float64 {
	fft := fourier.NewFFT(n)
	buf, co := make([]float64, n), make([]complex128, n/2+1)
	var out [][]float64
	for i := 0; i+n <= len(x); i += n / 2 {
		for j := range buf {
			buf[j] = x[i+j] * (.5 - .5*math.Cos(2*math.Pi*(float64(j)+.5)/float64(n)))
		}
		fft.Coefficients(co, buf)
		p := make([]float64, len(co))
		for k, c := range co {
			p[k] = real(c)*real(c) + imag(c)*imag(c)
		}
		out = append(out, p)
	}
	return out
}

// ragged is the flatness, in dB, of single spectra about their mean.
func ragged(x []float64, rate int) float64 {
	n := 1 << int(math.Round(math.Log2(.02*float64(rate))))
	p := spectra(x, n)
	if len(p) < 8 {
		return math.NaN()
	}
	lo, hi := n/20, n*9/20
	mean := make([]float64, n/2+1)
	for _, s := range p {
		for k, v := range s {
			mean[k] += v / float64(len(p))
		}
	}
	logs, count := 0.0, 0.0
	for _, s := range p {
		power, l := 0.0, 0.0
		for k := lo; k < hi; k++ {
			v := s[k]/(mean[k]+1e-30) + 1e-9
			power += v
			l += math.Log(v)
		}
		m := float64(hi - lo)
		logs += l/m - math.Log(power/m)
		count++
	}
	return 10 / math.Ln10 * logs / count
}

// under compares the noise from 20 to 55 Hz where somebody speaks with where nobody does.
func under(t Take) (mostly, least float64) {
	n := int(.08 * float64(t.Rate))
	long := append(slices.Clone(t.Talk), t.Again...)
	all := append(slices.Clone(t.Quiet), long...)
	band := low(all, t.Rate)[len(t.Quiet):]
	var loud, soft []float64
	var level, bass []float64
	for i := 0; i+n <= len(long); i += n / 2 {
		level = append(level, meter.PowerDB(meter.MeanSquare(long[i:i+n])+1e-20))
		bass = append(bass, meter.PowerDB(meter.MeanSquare(band[i:i+n])+1e-20))
	}
	hi, lo := quantile(level, .5), quantile(level, .12)
	for i, v := range level {
		switch {
		case v >= hi:
			loud = append(loud, bass[i])
		case v <= lo:
			soft = append(soft, bass[i])
		}
	}
	return quantile(loud, .3) - quantile(soft, .5), quantile(loud, .05) - quantile(soft, .5)
}

// low is x between 20 and 55 Hz: two Butterworth sections of second order each.
func low(x []float64, rate int) []float64 {
	y := slices.Clone(x)
	for range 3 {
		y = section(y, rate, 45, false)
	}
	return section(y, rate, 20, true)
}

func section(x []float64, rate int, f float64, high bool) []float64 {
	w := math.Tan(math.Pi * f / float64(rate))
	d := 1 + math.Sqrt2*w + w*w
	b0, b1 := w*w/d, 2*w*w/d
	if high {
		b0, b1 = 1/d, -2/d
	}
	a1, a2 := 2*(w*w-1)/d, (1-math.Sqrt2*w+w*w)/d
	var z1, z2 float64
	y := make([]float64, len(x))
	for i, v := range x {
		o := b0*v + z1
		z1 = b1*v - a1*o + z2
		z2 = b0*v - a2*o
		y[i] = o
	}
	return y
}

// spectrum is the mean power of talk or noise by frequency.
type spectrum struct {
	power []float64
	bin   float64 // Hz
}

func spectrumOf(x []float64, rate int) spectrum {
	n := 1024
	for n < rate/32 {
		n *= 2
	}
	s := spectrum{make([]float64, n/2+1), float64(rate) / float64(n)}
	for _, p := range spectra(x, n) {
		for k, v := range p {
			s.power[k] += v
		}
	}
	return s
}

// db is the mean level from lo to hi, Hz.
func (s spectrum) db(lo, hi float64) float64 {
	a, z := int(lo/s.bin), min(int(hi/s.bin), len(s.power)-1)
	sum := 0.0
	for k := a; k < z; k++ {
		sum += s.power[k]
	}
	return meter.PowerDB(sum/float64(max(z-a, 1)) + 1e-30)
}

// fall is how much less there is right above f than right below it.
func (s spectrum) fall(f, end float64) float64 {
	return s.db(f*.8, f*.95) - s.db(f*1.06, min(f*1.3, .985*end))
}

// top finds the deepest fall of talk's mean spectrum over a sixth of an octave, above which
// nothing follows, and how far the noise falls there or within an octave below.
func top(x, quiet []float64, rate int) (hz, cliff, noise float64) {
	s, end := spectrumOf(x, rate), .5*float64(rate)
	for f := 2500.0; f < .88*end; f *= math.Pow(2, 1.0/24) {
		rest := s.db(f*.8, f*.95) - s.db(f*1.06, .985*end)
		if fall := min(s.fall(f, end), rest); fall > cliff {
			hz, cliff = f, fall
		}
	}
	// Where talk falls most, a noise that falls with it may have met the converter's own.
	q := spectrumOf(quiet, rate)
	for f := max(.5*hz, 2000); f <= hz; f *= math.Pow(2, 1.0/24) {
		noise = max(noise, q.fall(f, end))
	}
	return hz, cliff, noise
}
