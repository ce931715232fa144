// Package rfft is the transform of real signals, of powers of two, without allocation.
package rfft

import (
	"math"
	"math/bits"
	"math/cmplx"
)

// A Transform transforms real frames whose length is a power of two. It is here
// because declipping spends most of its time in transforms of a few fixed sizes:
// BenchmarkFFT compares it with gonum's. The transform is orthonormal up to the
// scale the caller applies: Inverse(Forward(x)) = size·x.
//
// The complex part is Stockham's self-sorting algorithm in radix 4 (Van Loan,
// Computational Frameworks for the Fast Fourier Transform, 1992, §1.7): no bit
// reversal, and inner loops that run along memory, which vector code takes two numbers
// at a time where there is some. A Transform owns scratch memory
// and is not safe for concurrent use; Fork makes another over the same tables.
type Transform struct {
	N    int          // real length
	tw   []complex128 // e^(−2πi·j/h), j < h, h = n/2
	half []complex128 // e^(−2πi·j/n), j ≤ n/4
	a, b []complex128
	wide *wide // vector code, nil for none
}

// New readies transforms of n real samples, a power of two and at least 4.
func New(n int) *Transform {
	if n < 4 || bits.OnesCount(uint(n)) != 1 {
		panic("rfft: transform length must be a power of two, 4 or more")
	}
	h := n / 2
	f := &Transform{N: n, tw: make([]complex128, h), half: make([]complex128, n/4+1)}
	for j := range f.tw {
		f.tw[j] = cmplx.Rect(1, -2*math.Pi*float64(j)/float64(h))
	}
	for j := range f.half {
		f.half[j] = cmplx.Rect(1, -2*math.Pi*float64(j)/float64(n))
	}
	f.a, f.b = make([]complex128, h), make([]complex128, h)
	f.wide = newWide(f)
	return f
}

// Fork gives another Transform over the same tables.
func (f *Transform) Fork() *Transform {
	g := *f
	g.a, g.b = make([]complex128, f.N/2), make([]complex128, f.N/2)
	return &g
}

// complexForward transforms f.a and returns the buffer that holds the result.
func (f *Transform) complexForward() []complex128 {
	if f.wide != nil {
		return f.wide.forward(f)
	}
	x, y := f.a, f.b
	h := len(x)
	l, m := h/4, 1
	for ; l >= 1; l, m = l/4, m*4 {
		stride := m // tw index step for angle 2π·j/(4l): j·h/(4l) = j·m
		if m == 1 {
			x0, x1, x2, x3 := x[:l], x[l:2*l], x[2*l:3*l], x[3*l:4*l]
			for j := range x0 {
				w1 := f.tw[j]
				w2 := f.tw[2*j]
				w3 := w1 * w2
				s0, d0 := x0[j]+x2[j], x0[j]-x2[j]
				s1, t := x1[j]+x3[j], x1[j]-x3[j]
				d1 := complex(imag(t), -real(t)) // −i·t
				o := y[4*j : 4*j+4 : 4*j+4]
				o[0] = s0 + s1
				o[1] = (d0 + d1) * w1
				o[2] = (s0 - s1) * w2
				o[3] = (d0 - d1) * w3
			}
		} else {
			for j := range l {
				w1 := f.tw[j*stride]
				w2 := f.tw[2*j*stride]
				w3 := w1 * w2
				x0 := x[m*j : m*j+m]
				x1 := x[m*(j+l) : m*(j+l)+m]
				x2 := x[m*(j+2*l) : m*(j+2*l)+m]
				x3 := x[m*(j+3*l) : m*(j+3*l)+m]
				y0 := y[4*m*j : 4*m*j+m]
				y1 := y[4*m*j+m : 4*m*j+2*m]
				y2 := y[4*m*j+2*m : 4*m*j+3*m]
				y3 := y[4*m*j+3*m : 4*m*j+4*m]
				x1, x2, x3 = x1[:len(x0)], x2[:len(x0)], x3[:len(x0)]
				y0, y1, y2, y3 = y0[:len(x0)], y1[:len(x0)], y2[:len(x0)], y3[:len(x0)]
				if j == 0 {
					for k := range x0 {
						s0, d0 := x0[k]+x2[k], x0[k]-x2[k]
						s1, t := x1[k]+x3[k], x1[k]-x3[k]
						d1 := complex(imag(t), -real(t))
						y0[k], y1[k], y2[k], y3[k] = s0+s1, d0+d1, s0-s1, d0-d1
					}
					continue
				}
				for k := range x0 {
					s0, d0 := x0[k]+x2[k], x0[k]-x2[k]
					s1, t := x1[k]+x3[k], x1[k]-x3[k]
					d1 := complex(imag(t), -real(t))
					y0[k] = s0 + s1
					y1[k] = (d0 + d1) * w1
					y2[k] = (s0 - s1) * w2
					y3[k] = (d0 - d1) * w3
				}
			}
		}
		x, y = y, x
	}
	if m < h { // one radix-2 stage is left: m = h/2
		x0, x1 := x[:m], x[m:2*m]
		y0, y1 := y[:m], y[m:2*m]
		x1, y0, y1 = x1[:len(x0)], y0[:len(x0)], y1[:len(x0)]
		for k := range x0 {
			y0[k], y1[k] = x0[k]+x1[k], x0[k]-x1[k]
		}
		x = y
	}
	return x
}

// Forward writes the n/2+1 bins of x, which may be shorter than n: the rest
// counts as zero.
func (f *Transform) Forward(dst []complex128, x []float64) {
	h := f.N / 2
	a := f.a
	full := len(x) / 2
	for i := range full {
		a[i] = complex(x[2*i], x[2*i+1])
	}
	if len(x)&1 == 1 {
		a[full] = complex(x[len(x)-1], 0)
		full++
	}
	clear(a[full:])
	z := f.complexForward()
	dst = dst[:h+1]
	dst[0] = complex(real(z[0])+imag(z[0]), 0)
	dst[h] = complex(real(z[0])-imag(z[0]), 0)
	k := 1
	if f.wide != nil {
		k = f.wide.unfold(dst, z)
	}
	for ; k <= h/2; k++ {
		p, q := z[k], z[h-k]
		er, ei := (real(p)+real(q))/2, (imag(p)-imag(q))/2
		or, oi := (imag(p)+imag(q))/2, (real(q)-real(p))/2
		w := f.half[k]
		tr := or*real(w) - oi*imag(w)
		ti := or*imag(w) + oi*real(w)
		dst[k] = complex(er+tr, ei+ti)
		dst[h-k] = complex(er-tr, ti-ei)
	}
}

// Inverse writes the first len(dst) samples of n times the inverse transform of
// the n/2+1 bins.
func (f *Transform) Inverse(dst []float64, bins []complex128) {
	h := f.N / 2
	a := f.a
	bins = bins[:h+1]
	// The conjugate goes in and comes out again, so the forward transform serves.
	r0, rh := real(bins[0]), real(bins[h])
	a[0] = complex(r0+rh, -(r0 - rh))
	k := 1
	if f.wide != nil {
		k = f.wide.fold(a, bins)
	}
	for ; k <= h/2; k++ {
		p, q := bins[k], bins[h-k]
		er, ei := real(p)+real(q), imag(p)-imag(q)
		dr, di := real(p)-real(q), imag(p)+imag(q)
		w := f.half[k] // its conjugate rotates back
		or := dr*real(w) + di*imag(w)
		oi := di*real(w) - dr*imag(w)
		// z[k] = e + i·o, z[h−k] = conj(e) + i·conj(o)
		a[k] = complex(er-oi, -(ei + or))
		a[h-k] = complex(er+oi, -(or - ei))
	}
	z := f.complexForward()
	full, i := len(dst)/2, 0
	if f.wide != nil {
		i = f.wide.conjugate(dst, z)
	}
	for ; i < full; i++ {
		dst[2*i], dst[2*i+1] = real(z[i]), -imag(z[i])
	}
	if len(dst)&1 == 1 {
		dst[len(dst)-1] = real(z[full])
	}
}
