package gain

import (
	"gainwright/scenes/bench"
	"gainwright/scenes/ink"
	"gainwright/scenes/ui"
	"gainwright/scenes/work"
	"gainwright/sim/repair"
)

// mending works out beside the screen what the fast method makes of a clipped
// strip of the take, so that it can be heard in step with the others.
type mending struct {
	take  *bench.Take
	strip int
	job   *work.Task
	got   *mendedResult // of the job
	none  string        // why there is nothing to hear
	pace  work.Pace
	bar   ink.Rect
	name  ui.Strs
	kept  [bench.MaxStrips]bench.MendedTrack // of take
}

// mendedResult is what came of it.
type mendedResult struct {
	x      []float32
	lufs   float64
	report repair.Report
}

// unknownStrip: it was not looked yet.
const unknownStrip = -2

// mendable is the strip of the take that mending is for: the one shown, if it is
// clipped, else the first that is; −1 for none.
func mendable(t *bench.Take, shown int) int {
	if t == nil || !t.Done {
		return -1
	}
	if shown < t.N && t.Readings[shown].Overs > 0 {
		return shown
	}
	for i := range t.N {
		if t.Readings[i].Overs > 0 {
			return i
		}
	}
	return -1
}

// stop gives up the work going on, drop all that belongs to a take.
func (m *mending) stop() {
	if m.job != nil {
		m.job.Cancel()
		m.job = nil
	}
}

func (m *mending) drop() {
	m.stop()
	m.take, m.strip, m.none = nil, unknownStrip, ""
	m.kept = [bench.MaxStrips]bench.MendedTrack{}
}
