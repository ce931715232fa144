package repair

import (
	"context"
	"fmt"
	"math"
	"sort"

	"gainwright/sim/meter"
)

// A NoiseProfile is the power spectrum of steady noise as Denoise sees it.
type NoiseProfile struct {
	Rate  int       `json:"rate"`  // Hz
	Power []float64 `json:"power"` // mean |bin|² of a windowed frame, 0 Hz to half the rate
}

// Denoise takes steady noise down in the frequency domain: in each bin a Wiener
// gain of the signal-to-noise ratio that Ephraim and Malah's decision-directed
// estimate gives (IEEE ASSP 32, 1984), which is what keeps single bins from
// flickering ("musical" noise, Cappé, IEEE SAP 2, 1994); no bin is turned down by
// more than ReductionDB.
type Denoise struct {
	ReductionDB float64 `json:"reduction_db" yaml:"reduction_db"`
	// Profile is the noise; nil learns it from the quietest tenth of the take.
	Profile *NoiseProfile `json:"-" yaml:"-"`
}

// DefaultDenoise turns noise down by 15 dB.
func DefaultDenoise() Denoise { return Denoise{ReductionDB: 15} }

// Name is "noise reduction".
func (Denoise) Name() string { return "noise reduction" }

// Validate checks the range.
func (d Denoise) Validate() error {
	return within("noise reduction", "reduction_db", "dB", d.ReductionDB, 0, 40)
}

// denoiseFrame is the frame for a rate: about 30 ms, a power of two.
func denoiseFrame(rate int) int {
	return max(64, 1<<int(math.Round(math.Log2(0.032*float64(rate)))))
}

type denoiser struct {
	n, hop  int
	fft     *realFFT
	win     []float64 // square root of Hann, in and out
	noise   []float64
	floor   float64
	in, out []float64
	pos     int
	bins    []complex128
	frame   []float64
	prior   []float64 // last frame's clean power estimate over noise
	gain    []float64
}

func newDenoiser(rate int, noise []float64, floor float64) *denoiser {
	n := denoiseFrame(rate)
	d := &denoiser{n: n, hop: n / 4, fft: newRealFFT(n), noise: noise, floor: floor}
	d.win = make([]float64, n)
	for i := range d.win {
		d.win[i] = math.Sqrt(0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/float64(n)))
	}
	d.in, d.out, d.frame = make([]float64, n), make([]float64, n), make([]float64, n)
	d.bins = make([]complex128, n/2+1)
	d.prior, d.gain = make([]float64, n/2+1), make([]float64, n/2+1)
	return d
}

func (d *denoiser) Latency() int { return d.n }

func (d *denoiser) Reset() {
	clear(d.in)
	clear(d.out)
	clear(d.prior)
	d.pos = 0
}

func (d *denoiser) Process(buf []float64) {
	for len(buf) > 0 {
		k := min(d.hop-d.pos, len(buf))
		in, out := d.in[d.n-d.hop+d.pos:], d.out[d.pos:]
		for i := range k {
			v := buf[i]
			if !valid(v) {
				v = 0
			}
			in[i] = v
			buf[i] = out[i]
		}
		buf = buf[k:]
		if d.pos += k; d.pos == d.hop {
			d.pos = 0
			d.step()
		}
	}
}

// step treats the frame that is now full.
func (d *denoiser) step() {
	for i, v := range d.in {
		d.frame[i] = v * d.win[i]
	}
	d.fft.forward(d.bins, d.frame)
	for k, z := range d.bins {
		post := 1e6
		if d.noise[k] > 0 {
			post = min((real(z)*real(z)+imag(z)*imag(z))/d.noise[k], 1e6)
		}
		xi := 0.98*d.prior[k] + 0.02*max(post-1, 0)
		xi = max(xi, d.floor*d.floor)
		g := xi / (1 + xi)
		d.prior[k] = g * g * post
		d.gain[k] = max(g, d.floor)
	}
	for k := range d.bins {
		g := d.gain[k]
		d.bins[k] = complex(g*real(d.bins[k]), g*imag(d.bins[k]))
	}
	d.fft.inverse(d.frame, d.bins)
	copy(d.out, d.out[d.hop:])
	clear(d.out[d.n-d.hop:])
	// Σ window² over hops of a quarter is 2 for the square root of Hann, twice.
	s := 1 / (2 * float64(d.n))
	for i, v := range d.frame {
		d.out[i] += v * d.win[i] * s
	}
	copy(d.in, d.in[d.hop:])
}

// LearnNoise takes the noise from a stretch of a take in which nobody speaks; it
// needs one frame (about 30 ms), better a second. It returns nil where there is
// too little, or nothing but silence.
func LearnNoise(x []float64, rate int) *NoiseProfile {
	if meter.CheckRate(rate) != nil {
		return nil
	}
	x, _ = scrubbed(x)
	f := noiseFrames(x, rate)
	return f.mean(len(f.power))
}

type framePowers struct {
	rate  int
	power [][]float32 // spectra
	total []float64
}

// noiseFrames analyses x in frames that overlap by half. Digital silence is left out:
// it is an edit, not a noise floor.
func noiseFrames(x []float64, rate int) *framePowers {
	d := newDenoiser(rate, nil, 0)
	f := &framePowers{rate: rate}
	for at := 0; at+d.n <= len(x); at += d.n / 2 {
		sum := 0.0
		for i, v := range x[at : at+d.n] {
			d.frame[i] = v * d.win[i]
		}
		d.fft.forward(d.bins, d.frame)
		p := make([]float32, len(d.bins))
		for k, z := range d.bins {
			e := real(z)*real(z) + imag(z)*imag(z)
			p[k] = float32(e)
			if hz := float64(k) * float64(rate) / float64(d.n); hz > 80 { // rumble is not what tells speech
				sum += e
			}
		}
		if sum > 0 {
			f.power, f.total = append(f.power, p), append(f.total, sum)
		}
	}
	return f
}

// mean averages the n quietest frames.
func (f *framePowers) mean(n int) *NoiseProfile {
	if n == 0 {
		return nil
	}
	order := make([]int, len(f.total))
	for i := range order {
		order[i] = i
	}
	sort.Slice(order, func(a, b int) bool { return f.total[order[a]] < f.total[order[b]] })
	p := &NoiseProfile{Rate: f.rate, Power: make([]float64, len(f.power[0]))}
	for _, i := range order[:n] {
		for k, v := range f.power[i] {
			p.Power[k] += float64(v) / float64(n)
		}
	}
	return p
}

// learn finds the noise of a take with speech in it: the quietest tenth of its
// frames, with what the choice of quiet ones takes off put back in.
func learn(x []float64, rate int) *NoiseProfile {
	f := noiseFrames(x, rate)
	n := len(f.power)
	if n < 4 {
		return nil
	}
	p := f.mean(max(2, n/10))
	// The level of steady noise is rather the typical level of frames near the
	// quietest: the median of those within 3 dB of the chosen ones' mean.
	chosen := 0.0
	for k, v := range p.Power {
		if hz := float64(k) * float64(rate) / float64(2*(len(p.Power)-1)); hz > 80 {
			chosen += v
		}
	}
	var near []float64
	for _, t := range f.total {
		if t < 2*chosen {
			near = append(near, t)
		}
	}
	if len(near) > 0 && chosen > 0 {
		g := max(1, median(near)/chosen)
		for k := range p.Power {
			p.Power[k] *= g
		}
	}
	return p
}

// Processor returns the noise reduction on a stream. It needs a Profile.
func (d Denoise) Processor(rate int) (Processor, error) {
	if err := firstOf(d.Validate(), meter.CheckRate(rate)); err != nil {
		return nil, err
	}
	if d.Profile == nil {
		return nil, &SettingError{d.Name(), "profile", "a stream cannot be searched for its quiet stretches; learn the noise first"}
	}
	if bins := denoiseFrame(rate)/2 + 1; d.Profile.Rate != rate || len(d.Profile.Power) != bins {
		return nil, &SettingError{d.Name(), "profile", fmt.Sprintf("the noise was learnt at %d Hz with %d bands, the take has %d Hz and needs %d",
			d.Profile.Rate, len(d.Profile.Power), rate, bins)}
	}
	return newDenoiser(rate, d.Profile.Power, math.Pow(10, -d.ReductionDB/20)), nil
}

// Apply reduces the noise of x.
func (d Denoise) Apply(ctx context.Context, x []float64, rate int, r Run) ([]float64, Report, error) {
	y, err := begin(ctx, d, x, rate)
	if err != nil {
		return nil, Report{}, err
	}
	rep := Report{Treatment: d.Name()}
	if peakOf(y) == 0 {
		rep.Verdict = silent
		return append([]float64(nil), y...), rep, nil
	}
	learnt := d.Profile == nil
	if learnt {
		d.Profile = learn(y, rate)
		r.progress(0.3)
	}
	if d.Profile == nil {
		rep.Verdict = Verdict{Outcome: Hopeless, Back: "The take is too short to tell noise from sound; nothing was changed."}
		return append([]float64(nil), y...), rep, nil
	}
	p, err := d.Processor(rate)
	if err != nil {
		return nil, rep, err
	}
	out, err := stream(ctx, p, y, Run{Progress: func(s float64) { r.progress(0.3 + 0.7*s) }})
	if err != nil {
		return nil, rep, err
	}
	noise := 0.0
	for k, v := range d.Profile.Power {
		if k > 0 && k < len(d.Profile.Power)-1 {
			v *= 2
		}
		noise += v
	}
	n := float64(denoiseFrame(rate))
	noise /= n * n / 2 // mean window² is ½
	before, after := quietLevel(y, rate), quietLevel(out, rate)
	rep.Numbers = []Number{
		{"noise_rms_dbfs", meter.SineDB(math.Sqrt(noise))},
		{"quiet_before_dbfs", meter.SineDB(math.Sqrt(before))},
		{"quiet_after_dbfs", meter.SineDB(math.Sqrt(after))},
	}
	red := meter.PowerDB(before / after)
	rep.Verdict = Verdict{Outcome: Done, Usable: true,
		Back: fmt.Sprintf("Where nobody speaks the take is now %.1f dB quieter.", red),
		Lost: "Noise under the words is still there, and the faintest sounds went with the rest."}
	if !(red >= 0.5) {
		rep.Verdict = Verdict{Outcome: Nothing, Usable: true, Back: "No steady noise stood out; little was changed."}
	}
	return out, rep, nil
}

// quietLevel is the mean square of the quietest tenth of 50 ms blocks that are not
// digital silence.
func quietLevel(x []float64, rate int) float64 {
	blk := max(1, rate/20)
	var e []float64
	for i := 0; i+blk <= len(x); i += blk {
		if p := dot(x[i:i+blk], x[i:i+blk]) / float64(blk); p > 0 {
			e = append(e, p)
		}
	}
	if len(e) == 0 {
		return 0
	}
	sort.Float64s(e)
	s := 0.0
	n := max(1, len(e)/10)
	for _, v := range e[:n] {
		s += v / float64(n)
	}
	return s
}
