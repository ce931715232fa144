package repair

import (
	"encoding/json"
	"fmt"
	"math"

	"gainwright/sim"
)

// A Distance is how far a take and what was made of it are from the truth.
type Distance struct {
	BeforeDB float64 `json:"before_db"` // signal over distortion, before; +Inf for none
	AfterDB  float64 `json:"after_db"`  // and after
	GainDB   float64 `json:"gain_db"`   // After − Before
}

// MarshalJSON writes null for what is infinite or undefined.
func (d Distance) MarshalJSON() ([]byte, error) {
	return json.Marshal(struct {
		Before sim.Level `json:"before_db"`
		After  sim.Level `json:"after_db"`
		Gain   sim.Level `json:"gain_db"`
	}{sim.Level(d.BeforeDB), sim.Level(d.AfterDB), sim.Level(d.GainDB)})
}

// SDR is 20·log10 of the level of truth over that of truth − g·x, where g is the
// constant gain that suits best, or 1 with keepLevel. Lengths must be equal. +Inf
// for no distortion; NaN for a silent truth.
func SDR(truth, x []float64, keepLevel bool) float64 {
	if len(truth) != len(x) {
		panic("repair: SDR of different lengths")
	}
	var tt, tx, xx float64
	for i, t := range truth {
		v := x[i]
		tt += t * t
		tx += t * v
		xx += v * v
	}
	if tt == 0 {
		return math.NaN()
	}
	g := 1.0
	if !keepLevel && xx > 0 {
		g = tx / xx
	}
	e := 0.0
	for i, t := range truth {
		d := t - g*x[i]
		e += d * d
	}
	return 10 * math.Log10(tt/e)
}

// Compare measures a treatment against the truth. With keepLevel a change of level
// counts as distortion; without, the best-suited gain is taken out on both sides.
func Compare(truth, before, after []float64, keepLevel bool) Distance {
	d := Distance{BeforeDB: SDR(truth, before, keepLevel), AfterDB: SDR(truth, after, keepLevel)}
	d.GainDB = d.AfterDB - d.BeforeDB
	if math.IsInf(d.BeforeDB, 1) && math.IsInf(d.AfterDB, 1) {
		d.GainDB = 0
	}
	return d
}

// Verdict puts a distance into words.
func (d Distance) Verdict() Verdict {
	v := Verdict{Outcome: Done, Usable: d.AfterDB >= 15}
	left := math.Pow(10, -d.GainDB/10)
	switch {
	case math.IsNaN(d.GainDB):
		return Verdict{Outcome: EmptyTake, Back: "The truth is silent: there is nothing to compare with."}
	case math.IsInf(d.BeforeDB, 1) && math.IsInf(d.AfterDB, 1):
		return Verdict{Outcome: Nothing, Usable: true, Back: "Nothing was lost, and nothing was changed."}
	case math.IsInf(d.BeforeDB, 1):
		v.Outcome = Partly
		v.Back = "Before, nothing was lost: the take was the truth."
		v.Lost = fmt.Sprintf("What it differs by now lies %.0f dB below the voice; no treatment was needed.", d.AfterDB)
		return v
	case math.IsInf(d.AfterDB, 1):
		v.Back = "What was lost is back, to the last bit."
		return v
	case math.IsInf(d.GainDB, 0):
		return Verdict{Outcome: Hopeless, Back: "Nothing came back: of the truth, nothing is in the take."}
	case d.GainDB < -0.05:
		v.Outcome = Partly
		v.Back = fmt.Sprintf("Nothing came back: the take is %.1f dB further from the truth than before.", -d.GainDB)
	case d.GainDB < 0.5:
		v.Outcome = Nothing
		v.Back = fmt.Sprintf("Nothing came back: the distance from the truth changed by %.1f dB.", d.GainDB)
	case d.AfterDB >= 60:
		v.Back = fmt.Sprintf("What was lost is back, to within %.0f dB.", d.AfterDB)
	case left < 0.01:
		v.Back = fmt.Sprintf("More than 99 %% of the error is gone (%.1f dB nearer to the truth).", d.GainDB)
	default:
		v.Back = fmt.Sprintf("%.0f %% of the error is gone (%.1f dB nearer to the truth).", 100*(1-left), d.GainDB)
	}
	switch {
	case d.AfterDB < 60 && d.AfterDB >= 15:
		v.Lost = fmt.Sprintf("The rest, %.0f dB below the voice, did not come back.", d.AfterDB)
	case d.AfterDB < 15:
		v.Lost = fmt.Sprintf("The rest, only %.0f dB below the voice, did not come back and will be heard.", d.AfterDB)
	}
	return v
}
