package plan

import "gainwright/sim"

// A Microphone is a class of microphones. Its figures are typical of the class
// (common practice, no source); a maker's data sheet says more.
type Microphone struct {
	Name  string  // for a command line
	Title string  // for a sentence: "a small condenser"
	WornM float64 // its distance from the mouth if it is worn, else 0
	sim.Microphone
}

// A Recorder is a class of recorders: preamp, converter, limiter and file. Its
// figures are typical of the class (common practice, no source).
type Recorder struct {
	Name, Title  string
	Preamp       sim.Preamp
	InputLimiter bool
	Converter    sim.Converter
	Format       sim.Format
}

// Microphones lists the classes, the default chain's first.
func Microphones() []Microphone {
	return []Microphone{
		{"dynamic", "a dynamic vocal microphone", 0, sim.Default().Microphone},
		{"condenser", "a small condenser", 0, sim.Microphone{SensitivityMVPerPa: 12, SourceOhm: 150, SelfNoiseDBA: 16, MaxSPLDB: 134}},
		{"clip-on", "a clip-on microphone, worn", ClipOnM, sim.Microphone{SensitivityMVPerPa: 8, SourceOhm: 600, SelfNoiseDBA: 26, MaxSPLDB: 120}},
	}
}

// AnalogueThresholdDBFS is where analogue limiters begin: −12 to −16 dBFS in equipment
// that has them (common practice, no source).
const AnalogueThresholdDBFS = -14

// Recorders lists the classes, the default chain's first.
func Recorders() []Recorder {
	d := sim.Default()
	plain := d.Preamp
	plain.EINDBu = -122
	simple := d.Converter
	simple.DynamicRangeDBA = 100
	quiet, float := d.Preamp, d.Preamp
	quiet.EINDBu, quiet.OutputNoiseDBu, quiet.RailDBu = -129, -104, 24
	float.RailDBu = 24
	tight := d.Converter
	tight.DynamicRangeDBA = 118
	two := tight
	two.FullScaleDBu, two.DualRangeDB = -4, 30
	return []Recorder{
		{"portable", "a good portable recorder", d.Preamp, false, d.Converter, sim.PCM24},
		{"handheld", "a handheld recorder", plain, false, simple, sim.PCM24},
		{"limiter", "a recorder with analogue limiters", d.Preamp, true, d.Converter, sim.PCM24},
		{"quiet", "a recorder with quiet preamps", quiet, false, tight, sim.PCM24},
		{"float", "a dual-range float recorder", float, false, two, sim.Float32},
	}
}

// ClipOnM is where a clip-on microphone is worn: so far from the mouth (common
// practice, no source).
const ClipOnM = 0.2

// On returns c with this microphone at the same distance.
func (m Microphone) On(c sim.Chain) sim.Chain {
	p := c.Microphone.Proximity
	c.Microphone = m.Microphone
	c.Microphone.Proximity = p
	return c
}

// On returns c with this recorder at the same gain and pad. Analogue limiters begin at
// AnalogueThresholdDBFS at the latest; their other settings stay.
func (r Recorder) On(c sim.Chain) sim.Chain {
	gain, pad := c.Preamp.GainDB, c.Preamp.PadDB
	c.Preamp = r.Preamp
	c.Preamp.GainDB, c.Preamp.PadDB = gain, pad
	c.InputLimiter.On = r.InputLimiter
	if r.InputLimiter {
		c.InputLimiter.ThresholdDBFS = min(c.InputLimiter.ThresholdDBFS, AnalogueThresholdDBFS)
	}
	c.Converter = r.Converter
	c.File.Format = r.Format
	return c
}
