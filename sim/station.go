package sim

import "math"

// Station is one place in the chain, in the order of the signal.
type Station int

// The stations. Each is a tap of a strip and a column of the level diagram.
const (
	AtTalker       Station = iota // pressure at 1 m, Pa
	AtMicrophone                  // pressure at the microphone, room noise included, Pa
	AtMicOut                      // V
	AtPreamp                      // V
	AtInputLimiter                // V; equals AtPreamp while the limiter is off
	AtConverter                   // full scale = 1
	AtLimiter                     // full scale = 1; equals AtConverter while the limiter is off
	AtFile                        // full scale = 1
	NumStations
)

// A Quantity is what is measured at a station.
type Quantity uint8

// The quantities, with the unit of a wave and of its level.
const (
	Pressure Quantity = iota // Pa; dB SPL
	Voltage                  // V; dBu
	Codes                    // full scale = 1; dBFS
)

// A station is all there is to know about one but how the strip computes it. Its
// functions take chains by value: a pointer given to a function of a table is one to
// memory of its own, and pictures ask in every frame.
type station struct {
	name    string
	columns []string // heads of its column, from the longest to the shortest
	is      Quantity
	// in tells whether the station does anything; nil means always.
	in func(c Chain) bool
	// gain is the amplitude ratio from the station before, in the two units.
	gain func(c Chain) float64
	// ceiling is the largest |value| it passes, +Inf if any.
	ceiling func(c Chain) float64
	// floor is the rms noise there is by then, in its unit, from that of the
	// station before.
	floor func(c Chain, before float64) float64
}

// The stations in their order. One more constant above needs one more row here, or
// this does not compile.
var stations = [...]station{
	{ // AtTalker
		"talker", []string{"talker, at 1 m", "talker"}, Pressure, nil,
		nil,
		noCeiling,
		func(c Chain, _ float64) float64 { return 0 },
	},
	{ // AtMicrophone
		"at the microphone", []string{"at the microphone", "at the mic", "at mic"}, Pressure, nil,
		func(c Chain) float64 { return 1 / c.DistanceM },
		// The peak of a sine at the maximum SPL: a soft ceiling.
		func(c Chain) float64 { return float64(DBSPL(c.Microphone.MaxSPLDB).Pascal()) * math.Sqrt2 },
		func(c Chain, _ float64) float64 { return DB(c.Room.NoiseDBA).Lin() * roomWeights().plain },
	},
	{ // AtMicOut
		"microphone out", []string{"microphone out", "mic out", "mic"}, Voltage, nil,
		perPascal,
		func(c Chain) float64 {
			return float64(DBSPL(c.Microphone.MaxSPLDB).Pascal()) * math.Sqrt2 * perPascal(c)
		},
		func(c Chain, n float64) float64 { return math.Hypot(n*perPascal(c), micNoise(c.Microphone)) },
	},
	{ // AtPreamp
		"preamp out", []string{"preamp out", "preamp", "pre"}, Voltage, nil,
		func(c Chain) float64 { return DB(c.Preamp.GainDB - c.Preamp.PadDB).Lin() },
		rail,
		func(c Chain, n float64) float64 {
			in := math.Hypot(n*DB(-c.Preamp.PadDB).Lin(), inputNoise(c.Preamp))
			return math.Hypot(in*DB(c.Preamp.GainDB).Lin(), float64(DBu(c.Preamp.OutputNoiseDBu).Volt()))
		},
	},
	{ // AtInputLimiter
		"input limiter", []string{"input limiter", "limiter"}, Voltage,
		func(c Chain) bool { return c.InputLimiter.On },
		noGain,
		rail, // its threshold is none: a fast peak passes
		noNoise,
	},
	{ // AtConverter
		"converter", []string{"converter", "A/D"}, Codes, nil,
		func(c Chain) float64 { return 1 / fullScaleVolt(c.Converter) },
		codes,
		func(c Chain, n float64) float64 {
			n = math.Hypot(n/fullScaleVolt(c.Converter), converterNoise(c.Converter))
			return math.Hypot(n, quantNoise(c.Converter.Bits, c.Converter.Dither))
		},
	},
	{ // AtLimiter
		"limiter", []string{"limiter"}, Codes,
		func(c Chain) bool { return c.Limiter.On },
		noGain,
		func(c Chain) float64 {
			if l := c.Limiter; l.On && l.LookAheadMS > 0 && math.IsInf(float64(l.Ratio), 1) {
				return DB(l.ThresholdDBFS).Lin()
			}
			return codes(c)
		},
		noNoise,
	},
	{ // AtFile
		"file", []string{"file"}, Codes, nil,
		noGain,
		func(c Chain) float64 {
			if c.File.Format == Float32 {
				return inf
			}
			return 1
		},
		func(c Chain, n float64) float64 {
			// Words are made anew where they get shorter or come from two ranges. A limiter
			// makes them anew, too, but not while it has nothing to do.
			for format, bits := range wordBits {
				if c.File.Format == format && (c.Converter.Bits > bits || c.Converter.DualRangeDB > 0) {
					return math.Hypot(n, quantNoise(bits, c.File.Dither))
				}
			}
			return n
		},
	},
}

var _ = [1]struct{}{}[len(stations)-int(NumStations)]

var wordBits = map[Format]int{PCM16: 16, PCM24: 24}

func noCeiling(Chain) float64            { return inf }
func noGain(Chain) float64               { return 1 }
func noNoise(_ Chain, n float64) float64 { return n }
func perPascal(c Chain) float64          { return c.Microphone.SensitivityMVPerPa / 1000 }
func rail(c Chain) float64               { return float64(DBu(c.Preamp.RailDBu).Volt()) * math.Sqrt2 }
func codes(c Chain) float64              { return DB(c.Converter.DualRangeDB).Lin() }

// String returns the station's name for people.
func (s Station) String() string {
	if s < 0 || s >= NumStations {
		return "unknown station"
	}
	return stations[s].name
}

// Columns returns what the head of the station's column can be, from the longest
// to the shortest: read only.
func (s Station) Columns() []string { return stations[s].columns }

// Quantity tells what is measured at the station.
func (s Station) Quantity() Quantity { return stations[s].is }

// In tells whether the station does anything in a chain: a limiter that is off
// does not.
func (s Station) In(c Chain) bool { return stations[s].in == nil || stations[s].in(c) }

// Unit returns the unit of a wave: "Pa", "V", or "FS" for full scale = 1.
func (q Quantity) Unit() string { return [...]string{"Pa", "V", "FS"}[q] }

// LevelUnit returns the unit of a level: "dB SPL", "dBu" or "dBFS".
func (q Quantity) LevelUnit() string { return [...]string{"dB SPL", "dBu", "dBFS"}[q] }

// Level returns the level of an rms value in LevelUnit; that of a wave's peak is
// stated as the level of the sine that has it, Level(peak/√2).
func (q Quantity) Level(rms float64) float64 {
	switch q {
	case Pressure:
		return float64(Pascal(rms).SPL())
	case Voltage:
		return float64(Volt(rms).DBu())
	}
	return float64(RMSToDBFS(rms))
}

// ToFullScale gives for each station the factor from its unit to the full scale of
// the file, by the chain's gains alone: a signal that meets no ceiling and no
// limiter has the same level everywhere when multiplied by it.
func ToFullScale(c Chain) (f [NumStations]float64) {
	f[NumStations-1] = 1
	for s := NumStations - 1; s > 0; s-- {
		f[s-1] = f[s] * stations[s].gain(c)
	}
	return f
}

// Ceilings returns the largest |value| each station passes, in its unit; +Inf
// where there is none, and everywhere for the zero Chain. The microphone's is the
// peak of a sine at its maximum SPL, a soft ceiling.
func Ceilings(c Chain) (out [NumStations]float64) {
	none := c == (Chain{})
	for s := range out {
		out[s] = inf
		if !none {
			out[s] = stations[s].ceiling(c)
		}
	}
	return out
}

// NoiseLevels returns the rms noise that c has at each station, in the station's
// unit: what the level diagram draws as the bed. Plain rms, 20 Hz to 20 kHz; a
// room's rms lies some decibels above the A-weighted level by which it is stated.
func NoiseLevels(c Chain) (out [NumStations]float64) {
	n := 0.0
	for s := range out {
		n = stations[s].floor(c, n)
		out[s] = n
	}
	return out
}
