package repair

import (
	"context"
	"fmt"
	"math"

	"gainwright/sim/meter"
	"gainwright/sim/repair/rfft"
	"gainwright/sim/repair/vec"
)

// Splice puts the clipped passages of a take in from a safety track: a second
// recording of the same sound made with less gain. It finds the gain and the delay
// between the two on the samples that are not clipped, and cross-fades.
type Splice struct {
	Safety []float64 `json:"-" yaml:"-"` // same rate as the take
	// Clips tells where the take is clipped; nil to find out.
	Clips *Clips `json:"-" yaml:"-"`
	// MaxDelayMS is how far the tracks may be apart, either way.
	MaxDelayMS float64 `json:"max_delay_ms" yaml:"max_delay_ms"`
	FadeMS     float64 `json:"fade_ms" yaml:"fade_ms"`
}

// DefaultSplice looks 50 ms either way and fades over 2 ms.
func DefaultSplice(safety []float64) Splice {
	return Splice{Safety: safety, MaxDelayMS: 50, FadeMS: 2}
}

func (Splice) Name() string { return "splice" }

// Validate checks the ranges.
func (s Splice) Validate() error {
	return firstOf(
		within("splice", "max_delay_ms", "ms", s.MaxDelayMS, 0, 500),
		within("splice", "fade_ms", "ms", s.FadeMS, 0, 50))
}

// A Match is how a safety track relates to a take: take(t) ≈ Gain·safety(t + Delay).
type Match struct {
	Gain         float64 // negative when the polarity is reversed
	DelaySamples float64
	// AgreementDB is the level of the take over what the two differ by where
	// neither is clipped; low when the second track is something else.
	AgreementDB float64
}

const minAgreementDB = 10

// FindMatch compares a take with a safety track, leaving out the samples of clips.
// It returns false when there is too little to compare.
func FindMatch(x, safety []float64, clips *Clips, rate int, maxDelayMS float64) (Match, bool) {
	x, _ = scrubbed(x)
	safety, _ = scrubbed(safety)
	most := int(math.Ceil(maxDelayMS * float64(rate) / 1000))
	if len(x) < 64 || len(safety) < 64 {
		return Match{}, false
	}
	known := make([]float64, len(x))
	copy(known, x)
	clipped := make([]bool, len(x))
	for _, r := range clips.Runs {
		for i := r.Start; i < r.End; i++ {
			clipped[i] = true
		}
	}
	whole, ok := bestShift(known, safety, most)
	if !ok {
		return Match{}, false
	}
	// The rest of the delay: the fraction that leaves least over, on the loudest
	// known samples around.
	from, to := loudSpan(known, 2*rate)
	residual := func(frac float64) (gain, err, own float64) {
		k := fractional(frac)
		var sx, ss, xx float64
		for i := from; i < to; i++ {
			if p := i + whole; clipped[i] || p < sincHalf || p >= len(safety)-sincHalf {
				continue
			}
			v := k.at(safety, i+whole)
			sx += known[i] * v
			ss += v * v
			xx += known[i] * known[i]
		}
		if ss == 0 || xx == 0 {
			return 0, math.Inf(1), xx
		}
		g := sx / ss
		return g, max(0, xx-g*sx), xx
	}
	g0, e0, own := residual(0)
	if math.IsInf(e0, 1) {
		return Match{}, false
	}
	m := Match{Gain: g0, DelaySamples: float64(whole)}
	err := e0
	if e0 > 1e-9*own {
		f := leastOver(func(frac float64) float64 { _, e, _ := residual(frac); return e })
		// A fraction is kept only if it explains a good deal more than none.
		if g, e, _ := residual(f); e < 0.9*e0 {
			m.Gain, m.DelaySamples, err = g, float64(whole)+f, e
		}
	}
	m.AgreementDB = math.Min(200, meter.PowerDB(own/(err+1e-30)))
	return m, true
}

// leastOver is where in −1 to 1 a function of one valley is least, to 10⁻⁴, by golden
// section.
func leastOver(f func(float64) float64) float64 {
	const phi = 0.6180339887498949
	lo, hi := -1.0, 1.0
	c, d := hi-phi*(hi-lo), lo+phi*(hi-lo)
	fc, fd := f(c), f(d)
	for hi-lo > 1e-4 {
		if fc < fd {
			hi, d, fd = d, c, fc
			c = hi - phi*(hi-lo)
			fc = f(c)
		} else {
			lo, c, fc = c, d, fd
			d = lo + phi*(hi-lo)
			fd = f(d)
		}
	}
	return (lo + hi) / 2
}

// bestShift is the whole number of samples, most at either side, by which safety lies
// behind x; false where safety is silent. It correlates by transforms: blocks of the
// take against the safety track around them. The clipped take as it is correlates
// well enough for that.
func bestShift(x, safety []float64, most int) (int, bool) {
	n := vec.Pow2(4 * (most + 1))
	n = min(max(n, 4096), 1<<17)
	block := n - 2*most
	fft := rfft.New(n)
	sum := make([]complex128, n/2+1)
	a, b := make([]complex128, n/2+1), make([]complex128, n/2+1)
	buf := make([]float64, n)
	var energy float64
	for at := 0; at < len(x); at += block {
		fft.Forward(a, x[at:min(at+block, len(x))])
		for i := range buf {
			buf[i] = 0
			if p := at - most + i; p >= 0 && p < len(safety) {
				buf[i] = safety[p]
				energy += buf[i] * buf[i]
			}
		}
		fft.Forward(b, buf)
		for k := range sum {
			sum[k] += complex(real(a[k]), -imag(a[k])) * b[k]
		}
	}
	if energy == 0 {
		return 0, false
	}
	fft.Inverse(buf, sum)
	best := 0
	for i := 0; i <= 2*most; i++ {
		if math.Abs(buf[i]) > math.Abs(buf[best]) {
			best = i
		}
	}
	return best - most, true
}

// loudSpan returns the span of at most n samples with most energy, in steps of a
// quarter of it.
func loudSpan(x []float64, n int) (int, int) {
	if len(x) <= n {
		return 0, len(x)
	}
	best, at := -1.0, 0
	for i := 0; i+n <= len(x); i += n / 4 {
		if e := vec.Dot(x[i:i+n], x[i:i+n]); e > best {
			best, at = e, i
		}
	}
	return at, at + n
}

// A sincKernel interpolates between samples: sinc under a Kaiser window, 96 taps.
type sincKernel struct {
	frac float64
	taps []float64
}

const sincHalf = 48

func fractional(frac float64) sincKernel {
	k := sincKernel{frac: frac}
	if frac == 0 {
		return k
	}
	k.taps = make([]float64, 2*sincHalf+1)
	window := meter.Kaiser(9)
	for i := range k.taps {
		t := float64(i-sincHalf) - frac
		u := t / (sincHalf + 1)
		s := 1.0
		if t != 0 {
			s = math.Sin(math.Pi*t) / (math.Pi * t)
		}
		k.taps[i] = s * window(u)
	}
	return k
}

// at returns the value of x at i+frac.
func (k sincKernel) at(x []float64, i int) float64 {
	if k.taps == nil {
		if i < 0 || i >= len(x) {
			return 0
		}
		return x[i]
	}
	lo := i - sincHalf
	if lo >= 0 && lo+len(k.taps) <= len(x) {
		return vec.Dot(k.taps, x[lo:lo+len(k.taps)])
	}
	s := 0.0
	for j, t := range k.taps {
		if p := lo + j; p >= 0 && p < len(x) {
			s += t * x[p]
		}
	}
	return s
}

// Apply splices.
func (s Splice) Apply(ctx context.Context, x []float64, rate int, r Run) ([]float64, Report, error) {
	y, err := begin(ctx, s, x, rate)
	if err != nil {
		return nil, Report{}, err
	}
	out := append([]float64(nil), y...)
	rep := Report{Treatment: s.Name()}
	if peakOf(y) == 0 {
		rep.Verdict = silent
		return out, rep, nil
	}
	clips := s.Clips
	if clips == nil {
		c := Detect(y)
		clips = &c
	}
	if len(clips.Runs) == 0 {
		return out, Unspliced(s), nil
	}
	r.progress(0.1)
	m, ok := FindMatch(y, s.Safety, clips, rate, s.MaxDelayMS)
	if err := ctx.Err(); err != nil {
		return nil, rep, err
	}
	r.progress(0.6)
	rep.Numbers = []Number{
		{"clipped_percent", 100 * clips.Share},
		{"gain_db", meter.DB(m.Gain)},
		{"delay_ms", m.DelaySamples * 1000 / float64(rate)},
		{"agreement_db", m.AgreementDB},
	}
	if !ok || m.AgreementDB < minAgreementDB {
		rep.Verdict = Verdict{Outcome: Hopeless,
			Back: "The second track does not match this take; nothing was changed.",
			Lost: "The clipped passages are as they were."}
		return out, rep, nil
	}
	s.Safety, _ = scrubbed(s.Safety)
	passages, missing := s.fadeIn(out, clips.Runs, m, int(math.Round(s.FadeMS*float64(rate)/1000)))
	other := Detect(s.Safety)
	rep.Numbers = append(rep.Numbers, Number{"passages", float64(passages)}, Number{"safety_clipped_percent", 100 * other.Share})
	rep.Verdict = Verdict{Outcome: Done, Usable: true,
		Back: fmt.Sprintf("%d passages were put in from the safety track, %.1f dB up and %.2f ms shifted; the tracks agree to %.0f dB.",
			passages, meter.DB(m.Gain), m.DelaySamples*1000/float64(rate), m.AgreementDB)}
	switch {
	case missing > 0:
		rep.Verdict.Outcome = Partly
		rep.Verdict.Lost = "The safety track does not cover all of them."
	case other.Samples > 0:
		rep.Verdict.Outcome = Partly
		rep.Verdict.Lost = "The safety track is clipped in places too."
	}
	r.progress(1)
	return out, rep, nil
}

// fadeIn puts the safety track in where the take is clipped, over fade samples at
// either end; runs whose fades would meet are one passage. missing counts the clipped
// samples that the safety track does not cover.
func (s Splice) fadeIn(out []float64, runs []ClipRun, m Match, fade int) (passages, missing int) {
	whole := math.Floor(m.DelaySamples)
	k := fractional(m.DelaySamples - whole)
	at := func(i int) float64 { return m.Gain * k.at(s.Safety, i+int(whole)) }
	for i := 0; i < len(runs); {
		from, to := runs[i].Start, runs[i].End
		j := i + 1
		for j < len(runs) && runs[j].Start-to <= 2*fade {
			to = runs[j].End
			j++
		}
		i = j
		passages++
		for p := max(0, from-fade); p < min(len(out), to+fade); p++ {
			if q := p + int(whole); q < 0 || q >= len(s.Safety) {
				if p >= from && p < to {
					missing++
				}
				continue
			}
			w := 1.0
			if p < from {
				w = 0.5 - 0.5*math.Cos(math.Pi*(float64(p-from+fade)+0.5)/float64(fade))
			} else if p >= to {
				w = 0.5 + 0.5*math.Cos(math.Pi*(float64(p-to)+0.5)/float64(fade))
			}
			out[p] += w * (at(p) - out[p])
		}
	}
	return passages, missing
}

// Unspliced is the report of a splice that found no clipped passage.
func Unspliced(s Splice) Report {
	return Report{Treatment: s.Name(), Verdict: Verdict{Outcome: Nothing, Usable: true, Back: "No clipped passage was found; nothing was changed."}}
}
