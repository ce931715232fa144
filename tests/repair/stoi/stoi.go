// Package stoi predicts how well speech is understood from a clean and a changed version
// of it: STOI (Taal, Hendriks, Heusdens, Jensen, "An Algorithm for Intelligibility
// Prediction of Time-Frequency Weighted Noisy Speech", IEEE Trans. Audio, Speech, Lang.
// Process. 19, 2011) and ESTOI (Jensen, Taal, "An Algorithm for Predicting the
// Intelligibility of Speech Masked by Modulated Noise Maskers", IEEE/ACM Trans. Audio,
// Speech, Lang. Process. 24, 2016). Both saturate: clipped speech stays above 0.9 until
// much is lost.
package stoi

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/dsp/fourier"

	"gainwright/sounds"
)

const (
	rate    = 10000
	frame   = 256
	hop     = frame / 2
	points  = 512
	bands   = 15
	lowest  = 150.0 // Hz, centre of the first third-octave band
	segment = 30    // frames, 384 ms
	rangeDB = 40.0  // frames further below the loudest count as silence
	floorDB = -15.0 // the least signal over distortion that STOI tells apart
)

// ErrShort is for speech of which less than a segment is left without its silence.
var ErrShort = errors.New("less than 0.4 s of speech")

// Measure compares y with the clean x, of equal length, at hz samples a second. 1 is
// speech as good as x; about 0 nothing in common.
func Measure(x, y []float64, hz int) (stoi, estoi float64, err error) {
	if len(x) != len(y) {
		return 0, 0, errors.New("lengths differ")
	}
	if hz != rate {
		x = sounds.ResampleAll([][]float64{x}, hz, rate, sounds.Steep)[0]
		y = sounds.ResampleAll([][]float64{y}, hz, rate, sounds.Steep)[0]
	}
	x, y = spoken(x, y)
	a, b := thirds(x), thirds(y)
	if len(a) < segment {
		return 0, 0, ErrShort
	}
	n := float64(len(a) - segment + 1)
	for m := range len(a) - segment + 1 {
		stoi += plain(a[m:m+segment], b[m:m+segment]) / n
		estoi += extended(a[m:m+segment], b[m:m+segment]) / n
	}
	return stoi, estoi, nil
}

// hann is a window of frame samples without the zeros at its ends.
var hann = func() (w [frame]float64) {
	for i := range w {
		w[i] = 0.5 - 0.5*math.Cos(2*math.Pi*float64(i+1)/(frame+1))
	}
	return w
}()

// spoken takes out of both what is silent in x: windowed frames that stay are added
// up again, half a frame apart.
func spoken(x, y []float64) (xs, ys []float64) {
	var at []int
	var level []float64
	top := math.Inf(-1)
	for i := 0; i < len(x)-frame; i += hop {
		e := 0.0
		for k, w := range hann {
			e += w * x[i+k] * w * x[i+k]
		}
		at, level = append(at, i), append(level, 10*math.Log10(e+1e-30))
		top = max(top, level[len(level)-1])
	}
	for k, i := range at {
		if level[k] <= top-rangeDB {
			continue
		}
		if xs == nil {
			xs, ys = make([]float64, hop), make([]float64, hop)
		}
		from := len(xs) - hop
		xs, ys = append(xs, make([]float64, hop)...), append(ys, make([]float64, hop)...)
		for n, w := range hann {
			xs[from+n] += w * x[i+n]
			ys[from+n] += w * y[i+n]
		}
	}
	return xs, ys
}

// edges are the bands' first bins, and the bins behind them.
var edges = func() (e [bands][2]int) {
	bin := func(f float64) int { return int(math.Round(f * points / rate)) }
	for k := range e {
		c := lowest * math.Pow(2, float64(2*k)/6)
		e[k] = [2]int{bin(c * math.Pow(2, -1.0/6)), bin(c * math.Pow(2, 1.0/6))}
	}
	return e
}()

// thirds are the magnitudes in third-octave bands, frame by frame.
func thirds(x []float64) (out [][bands]float64) {
	fft := fourier.NewFFT(points)
	var in [points]float64
	var bins [points/2 + 1]complex128
	for i := 0; i < len(x)-frame; i += hop {
		for k, w := range hann {
			in[k] = w * x[i+k]
		}
		fft.Coefficients(bins[:], in[:])
		var b [bands]float64
		for k, e := range edges {
			for _, v := range bins[e[0]:e[1]] {
				b[k] += real(v)*real(v) + imag(v)*imag(v)
			}
			b[k] = math.Sqrt(b[k])
		}
		out = append(out, b)
	}
	return out
}

// plain is the mean correlation of the bands' envelopes over one segment, y brought
// to x's level in each band and held within the least signal over distortion.
func plain(x, y [][bands]float64) float64 {
	most := 1 + math.Pow(10, -floorDB/20)
	sum := 0.0
	var u, v [segment]float64
	for k := range bands {
		xx, yy := 0.0, 0.0
		for m := range x {
			xx += x[m][k] * x[m][k]
			yy += y[m][k] * y[m][k]
		}
		g := math.Sqrt(xx) / (math.Sqrt(yy) + 1e-15)
		for m := range x {
			u[m], v[m] = x[m][k], min(g*y[m][k], most*x[m][k])
		}
		standard(u[:])
		standard(v[:])
		for m := range u {
			sum += u[m] * v[m] / bands
		}
	}
	return sum
}

// extended is the mean correlation of spectra, over a segment of which each band, and
// then each frame, is brought to mean 0 and norm 1.
func extended(x, y [][bands]float64) float64 {
	u, v := evened(x), evened(y)
	sum := 0.0
	for m := range u {
		for k := range u[m] {
			sum += u[m][k] * v[m][k] / segment
		}
	}
	return sum
}

func evened(x [][bands]float64) (out [segment][bands]float64) {
	var row [segment]float64
	for k := range bands {
		for m := range x {
			row[m] = x[m][k]
		}
		standard(row[:])
		for m := range out {
			out[m][k] = row[m]
		}
	}
	for m := range out {
		standard(out[m][:])
	}
	return out
}

// standard makes v's mean 0 and its norm 1, where it has one.
func standard(v []float64) {
	mean, square := 0.0, 0.0
	for _, x := range v {
		mean += x / float64(len(v))
	}
	for i := range v {
		v[i] -= mean
		square += v[i] * v[i]
	}
	g := 1 / (math.Sqrt(square) + 1e-15)
	for i := range v {
		v[i] *= g
	}
}
