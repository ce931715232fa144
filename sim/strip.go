package sim

import (
	"math"
	"math/rand/v2"
	"sync/atomic"
)

// rampMS is how long a change of a level setting takes: long enough not to
// click, short enough to feel immediate.
const rampMS = 10

// ramp moves a value in equal steps towards its target.
type ramp struct {
	cur, target, step float64
	left              int
	buf               [chunk]float64
	steady            bool // buf holds cur throughout
}

func (r *ramp) jump(v float64) {
	r.cur, r.target, r.left, r.steady = v, v, 0, false
}

func (r *ramp) to(v float64, frames int) {
	if v == r.target {
		return
	}
	r.target, r.left = v, frames
	r.step = (v - r.cur) / float64(frames)
}

// next returns the values of the next n samples.
func (r *ramp) next(n int) []float64 {
	if r.left == 0 {
		if !r.steady {
			for i := range r.buf {
				r.buf[i] = r.cur
			}
			r.steady = true
		}
		return r.buf[:n]
	}
	r.steady = false
	for i := range r.buf[:n] {
		if r.left > 0 {
			r.left--
			r.cur += r.step
			if r.left == 0 {
				r.cur = r.target
			}
		}
		r.buf[i] = r.cur
	}
	return r.buf[:n]
}

// delayLine delays whole blocks by a fixed number of samples.
type delayLine struct {
	buf []float64
	n   int
}

func newDelayLine(n int) *delayLine { return &delayLine{buf: make([]float64, n+chunk), n: n} }

// run writes the delayed x to dst, which may be x.
func (d *delayLine) run(dst, x []float64) {
	copy(d.buf[d.n:], x)
	copy(dst, d.buf[:len(x)])
	copy(d.buf[:d.n], d.buf[len(x):len(x)+d.n])
}

func (d *delayLine) reset() { clear(d.buf) }

type byteDelay struct {
	buf []uint8
	n   int
}

func (d *byteDelay) run(dst, x []uint8) {
	copy(d.buf[d.n:], x)
	copy(dst, d.buf[:len(x)])
	copy(d.buf[:d.n], d.buf[len(x):len(x)+d.n])
}

// A Strip is a chain running. Process is for one goroutine at a time; Apply may
// be called from any. Nothing in the block path allocates, locks or looks at a
// clock, and the samples do not depend on how the input is cut into blocks.
type Strip struct {
	rate int
	seed uint64
	next atomic.Pointer[Chain]
	seen *Chain
	c    Chain

	os        *oversampler
	truth     *truePath
	maxLook   int
	roomNoise *roomNoise
	mic, amp  *rand.Rand
	out, conv *rand.Rand
	dith      *rand.Rand
	second    *rand.Rand
	fileDith  *rand.Rand

	// Ramped levels: 1/distance, room rms ratio, V/Pa, microphone noise, pad,
	// amplifier noise, gain, output noise, full scale per volt, converter noise,
	// and how far each limiter is switched in.
	dist, room, sens, micN, pad, ampN, gain, outN, fsv, convN, inOn, limOn ramp

	satScale, maxPeak, rail float64 // V after the pad; V after the gain
	prox                    proximity
	env                     float64 // input limiter's detector
	det                     smoothDecoupled
	look                    *lookAhead
	lookLen                 int
	gap                     float64 // true-peak limiter: highest value between the last two samples read
	low                     rangeSwitch

	dTalker, dMic, dMicOut, dPre, dInLim, dTrue, dInGain, dOutN *delayLine
	dDemand, dConv, dCtl                                        *delayLine
	dHot                                                        *byteDelay
	ctl                                                         []float64 // history that look-ahead reads

	bDist, bRoom, bSens, bMicN, bPad, bAmpN, bGain, bOutN, bFSV, bConvN, bIn, bLim []float64
	x1, tru, outNoise, v, tap, tapLim, inGain                                      []float64
	hot                                                                            []uint8
	x4                                                                             []float64
}

// NewStrip returns a strip at rate (8000 to 192000 Hz) with valid settings. Two
// strips with the same seed draw the same noise.
func NewStrip(rate int, c Chain, seed uint64) (*Strip, error) {
	if err := c.Validate(); err != nil {
		return nil, err
	}
	os, err := newOversampler(rate)
	if err != nil {
		return nil, err
	}
	truth, err := newTruePath(rate)
	if err != nil {
		return nil, err
	}
	s := &Strip{rate: rate, seed: seed, os: os, truth: truth, c: c}
	longest := int(math.Ceil(MaxLookAheadMS * float64(rate) / 1000))
	s.look = newLookAhead(longest + 1)
	s.maxLook = longest + betweenHalf
	s.ctl = make([]float64, betweenHalf+s.maxLook+chunk)
	total, ana := s.Latency(), os.delay-os.tapDelay+s.maxLook
	s.dTalker, s.dMic, s.dMicOut = newDelayLine(total), newDelayLine(total), newDelayLine(total)
	s.dPre, s.dInLim, s.dInGain = newDelayLine(ana), newDelayLine(ana), newDelayLine(ana)
	s.dTrue = newDelayLine(s.maxLook)
	s.dOutN = newDelayLine(os.delay - os.tapDelay)
	s.dDemand, s.dConv, s.dCtl = newDelayLine(s.maxLook), newDelayLine(s.maxLook), newDelayLine(0)
	s.dHot = &byteDelay{make([]uint8, ana+chunk), ana}
	for _, b := range []*[]float64{&s.x1, &s.tru, &s.outNoise, &s.v, &s.tap, &s.tapLim, &s.inGain} {
		*b = make([]float64, chunk)
	}
	s.hot = make([]uint8, chunk)
	s.x4 = make([]float64, chunk*os.factor)
	s.next.Store(&c)
	s.Reset()
	return s, nil
}

// Rate returns the sample rate.
func (s *Strip) Rate() int { return s.rate }

// Latency returns by how many samples the taps lag the input: the filters of the
// oversampled part and the longest look-ahead.
func (s *Strip) Latency() int { return s.os.delay + s.maxLook }

// Chain returns the settings last applied.
func (s *Strip) Chain() Chain { return *s.next.Load() }

// Apply swaps the settings whole; the next block runs towards them without a
// click. Invalid settings are an error and change nothing.
func (s *Strip) Apply(c Chain) error {
	if err := c.Validate(); err != nil {
		return err
	}
	s.next.Store(&c)
	return nil
}

// Turn takes over settings that are valid, from the next sample on. It is Apply for
// the goroutine that calls Process, and allocates nothing; Chain still tells what was
// applied last.
func (s *Strip) Turn(c *Chain) { s.take(c, false) }

// Reset returns to the state of a new strip with the settings last applied.
func (s *Strip) Reset() {
	s.c = *s.next.Load()
	s.seen = nil
	s.os.reset()
	s.roomNoise = newRoomNoise(s.rate, s.seed)
	s.mic, s.amp = stream(s.seed, streamMic), stream(s.seed, streamInput)
	s.out, s.conv = stream(s.seed, streamOutput), stream(s.seed, streamConverter)
	s.dith, s.second = stream(s.seed, streamDither), stream(s.seed, streamSecond)
	s.fileDith = stream(s.seed, streamFile)
	for _, d := range []*delayLine{s.dTalker, s.dMic, s.dMicOut, s.dPre, s.dInLim, s.dTrue, s.dInGain,
		s.dOutN, s.dDemand, s.dConv, s.dCtl} {
		d.reset()
	}
	for i := range s.dInGain.buf {
		s.dInGain.buf[i] = 1
	}
	clear(s.dHot.buf)
	clear(s.ctl)
	s.env, s.det, s.low, s.prox = 0, smoothDecoupled{}, rangeSwitch{}, proximity{}
	s.lookLen, s.gap = 0, 0
	s.applySnapshot(s.next.Load(), true)
	s.truth.reset(s.gain.cur)
}

// applySnapshot takes over a snapshot: levels ramp (or jump, at the start), the rest
// changes at once.
func (s *Strip) applySnapshot(p *Chain, jump bool) {
	s.seen = p
	s.take(p, jump)
}

func (s *Strip) take(p *Chain, jump bool) {
	s.c = *p
	c := &s.c
	frames := max(1, int(rampMS*float64(s.rate)/1000))
	set := func(r *ramp, v float64) {
		if jump {
			r.jump(v)
		} else {
			r.to(v, frames)
		}
	}
	onOff := func(on bool) float64 {
		if on {
			return 1
		}
		return 0
	}
	set(&s.dist, 1/c.DistanceM)
	set(&s.room, DB(c.Room.NoiseDBA).Lin())
	set(&s.sens, c.Microphone.SensitivityMVPerPa/1000)
	set(&s.micN, density(micNoise(c.Microphone), s.rate))
	set(&s.pad, DB(-c.Preamp.PadDB).Lin())
	set(&s.ampN, density(inputNoise(c.Preamp), s.rate))
	set(&s.gain, DB(c.Preamp.GainDB).Lin())
	set(&s.outN, density(float64(DBu(c.Preamp.OutputNoiseDBu).Volt()), s.rate))
	set(&s.fsv, 1/fullScaleVolt(c.Converter))
	set(&s.convN, density(converterNoise(c.Converter), s.rate))
	// A limiter that was out of the way begins anew.
	anew := c.Limiter.On && s.limOn.cur == 0
	if anew {
		s.det, s.gap = smoothDecoupled{}, 0
	}
	set(&s.inOn, onOff(c.InputLimiter.On))
	set(&s.limOn, onOff(c.Limiter.On))

	s.maxPeak = float64(DBSPL(c.Microphone.MaxSPLDB).Pascal()) * math.Sqrt2 * c.Microphone.SensitivityMVPerPa / 1000 * DB(-c.Preamp.PadDB).Lin()
	s.satScale = onePercentTHD / s.maxPeak
	s.rail = float64(DBu(c.Preamp.RailDBu).Volt()) * math.Sqrt2
	s.prox.set(c.Microphone.Proximity, c.DistanceM, float64(s.rate))
	n := 0
	if c.Limiter.LookAheadMS > 0 {
		n = 1 + int(math.Round(c.Limiter.LookAheadMS*float64(s.rate)/1000))
	}
	if n != s.lookLen || anew {
		s.lookLen = n
		s.look.setLength(max(n, 1))
	}
}

// Process runs one block: in is pressure at 1 m in pascal, of any length; out is
// resized to it. The taps lag in by Latency samples. NaN and infinite input
// counts as 0.
func (s *Strip) Process(in []float64, out *Taps) {
	if p := s.next.Load(); p != s.seen {
		s.applySnapshot(p, false)
	}
	out.Resize(len(in))
	out.Ceiling = DB(s.c.Converter.DualRangeDB).Lin()
	for i := 0; i < len(in); i += chunk {
		j := min(i+chunk, len(in))
		s.run(in[i:j], out, i, j)
	}
}

func (s *Strip) run(in []float64, out *Taps, from, to int) {
	n := to - from
	wave := func(st Station) []float64 { return out.Wave[st][from:to] }
	s.bDist = s.dist.next(n)
	s.bRoom = s.room.next(n)
	s.bSens = s.sens.next(n)
	s.bMicN = s.micN.next(n)
	s.bPad = s.pad.next(n)
	s.bAmpN = s.ampN.next(n)
	s.bGain = s.gain.next(n)
	s.bOutN = s.outN.next(n)
	s.bFSV = s.fsv.next(n)
	s.bConvN = s.convN.next(n)
	s.bIn = s.inOn.next(n)
	s.bLim = s.limOn.next(n)

	// Pressure and microphone, at the chain's own rate: all linear but the
	// overload, which the tap shows here and the signal meets oversampled.
	talker, atMic, micOut := wave(AtTalker), wave(AtMicrophone), wave(AtMicOut)
	x1, tru, outNoise := s.x1[:n], s.tru[:n], s.outNoise[:n]
	dist, room, sens, micN, pad, ampN, outN := s.bDist[:n], s.bRoom[:n], s.bSens[:n], s.bMicN[:n], s.bPad[:n], s.bAmpN[:n], s.bOutN[:n]
	talker, atMic, micOut = talker[:n], atMic[:n], micOut[:n]
	for i, p := range in[:n] {
		if !(p < math.MaxFloat64 && p > -math.MaxFloat64) {
			p = 0
		}
		talker[i] = p
		d := p * dist[i]
		clean := d
		if s.prox.on {
			clean = s.prox.next(d)
		}
		around := s.roomNoise.next() * room[i]
		atMic[i] = d + around
		m := (clean + around) * sens[i]
		tru[i] = clean * sens[i] * pad[i]
		noise := s.mic.NormFloat64() * micN[i]
		// The tap before the pad: the saturation's scale is stated after it.
		micOut[i] = saturate(m, s.satScale*pad[i]) + noise
		x1[i] = (m+noise)*pad[i] + s.amp.NormFloat64()*ampN[i]
		outNoise[i] = s.out.NormFloat64() * outN[i]
	}

	s.os.up(s.x4, x1)
	s.analogue(n)
	v := s.v[:n]
	s.os.down(v, s.x4[:n*s.os.factor])

	// What the talker's wave would have been at the converter, through the same
	// filters and the same gains at the same moments: what the filters take from
	// the treble is missing in both, and counts neither as noise nor as lost.
	s.truth.run(tru, s.bGain)
	for i := range tru {
		tru[i] *= s.bFSV[i]
		s.tap[i] += s.outNoise[i]
		s.tapLim[i] += s.outNoise[i]
	}
	s.dOutN.run(s.outNoise[:n], s.outNoise[:n])
	demand, conv := out.Demand[from:to], wave(AtConverter)
	for i := range v {
		demand[i] = (v[i] + s.outNoise[i]) * s.bFSV[i]
	}
	s.convert(conv, demand)
	s.limit(conv, out.Gain[from:to], wave(AtLimiter))
	s.write(wave(AtFile), wave(AtLimiter), out.Gain[from:to])

	s.dTalker.run(talker, talker)
	s.dMic.run(atMic, atMic)
	s.dMicOut.run(micOut, micOut)
	s.dPre.run(wave(AtPreamp), s.tap[:n])
	s.dInLim.run(wave(AtInputLimiter), s.tapLim[:n])
	s.dTrue.run(out.True[from:to], tru)
	s.dInGain.run(out.InGain[from:to], s.inGain[:n])
	s.dHot.run(out.Hot[from:to], s.hot[:n])
	s.dDemand.run(demand, demand)
	s.dConv.run(conv, conv)
}

// onePercentTHD is the amplitude u at which u/√(1+u²) has 1 % third harmonic
// (THD, all harmonics); solved numerically in the tests.
const onePercentTHD = 0.289356

// saturate is the microphone's smooth overload. k scales volts so that the
// maximum SPL lies at onePercentTHD.
func saturate(x, k float64) float64 {
	u := x * k
	q := u * u
	if q < 1e-3 {
		// Three terms of the series; the next is below 4e−10 of x.
		return x * (1 - q*(0.5-q*0.375))
	}
	return x / math.Sqrt(1+q)
}

// analogue runs the oversampled part over s.x4: overload, gain, rail, input
// limiter; it notes the values at the sampling instants.
func (s *Strip) analogue(n int) {
	f := s.os.factor
	fs := float64(s.rate * f)
	il := &s.c.InputLimiter
	attack, release := 1-onePole(il.AttackMS, fs), 1-onePole(il.ReleaseMS, fs)
	ceiling := DB(il.ThresholdDBFS).Lin()
	slope := 1 - 1/float64(il.Ratio)
	rail, round := s.rail, s.c.Preamp.RailKnee == RoundKnee
	k, maxPeak := s.satScale, s.maxPeak
	for i := range n {
		g, in, thr := s.bGain[i], s.bIn[i], 0.0
		if in > 0 {
			thr = ceiling / s.bFSV[i]
		}
		var hot uint8
		lim := 1.0
		for j := i * f; j < (i+1)*f; j++ {
			x := s.x4[j]
			if x > maxPeak || x < -maxPeak {
				hot |= 1
			}
			y := saturate(x, k) * g
			if round {
				y = roundRail(y, rail, &hot)
			} else if y > rail {
				y, hot = rail, hot|2
			} else if y < -rail {
				y, hot = -rail, hot|2
			}
			l := 1.0
			if in > 0 {
				a := math.Abs(y)
				if a > s.env {
					s.env += (a - s.env) * attack
				} else {
					s.env += (a - s.env) * release
				}
				if s.env > thr {
					if slope == 1 {
						l = thr / s.env
					} else {
						l = math.Pow(thr/s.env, slope)
					}
					l = 1 + in*(l-1)
				}
			} else {
				s.env = 0
			}
			if j == i*f+s.os.phase {
				s.tap[i], s.tapLim[i], lim = y, y*l, l
			}
			s.x4[j] = y * l
		}
		s.hot[i], s.inGain[i] = hot, lim
	}
}

// roundRail bends over the last 6 dB below the rail and is as good as flat 6 dB
// above it: linear up to half the rail, then a tanh of the rest, so that value
// and slope are continuous.
func roundRail(y, rail float64, hot *uint8) float64 {
	a := math.Abs(y)
	knee := rail / 2
	if a <= knee {
		return y
	}
	if a > rail {
		*hot |= 2
	}
	return math.Copysign(knee+(rail-knee)*math.Tanh((a-knee)/(rail-knee)), y)
}

// quantise rounds v (full scale 1) to bits with d LSB of dither added first and
// stops at the last code on either side; step is 1/scale, a power of two.
func quantise(v, d, scale, step float64) float64 {
	q := math.Floor(v*scale + d + 0.5)
	if q > scale-1 {
		q = scale - 1
	}
	if q < -scale {
		q = -scale
	}
	return q * step
}

// convert fills codes and adds the converter's own noise to the demand.
func (s *Strip) convert(dst, demand []float64) {
	c := &s.c.Converter
	scale := math.Ldexp(1, c.Bits-1)
	step := 1 / scale
	dither := c.Dither == TPDF
	if c.DualRangeDB <= 0 {
		for i := range demand {
			demand[i] += s.conv.NormFloat64() * s.bConvN[i]
			d := 0.0
			if dither {
				d = tpdf(s.dith)
			}
			dst[i] = quantise(demand[i], d, scale, step)
		}
		return
	}
	up := DB(c.DualRangeDB).Lin()
	off := DB(c.MismatchDB).Lin()
	for i := range demand {
		want := demand[i]
		demand[i] += s.conv.NormFloat64() * s.bConvN[i]
		d1, d2 := 0.0, 0.0
		if dither {
			d1, d2 = tpdf(s.dith), tpdf(s.second)
		}
		hi := quantise(demand[i], d1, scale, step)
		lo := quantise(s.low.delay(want, c.MismatchSamples)*off/up+s.second.NormFloat64()*s.bConvN[i], d2, scale, step) * up
		dst[i] = s.low.mix(hi, lo, demand[i], s.rate)
	}
}

// limit is the digital limiter; every path through it lasts maxLook samples.
func (s *Strip) limit(conv, gain, dst []float64) {
	n := len(conv)
	l := &s.c.Limiter
	all := s.ctl[:betweenHalf+s.maxLook+n]
	copy(all[betweenHalf+s.maxLook:], conv)
	// The present, with the longest look-ahead still to come.
	hist := all[betweenHalf:]
	defer copy(s.ctl[:betweenHalf+s.maxLook], all[n:])
	if s.limOn.cur == 0 && s.bLim[0] == 0 {
		for i := range n {
			gain[i], dst[i] = 1, hist[i]
		}
		return
	}
	fs := float64(s.rate)
	release := onePole(l.ReleaseMS, fs)
	lowest := DB(l.ThresholdDBFS - l.KneeDB/2).Lin()
	ceiling := DB(l.ThresholdDBFS).Lin()
	brick := math.IsInf(float64(l.Ratio), 1) && l.KneeDB == 0
	if s.lookLen > 0 {
		// hist[i] is the sample that leaves now; the detector reads ahead of it.
		ahead := hist[s.lookLen-1:]
		for i := range n {
			a, want := math.Abs(ahead[i]), 1.0
			if l.TruePeak {
				j := betweenHalf + s.lookLen - 1 + i
				gap := between((*[2 * betweenHalf]float64)(all[j-betweenHalf+1:]), lowest)
				a = max(a, s.gap, gap)
				s.gap = gap
			}
			if a > lowest {
				if brick {
					want = ceiling / a
				} else {
					in := 20 * math.Log10(a)
					want = DB(StaticGain(in, l.ThresholdDBFS, l.KneeDB, l.Ratio) - in).Lin()
				}
			}
			g := 1 + s.bLim[i]*(s.look.next(want, release)-1)
			gain[i] = g
			y := hist[i] * g
			if brick && s.bLim[i] == 1 {
				// Rounding of the mean may leave a few units in the last place.
				y = min(max(y, -ceiling), ceiling)
			}
			dst[i] = y
		}
		return
	}
	attack := onePole(l.AttackMS, fs)
	for i := range n {
		a, over := math.Abs(hist[i]), 0.0
		if a > lowest {
			in := 20 * math.Log10(a)
			over = in - StaticGain(in, l.ThresholdDBFS, l.KneeDB, l.Ratio)
		}
		y := s.det.next(over, attack, release)
		g := 1.0
		if y > 1e-7 {
			g = 1 + s.bLim[i]*(math.Exp(-y*(math.Ln10/20))-1)
		}
		gain[i], dst[i] = g, hist[i]*g
	}
}

// write shortens the words to the file's. Codes that fit pass unchanged.
func (s *Strip) write(dst, src, gain []float64) {
	var scale float64
	switch s.c.File.Format {
	case PCM16:
		scale = 1 << 15
	case PCM24:
		scale = 1 << 23
	default:
		for i, v := range src {
			dst[i] = float64(float32(v))
		}
		return
	}
	step := 1 / scale
	exact := math.Ldexp(1, s.c.Converter.Bits-1) <= scale && s.c.Converter.DualRangeDB == 0
	dither := s.c.File.Dither == TPDF
	for i, v := range src {
		d := 0.0
		if dither {
			// Drawn whether needed or not, so that strips that differ only in a
			// limiter keep the same noise.
			d = tpdf(s.fileDith)
			if exact && gain[i] == 1 {
				d = 0
			}
		}
		dst[i] = quantise(v, d, scale, step)
	}
}
