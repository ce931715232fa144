package scenes

import (
	"math"
	"slices"
	"strings"
	"sync/atomic"

	"gainwright/scenes/ui"
	"gainwright/sim"
	"gainwright/sim/meter"
)

const (
	// Rate is the sample rate of a session, Hz.
	Rate = 48000
	// MaxTakeSeconds is the longest take.
	MaxTakeSeconds = 180

	chunkFrames = 1 << 15
	maxFrames   = MaxTakeSeconds * Rate
	maxChunks   = (maxFrames + chunkFrames - 1) / chunkFrames
	binFrames   = 240
	maxBins     = maxFrames/binFrames + 1
)

// half is the upper half of a float32: sign, exponent and 7 bits, enough to
// draw a wave, half the memory.
type half uint16

func toHalf(v float64) half    { return half((math.Float32bits(float32(v)) + 0x8000) >> 16) }
func (h half) float() float32  { return math.Float32frombits(uint32(h) << 16) }
func clamp1(v float32) float32 { return min(max(v, -1), 1) }

// chunk is a stretch of a take: the performance (Pa at 1 m) and the files, in
// step, and for drawing, full scale = 1, what there was to be recorded, what the
// converter was asked for and what it gave.
type chunk struct {
	talker [chunkFrames]float32
	file   [2][chunkFrames]float32
	wave   [2]struct{ truth, demand, conv [chunkFrames]half }
}

// bin is the outline of binFrames samples.
type bin struct {
	lo, hi [2]float32 // of the files
	talker float32    // peak, Pa
	over   [2]bool
}

// GainChange is a turn of a gain knob while recording.
type GainChange struct {
	Strip  int
	Frame  int64
	GainDB float64
}

// Take is one recording: the performance, and what both strips made of it. The
// clock that records writes samples and outline; everything else belongs to
// the goroutine of the screen.
type Take struct {
	Number  int
	Chain   [2]sim.Chain // at the start
	Changes []GainChange
	Marks   []ui.Mark
	// Set once the take is finished.
	Done     bool
	Readings [2]sim.Readings
	Overs    [2][]sim.Span
	Levels   [2][sim.NumStations]sim.StationLevel
	// SpokenLUFS is the loudness of the performance itself, pressure taken as
	// full scale at 1 Pa.
	SpokenLUFS float64
	// File are the strips' files and Spoken the performance (Pa at 1 m).
	File   [2][]float32
	Spoken []float32
	// Loudest is the frame of the loudest moment.
	Loudest int64
	// Full tells that the take ended because it was as long as a take can be.
	Full bool

	chunks  [maxChunks]atomic.Pointer[chunk]
	frames  atomic.Int64
	full    atomic.Bool // no more can be recorded
	limit   int64
	skip    int // samples that go by before the first one kept
	bins    []bin
	readout [2]*sim.Readout
	spoken  *meter.Loudness
	loudest float64
	end     [2]sim.Chain // settings at the end
}

func newTake(number int) (*Take, error) {
	t := &Take{Number: number, bins: make([]bin, maxBins), limit: maxFrames}
	for i := range t.readout {
		r, err := sim.NewReadout(Rate)
		if err != nil {
			return nil, err
		}
		t.readout[i] = r
	}
	var err error
	t.spoken, err = meter.NewLoudness(Rate, 1)
	return t, err
}

// Frames is how many samples there are so far.
func (t *Take) Frames() int64 { return t.frames.Load() }

// Seconds is how long it is so far.
func (t *Take) Seconds() float64 { return float64(t.Frames()) / Rate }

// ready makes sure that there is memory for the next second; spare gives
// chunks of a take that is gone.
func (t *Take) ready(spare *[]*chunk) {
	at := int(t.frames.Load() / chunkFrames)
	for i := at; i <= at+2 && i < maxChunks; i++ {
		if t.chunks[i].Load() != nil {
			continue
		}
		var c *chunk
		if n := len(*spare); n > 0 {
			c = (*spare)[n-1]
			*spare = (*spare)[:n-1]
		} else {
			c = new(chunk)
		}
		t.chunks[i].Store(c)
	}
}

// release gives the memory back.
func (t *Take) release(spare *[]*chunk) {
	for i := range t.chunks {
		if c := t.chunks[i].Swap(nil); c != nil {
			*spare = append(*spare, c)
		}
	}
}

// record appends a block; the clock's goroutine calls it. It reports false when
// there is no room.
func (t *Take) record(taps, cut *[2]*sim.Taps) bool {
	start := t.frames.Load()
	n := int(min(int64(taps[0].Len()), t.limit-start))
	if n <= 0 {
		t.full.Store(true)
		return false
	}
	if n < taps[0].Len() {
		for s := range taps {
			*cut[s] = taps[s].Slice(0, n)
		}
		taps = cut
	}
	pressure := taps[0].Wave[sim.AtTalker]
	for i := 0; i < n; {
		f := start + int64(i)
		c := t.chunks[f/chunkFrames].Load()
		if c == nil {
			t.full.Store(true)
			return false
		}
		o := int(f % chunkFrames)
		m := min(n-i, chunkFrames-o)
		for k := range m {
			c.talker[o+k] = float32(pressure[i+k])
		}
		for s := range c.file {
			tr, tp := &c.wave[s], taps[s]
			file, tru, dem, conv := tp.Wave[sim.AtFile], tp.True, tp.Demand, tp.Wave[sim.AtConverter]
			for k := range m {
				j := i + k
				c.file[s][o+k] = float32(file[j])
				tr.truth[o+k] = toHalf(tru[j])
				tr.demand[o+k] = toHalf(dem[j])
				tr.conv[o+k] = toHalf(conv[j])
			}
		}
		i += m
	}
	for i := range n {
		f := start + int64(i)
		b := &t.bins[f/binFrames]
		p := math.Abs(pressure[i])
		b.talker = max(b.talker, float32(p))
		if p > t.loudest {
			t.loudest, t.Loudest = p, f
		}
		for s := range taps {
			v := float32(taps[s].Wave[sim.AtFile][i])
			b.lo[s], b.hi[s] = min(b.lo[s], v), max(b.hi[s], v)
			if d := taps[s].Demand[i]; d > taps[s].Ceiling || d < -taps[s].Ceiling {
				b.over[s] = true
			}
		}
	}
	for s := range taps {
		t.readout[s].Write(taps[s])
	}
	t.spoken.WriteMono(pressure)
	t.frames.Store(start + int64(n))
	return true
}

// mark notes an event in the take.
func (t *Take) mark(at float64, word string) {
	i := len(t.Marks)
	for i > 0 && t.Marks[i-1].At > at {
		i--
	}
	t.Marks = slices.Insert(t.Marks, i, ui.Mark{At: at, Text: word})
}

// markGain notes a turn of a strip's gain; turns that follow one another closely
// are one.
func (t *Take) markGain(strip int, db float64) {
	name := stripNames[strip] + " "
	at := t.Seconds()
	for i := len(t.Marks) - 1; i >= 0; i-- {
		if m := &t.Marks[i]; gainMark(*m) && m.Text[:2] == name && at-m.At < 1.5 {
			m.Text = name + ui.Decimal(db, 1) + " dB"
			return
		}
	}
	t.mark(at, name+ui.Decimal(db, 1)+" dB")
}

func gainMark(m ui.Mark) bool { return strings.HasSuffix(m.Text, " dB") }

// window fills w with what strip s did around frame center.
func (t *Take) window(w *Window, s int, center int64) {
	w.Start = center - WindowFrames/2
	n := t.frames.Load()
	tr := &w.Strip[s]
	for i := range WindowFrames {
		f := w.Start + int64(i)
		if f < 0 || f >= n {
			tr.Truth[i], tr.Demand[i], tr.Conv[i], tr.File[i] = 0, 0, 0, 0
			continue
		}
		c := t.chunks[f/chunkFrames].Load()
		if c == nil {
			continue
		}
		o := f % chunkFrames
		k := &c.wave[s]
		tr.Truth[i], tr.Demand[i], tr.Conv[i], tr.File[i] = k.truth[o].float(), k.demand[o].float(), k.conv[o].float(), c.file[s][o]
	}
}

// Outline gives the lowest and highest value of strip s's file between two
// times in seconds, and whether it went over there.
func (t *Take) Outline(s int, from, to float64) (lo, hi float32, over bool) {
	a := int(from * Rate / binFrames)
	b := int(math.Ceil(to * Rate / binFrames))
	end := int(t.frames.Load() / binFrames) // the last one may still be changing
	for i := max(a, 0); i < min(max(b, a+1), end); i++ {
		lo, hi = min(lo, t.bins[i].lo[s]), max(hi, t.bins[i].hi[s])
		over = over || t.bins[i].over[s]
	}
	return lo, hi, over
}

// overSpans appends where strip s went over, from bin first on, as seconds.
func (t *Take) overSpans(dst []ui.Span, s int, first int) ([]ui.Span, int) {
	end := int(t.frames.Load() / binFrames)
	for i := first; i < end; i++ {
		if !t.bins[i].over[s] {
			continue
		}
		from, to := float64(i)*binFrames/Rate, float64(i+1)*binFrames/Rate
		if n := len(dst); n > 0 && from-dst[n-1].To < 1e-6 {
			dst[n-1].To = to
		} else {
			dst = append(dst, ui.Span{From: from, To: to})
		}
	}
	return dst, max(first, end)
}

// finish reads the meters and puts the tracks together. Only when nobody records
// any more.
func (t *Take) finish() {
	t.Done = true
	for s, r := range t.readout {
		r.Settings(t.end[s])
		t.Readings[s] = r.Readings()
		t.Overs[s] = r.Overs()
		t.Levels[s] = r.Levels()
	}
	t.SpokenLUFS = t.spoken.Integrated()
	n := t.Frames()
	t.Full = n == maxFrames
	join := func(track func(*chunk) []float32) []float32 {
		x := make([]float32, n)
		for i := int64(0); i < n; i += chunkFrames {
			copy(x[i:], track(t.chunks[i/chunkFrames].Load()))
		}
		return x
	}
	for s := range t.File {
		t.File[s] = join(func(c *chunk) []float32 { return c.file[s][:] })
	}
	t.Spoken = join(func(c *chunk) []float32 { return c.talker[:] })
}

// WindowFrames is how many samples a Window shows: 60 ms.
const WindowFrames = 60 * Rate / 1000

// StripWindow is a few milliseconds of one strip, full scale = 1.
type StripWindow struct {
	Truth, Demand, Conv, File [WindowFrames]float32
}

// Window is the same few milliseconds of both strips.
type Window struct {
	Start int64 // frame of the first sample, counted as Valid's
	Strip [2]StripWindow
	Valid bool
}
