package microphone

import (
	"math"
	"time"

	"gainwright/sounds"
)

// Session is the rate at which an Input gives, Hz.
const Session = 48000

const (
	// StoreS is for how long, in seconds, an Input keeps what nobody reads: a page that is
	// not looked at reads nothing.
	StoreS = 30
	// quantum is in what pieces browsers make sound, frames.
	quantum = 128
	piece   = 64 // frames that a resampler is given at a time
)

// Input is the way from a sound input to the session. One goroutine at a time may use it. But
// for New it allocates nothing.
type Input struct {
	rate  int
	now   func() time.Duration
	ring  []float32 // of the device's frames; frame k is at k modulo its length
	total int64     // frames that came
	came  time.Duration
	block int // frames of the last block

	seam  seam // where frames are missing in what came
	quiet int  // zeros at the end of what came

	read struct {
		at      int64
		began   bool
		convert *sounds.Resampler
		seam    seam
	}
	pull puller

	pace   steady
	breaks int64
	lost   float64 // s
	ended  bool

	piece    [piece]float64
	src, dst [][]float64
}

// New makes an Input of a device's rate in Hz, which is at least 1000; now is any steady
// clock.
func New(rate int, now func() time.Duration) *Input {
	in := &Input{rate: rate, now: now, ring: make([]float32, StoreS*rate), src: make([][]float64, 1), dst: make([][]float64, 1)}
	in.read.convert = sounds.NewResampler(rate, Session, 1, sounds.Steep)
	in.read.seam.gain = 1
	in.seam.gain = 1
	in.pull.init(rate)
	return in
}

// seam joins what does not belong together: the last sample fades out within some 5 ms, and
// what follows comes in within 5.
type seam struct{ last, tail, gain float64 }

const (
	fall = 0.98
	rise = 1.0 / 240
)

func (s *seam) open() { s.tail, s.gain = s.last, 0 }

// whole reports that there is nothing to join.
func (s *seam) whole() bool { return s.gain == 1 && s.tail == 0 }

func (s *seam) give(v float64) float64 {
	if !s.whole() {
		s.gain = min(1, s.gain+rise)
		s.tail *= fall
		if s.tail < 1e-9 && s.tail > -1e-9 {
			s.tail = 0
		}
		v = v*s.gain + s.tail
	}
	s.last = v
	return v
}

// silence is what there is where nothing is.
func (s *seam) silence() float64 {
	s.tail *= fall
	s.last = s.tail
	return s.tail
}

func (in *Input) lose(frames float64, rate int) {
	in.breaks++
	in.lost += frames / float64(rate)
}

// Push takes a block that came; frame is the number of its first frame since the device
// was opened, and a multiple of 128 where a browser counts. Frames that are missing are
// counted as a break and stand as silence, so that time goes on. Whole pieces of a browser
// (128 frames, or 10 ms) of nothing but zeros amid sound, which no room makes, are counted too; and that
// what brings the sound stood still, as where a processor is too busy: a browser's queue may
// then have dropped what it could not hold.
func (in *Input) Push(frame int64, samples []float32) {
	if gap := frame - in.total; gap > 0 {
		in.lose(float64(gap), in.rate)
		in.seam.open()
		in.quiet = 0
		if most := int64(len(in.ring)); gap > most {
			in.total += gap - most
			gap = most
		}
		for range gap {
			in.put(float32(in.seam.silence()))
		}
	}
	for _, v := range samples {
		in.hole(v)
		in.put(float32(in.seam.give(float64(v))))
	}
	in.came, in.block = in.now(), len(samples)
	if stood := in.pace.look(in.came.Seconds(), float64(in.total)/float64(in.rate)); stood > 0 && !in.pull.told(in.came) {
		in.lose(stood, 1)
	}
}

// steady finds that what brings the sound stood still: from then on everything comes later by
// that. A message may come late, since the page was held up, so it goes by the promptest
// of each second.
type steady struct {
	began  bool
	since  float64 // when this second began
	prompt float64 // least lateness in it
	last   float64 // and in the one before
	late   float64 // by how much it is later than it was, s
}

const (
	stoodStill = 0.02   // s; less a browser's own queue absorbs
	slower     = 0.0005 // and so much a second may be the clock's
)

// look takes that sound up to s came at now, both in seconds, and gives how long it stood
// still, or 0.
func (d *steady) look(now, s float64) (stood float64) {
	lateness := now - s
	switch {
	case !d.began:
		*d = steady{began: true, since: now, prompt: lateness, last: math.Inf(1)}
	case now < d.since+1:
		d.prompt = min(d.prompt, lateness)
	default:
		if step := d.prompt - d.last; !math.IsInf(d.last, 1) {
			d.late = max(0, d.late+step-slower*(now-d.since))
		}
		d.last, d.since, d.prompt = d.prompt, now, lateness
		if d.late > stoodStill {
			stood, d.late = d.late, 0
		}
	}
	return stood
}

func (in *Input) put(v float32) {
	in.ring[in.total%int64(len(in.ring))] = v
	in.total++
}

// hole takes the next sample that came, and counts a hole that ends before it: a run of zeros,
// of up to a second, that is so many of a browser's pieces, or of its blocks of 10 ms, to the
// frame.
func (in *Input) hole(v float32) {
	if v == 0 {
		in.quiet++
		return
	}
	n := in.quiet
	in.quiet = 0
	if n < quantum || n > in.rate || n == int(in.total) {
		return
	}
	if begun := in.total - int64(n); n%quantum == 0 && begun%quantum == 0 || n%(in.rate/100) == 0 {
		in.lose(float64(n), in.rate)
	}
}

// take puts the next frames from at into the piece, as many as there are and fit.
func (in *Input) take(at int64) int {
	n := int(min(piece, in.total-at))
	for i := range n {
		in.piece[i] = float64(in.ring[(at+int64(i))%int64(len(in.ring))])
	}
	in.src[0] = in.piece[:n]
	return n
}

// Read gives what came since the last Read, full scale ±1, at 48 kHz of the input's clock, at
// most len(dst) frames, and how many. What is not read for StoreS is dropped; once
// something was read that is a break.
func (in *Input) Read(dst []float64) (n int) {
	r := &in.read
	if lag := in.total - r.at - int64(len(in.ring)); lag > 0 {
		if r.began {
			in.lose(float64(lag), in.rate)
			r.seam.open()
			r.convert.Reset()
		}
		r.at += lag
	}
	r.began = true
	for n < len(dst) && in.take(r.at) > 0 {
		in.dst[0] = dst[n:]
		put, took := r.convert.Process(in.dst, in.src)
		r.at += int64(took)
		for i := range put {
			dst[n+i] = r.seam.give(dst[n+i])
		}
		n += put
	}
	return n
}

// Faults are the breaks so far, in what came, what was read and what was pulled, and how long
// they were in all, in seconds.
func (in *Input) Faults() (breaks int64, lostS float64) { return in.breaks, in.lost }

// End tells that nothing more comes: what is left can be read and pulled, and that it runs
// out is no break.
func (in *Input) End() { in.ended = true }

// LatencyS is how long what comes waits here before it is read, in seconds, or, while somebody
// pulls, before it is pulled.
func (in *Input) LatencyS() float64 {
	s := float64(in.block) / float64(in.rate)
	if in.pull.began && in.now()-in.pull.last < idle {
		s = in.pull.cushion
	}
	return s
}
