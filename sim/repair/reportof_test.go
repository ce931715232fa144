package repair_test

import (
	"testing"

	"gainwright/sim/repair"
)

// A limiter that turned down by what can be heard says so; one that hardly moved says
// that nothing was turned down. What is written with one decimal is not told as 0.0.
func TestReportOfReduction(t *testing.T) {
	for _, c := range []struct {
		db   float64
		want repair.Outcome
	}{{0, repair.Nothing}, {0.004, repair.Nothing}, {0.06, repair.Done}, {2, repair.Done}, {12, repair.Done}} {
		for _, tr := range []repair.Treatment{repair.Limit{}, repair.Compress{}} {
			rep := repair.ReportOf(tr, repair.Measured{PeakBefore: 1, PeakAfter: 0.9, ReductionDB: c.db})
			if rep.Verdict.Outcome != c.want {
				t.Errorf("%s by %v dB: %s", tr.Name(), c.db, rep.Verdict.Outcome)
			}
			if db, ok := rep.Number("reduction_max_db"); !ok || db != c.db {
				t.Errorf("%s by %v dB: the figure is %v", tr.Name(), c.db, db)
			}
		}
	}
	if rep := repair.ReportOf(repair.Limit{}, repair.Measured{}); rep.Verdict.Outcome != repair.EmptyTake {
		t.Errorf("of silence: %s", rep.Verdict.Outcome)
	}
}
