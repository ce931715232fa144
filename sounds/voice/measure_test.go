package voice

import (
	"math"

	"gonum.org/v1/gonum/dsp/fourier"
)

// thirds are exact mid-frequencies of the base-ten third octaves, 100 Hz to
// 12.5 kHz, with nominal names.
var thirds = []float64{80, 100, 125, 160, 200, 250, 315, 400, 500, 630, 800, 1000, 1250, 1600, 2000, 2500, 3150, 4000, 5000, 6300, 8000, 10000, 12500, 16000}

func exact(i int) float64 { return 1000 * math.Pow(10, float64(i-11)/10) }

// bandLevels gives the level of each third octave in dB re 1 (Pa²), from
// averaged periodograms (16384 points, Hann, half overlap).
func bandLevels(x []float64) []float64 {
	const n = 16384
	fft := fourier.NewFFT(n)
	w := make([]float64, n)
	sum := 0.0
	for i := range w {
		w[i] = .5 - .5*math.Cos(2*math.Pi*float64(i)/n)
		sum += w[i] * w[i]
	}
	psd := make([]float64, n/2+1)
	buf := make([]float64, n)
	var co []complex128
	count := 0
	for at := 0; at+n <= len(x); at += n / 2 {
		for i := range buf {
			buf[i] = x[at+i] * w[i]
		}
		co = fft.Coefficients(co, buf)
		for k, c := range co {
			psd[k] += real(c)*real(c) + imag(c)*imag(c)
		}
		count++
	}
	out := make([]float64, len(thirds))
	const df = float64(Rate) / n
	for b := range out {
		lo, hi := exact(b)*math.Pow(10, -.05), exact(b)*math.Pow(10, .05)
		e := 0.0
		for k := 1; k < len(psd)-1; k++ {
			l, h := max(lo, (float64(k)-.5)*df), min(hi, (float64(k)+.5)*df)
			if h > l {
				e += psd[k] * (h - l) / df
			}
		}
		out[b] = 10 * math.Log10(max(1e-30, 2*e/float64(max(1, count))/(sum*n)))
	}
	return out
}

// activeLevel is the energy of active speech in dB SPL: the mean over the 20 ms
// frames that lie within 30 dB of the loudest; share is how many they are.
func activeLevel(x []float64) (spl, share float64) {
	const n = Rate / 50
	var e []float64
	top := 0.0
	for at := 0; at+n <= len(x); at += n {
		s := 0.0
		for _, v := range x[at : at+n] {
			s += v * v
		}
		e = append(e, s/n)
		top = max(top, s/n)
	}
	sum, k := 0.0, 0
	for _, v := range e {
		if v >= top/1000 {
			sum += v
			k++
		}
	}
	return 10 * math.Log10(sum/float64(k)/4e-10), float64(k) / float64(len(e))
}

func peakSPL(x []float64) float64 {
	pk := 0.0
	for _, v := range x {
		pk = max(pk, math.Abs(v))
	}
	return 20 * math.Log10(pk/20e-6)
}

// Byrne et al. 1994, JASA 96(4):2108-2120, Table II, combined: third-octave
// band levels in dB for 70 dB overall, 63 Hz .. 16 kHz; here from 80 Hz.
var byrne = []float64{43.5, 54.4, 57.7, 56.8, 60.2, 60.3, 59.0, 62.1, 62.1, 60.5, 56.8, 53.7, 53.0, 52.0, 48.7, 48.1, 46.8, 45.6, 44.5, 44.3, 43.7, 43.4, 41.3, 40.7}

// ANSI S3.5-1997 Table 3, spectrum levels in dB SPL per Hz, 160 Hz .. 8 kHz.
var ansi = [4][]float64{
	{32.41, 34.48, 34.75, 33.98, 34.59, 34.27, 32.06, 28.30, 25.01, 23.00, 20.15, 17.32, 13.18, 11.55, 9.33, 5.31, 2.59, 1.13},
	{33.81, 33.92, 38.98, 38.57, 39.11, 40.15, 38.78, 36.37, 33.86, 31.89, 28.58, 25.32, 22.35, 20.15, 16.78, 11.47, 7.67, 5.07},
	{35.29, 37.76, 41.55, 43.78, 43.40, 44.85, 45.55, 44.05, 42.16, 40.53, 37.70, 34.39, 30.98, 28.21, 25.41, 18.35, 13.87, 11.39},
	{30.77, 36.65, 42.50, 46.51, 47.40, 49.24, 51.21, 51.44, 51.31, 49.63, 47.65, 44.32, 40.80, 38.13, 34.41, 28.24, 23.45, 20.72},
}

// ansiBand is the third-octave band level of a named effort (0 normal ..
// 3 shout) at thirds[b], for the 18 bands from 160 Hz (b = 3) to 8 kHz.
func ansiBand(effort, b int) float64 {
	return ansi[effort][b-3] + 10*math.Log10(exact(b)*(math.Pow(10, .05)-math.Pow(10, -.05)))
}

// spectrumMisfit compares band levels with a target over bands from..to, each
// normalised to the same energy over them: rms and largest difference, dB.
func spectrumMisfit(got []float64, target func(b int) float64, from, to int) (rms, worst float64, at int) {
	eg, et := 0.0, 0.0
	for b := from; b <= to; b++ {
		eg += math.Pow(10, got[b]/10)
		et += math.Pow(10, target(b)/10)
	}
	shift := 10 * math.Log10(et/eg)
	s := 0.0
	for b := from; b <= to; b++ {
		d := got[b] + shift - target(b)
		s += d * d
		if math.Abs(d) > math.Abs(worst) {
			worst, at = d, b
		}
	}
	return math.Sqrt(s / float64(to-from+1)), worst, at
}

// lowestBand is the first third octave whose centre is at least hz.
func lowestBand(hz float64) int {
	for b := range thirds {
		if thirds[b] >= hz {
			return b
		}
	}
	return len(thirds) - 1
}

// corpus renders the ordinary sentences at one effort, as one script, up to
// the given number of seconds, with the tuning left as it is.
func corpus(talker string, e Effort, seed uint64, seconds float64) []float64 {
	var s Script
	for _, t := range ordinary {
		s = append(s, Event{Text: t, Effort: e})
	}
	p, err := New(s, talker, seed)
	if err != nil {
		panic(err)
	}
	x := make([]float64, min(p.Length(), int(seconds*Rate)))
	for at := 0; at < len(x); {
		n, err := p.Read(x[at:min(len(x), at+Rate)])
		if err != nil {
			panic(err)
		}
		at += n
	}
	return x
}
