package sounds

import (
	"sync"
	"sync/atomic"
	"time"

	"gainwright/sounds/codec"

	"github.com/faiface/beep"
)

// Clock is what advances the signal.
type Clock int32

const (
	ClockTick   Clock = iota // the screen's tick: no device, or it does not pull
	ClockDevice              // the sound device
	ClockLoop                // a loop in a test or an offline run
)

func (c Clock) String() string {
	return [...]string{"tick", "device", "loop"}[c]
}

// A Pull stands between a streamer and the clocks that could advance it, and
// sees to it that exactly one does.
//
// The device owns the signal as long as it really pulls: it must have asked for
// more than two of its buffers, and have asked again lately. Until then it gets
// silence and the tick advances the signal, so that meters move without sound.
// (In a browser, before the user has touched anything, a device takes one buffer
// and then stalls.) If the device stops asking, the tick takes over again. The
// first call of Loop takes the signal from both, until Release.
//
// A mutex guards the pull. It is uncontended while only one clock runs.
type Pull struct {
	mu     sync.Mutex
	src    beep.Streamer
	rate   int
	buffer int
	stall  time.Duration // without a pull for so long, the device has stopped
	late   time.Duration // a longer gap between pulls must have been heard
	now    func() time.Time

	owner   atomic.Int32
	looping bool
	lastAt  time.Time // of the device's last pull
	run     int64     // frames it has asked for without stopping
	ended   bool
	bin     [512][2]float64

	frames  atomic.Int64
	byTick  atomic.Int64
	silence atomic.Int64
	lates   atomic.Int64
	load    atomic.Uint64
	busy    atomic.Int64 // ns
	pulled  atomic.Int64 // time of the device's last pull, ns
}

// PullStats are counters since the start, and the load.
type PullStats struct {
	Frames        int64 // frames of the signal, whoever pulled them
	TickFrames    int64 // of these, pulled by the tick
	SilenceFrames int64 // given to the device while it did not own the signal
	Late          int64 // pauses between device pulls that its buffer cannot have bridged
	// Load is the longest a pull took since the last call of Stats, as a part of
	// the time it makes sound for: at 1 sound breaks off.
	Load float64
	// Busy is how long all pulls have taken.
	Busy time.Duration
}

// NewPull prepares src, which runs at rate Hz, for a device with a buffer of
// bufferFrames.
func NewPull(src beep.Streamer, rate, bufferFrames int) *Pull {
	if rate < codec.MinRate || rate > codec.MaxRate || bufferFrames < 1 {
		panic("sounds: NewPull: rate or buffer out of range")
	}
	buf := time.Duration(bufferFrames) * time.Second / time.Duration(rate)
	return &Pull{
		src: src, rate: rate, buffer: bufferFrames, now: time.Now,
		stall: max(250*time.Millisecond, 4*buf),
		// One buffer in beep's hands and one in the driver's.
		late: 2*buf + 5*time.Millisecond,
	}
}

// Owner is the clock that advances the signal now.
func (p *Pull) Owner() Clock { return Clock(p.owner.Load()) }

// Running reports whether the device goes on pulling.
func (p *Pull) Running() bool {
	return p.Owner() == ClockDevice && p.now().UnixNano()-p.pulled.Load() < int64(p.stall)
}

// Stats returns the counters.
func (p *Pull) Stats() PullStats {
	return PullStats{
		Frames: p.frames.Load(), TickFrames: p.byTick.Load(), SilenceFrames: p.silence.Load(),
		Late: p.lates.Load(), Load: float64(p.load.Swap(0)) / 1e6,
		Busy: time.Duration(p.busy.Load()),
	}
}

// Err is the source's.
func (p *Pull) Err() error { return p.src.Err() }

// Stream is the device's clock. It never ends: when the source has, or when
// another clock owns it, silence comes.
func (p *Pull) Stream(buf [][2]float64) (int, bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	t := p.now()
	gap := t.Sub(p.lastAt)
	if p.run > 0 && gap > p.stall {
		p.run = 0
	}
	if p.run > 0 && gap > p.late {
		p.lates.Add(1)
	}
	p.run += int64(len(buf))
	p.lastAt = t
	p.pulled.Store(t.UnixNano())
	if p.looping || p.run <= 2*int64(p.buffer) {
		clear(buf)
		p.silence.Add(int64(len(buf)))
		return len(buf), true
	}
	p.owner.Store(int32(ClockDevice))
	n := p.fill(buf)
	clear(buf[n:])
	p.frames.Add(int64(n))
	d := p.now().Sub(t)
	p.busy.Add(int64(d))
	if len(buf) > 0 {
		storeMaxInt(&p.load, uint64(d.Seconds()*float64(p.rate)/float64(len(buf))*1e6))
	}
	return len(buf), true
}

func storeMaxInt(a *atomic.Uint64, v uint64) {
	for {
		old := a.Load()
		if v <= old || a.CompareAndSwap(old, v) {
			return
		}
	}
}

// Tick is the screen's clock: it advances the signal by that many frames,
// unheard, if no device is pulling, and returns how many it did. Call it with
// the frames that have become due, whether there is a device or not.
func (p *Pull) Tick(frames int) int {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.looping {
		return 0
	}
	if p.Owner() == ClockDevice {
		if p.now().Sub(p.lastAt) <= p.stall {
			return 0
		}
		p.run = 0
	}
	p.owner.Store(int32(ClockTick))
	t := p.now()
	done := 0
	for done < frames {
		n := p.fill(p.bin[:min(len(p.bin), frames-done)])
		if n == 0 {
			break
		}
		done += n
	}
	p.frames.Add(int64(done))
	p.byTick.Add(int64(done))
	p.busy.Add(int64(p.now().Sub(t)))
	return done
}

// Loop is the clock of tests and offline runs: it pulls as fast as it is called.
// It follows the beep.Streamer contract.
func (p *Pull) Loop(buf [][2]float64) (int, bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.looping = true
	p.owner.Store(int32(ClockLoop))
	n := p.fill(buf)
	p.frames.Add(int64(n))
	return n, n > 0 || len(buf) == 0 && !p.ended
}

// Release gives the signal back after Loop.
func (p *Pull) Release() {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.looping = false
	p.run = 0
	p.owner.Store(int32(ClockTick))
}

// fill pulls until buf is full or the source ends.
func (p *Pull) fill(buf [][2]float64) int {
	n := 0
	for n < len(buf) && !p.ended {
		k, ok := p.src.Stream(buf[n:])
		n += k
		p.ended = !ok || k == 0
	}
	return n
}
