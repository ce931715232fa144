package repair

import (
	"fmt"

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

// A reporter is a treatment without decisions of its own: what it says of a take that is
// not silent follows from what was measured.
type reporter interface {
	Treatment
	report(Measured) (Verdict, []Number)
}

// ReportOf is the report of a treatment without decisions of its own (gain, turn down,
// high-pass, limiter, compressor, noise reduction).
func ReportOf(t Treatment, m Measured) Report {
	own, ok := t.(reporter)
	if !ok {
		panic("repair: " + t.Name() + " tells its own story")
	}
	rep := Report{Treatment: t.Name()}
	if m.PeakBefore == 0 {
		rep.Verdict = silent
		return rep
	}
	rep.Verdict, rep.Numbers = own.report(m)
	return rep
}

// peaks are the figures of most reports, after the treatment's own.
func (m Measured) peaks(own ...Number) []Number {
	return append(own, Number{"peak_before_dbfs", meter.DB(m.PeakBefore)}, Number{"peak_after_dbfs", meter.DB(m.PeakAfter)})
}

// turnedDown is what limiter and compressor say.
func (m Measured) turnedDown() (Verdict, []Number) {
	v := Verdict{Outcome: Done, Usable: true,
		Back: fmt.Sprintf("Levels were turned down by up to %.1f dB.", m.ReductionDB),
		Lost: "Tops that were flat before are flat still, only lower."}
	if m.ReductionDB < 0.005 {
		v = Verdict{Outcome: Nothing, Usable: true, Back: "No level reached the threshold; nothing was turned down."}
	}
	return v, m.peaks(Number{"reduction_max_db", m.ReductionDB})
}

// Empty is what every treatment says of silence.
func Empty() Verdict { return silent }
