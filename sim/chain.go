package sim

import (
	"encoding"
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
)

// A Chain is the settings of one strip: plain, comparable, serialisable values.
// The zero Chain is not valid; start from Default.
type Chain struct {
	Room         Room         `json:"room" yaml:"room"`
	DistanceM    float64      `json:"distance_m" yaml:"distance_m"`
	Microphone   Microphone   `json:"microphone" yaml:"microphone"`
	Preamp       Preamp       `json:"preamp" yaml:"preamp"`
	InputLimiter InputLimiter `json:"input_limiter" yaml:"input_limiter"`
	Converter    Converter    `json:"converter" yaml:"converter"`
	Limiter      Limiter      `json:"limiter" yaml:"limiter"`
	File         File         `json:"file" yaml:"file"`
}

// Room is the noise of the place, the same at every distance from the talker.
type Room struct {
	NoiseDBA float64 `json:"noise_dba" yaml:"noise_dba"` // A-weighted dB SPL
}

// Microphone turns pressure into voltage.
type Microphone struct {
	SensitivityMVPerPa float64 `json:"sensitivity_mv_per_pa" yaml:"sensitivity_mv_per_pa"`
	SourceOhm          float64 `json:"source_ohm" yaml:"source_ohm"`
	// SelfNoiseDBA is the equivalent noise level; 0 means none stated: the
	// thermal noise of SourceOhm stands alone, as with a moving-coil microphone.
	SelfNoiseDBA float64 `json:"self_noise_dba" yaml:"self_noise_dba"`
	// MaxSPLDB is the level of a sine at which the output has 1 % THD.
	MaxSPLDB float64 `json:"max_spl_db" yaml:"max_spl_db"`
	// Proximity turns on the bass rise of a first-order (cardioid) microphone.
	Proximity bool `json:"proximity" yaml:"proximity"`
}

// Knee is how a rail bends.
type Knee string

// The two knees of a rail.
const (
	HardKnee  Knee = "hard"
	RoundKnee Knee = "round"
)

// Preamp brings the microphone to line level.
type Preamp struct {
	GainDB float64 `json:"gain_db" yaml:"gain_db"`
	PadDB  float64 `json:"pad_db" yaml:"pad_db"` // loss before the first stage
	// EINDBu is the equivalent input noise over 20 kHz, unweighted, measured as
	// usual with 150 Ω at the input; that resistor's own noise is part of it.
	EINDBu         float64 `json:"ein_dbu" yaml:"ein_dbu"`
	OutputNoiseDBu float64 `json:"output_noise_dbu" yaml:"output_noise_dbu"` // independent of gain
	RailDBu        float64 `json:"rail_dbu" yaml:"rail_dbu"`                 // level of a sine that just touches the rail
	RailKnee       Knee    `json:"rail_knee" yaml:"rail_knee"`
}

// Ratio is a compression ratio from 1 to infinity, written "inf" in text.
type Ratio float64

// InputLimiter is an analogue limiter on the preamp's output. Threshold counts
// from the converter's full scale, so that the two limiters compare directly.
type InputLimiter struct {
	On            bool    `json:"on" yaml:"on"`
	ThresholdDBFS float64 `json:"threshold_dbfs" yaml:"threshold_dbfs"`
	Ratio         Ratio   `json:"ratio" yaml:"ratio"`
	AttackMS      float64 `json:"attack_ms" yaml:"attack_ms"`   // time constant, 63.2 % of the way
	ReleaseMS     float64 `json:"release_ms" yaml:"release_ms"` // time constant
}

// Dither is the noise added before a word is shortened.
type Dither string

// The dithers: TPDF is two rectangular ones, 2 LSB wide together.
const (
	TPDF     Dither = "tpdf"
	NoDither Dither = "none"
)

// Converter turns voltage into codes.
type Converter struct {
	FullScaleDBu    float64 `json:"full_scale_dbu" yaml:"full_scale_dbu"` // sine whose peak is full scale
	Bits            int     `json:"bits" yaml:"bits"`
	DynamicRangeDBA float64 `json:"dynamic_range_dba" yaml:"dynamic_range_dba"`
	Dither          Dither  `json:"dither" yaml:"dither"`
	// DualRangeDB > 0 adds a second converter whose full scale lies that much
	// higher; it takes over above the first one's range.
	DualRangeDB float64 `json:"dual_range_db" yaml:"dual_range_db"`
	// Faults of the hand-over, for those who want to hear them.
	MismatchDB      float64 `json:"mismatch_db" yaml:"mismatch_db"`
	MismatchSamples float64 `json:"mismatch_samples" yaml:"mismatch_samples"`
}

// Limiter is digital, after the converter. With LookAheadMS above 0 its
// threshold is a ceiling that no sample passes; without, it is a feed-forward
// design (Giannoulis, Massberg, Reiss, JAES 60(6), 2012) whose attack lets a
// fast peak through.
type Limiter struct {
	On            bool    `json:"on" yaml:"on"`
	ThresholdDBFS float64 `json:"threshold_dbfs" yaml:"threshold_dbfs"`
	Ratio         Ratio   `json:"ratio" yaml:"ratio"`
	KneeDB        float64 `json:"knee_db" yaml:"knee_db"`
	LookAheadMS   float64 `json:"look_ahead_ms" yaml:"look_ahead_ms"`
	// TruePeak makes a look-ahead limiter watch the wave between the samples too:
	// the ceiling then holds there to within 0.4 dB for what lies below 0.4 of the
	// sample rate.
	TruePeak  bool    `json:"true_peak" yaml:"true_peak"`
	AttackMS  float64 `json:"attack_ms" yaml:"attack_ms"`
	ReleaseMS float64 `json:"release_ms" yaml:"release_ms"`
}

// Format is the word length of a file.
type Format string

// The formats a recorder writes.
const (
	PCM16   Format = "pcm16"
	PCM24   Format = "pcm24"
	Float32 Format = "float32"
)

// File is what the recorder writes.
type File struct {
	Format Format `json:"format" yaml:"format"`
	Dither Dither `json:"dither" yaml:"dither"` // used only where words get shorter or were processed
}

// Default returns a handheld recorder with a moving-coil speech microphone a
// hand's width from the talker in a quiet room. The figures are typical for
// their class (common practice, no source).
func Default() Chain {
	return Chain{
		Room:      Room{NoiseDBA: 32},
		DistanceM: 0.08,
		Microphone: Microphone{
			SensitivityMVPerPa: 1.8, SourceOhm: 200, MaxSPLDB: 150,
		},
		Preamp: Preamp{
			GainDB: 40, EINDBu: -127, OutputNoiseDBu: -100, RailDBu: 20, RailKnee: HardKnee,
		},
		InputLimiter: InputLimiter{ThresholdDBFS: -6, Ratio: Ratio(math.Inf(1)), AttackMS: 2, ReleaseMS: 200},
		Converter:    Converter{FullScaleDBu: 10, Bits: 24, DynamicRangeDBA: 112, Dither: TPDF},
		Limiter:      Limiter{ThresholdDBFS: -6, Ratio: Ratio(math.Inf(1)), AttackMS: 1, ReleaseMS: 150},
		File:         File{Format: PCM24, Dither: TPDF},
	}
}

// MaxLookAheadMS is the longest look-ahead. Every strip is delayed by that much
// whether it looks ahead or not, so that strips stay in step while a setting
// changes.
const MaxLookAheadMS = 5

// A SettingError tells which setting is wrong and why.
type SettingError struct {
	Key string // path below the strip
	Msg string
}

func (e *SettingError) Error() string { return e.Key + ": " + e.Msg }

// Validate returns nil, or every fault, joined; each is a *SettingError.
func (c Chain) Validate() error {
	var errs []error
	for i := range settings {
		if err := settings[i].check(&c); err != nil {
			errs = append(errs, err)
		}
	}
	return errors.Join(errs...)
}

// LimiterPlace is where a strip's limiter sits.
type LimiterPlace string

// The three places.
const (
	LimiterOff    LimiterPlace = "off"
	LimiterBefore LimiterPlace = "before"
	LimiterAfter  LimiterPlace = "after"
)

// Place tells where the limiter sits; a chain with both on counts as "before".
func (c Chain) Place() LimiterPlace {
	switch {
	case c.InputLimiter.On:
		return LimiterBefore
	case c.Limiter.On:
		return LimiterAfter
	}
	return LimiterOff
}

// WithPlace returns c with its limiter moved to p.
func (c Chain) WithPlace(p LimiterPlace) Chain {
	c.InputLimiter.On, c.Limiter.On = p == LimiterBefore, p == LimiterAfter
	return c
}

// MarshalText writes the ratio, "inf" for infinity.
func (r Ratio) MarshalText() ([]byte, error) {
	if math.IsInf(float64(r), 1) {
		return []byte("inf"), nil
	}
	return strconv.AppendFloat(nil, float64(r), 'g', -1, 64), nil
}

// UnmarshalText reads a number or "inf".
func (r *Ratio) UnmarshalText(b []byte) error {
	s := strings.TrimPrefix(strings.ToLower(strings.TrimSpace(string(b))), ".")
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		return fmt.Errorf("%q is not a ratio: a number from 1, or inf", b)
	}
	*r = Ratio(v)
	return nil
}

var (
	_ encoding.TextMarshaler   = Ratio(0)
	_ encoding.TextUnmarshaler = (*Ratio)(nil)
)
