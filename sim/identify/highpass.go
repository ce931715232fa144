package identify

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/dsp/fourier"
)

// A high-pass shows in what is before the gain where nothing is played: the density of a
// room's noise rises towards low frequencies, that of a microphone's and an input's is even,
// and hum stands in single lines. What falls towards low frequencies was filtered.
const (
	densityFromHz = 20.0
	densityBands  = 15 // thirds of an octave: to 640 Hz
	densityS      = 0.35
	mostWindows   = 400
	leastWindowsD = 8
	passFalls     = 8.0 // dB from the highest band to the lowest octave
	passUneven    = 2.5 // dB by which a band on the way may rise again
	passCorner    = 3.0 // dB under the highest
)

// HighPass is about where a recording in which nothing is played falls away towards low
// frequencies, Hz: 3 dB under its highest density; 0 if it does not by 8 dB, or is too
// short. Medians over time and frequency leave knocks and hum out.
func HighPass(r Recording, rate int) (hz float64, err error) {
	d, err := densities(r, rate)
	if err != nil || d == nil {
		return 0, err
	}
	top := 3 // no less than an octave above the lowest
	for i := range d[3:] {
		if d[3+i] > d[top] {
			top = 3 + i
		}
	}
	low := (d[0] + d[1] + d[2]) / 3
	if d[top]-low < passFalls {
		return 0, nil
	}
	for i := range top {
		if d[i] > d[i+1]+passUneven {
			return 0, nil
		}
	}
	// A room's noise rises towards low frequencies until it is filtered: what it rises by from
	// 250 to 640 Hz is taken out before the corner is looked for.
	const n = densityBands
	rise := max((d[n-4]+d[n-5]-d[n-1]-d[n-2])/6, 0)
	for i := range d {
		d[i] += rise * float64(i)
	}
	top = len(d) - 1
	for i := len(d) - 1; i >= 3; i-- {
		if d[i] > d[top] {
			top = i
		}
	}
	at := top
	for at > 0 && d[at-1] > d[top]-passCorner {
		at--
	}
	if at == 0 {
		return 0, nil
	}
	// Between the middles of two bands.
	part := (d[at] - (d[top] - passCorner)) / max(d[at]-d[at-1], 0.1)
	return densityFromHz * math.Exp2((float64(at)+0.5-min(part, 1))/3), nil
}

// densities are the densities of thirds of an octave, dB of whatever; nil if r is too short.
func densities(r Recording, rate int) ([]float64, error) {
	n := 1
	for float64(n) < densityS*float64(rate) {
		n *= 2
	}
	first := int(math.Ceil(densityFromHz * float64(n) / float64(rate)))
	end := int(densityFromHz*math.Exp2(densityBands/3)*float64(n)/float64(rate)) + 1
	f := fourier.NewFFT(n)
	bins := make([][]float64, end-first)
	part, windowed := make([]float64, 0, n), make([]float64, n)
	var c []complex128
	err := stream(r, func(_ int64, x []float64) error {
		for len(x) > 0 && len(bins[0]) < mostWindows {
			k := min(n-len(part), len(x))
			part, x = append(part, x[:k]...), x[k:]
			if len(part) < n {
				return nil
			}
			for i, v := range part {
				windowed[i] = v * (1 - math.Cos(2*math.Pi*(float64(i)+0.5)/float64(n)))
			}
			c = f.Coefficients(c, windowed)
			for i := range bins {
				q := c[first+i]
				bins[i] = append(bins[i], real(q)*real(q)+imag(q)*imag(q))
			}
			part = append(part[:0], part[n/2:]...)
		}
		return nil
	})
	if err != nil || len(bins[0]) < leastWindowsD {
		return nil, err
	}
	var bands [densityBands][]float64
	for i, b := range bins {
		slices.Sort(b)
		k := int(3 * math.Log2(float64(first+i)*float64(rate)/float64(n)/densityFromHz))
		if k >= 0 && k < densityBands {
			bands[k] = append(bands[k], b[len(b)/2])
		}
	}
	out := make([]float64, densityBands)
	for k, b := range bands {
		if len(b) == 0 {
			return nil, nil
		}
		slices.Sort(b)
		out[k] = 10 * math.Log10(max(b[len(b)/2], 1e-30))
	}
	return out, nil
}
