package sounds

import (
	"fmt"
	"sync"
	"time"

	"github.com/faiface/beep"
)

// Our stages have beep's shape.
var (
	_ beep.Streamer = (*Monitor)(nil)
	_ beep.Streamer = (*Player)(nil)
	_ beep.Streamer = (*Pull)(nil)
)

// An Output is where sound goes. Start hands it the streamer it shall pull,
// usually a Pull; a second Start replaces the first.
type Output interface {
	Start(beep.Streamer) error
	Rate() int // Hz
	Close() error
	Name() string
}

// A Device is an Output that pulls by a clock of its own.
type Device interface {
	Output
	// Running reports whether it really pulls. A device can be open and stalled:
	// in a browser until the user has touched the page.
	Running() bool
	// Err is why it does not work, or nil. In a browser opening goes on after
	// Open has returned, so that a failure shows here.
	Err() error
}

// A Queue is what a device holds that has been pulled and is not heard yet.
type Queue struct {
	Breaks  int64         // how often it ran empty while there should have been sound
	Lost    time.Duration // silence that came instead, in all
	Longest time.Duration // the longest of it
	Dropped time.Duration // sound that came too much at once to be kept
	Depth   int           // frames that are kept ready at present
	Low     int           // the fewest that were left lately
	Short   bool          // it was nearly empty within the last two seconds
}

// A Delayed is a Device that knows when what is changed is heard late; Late says why, "" if
// it is not.
type Delayed interface {
	Device
	Late() string
}

// A Queued is a Device that knows of its queue; ok is false while it does not.
type Queued interface {
	Device
	Queue() (q Queue, ok bool)
	// Breathe is called between pieces of longer work, for a device that can be
	// fed by the screen's goroutine only; with extra frames before work that takes
	// especially long. It takes no time where nothing is due.
	Breathe(extra int)
}

// Null is an Output without a device. It never pulls: Pull.Tick advances the
// signal.
type Null struct{ SampleRate int }

func (n Null) Start(beep.Streamer) error { return nil }

func (n Null) Rate() int { return n.SampleRate }

func (n Null) Close() error { return nil }

func (n Null) Name() string { return "no sound" }

// Capture is an Output for tests: Run pulls as a device would and keeps what it
// got.
type Capture struct {
	SampleRate int
	mu         sync.Mutex
	src        beep.Streamer
	got        [][2]float64
	closed     bool
}

func (c *Capture) Start(s beep.Streamer) error {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.closed {
		return fmt.Errorf("the output is closed")
	}
	c.src = s
	return nil
}

// Run pulls that many frames, at most 512 at a time as beep's speaker does, and
// returns how many came.
func (c *Capture) Run(frames int) int {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.src == nil || c.closed {
		return 0
	}
	done := 0
	var buf [512][2]float64
	for done < frames {
		n, ok := c.src.Stream(buf[:min(len(buf), frames-done)])
		c.got = append(c.got, buf[:n]...)
		done += n
		if !ok || n == 0 {
			break
		}
	}
	return done
}

// Samples are all frames so far.
func (c *Capture) Samples() [][2]float64 {
	c.mu.Lock()
	defer c.mu.Unlock()
	return append([][2]float64(nil), c.got...)
}

func (c *Capture) Rate() int { return c.SampleRate }

func (c *Capture) Name() string { return "capture" }

func (c *Capture) Close() error {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.closed = true
	return nil
}
