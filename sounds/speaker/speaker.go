//go:build js || window

package speaker

import (
	"errors"
	"fmt"
	"runtime"
	"sync"
	"sync/atomic"
	"time"

	"github.com/faiface/beep"
	beepspeaker "github.com/faiface/beep/speaker"

	"gainwright/sounds"
	"gainwright/sounds/codec"
)

// Buffer is a buffer in frames that does not break off on common machines. On
// the desktop a setting is heard up to four buffers later: beep and the library
// under it hold one each, the system two.
func Buffer() int {
	switch runtime.GOOS {
	case "js":
		return 1024 // of little account: see worklet.js
	case "windows":
		return 1024 // the system's interface there is an old one
	}
	return 576
}

// device is the one sound card.
type device struct {
	rate   int
	buffer int
	stall  time.Duration
	ahead  time.Duration // how far pulls may run ahead of the clock

	src     atomic.Pointer[source]
	err     atomic.Pointer[error]
	closed  atomic.Bool
	worklet atomic.Pointer[worklet] // the browser's, once it is open
	plain   atomic.Bool             // the browser has none

	// What follows is written by the puller.
	began  time.Time
	given  int64 // frames since began
	run    int64 // frames asked for without stopping
	runs   atomic.Int64
	pulled atomic.Int64 // time of the last pull, ns
}

type source struct{ beep.Streamer }

var (
	mu  sync.Mutex
	the *device
)

// Open opens the sound card at a rate in Hz with a buffer in frames
// (Buffer if 0). Call it as early as possible, and go on without sound
// if it fails.
//
// On the desktop it returns an error where there is no device. In the browser
// it returns at once, since the page's own loop has to run for the device to
// open, and may be called from a callback; a failure shows in Err, and Running
// is false until the user has clicked, touched or pressed a key.
//
// Opening again gives the same device; at another rate it is an error.
func Open(rate, bufferFrames int) (sounds.Device, error) {
	if rate < codec.MinRate || rate > codec.MaxRate {
		return nil, fmt.Errorf("a sound device at %d Hz is not opened: %d to %d Hz are", rate, codec.MinRate, codec.MaxRate)
	}
	if bufferFrames <= 0 {
		bufferFrames = Buffer()
	}
	mu.Lock()
	defer mu.Unlock()
	if the != nil && the.Err() == nil {
		if the.rate != rate {
			return nil, fmt.Errorf("the sound device is already open at %d Hz", the.rate)
		}
		the.closed.Store(false)
		return the, nil
	}
	buf := time.Duration(bufferFrames) * time.Second / time.Duration(rate)
	d := &device{rate: rate, buffer: bufferFrames, stall: max(250*time.Millisecond, 4*buf), ahead: 500*time.Millisecond + 4*buf}
	if runtime.GOOS == "js" {
		the = d
		afterPicture(func() { go d.init() })
		return d, nil
	}
	d.init()
	if err := d.Err(); err != nil {
		return nil, err
	}
	the = d
	return d, nil
}

// init starts the sound. In the browser it waits for promises.
func (d *device) init() {
	if err := d.start(); err != nil {
		// The innermost message is the driver's.
		for e := err; e != nil; e = errors.Unwrap(e) {
			err = e
		}
		err = fmt.Errorf("no sound device: %w", err)
		d.err.Store(&err)
	}
}

// startBeep plays through beep's speaker.
func (d *device) startBeep() (err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("%v", p)
		}
	}()
	if err := beepspeaker.Init(beep.SampleRate(d.rate), d.buffer); err != nil {
		return err
	}
	beepspeaker.Play(d)
	return nil
}

// Start hands the device the streamer it shall pull from now on. It never
// waits. A streamer that ends is followed by silence.
func (d *device) Start(s beep.Streamer) error {
	if err := d.Err(); err != nil {
		return err
	}
	if d.closed.Load() {
		return errors.New("the sound device is closed")
	}
	d.src.Store(&source{s})
	return nil
}

// Close falls silent.
func (d *device) Close() error {
	d.closed.Store(true)
	d.src.Store(nil)
	return nil
}

func (d *device) Rate() int { return d.rate }

// BufferFrames is the buffer beep uses, for sounds.NewPull.
func (d *device) BufferFrames() int { return d.buffer }

func (d *device) Err() error {
	if e := d.err.Load(); e != nil {
		return *e
	}
	return nil
}

// Running reports whether the device has taken more than its first buffers and
// goes on taking.
func (d *device) Running() bool {
	return d.runs.Load() > 2*int64(d.buffer) && time.Now().UnixNano()-d.pulled.Load() < int64(d.stall)
}

// Stream is called by beep's speaker.
func (d *device) Stream(buf [][2]float64) (int, bool) {
	d.count(d.pace(time.Now()), len(buf))
	d.fill(buf)
	return len(buf), true
}

// fill takes what the streamer gives, and silence after it.
func (d *device) fill(buf [][2]float64) {
	n := 0
	if s := d.src.Load(); s != nil {
		for n < len(buf) {
			k, ok := s.Stream(buf[n:])
			n += k
			if !ok || k == 0 {
				d.src.CompareAndSwap(s, nil)
				break
			}
		}
	}
	clear(buf[n:])
}

// pace keeps a device that takes samples faster than time passes from running
// away: one that was unplugged (beep ignores the error and asks again at once)
// and ALSA's null device.
func (d *device) pace(now time.Time) time.Time {
	due := time.Duration(float64(d.given) / float64(d.rate) * float64(time.Second))
	if lead := due - now.Sub(d.began); lead < 0 || d.began.IsZero() {
		d.began, d.given = now, 0
	} else if lead > d.ahead {
		time.Sleep(lead - d.ahead)
		now = time.Now()
	}
	return now
}

// count keeps count of what the device asks for.
func (d *device) count(now time.Time, frames int) {
	if last := d.pulled.Load(); d.run > 0 && now.UnixNano()-last > int64(d.stall) {
		d.run = 0
	}
	d.given += int64(frames)
	d.run += int64(frames)
	d.runs.Store(d.run)
	d.pulled.Store(now.UnixNano())
}
