package repair

import (
	"fmt"
	"math"

	"gainwright/sim/meter"
)

// Measured is what a treatment learnt of a take on its way through, in memory or as
// a stream; a field that the treatment at hand does not speak of may be left out.
type Measured struct {
	PeakBefore, PeakAfter float64 // magnitudes, full scale 1
	ReductionDB           float64 // the deepest of a limiter or compressor
	// QuietBefore and QuietAfter are the mean squares that a QuietMeter reads.
	QuietBefore, QuietAfter float64
}

// Told is the report of a treatment without decisions of its own (gain, turn down,
// high-pass, limiter, compressor, noise reduction): what it says follows from what
// was measured.
func Told(t Treatment, m Measured) Report {
	rep := Report{Treatment: t.Name()}
	if m.PeakBefore == 0 {
		rep.Verdict = silent
		return rep
	}
	v := Verdict{Outcome: Done, Usable: true}
	peaks := []Number{{"peak_before_dbfs", meter.DB(m.PeakBefore)}, {"peak_after_dbfs", meter.DB(m.PeakAfter)}}
	switch t := t.(type) {
	case Gain:
		v.Back = fmt.Sprintf("The level was changed by %s dB.", plusMinus(t.GainDB))
		rep.Numbers = append([]Number{{"gain_db", t.GainDB}}, peaks...)
	case TurnDown:
		g := t.gain(m.PeakBefore)
		v.Back = fmt.Sprintf("The take was turned down by %.1f dB so that its highest peak fits.", -meter.DB(g))
		if g == 1 {
			v.Outcome, v.Back = Nothing, "No peak passes the ceiling; nothing was changed."
		}
		rep.Numbers = append([]Number{{"gain_db", meter.DB(g)}}, peaks...)
	case HighPass:
		v.Back = fmt.Sprintf("What lies below %.0f Hz was taken away.", t.FrequencyHz)
		rep.Numbers = peaks
	case Limit, Compress:
		v.Back = fmt.Sprintf("Levels were turned down by up to %.1f dB.", m.ReductionDB)
		v.Lost = "Tops that were flat before are flat still, only lower."
		if m.ReductionDB < 0.005 {
			v = Verdict{Outcome: Nothing, Usable: true, Back: "No level reached the threshold; nothing was turned down."}
		}
		rep.Numbers = append([]Number{{"reduction_max_db", m.ReductionDB}}, peaks...)
	case Denoise:
		red := meter.PowerDB(m.QuietBefore / m.QuietAfter)
		v.Back = fmt.Sprintf("Where nobody speaks the take is now %.1f dB quieter.", red)
		v.Lost = "Noise under the words is still there, and the faintest sounds went with the rest."
		if !(red >= 0.5) {
			v = Verdict{Outcome: Nothing, Usable: true, Back: "No steady noise stood out; little was changed."}
		}
		rep.Numbers = []Number{
			{"quiet_before_dbfs", meter.SineDB(math.Sqrt(m.QuietBefore))},
			{"quiet_after_dbfs", meter.SineDB(math.Sqrt(m.QuietAfter))},
		}
	default:
		panic("repair: " + t.Name() + " tells its own story")
	}
	rep.Verdict = v
	return rep
}

// tooShort is what noise reduction says of a take it learnt nothing from.
var tooShort = Verdict{Outcome: Hopeless, Back: "The take is too short to tell noise from sound; nothing was changed."}

// Unlearnt is the report of a noise reduction that found no noise to learn.
func Unlearnt(d Denoise) Report { return Report{Treatment: d.Name(), Verdict: tooShort} }

// Unspliced is the report of a splice that found no clipped passage.
func Unspliced(s Splice) Report {
	return Report{Treatment: s.Name(), Verdict: Verdict{Outcome: Nothing, Usable: true, Back: "No clipped passage was found; nothing was changed."}}
}

// Empty is what every treatment says of silence.
func Empty() Verdict { return silent }
