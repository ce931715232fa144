package microphone

import (
	"math"
	"time"

	"gainwright/sounds"
)

// How far and how fast Pull leaves the pitch as it was: millionths, and millionths a second.
const (
	MostPPM   = 500
	MostGlide = 25
)

const (
	// idle is after how long without a Pull the next one begins anew.
	idle = 500 * time.Millisecond
	// What shall be in store, in seconds: at first, and between which bounds. A page that
	// makes pictures hears for so long neither what came nor what is asked for.
	cushionStart, cushionLeast, cushionMost = 0.06, 0.02, 0.3
	reserve                                 = 0.012 // of it, what shall never be needed
	stuck                                   = 0.05  // so much more for a second is dropped
	// The control of the ratio, critically damped: what is too much is used up as with this
	// time constant, after it was averaged over smooth; in seconds.
	settle, smooth = 20.0, 4.0
	// How often the store is looked at, in seconds, and how many looks are remembered.
	look, looks = 1.0, 64
)

// puller is what Pull knows.
type puller struct {
	convert *sounds.Resampler
	seam    seam
	at      int64   // next frame that the resampler takes
	from    int64   // frame at which it was begun
	given   float64 // frames that were used up since
	began   bool
	waiting bool // for enough to be in store
	ran     bool // it has given sound since who pulls began: what is missing is lost
	last    time.Duration
	short   time.Duration // when it last ran short, if it did
	shorted bool

	cushion, reserve float64
	err              float64 // s too much in store, averaged
	drift, ppm       float64 // the control's integral, and the pace

	low    float64 // least in store in this look, s
	since  float64 // s since it began
	lows   [looks]float64
	looked int
}

func (p *puller) init(rate int) {
	p.convert = sounds.NewPaced(rate, Session, 1, sounds.Standard)
	p.cushion = cushionStart
	p.reserve = reserve + 80/float64(min(rate, Session)) // the filter's reach
	p.low = math.Inf(1)
}

// store is how much is there and was not used up, in seconds.
func (in *Input) store() float64 {
	return (float64(in.total-in.pull.from) - in.pull.given) / float64(in.rate)
}

// Pull gives exactly len(dst) samples, full scale ±1, at 48 kHz of the clock of who pulls. Where
// too little came it is a break: the last sample fades, silence follows, and when enough is
// there again the sound comes in.
func (in *Input) Pull(dst []float64) {
	p := &in.pull
	now := in.now()
	if !p.began || now-p.last > idle {
		p.restart(in, 0)
		p.ran = false
	}
	p.last = now
	if p.waiting && float64(in.total-p.at) >= p.cushion*float64(in.rate) {
		p.restart(in, p.cushion)
	}
	if !p.waiting {
		late := min((now - in.came).Seconds(), cushionMost)
		p.control(in.store()+late-p.cushion, float64(len(dst))/Session)
	}
	n := 0
	for !p.waiting && n < len(dst) {
		if in.take(p.at) == 0 {
			p.shortage(in)
			break
		}
		in.dst[0] = dst[n:]
		put, took := p.convert.Process(in.dst, in.src)
		p.at += int64(took)
		p.given += float64(put) * float64(in.rate) / Session * (1 + p.ppm*1e-6)
		for i := range put {
			dst[n+i] = p.seam.give(dst[n+i])
		}
		n += put
	}
	if n < len(dst) && p.ran && !in.ended {
		in.lost += float64(len(dst)-n) / Session
	}
	for i := n; i < len(dst); i++ {
		dst[i] = p.seam.silence()
	}
	if !p.waiting {
		p.watch(in, float64(len(dst))/Session)
	}
}

// restart begins so many seconds before the newest frame; with 0 it waits for that.
func (p *puller) restart(in *Input, s float64) {
	p.began, p.waiting = true, s == 0
	p.ran = p.ran || s > 0
	p.at = max(0, in.total-int64(s*float64(in.rate)))
	p.from, p.given = p.at, 0
	p.err, p.low, p.since = 0, math.Inf(1), 0
	p.seam.open()
	p.convert.Reset()
}

// shortage is that nothing is left.
func (p *puller) shortage(in *Input) {
	if !in.ended {
		in.breaks++
		p.short, p.shorted = p.last, true
	}
	p.waiting = true
	p.cushion = min(cushionMost, p.cushion+0.01)
	p.seam.open()
}

// told reports that a halt of what comes, which is seen some seconds after it, was counted as
// a shortage.
func (p *puller) told(now time.Duration) bool { return p.shorted && now-p.short < 3*time.Second }

// control sets the ratio after a look at what is in store, s too much, which held for dt.
func (p *puller) control(s, dt float64) {
	p.err += (s - p.err) * min(1, dt/smooth)
	want := p.err*1e6/settle + p.drift
	if math.Abs(want) < MostPPM || want*p.err < 0 {
		p.drift += p.err * 1e6 / (4 * settle * settle) * dt
		p.drift = max(-MostPPM, min(MostPPM, p.drift))
	}
	want = max(-MostPPM, min(MostPPM, want))
	p.ppm += max(-MostGlide*dt, min(MostGlide*dt, want-p.ppm))
	p.convert.Pace(p.ppm)
}

// watch sets what shall be in store by what was needed of it.
func (p *puller) watch(in *Input, dt float64) {
	p.low = min(p.low, in.store())
	if p.since += dt; p.since < look {
		return
	}
	low := p.low
	p.low, p.since = math.Inf(1), 0
	switch {
	case low > p.cushion+stuck:
		// The page was held up, and what pulls did not ask for what it missed.
		in.lose((low-p.cushion)*float64(in.rate), in.rate)
		p.restart(in, in.store()-(low-p.cushion))
		return
	case low < p.reserve:
		p.cushion = min(cushionMost, p.cushion+p.reserve-low)
	}
	p.lows[p.looked%looks] = low
	if p.looked++; p.looked%looks == 0 {
		least := math.Inf(1)
		for _, l := range p.lows {
			least = min(least, l)
		}
		if spare := least - p.reserve - 0.01; spare > 0 {
			p.cushion = max(cushionLeast, p.cushion-min(spare/2, 0.004))
		}
	}
}

// DriftPPM is by how much the input's clock is ahead of that of who pulls, as absorbed so far.
func (in *Input) DriftPPM() float64 { return in.pull.drift }
