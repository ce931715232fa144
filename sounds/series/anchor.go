package series

import (
	"fmt"
	"strconv"
	"strings"
)

// An Anchor is a level that is known; the zero value is none.
type Anchor struct {
	Kind      string  // "", calibrator, meter or talk
	Level     float64 // dB SPL
	Within    float64 // dB either way, in nine cases of ten
	Weighting string
}

const (
	// Ordinary talk at 1 m, dB SPL: between the relaxed and the normal vocal effort of ISO
	// 9921. People differ by 4.2 dB (standard deviation: Hodgson et al. 1999, of lecturers).
	talkDBSPL, talkWithin = 60.0, 1.645 * 4.2
	// Of a hand-held meter beside the microphone; common practice, no source.
	meterWithin = 2.0
	// An acoustic calibrator of class 2 (IEC 60942), and its fit on a microphone that it
	// was not made for.
	calibratorWithin = 1.0
)

// ParseAnchor reads "calibrator=94", "meter=72,A", "talk" or nothing.
func ParseAnchor(text string) (a Anchor, err error) {
	kind, value, has := strings.Cut(text, "=")
	a.Kind = kind
	level := func(v string, lo, hi float64) error {
		a.Level, err = strconv.ParseFloat(v, 64)
		if err != nil || !(a.Level >= lo && a.Level <= hi) {
			return fmt.Errorf("%q is no level from %g to %g dB SPL", v, lo, hi)
		}
		return nil
	}
	switch {
	case text == "":
	case kind == "calibrator":
		if !has {
			value = "94"
		}
		a.Within = calibratorWithin
		return a, level(value, 70, 130)
	case kind == "meter" && has:
		v, weighting, _ := strings.Cut(value, ",")
		a.Within, a.Weighting = meterWithin, strings.ToUpper(weighting)
		if a.Weighting != "" && !strings.Contains("ACZ", a.Weighting) || len(a.Weighting) > 1 {
			return a, fmt.Errorf("the weighting is A, C or Z")
		}
		return a, level(v, 30, 120)
	case kind == "talk" && !has:
		a.Level, a.Within = talkDBSPL, talkWithin
	default:
		return a, fmt.Errorf("wants calibrator=94, meter=72,A or talk")
	}
	return a, nil
}
