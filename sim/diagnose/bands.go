package diagnose

import (
	"math"

	"gainwright/sim/repair/rfft"
)

// bands takes a spectrum now and then, to see where the sound ends: a codec or a
// filter cuts the top off, where a microphone's fades away.
type bands struct {
	rate  float64
	n     int
	buf   []float64
	fill  int
	skip  int
	wait  int
	fft   *rfft.Transform
	win   []float64
	coef  []complex128
	power []float64
	count int
}

const (
	bandFrame = 2048
	bandEvery = 8 // frames
)

func newBands(rate int) *bands {
	b := &bands{rate: float64(rate), n: bandFrame, fft: rfft.New(bandFrame)}
	b.buf, b.win = make([]float64, b.n), make([]float64, b.n)
	b.coef, b.power = make([]complex128, b.n/2+1), make([]float64, b.n/2+1)
	for i := range b.win {
		b.win[i] = 0.5 - 0.5*math.Cos(2*math.Pi*(float64(i)+0.5)/float64(b.n))
	}
	return b
}

func (b *bands) write(x []float64) {
	for len(x) > 0 {
		if b.wait > 0 {
			n := min(len(x), b.wait)
			b.wait -= n
			x = x[n:]
			continue
		}
		n := copy(b.buf[b.fill:], x)
		b.fill += n
		x = x[n:]
		if b.fill == b.n {
			b.fill, b.wait = 0, bandFrame*(bandEvery-1)
			b.take()
		}
	}
}

func (b *bands) take() {
	for i := range b.buf {
		b.buf[i] *= b.win[i]
	}
	b.fft.Forward(b.coef, b.buf)
	for k, v := range b.coef {
		b.power[k] += real(v)*real(v) + imag(v)*imag(v)
	}
	b.count++
}

// edge returns the frequency in Hz at which the spectrum falls off a cliff, and
// the height of that cliff in dB; half the rate and 0 if there is none.
func (b *bands) edge() (hz, db float64) {
	hz = b.rate / 2
	if b.count == 0 {
		return hz, 0
	}
	level := make([]float64, len(b.power))
	for k, p := range b.power {
		level[k] = 10 * math.Log10(p/float64(b.count)+1e-20)
	}
	const w = 10
	mean := func(a, e int) float64 {
		s := 0.0
		for _, v := range level[a:e] {
			s += v
		}
		return s / float64(e-a)
	}
	for k := 3 * w; k+2*w < len(level); k++ {
		if d := mean(k-w-4, k-4) - mean(k+4, k+4+w); d > db {
			hz, db = float64(k)*b.rate/bandFrame, d
		}
	}
	return hz, db
}
