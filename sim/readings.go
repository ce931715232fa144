package sim

import (
	"encoding/json"
	"math"
)

// Level is a reading that may have no finite value (the level of silence); JSON
// writes those as null.
type Level float64

// MarshalJSON writes null for what JSON has no number for.
func (l Level) MarshalJSON() ([]byte, error) {
	if v := float64(l); math.IsInf(v, 0) || math.IsNaN(v) {
		return []byte("null"), nil
	}
	return json.Marshal(float64(l))
}

// UnmarshalJSON reads null as NaN.
func (l *Level) UnmarshalJSON(b []byte) error {
	if string(b) == "null" {
		*l = Level(math.NaN())
		return nil
	}
	return json.Unmarshal(b, (*float64)(l))
}

// Readings is what a strip measured over a take: one vocabulary for the JSON
// output, lesson rules, the scene and reports.
type Readings struct {
	// GainDB is the preamp's gain at the end of the take.
	GainDB Level `json:"gain_db"`
	// TalkPeakDBFS is where ordinary talk peaks: the median, over the seconds in
	// which somebody spoke, of the file's sample peak in that second.
	TalkPeakDBFS Level `json:"talk_peak_dbfs"`
	// PeakDBFS and TruePeakDBTP are of the file.
	PeakDBFS     Level `json:"peak_dbfs"`
	TruePeakDBTP Level `json:"true_peak_dbtp"`
	// HeadroomDB is what was left between the loudest moment and the converter's
	// ceiling; negative is how far it went over.
	HeadroomDB Level `json:"headroom_db"`
	// Loudness of the file per BS.1770 and EBU Tech 3342.
	LoudnessLUFS     Level `json:"loudness_lufs"`
	LoudnessRangeLU  Level `json:"loudness_range_lu"`
	ShortTermMaxLUFS Level `json:"short_term_max_lufs"`
	MomentaryMaxLUFS Level `json:"momentary_max_lufs"`
	// NoiseFloorDBFS is the rms (AES17) of what the chain and the room added,
	// measured against the true wave wherever no ceiling was touched.
	NoiseFloorDBFS Level `json:"noise_floor_dbfs"`
	// SNRDB is the true wave's rms, while somebody spoke, over that noise.
	SNRDB Level `json:"snr_db"`
	// Overs counts runs of samples whose true value lay beyond the converter's
	// ceiling; MeterOvers what a plain meter would count in the file: three or
	// more full-scale samples in a row.
	Overs          int   `json:"overs"`
	MeterOvers     int   `json:"meter_overs"`
	LongestOverMS  Level `json:"longest_over_ms"`
	ClippedPercent Level `json:"clipped_percent"`
	// RailOvers counts runs at the preamp's rail; MicOverloadSamples samples
	// above the microphone's maximum SPL.
	RailOvers          int `json:"rail_overs"`
	MicOverloadSamples int `json:"mic_overload_samples"`
	// LimiterReductionMaxDB is the most that either limiter turned down.
	LimiterReductionMaxDB Level `json:"limiter_reduction_max_db"`
	// SDRDB is the file's distance from the true wave: signal to everything that
	// is not the signal. A constant gain does not count: it is taken out as found
	// on the samples that passed no ceiling.
	SDRDB Level `json:"sdr_db"`
	// LostEnergyDB is how much lower the level of the converter's output is than
	// that of what it was asked for.
	LostEnergyDB Level `json:"lost_energy_db"`
	// DeliveredGainDB brings the file to the delivery loudness, and
	// DeliveredNoiseLUFS is the K-weighted level of the noise after that.
	DeliveredGainDB    Level `json:"delivered_gain_db"`
	DeliveredNoiseLUFS Level `json:"delivered_noise_lufs"`
}

// DeliveryLUFS is the loudness a mono interview is delivered at: −19 LUFS, which
// two loudspeakers play as −16 (practitioners' convention, not a standard).
const DeliveryLUFS = -19

// A Span is a stretch of samples [Start, End).
type Span struct {
	Start int64 `json:"start"`
	End   int64 `json:"end"`
}

// StationLevel is what the level diagram draws for one station.
type StationLevel struct {
	Peak    float64 // largest |value|, station's unit, of the true wave where nothing is lost, else of the tap
	RMS     float64 // rms while somebody spoke
	Noise   float64 // rms of the noise that is there by then
	Ceiling float64 // largest |value| the station passes; +Inf if it has none
	Wanted  float64 // the peak that would have been there without this and earlier ceilings
}
