package sim

import "math"

// Physical constants and references.
const (
	// PressureRef is 0 dB SPL in pascal.
	PressureRef = 20e-6
	// Boltzmann's constant in J/K, exact in the SI since 2019.
	Boltzmann = 1.380649e-23
	// RoomKelvin is the temperature of thermal noise, 20 °C.
	RoomKelvin = 293.15
	// NoiseBandHz is the bandwidth over which equipment noise is stated.
	NoiseBandHz = 20000
	// whiteAWeightDB is what A-weighting takes off white noise of 0–20 kHz
	// (integral of the IEC 61672-1 curve).
	whiteAWeightDB = 2.05
)

// DBuRef is 0 dBu in volt: 1 mW in 600 Ω.
var DBuRef = math.Sqrt(0.6)

// The edge types. Inside the engine plain float64 in SI units is used.
type (
	// Pascal is sound pressure.
	Pascal float64
	// Volt is voltage.
	Volt float64
	// DB is a ratio of amplitudes, 20·log10.
	DB float64
	// DBSPL is an rms sound pressure level re 20 µPa.
	DBSPL float64
	// DBu is an rms voltage level re √0.6 V.
	DBu float64
	// DBV is an rms voltage level re 1 V.
	DBV float64
	// DBFS is a level re digital full scale; whether of a peak or an rms value
	// in the AES17 sense is said where it is used.
	DBFS float64
)

// Lin returns the amplitude ratio of d.
func (d DB) Lin() float64 { return math.Pow(10, float64(d)/20) }

// ToDB returns 20·log10 of an amplitude ratio; −Inf for 0, NaN for negative.
func ToDB(ratio float64) DB { return DB(20 * math.Log10(ratio)) }

// Pascal returns the rms pressure of l.
func (l DBSPL) Pascal() Pascal { return Pascal(PressureRef * DB(l).Lin()) }

// SPL returns the level of an rms pressure.
func (p Pascal) SPL() DBSPL { return DBSPL(ToDB(float64(p) / PressureRef)) }

// Volt returns the rms voltage of l.
func (l DBu) Volt() Volt { return Volt(DBuRef * DB(l).Lin()) }

// DBV returns the same voltage re 1 V: dBu − 2.2185.
func (l DBu) DBV() DBV { return DBV(float64(l) + float64(ToDB(DBuRef))) }

// Volt returns the rms voltage of l.
func (l DBV) Volt() Volt { return Volt(DB(l).Lin()) }

// DBu returns the same voltage re √0.6 V.
func (l DBV) DBu() DBu { return DBu(float64(l) - float64(ToDB(DBuRef))) }

// DBu returns the level of an rms voltage.
func (v Volt) DBu() DBu { return DBu(ToDB(float64(v) / DBuRef)) }

// ThermalNoise returns the rms Johnson–Nyquist noise, √(4kTRB), of a resistance
// in ohm at kelvin over a bandwidth in hertz.
func ThermalNoise(ohm, kelvin, bandHz float64) Volt {
	return Volt(math.Sqrt(4 * Boltzmann * kelvin * ohm * bandHz))
}

// RMSToDBFS returns the AES17 level of an rms value: a full-scale sine reads 0.
func RMSToDBFS(rms float64) DBFS { return DBFS(20 * math.Log10(rms*math.Sqrt2)) }

// PeakToDBFS returns the level of a waveform's peak: |1.0| reads 0.
func PeakToDBFS(peak float64) DBFS { return DBFS(20 * math.Log10(peak)) }
