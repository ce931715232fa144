package plan

import (
	"fmt"
	"gainwright/scenes/ui"
	"gainwright/sim/plan"
	"math"
)

// How many sessions are simulated: first few, so that the curves follow a hand,
// then many while nothing changes. What matters most is found with few again,
// since the same sessions are compared with themselves.
const (
	planCoarse = 2_000
	planSwings = 2_000
	planSeed   = 1
)

// planFine is how many are simulated in the end; tests have less time.
var planFine = 100_000

var recorderWords = map[string]string{"handheld": "handheld", "limiter": "analogue limiter", "quiet": "quiet preamps", "float": "dual-range float"}

// gainWord writes one end of the window.
func gainWord(db float64) string { return ui.Decimal(db, 1) + "\u00a0dB" }

// percent writes a share with the digits that it deserves.
func percent(share float64) string {
	v := share * 100
	switch {
	case v >= 10:
		return ui.Decimal(v, 0)
	case math.Abs(v-math.Round(v)) < 1e-9:
		return ui.Decimal(v, 0)
	case v >= 1:
		return ui.Decimal(v, 1)
	case v >= 0.1:
		return ui.Decimal(v, 2)
	}
	return ui.Decimal(v, 3)
}

func oneIn(share float64) string {
	n := 1 / share
	if n < 9.5 {
		return ui.Decimal(n, 1)
	}
	return ui.Decimal(n, 0)
}

func thousands(n int) string {
	s := fmt.Sprint(n)
	for i := len(s) - 3; i > 0; i -= 3 {
		s = s[:i] + " " + s[i:]
	}
	return s
}

func remedyWords(r plan.Remedy) string {
	switch {
	case math.IsInf(r.Window.LowDB, 1):
		return "still too noisy"
	case math.IsInf(r.Window.HighDB, -1):
		return "still too risky"
	case math.IsInf(r.GainDB, 1):
		return "removes a limit"
	case math.IsInf(r.GainDB, -1):
		return "closes the window"
	case r.GainDB < 0:
		return "narrower by " + gainWord(-r.GainDB)
	}
	return "wider by " + gainWord(r.GainDB)
}
