package voice

import (
	"fmt"
	"math"
	"math/cmplx"
	"testing"

	"gainwright/tests/trust"

	"gonum.org/v1/gonum/dsp/fourier"
	"gonum.org/v1/gonum/mat"
)

// formants finds the resonances of a steady sound by linear prediction: the
// averaged power spectrum up to 6 kHz, pre-emphasised, its autocorrelation,
// the prediction polynomial and its roots.
func formants(x []float64, order int) []float64 {
	const n, keep = 4096, 512 // 11.7 Hz bins, to 6 kHz
	fft := fourier.NewFFT(n)
	psd := make([]float64, keep+1)
	buf := make([]float64, n)
	var co []complex128
	for at := 0; at+n <= len(x); at += n / 2 {
		for i := range buf {
			buf[i] = x[at+i] * (.5 - .5*math.Cos(2*math.Pi*float64(i)/n))
		}
		co = fft.Coefficients(co, buf)
		for k := range psd {
			a := cmplx.Abs(co[k])
			psd[k] += a * a
		}
	}
	const rate = 2 * keep * Rate / n // the band as a signal of its own
	for k := range psd {
		w := math.Pi * float64(k) / keep
		psd[k] *= 1 + .94*.94 - 2*.94*math.Cos(w)
	}
	r := make([]float64, order+1)
	for l := range r {
		for k, p := range psd {
			g := 2.0
			if k == 0 || k == keep {
				g = 1
			}
			r[l] += g * p * math.Cos(math.Pi*float64(k*l)/keep)
		}
	}
	// Levinson-Durbin
	a := make([]float64, order+1)
	a[0] = 1
	e := r[0] * (1 + 1e-9)
	for i := 1; i <= order; i++ {
		s := r[i]
		for j := 1; j < i; j++ {
			s += a[j] * r[i-j]
		}
		k := -s / e
		next := append([]float64(nil), a...)
		for j := 1; j < i; j++ {
			next[j] = a[j] + k*a[i-j]
		}
		next[i] = k
		a = next
		e *= 1 - k*k
	}
	m := mat.NewDense(order, order, nil)
	for j := range order {
		m.Set(0, j, -a[j+1])
		if j+1 < order {
			m.Set(j+1, j, 1)
		}
	}
	var eig mat.Eigen
	if !eig.Factorize(m, mat.EigenNone) {
		return nil
	}
	var out []float64
	for _, z := range eig.Values(nil) {
		if imag(z) <= 0 {
			continue
		}
		f := cmplx.Phase(z) / (2 * math.Pi) * rate
		bw := -math.Log(cmplx.Abs(z)) / math.Pi * rate
		if f > 150 && bw < 500 {
			out = append(out, f)
		}
	}
	return out
}

// TestFormants holds a vowel for two seconds, F0 creaking down from 150 to 90 Hz
// for everyone so that the harmonics lie close and fill the spectrum, and
// measures it from the output.
func TestFormants(t *testing.T) {
	for _, tk := range Talkers() {
		for _, name := range []string{"IY", "IH", "EH", "AE", "AA", "AH", "UH", "ER"} {
			sh := shapeOf(&tk, .25)
			c := refVowel(&tk, sh)
			v := phones[name]
			for j := range 3 {
				c.f[j] = v.f[j] * tk.scale[j]
				c.bw[j] = v.bw[j] * math.Sqrt(tk.scale[j])
			}
			c.f[0] = raiseF1(c.f[0], sh.f1)
			c.av, c.ah = 1, 0
			tn := tuned(tk.Name, .25)
			r := newTract(&tk, newPulse(sh.rd), tn.sections())
			hold := make([]control, 1000)
			for k := range hold {
				hold[k] = c
				hold[k].f0 = 150 - 60*float64(k)/1000
			}
			r.load(hold, nil, 1)
			x := make([]float64, 2*Rate)
			r.render(x)
			order := 12 // a pair for each resonance under 6 kHz, and two
			if tk.high < 1.1 {
				order = 14
			}
			got := formants(x, order)
			for j, want := range c.f {
				best := math.Inf(1)
				for _, f := range got {
					if math.Abs(f-want) < math.Abs(best-want) {
						best = f
					}
				}
				d := best/want - 1
				if testing.Verbose() && math.Abs(d) > .06 {
					t.Logf("%s %s F%d: %.0f Hz, target %.0f (%+.1f %%)", tk.Name, name, j+1, best, want, 100*d)
				}
				trust.Record(t, trust.Check{Area: "talkers", What: fmt.Sprintf("%s /%s/ F%d by linear prediction", tk.Name, name, j+1),
					Source: "the talker's own target, after Klatt 1980 and Hillenbrand et al. 1995", Got: best, Expected: want, Tolerance: .08 * want, Unit: "Hz"})
			}
		}
	}
}
