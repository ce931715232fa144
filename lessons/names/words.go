package names

import (
	"regexp"
	"strings"
	"sync"
)

// said are readings as people say them, by key.
var said = map[string]string{
	"gain_db": "gain", "talk_peak_dbfs": "talk's held peak", "peak_dbfs": "peak", "true_peak_dbtp": "true peak",
	"headroom_db": "headroom", "loudness_lufs": "loudness", "loudness_range_lu": "loudness range",
	"short_term_max_lufs": "maximum short-term loudness", "momentary_max_lufs": "maximum momentary loudness",
	"noise_floor_dbfs": "noise floor", "snr_db": "signal-to-noise ratio", "overs": "overs",
	"meter_overs": "overs that a meter sees in the file", "longest_over_ms": "longest over", "clipped_percent": "share of samples clipped",
	"rail_overs": "overs at the preamp's rail", "mic_overload_samples": "samples above the microphone's maximum",
	"limiter_reduction_max_db": "most that a limiter turned down", "sdr_db": "signal-to-distortion ratio",
	"lost_energy_db": "energy lost at the converter", "delivered_gain_db": "gain for delivery", "delivered_noise_lufs": "noise after delivery",
}

// WithUnit is what a reading is called beside bare numbers: "talk's held peak, dBFS".
func (n Name) WithUnit() string {
	if n.Unit == "" {
		return n.Label
	}
	return n.Label + ", " + n.Unit
}

// Words say what a variable is, for people: "headroom of A", "headroom of A (take “first”)".
func Words(variable string) string {
	parts := strings.Split(variable, ".")
	if parts[0] == "drawn" && len(parts) > 1 {
		return label(strings.Join(parts[1:], ".")) + " of this bench"
	}
	for i := range parts {
		key := strings.Join(parts[i:], ".")
		_, reading := Figure(key)
		if _, setting := Setting(key); !reading && !setting {
			continue
		}
		w := label(key)
		if i > 0 {
			w += " of " + parts[i-1]
		}
		if i > 1 {
			w += " (take “" + parts[i-2] + "”)"
		}
		return w
	}
	return variable
}

func label(key string) string {
	if n, ok := Figure(key); ok {
		return n.Label
	}
	if n, ok := Setting(key); ok {
		return n.Label
	}
	return strings.NewReplacer("_", " ", ".", " ").Replace(key)
}

// written finds a reading's key with "_" in a text, with what stands before it: "A.peak_dbfs".
var written = sync.OnceValue(func() *regexp.Regexp {
	return regexp.MustCompile(`\b(?:[A-Za-z][A-Za-z0-9_]*\.)*[a-z]+(?:_[a-z]+)+\b`)
})

// InWords says the readings that a text names by their keys as people say them; others of
// its words stay as they are.
func InWords(text string) string {
	if !strings.Contains(text, "_") {
		return text
	}
	return written().ReplaceAllStringFunc(text, func(w string) string {
		if _, ok := Figure(w[strings.LastIndexByte(w, '.')+1:]); !ok {
			return w
		}
		return Words(w)
	})
}
