package bench

import (
	"math"

	"gainwright/scenes/ui"
	"gainwright/sim/plan/ear"
)

// viewTenths is how many tenths of a second Tenths go back: more than a screen that draws
// slowly lies behind.
const viewTenths = 32

// Tenth is a tenth of a second of the performance, with the frame at which it ended.
type Tenth struct {
	Frame int64
	ear.Window
}

// Tenths are the last ones of a performance.
type Tenths struct {
	ring [viewTenths]Tenth
	n    int64 // how many there have been
}

// tenth gathers the one going on, on the clock's side.
type tenth struct {
	n         int
	peak, sum float64
}

// add adds a block that begins at a frame.
func (t *tenth) add(x []float64, frame int64, to *Tenths) {
	for i, v := range x {
		t.peak = max(t.peak, math.Abs(v))
		t.sum += v * v
		if t.n++; t.n == Rate/10 {
			to.ring[to.n%viewTenths] = Tenth{frame + int64(i) + 1, ear.Window{Peak: t.peak, MeanSquare: t.sum / float64(t.n)}}
			to.n++
			*t = tenth{}
		}
	}
}

// For how long after it was asked for a laugh, or what else is no talk, goes on at most,
// in frames.
const asideFrames = 3 * Rate

// hearing is what was heard of the guest, on the screen's side.
type hearing struct {
	check, takes ear.Listener
	seen         int64 // of the tenths
	from         int64 // the guest sits there from this frame on
	until        int64 // a recording is heard once
	did          []did
	marks        int   // of the take's, how many are in did
	start        int64 // of the take
	rev          int
}

// did is something that a guest did, from a frame on.
type did struct {
	from, to int64
	sort     ear.Sort
}

// anew forgets who was heard: somebody else comes from frame from on.
func (h *hearing) anew(from int64) {
	*h = hearing{seen: h.seen, from: from, until: math.MaxInt64, rev: h.rev + 1}
}

func sortOf(what string) (ear.Sort, bool) {
	switch what {
	case "laugh":
		return ear.Laugh, true
	case "cough", "lean_in", "leans in", "clap", "shout", "pop", "chair":
		return ear.Aside, true
	}
	return 0, false
}

// note remembers that the guest is asked to do something at a frame.
func (h *hearing) note(what string, at int64) {
	if sort, ok := sortOf(what); ok {
		to := at + asideFrames
		if what == "lean_in" || what == "leans in" {
			to = at + leanFor*Rate + Rate/2
		}
		h.did = append(h.did, did{at, to, sort})
	}
}

func (h *hearing) sort(frame int64) ear.Sort {
	for i := len(h.did) - 1; i >= 0; i-- {
		if d := h.did[i]; frame > d.from && frame <= d.to {
			return d.sort
		}
	}
	return ear.Talk
}

// heardLate is by how many frames hearing lags: what is done in a take is marked when it
// has come to be recorded.
const heardLate = Rate / 2

// hearMarks hears what the marks of the take say that began at a frame.
func (h *hearing) hearMarks(start int64, marks []ui.Mark) {
	h.start = start
	for ; h.marks < len(marks); h.marks++ {
		h.note(marks[h.marks].Text, start+int64(marks[h.marks].At*Rate))
	}
}

// hear hears the tenths that ended by a frame; those that ended after start are a take's.
// What is only repeated tells nothing.
func (h *hearing) hear(t *Tenths, start, to int64, repeats bool) {
	for h.seen = max(h.seen, t.n-viewTenths); h.seen < t.n; h.seen++ {
		w := &t.ring[h.seen%viewTenths]
		if w.Frame > to {
			break
		}
		if w.Frame <= h.from || w.Frame > h.until || repeats {
			continue
		}
		who := &h.check
		if w.Frame > start {
			who = &h.takes
		}
		n, m := who.Utterances(), who.Laughs()
		who.Add(w.Window, h.sort(w.Frame))
		if who.Utterances() != n || who.Laughs() != m {
			h.rev++
		}
	}
}
