package stage

import (
	"gainwright/lessons/names"
	"gainwright/sim"
)

// BenchFree are the controls of the bench that change nothing a lesson is about:
// their IDs, or what these begin with.
var BenchFree = []string{"show.", "listen.", "scope.", "take.at_s", "take.save", "caution.", "hold.reset", "play", "loop", "check", "view.", "station.", "drawer.close"}

// Counted are the readings that the bench tells, with those that count in them.
func Counted(r sim.Readings, m names.Measured) sim.Readings {
	r.Overs, r.MeterOvers = int(m["overs"]), int(m["meter_overs"])
	r.HeadroomDB, r.LongestOverMS = sim.Level(m["headroom_db"]), sim.Level(m["longest_over_ms"])
	r.PeakDBFS, r.TruePeakDBTP = sim.Level(m["peak_dbfs"]), sim.Level(m["true_peak_dbtp"])
	r.DeliveredNoiseLUFS, r.LoudnessLUFS = sim.Level(m["delivered_noise_lufs"]), sim.Level(m["loudness_lufs"])
	return r
}
