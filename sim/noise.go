package sim

import (
	"math"
	"math/rand/v2"
	"sync"

	"gainwright/sim/meter"
)

// Each source of noise draws from a stream of its own, so that two strips with
// the same seed hear the same noise and null, whatever their settings.
const (
	streamRoom = iota + 1
	streamMic
	streamInput
	streamOutput
	streamConverter
	streamDither
	streamSecond
	streamFile
)

func stream(seed uint64, n uint64) *rand.Rand {
	return rand.New(rand.NewPCG(seed, 0x9e3779b97f4a7c15*n))
}

// tpdf is triangular dither, 2 LSB wide, in LSB.
func tpdf(r *rand.Rand) float64 {
	// Two 32-bit halves of one draw: the grid of 2⁻³² LSB is far below anything heard.
	u := r.Uint64()
	return (float64(uint32(u)) - float64(uint32(u>>32))) * (1.0 / (1 << 32))
}

// density scales an rms value stated over NoiseBandHz to the standard deviation
// of white samples at rate, whose band reaches rate/2.
func density(rms float64, rate int) float64 {
	return rms * math.Sqrt(float64(rate)/2/NoiseBandHz)
}

// roomNoise is the sound of an ordinary room: the spectrum that telephony calls
// Hoth noise (D. F. Hoth, JASA 12, 1941; used by ITU-T and IEEE test methods;
// figures from memory), whose density falls by about 5 dB an octave and faster
// above 4 kHz; made of first-order sections, at a stated A-weighted level.
type roomNoise struct {
	rnd  *rand.Rand
	a, b [4]float64 // pole and zero of each section
	gain float64    // white unit variance → 0 dBA in Pa
	x, y [4]float64
}

func newRoomNoise(rate int, seed uint64) *roomNoise {
	n := &roomNoise{rnd: stream(seed, streamRoom)}
	fs := float64(rate)
	one := func(f float64) float64 { return math.Exp(-2 * math.Pi * min(f, fs/2*0.95) / fs) }
	for i, pz := range [4][2]float64{{40, 0}, {200, 140}, {1560, 1100}, {5000, 0}} {
		n.a[i] = one(pz[0])
		if pz[1] > 0 {
			n.b[i] = one(pz[1])
		}
	}
	// Power after A-weighting of unit-variance white noise, integrated over
	// logarithmic frequency: density 2/fs per hertz.
	const steps = 4000
	lo, hi := math.Log(10.0), math.Log(fs/2)
	sum := 0.0
	for i := range steps {
		f := math.Exp(lo + (float64(i)+0.5)/steps*(hi-lo))
		sum += n.power(2*math.Pi*f/fs) * math.Pow(meter.AWeight(f), 2) * f
	}
	sum *= (hi - lo) / steps * 2 / fs
	n.gain = PressureRef / math.Sqrt(sum)
	return n
}

// power is the squared response at w radians a sample.
func (n *roomNoise) power(w float64) float64 {
	p := 1.0
	for i := range n.a {
		p *= (1 - 2*n.b[i]*math.Cos(w) + n.b[i]*n.b[i]) / (1 - 2*n.a[i]*math.Cos(w) + n.a[i]*n.a[i])
	}
	return p
}

// next returns one sample of 0 dBA room noise in Pa.
func (n *roomNoise) next() float64 {
	v := n.rnd.NormFloat64() * n.gain
	for i := range n.a {
		y := v - n.b[i]*n.x[i] + n.a[i]*n.y[i]
		n.x[i], n.y[i] = v, y
		v = y
	}
	return v
}

// quantNoise is the rms error of rounding to bits, ±1 full scale: q/√12, and
// with TPDF dither q/2.
func quantNoise(bits int, d Dither) float64 {
	q := math.Pow(2, float64(1-bits))
	if d == TPDF {
		return q / 2
	}
	return q / math.Sqrt(12)
}

// micNoise is the microphone's own rms noise in volt over 20 kHz. A stated
// equivalent level is taken as white noise of that A-weighted level.
func micNoise(m Microphone) float64 {
	if m.SelfNoiseDBA > 0 {
		return float64(DBSPL(m.SelfNoiseDBA+whiteAWeightDB).Pascal()) * m.SensitivityMVPerPa / 1000
	}
	return float64(ThermalNoise(m.SourceOhm, RoomKelvin, NoiseBandHz))
}

// inputNoise is the amplifier's share of the EIN: the 150 Ω that stood at the
// input when it was measured are taken out, since the microphone brings its own.
func inputNoise(p Preamp) float64 {
	ein := float64(DBu(p.EINDBu).Volt())
	th := float64(ThermalNoise(150, RoomKelvin, NoiseBandHz))
	return math.Sqrt(max(ein*ein-th*th, 0))
}

// converterNoise is the converter's own rms noise, full scale = 1, over 20 kHz:
// its A-weighted dynamic range counts from a full-scale sine.
func converterNoise(c Converter) float64 {
	return DB(-(c.DynamicRangeDBA - whiteAWeightDB)).Lin() / math.Sqrt2
}

// fullScaleVolt is the peak voltage that gives full scale.
func fullScaleVolt(c Converter) float64 {
	return float64(DBu(c.FullScaleDBu).Volt()) * math.Sqrt2
}

// A NoisePart is one source's share of the noise in the file, full scale = 1.
type NoisePart struct {
	Name string
	// RMS is over 20 kHz, the room's from 20 Hz on; KRMS is of all that a 48 kHz
	// file holds, after BS.1770's K-weighting.
	RMS, KRMS float64
}

// NoiseParts returns what each source contributes to the file's noise while
// nobody speaks, through the gains of c.
func NoiseParts(c Chain) []NoisePart {
	w := roomWeights()
	s := c.Microphone.SensitivityMVPerPa / 1000
	pad, gain := DB(-c.Preamp.PadDB).Lin(), DB(c.Preamp.GainDB).Lin()
	fs := 1 / fullScaleVolt(c.Converter)
	room := DB(c.Room.NoiseDBA).Lin() * s * pad * gain * fs
	part := func(name string, v float64) NoisePart { return NoisePart{name, v, v * w.whiteK} }
	words := quantNoise(c.Converter.Bits, c.Converter.Dither)
	n := NoiseLevels(c)
	file := math.Sqrt(max(n[AtFile]*n[AtFile]-n[AtConverter]*n[AtConverter], 0))
	return []NoisePart{
		{"room", room * w.plain, room * w.k},
		part("microphone", micNoise(c.Microphone)*pad*gain*fs),
		part("preamp input", inputNoise(c.Preamp)*gain*fs),
		part("preamp output", float64(DBu(c.Preamp.OutputNoiseDBu).Volt())*fs),
		part("converter", math.Hypot(converterNoise(c.Converter), words)),
		part("file", file),
	}
}

// weights are what is needed to state the noise of a 48 kHz file.
type weights struct {
	whiteK float64 // K-weighted rms of white noise whose rms over 20 kHz is 1
	plain  float64 // rms in Pa, 20 Hz to 20 kHz, of room noise of 0 dBA
	k      float64 // the same K-weighted
}

var roomWeights = sync.OnceValue(func() weights {
	const rate = 48000
	n := newRoomNoise(rate, 0)
	const steps = 2000
	lo, hi := math.Log(1.0), math.Log(rate/2.0)
	var w, u, k float64
	for i := range steps {
		f := math.Exp(lo + (float64(i)+0.5)/steps*(hi-lo))
		df := f * (hi - lo) / steps
		g := math.Pow(10, meter.KGainDB(f, rate)/10)
		p := n.power(2*math.Pi*f/rate) * n.gain * n.gain * 2 / rate
		w += g * df / NoiseBandHz
		if f >= 20 && f <= NoiseBandHz {
			u += p * df
		}
		k += p * g * df
	}
	return weights{math.Sqrt(w), math.Sqrt(u), math.Sqrt(k)}
})
