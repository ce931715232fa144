package repair

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"sort"

	"gainwright/sim/meter"
	"gainwright/sim/repair/rfft"
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
	fft     *rfft.Transform
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
	d := &denoiser{n: n, hop: n / 4, fft: rfft.New(n), noise: noise, floor: floor}
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
	d.fft.Forward(d.bins, d.frame)
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
	d.fft.Inverse(d.frame, d.bins)
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
	l, err := NewNoiseLearner(rate)
	if err != nil {
		return nil
	}
	l.Write(x)
	for _, f := range l.frames {
		l.Add(x[f.at:])
	}
	return l.Profile()
}

// learn finds the noise of a take with speech in it.
func learn(x []float64, rate int) *NoiseProfile {
	l, err := NewNoiseLearner(rate)
	if err != nil {
		return nil
	}
	l.Write(x)
	for _, at := range l.Quiet() {
		l.Add(x[at:])
	}
	return l.Profile()
}

// A NoiseLearner finds the steady noise of a take with speech in it, of any length, in
// two passes: Write hears all of it; Quiet then tells which frames are the quietest
// tenth, and Add hears each of those again. Memory grows by 16 bytes a frame.
type NoiseLearner struct {
	d      *denoiser
	rate   int
	held   []float64 // the frame being filled
	fill   int
	at     int64 // its first sample in the take
	frames []heardFrame
	power  []float64 // of one frame
	sum    []float64 // of those added
	added  float64
	up     float64 // what the choice of quiet ones took off, a power ratio
}

type heardFrame struct {
	at    int64
	power float64 // above 80 Hz: rumble is not what tells speech
}

// mostNoiseFrames bounds how many frames are heard twice.
const mostNoiseFrames = 3000

// NewNoiseLearner starts at a rate.
func NewNoiseLearner(rate int) (*NoiseLearner, error) {
	if err := meter.CheckRate(rate); err != nil {
		return nil, err
	}
	d := newDenoiser(rate, nil, 0)
	return &NoiseLearner{d: d, rate: rate, held: make([]float64, d.n), up: 1,
		power: make([]float64, d.n/2+1), sum: make([]float64, d.n/2+1)}, nil
}

// FrameLen is how many samples Add wants.
func (l *NoiseLearner) FrameLen() int { return l.d.n }

// Write hears the next samples. Frames overlap by half.
func (l *NoiseLearner) Write(x []float64) {
	n := l.d.n
	for len(x) > 0 {
		k := copy(l.held[l.fill:], x)
		x, l.fill = x[k:], l.fill+k
		if l.fill < n {
			return
		}
		// Digital silence is left out: it is an edit, not a noise floor.
		if e := l.spectrum(l.held); e > 0 {
			l.frames = append(l.frames, heardFrame{l.at, e})
		}
		copy(l.held, l.held[n/2:])
		l.fill, l.at = n/2, l.at+int64(n/2)
	}
}

// spectrum fills l.power and returns its sum above 80 Hz.
func (l *NoiseLearner) spectrum(x []float64) float64 {
	d := l.d
	for i, v := range x[:d.n] {
		if !valid(v) {
			v = 0
		}
		d.frame[i] = v * d.win[i]
	}
	d.fft.Forward(d.bins, d.frame)
	sum := 0.0
	for k, z := range d.bins {
		e := real(z)*real(z) + imag(z)*imag(z)
		l.power[k] = e
		if float64(k)*float64(l.rate) > 80*float64(d.n) {
			sum += e
		}
	}
	return sum
}

// Quiet returns the first samples of the frames to Add, rising; none where the take is
// too short to tell noise from sound.
func (l *NoiseLearner) Quiet() []int64 {
	if len(l.frames) < 4 {
		return nil
	}
	f := slices.Clone(l.frames)
	slices.SortStableFunc(f, func(a, b heardFrame) int { return cmp.Compare(a.power, b.power) })
	quiet := f[:max(2, len(f)/10)]
	chosen := 0.0
	for _, q := range quiet {
		chosen += q.power / float64(len(quiet))
	}
	// The level of steady noise is rather the typical level of frames near the
	// quietest: the median of those within 3 dB of the chosen ones' mean.
	near := f[:sort.Search(len(f), func(i int) bool { return f[i].power >= 2*chosen })]
	if len(near) > 0 {
		l.up = max(1, near[len(near)/2].power/chosen)
	}
	var at []int64
	for i := 0; i < len(quiet); i += max(1, len(quiet)/mostNoiseFrames) {
		at = append(at, quiet[i].at)
	}
	slices.Sort(at)
	return at
}

// Add hears one frame, of FrameLen samples or more, again.
func (l *NoiseLearner) Add(frame []float64) {
	l.spectrum(frame)
	for k, v := range l.power {
		l.sum[k] += v
	}
	l.added++
}

// Profile is what was learnt of the frames added, nil for none.
func (l *NoiseLearner) Profile() *NoiseProfile {
	if l.added == 0 {
		return nil
	}
	p := &NoiseProfile{Rate: l.rate, Power: make([]float64, len(l.sum))}
	for k, v := range l.sum {
		p.Power[k] = v * l.up / l.added
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
		return append([]float64(nil), y...), Unlearnt(d), nil
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
	rep = ReportOf(d, Measured{PeakBefore: peakOf(y), PeakAfter: peakOf(out), QuietBefore: quietLevel(y, rate), QuietAfter: quietLevel(out, rate)})
	rep.Numbers = append([]Number{{"noise_rms_dbfs", meter.SineDB(math.Sqrt(noise))}}, rep.Numbers...)
	return out, rep, nil
}

func quietLevel(x []float64, rate int) float64 {
	q := NewQuietMeter(rate)
	q.Write([][]float64{x})
	return q.MeanSquare()
}

// A QuietMeter reads how loud a take is where nobody speaks: the mean square, over
// all channels, of the quietest tenth of 50 ms blocks that are not digital silence.
type QuietMeter struct {
	size     int
	fill     int
	sum      float64
	channels int
	blocks   []float64
}

// NewQuietMeter starts at a rate.
func NewQuietMeter(rate int) *QuietMeter { return &QuietMeter{size: max(1, rate/20)} }

// Write takes the next samples of every channel.
func (q *QuietMeter) Write(x [][]float64) {
	q.channels = len(x)
	for i := range x[0] {
		for _, c := range x {
			q.sum += c[i] * c[i]
		}
		if q.fill++; q.fill == q.size {
			if q.sum > 0 {
				q.blocks = append(q.blocks, q.sum/float64(q.size*q.channels))
			}
			q.sum, q.fill = 0, 0
		}
	}
}

// MeanSquare is the level, 0 where there was no block.
func (q *QuietMeter) MeanSquare() float64 {
	if len(q.blocks) == 0 {
		return 0
	}
	e := slices.Clone(q.blocks)
	slices.Sort(e)
	n := max(1, len(e)/10)
	s := 0.0
	for _, v := range e[:n] {
		s += v / float64(n)
	}
	return s
}

func (Denoise) report(m Measured) (Verdict, []Number) {
	red := meter.PowerDB(m.QuietBefore / m.QuietAfter)
	v := Verdict{Outcome: Done, Usable: true,
		Back: fmt.Sprintf("Where nobody speaks the take is now %.1f dB quieter.", red),
		Lost: "Noise under the words is still there, and the faintest sounds went with the rest."}
	if !(red >= 0.5) {
		v = Verdict{Outcome: Nothing, Usable: true, Back: "No steady noise stood out; little was changed."}
	}
	return v, []Number{
		{"quiet_before_dbfs", meter.SineDB(math.Sqrt(m.QuietBefore))},
		{"quiet_after_dbfs", meter.SineDB(math.Sqrt(m.QuietAfter))},
	}
}

// tooShort is what noise reduction says of a take it learnt nothing from.
var tooShort = Verdict{Outcome: Hopeless, Back: "The take is too short to tell noise from sound; nothing was changed."}

// Unlearnt is the report of a noise reduction that found no noise to learn.
func Unlearnt(d Denoise) Report { return Report{Treatment: d.Name(), Verdict: tooShort} }
