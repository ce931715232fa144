package bench

import (
	"sync/atomic"

	"gainwright/sounds"
)

// outletFade is the share of the way that a change of what is heard goes each
// sample: a time constant of 5 ms, as the bench's own.
const outletFade = gainRamp

// Outlet is what the monitor hears: the bench, or the player of the scene shown
// instead. While another is heard the bench stands still, unless it records.
// Stream is for the one clock that pulls, everything else for the screen's
// goroutine.
type Outlet struct {
	s    *Session
	want atomic.Pointer[sounds.Player]
	// The clock's side.
	now          *sounds.Player
	bench, other float64 // how much of each is heard, 0 to 1
	buf          [sessionBlock][2]float64
}

// NewOutlet hears the bench s.
func NewOutlet(s *Session) *Outlet { return &Outlet{s: s, bench: 1} }

// Hear makes p heard instead of the bench; nil is the bench again, and pauses
// whatever was heard.
func (o *Outlet) Hear(p *sounds.Player) {
	if old := o.want.Swap(p); old != nil && old != p {
		old.Pause()
	}
}

// BenchMoves reports whether the bench's picture changes by itself.
func (o *Outlet) BenchMoves() bool {
	m := o.s.Mode()
	return m == ModeRecord || o.want.Load() == nil && (m == ModeCheck || o.s.Playing())
}

// Err is always nil.
func (o *Outlet) Err() error { return nil }

// Stream fills buf; it never ends.
func (o *Outlet) Stream(buf [][2]float64) (int, bool) {
	want := o.want.Load()
	if want == nil && o.bench == 1 {
		return o.s.Stream(buf)
	}
	for n := 0; n < len(buf); {
		m := min(len(o.buf), len(buf)-n)
		o.mix(buf[n:n+m], want)
		n += m
	}
	return len(buf), true
}

func (o *Outlet) mix(out [][2]float64, want *sounds.Player) {
	if o.other == 0 {
		o.now = want
	}
	toBench, toOther := 0.0, 0.0
	if want == nil {
		toBench = 1
	}
	if o.now == want && want != nil {
		toOther = 1
	}
	if toBench != 0 || o.bench != 0 || o.s.view.Mode == ModeRecord {
		o.s.Stream(out)
	} else {
		clear(out)
	}
	if o.now != nil {
		o.now.Stream(o.buf[:len(out)])
	} else {
		clear(o.buf[:len(out)])
	}
	for i := range out {
		o.bench = glide(o.bench, toBench)
		o.other = glide(o.other, toOther)
		x := out[i][0]*o.bench + o.buf[i][0]*o.other
		out[i] = [2]float64{x, x}
	}
}

// glide moves v towards to and arrives in the end.
func glide(v, to float64) float64 {
	v += (to - v) * outletFade
	if d := to - v; d < 1e-6 && d > -1e-6 {
		return to
	}
	return v
}
