package bench

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
	// stallFrames is for how long a performance that is given goes on by itself.
	stallFrames = 12 * Rate
)

// half is the upper half of a float32: sign, exponent and 7 bits, enough to
// draw a wave, half the memory.
type half uint16

func toHalf(v float64) half { return half((math.Float32bits(float32(v)) + 0x8000) >> 16) }

func (h half) float() float32 { return math.Float32frombits(uint32(h) << 16) }

// chunk is a stretch of one track of a take: the file of a strip, or the
// performance (Pa at 1 m, truth and the rest unused); for drawing, full scale = 1,
// what there was to be recorded, what the converter was asked for and what it gave.
type chunk struct {
	file                [chunkFrames]float32
	truth, demand, conv [chunkFrames]half
}

// bin is the outline of binFrames samples.
type bin struct {
	lo, hi [numTaps]float32
	over   bool
}

// What is kept of each strip, in the order of the pictures.
const (
	TapTruth = iota
	TapDemand
	tapConv
	tapFile
	numTaps
)

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
	N       int                  // strips
	Chain   [MaxStrips]sim.Chain // at the start
	Changes []GainChange
	Marks   []ui.Mark
	// Set once the take is finished.
	Done     bool
	Readings [MaxStrips]sim.Readings
	Overs    [MaxStrips][]sim.Span
	Levels   [MaxStrips][sim.NumStations]sim.StationLevel
	// SpokenLUFS is the loudness of the performance itself, pressure taken as
	// full scale at 1 Pa.
	SpokenLUFS float64
	// File are the strips' files and Spoken the performance (Pa at 1 m).
	File   [MaxStrips][]float32
	Spoken []float32
	// Loudest is the frame of the loudest moment.
	Loudest int64
	// Full tells that the take ended because it was as long as a take can be.
	Full bool

	chunks  [MaxStrips][maxChunks]atomic.Pointer[chunk]
	talker  [maxChunks]atomic.Pointer[talkerChunk]
	frames  atomic.Int64
	full    atomic.Bool // no more can be recorded
	limit   int64
	skip    int // samples that go by before the first one kept
	bins    [MaxStrips][]bin
	readout [MaxStrips]*sim.Readout
	spoken  *meter.Loudness
	loudest float64
	End     [MaxStrips]sim.Chain // settings at the end
	perf    Performance
	given   *given // what is performed, where that is known; else nil
	changes []Change
	high    [MaxStrips]Loudest
	// ID tells this take from all others, also from those of the same number.
	ID int64
	// Quiet: it was made again beside what goes on.
	Quiet bool
	// Told is what was told of each strip before the take began.
	Told [MaxStrips]Told
}

var takeIDs atomic.Int64

type talkerChunk [chunkFrames]float32

func newTake(number, strips int) (*Take, error) {
	t := &Take{Number: number, N: strips, limit: maxFrames, ID: takeIDs.Add(1)}
	for i := range strips {
		r, err := sim.NewReadout(Rate)
		if err != nil {
			return nil, err
		}
		t.readout[i] = r
		t.bins[i] = make([]bin, maxBins)
	}
	var err error
	t.spoken, err = meter.NewLoudness(Rate, 1)
	return t, err
}

// Frames is how many samples there are so far.
func (t *Take) Frames() int64 { return t.frames.Load() }

// Seconds is how long it is so far.
func (t *Take) Seconds() float64 { return float64(t.Frames()) / Rate }

// ready makes sure that there is memory for what comes before it is called again; spare gives
// chunks of a take that is gone.
func (t *Take) ready(spare *[]*chunk) {
	at := int(t.frames.Load() / chunkFrames)
	// It goes on while the screen stands still.
	end := min(at+1+stallFrames/chunkFrames, int((t.limit+chunkFrames-1)/chunkFrames))
	for i := at; i < end; i++ {
		for s := range t.N {
			if t.chunks[s][i].Load() != nil {
				continue
			}
			var c *chunk
			if n := len(*spare); n > 0 {
				c = (*spare)[n-1]
				*spare = (*spare)[:n-1]
			} else {
				c = new(chunk)
			}
			t.chunks[s][i].Store(c)
		}
		if t.talker[i].Load() == nil {
			t.talker[i].Store(new(talkerChunk))
		}
	}
}

// release gives the memory back.
func (t *Take) release(spare *[]*chunk) {
	for s := range t.chunks {
		for i := range t.chunks[s] {
			if c := t.chunks[s][i].Swap(nil); c != nil {
				*spare = append(*spare, c)
			}
		}
	}
}

// record appends a block, whose peaks are pk; to takes each station's unit to the
// full scale of the file. The clock's goroutine calls it. It reports false when there
// is no room.
func (t *Take) record(taps, cut *[MaxStrips]*sim.Taps, pk *[MaxStrips]peaks, to *[MaxStrips][sim.NumStations]float64) bool {
	start := t.frames.Load()
	n := int(min(int64(taps[0].Len()), t.limit-start))
	if n <= 0 {
		t.full.Store(true)
		return false
	}
	if n < taps[0].Len() {
		for s := range t.N {
			*cut[s] = taps[s].Slice(0, n)
			pk[s].of(cut[s])
		}
		taps = cut
	}
	pressure := taps[0].Wave[sim.AtTalker]
	for i := 0; i < n; {
		f := start + int64(i)
		tc := t.talker[f/chunkFrames].Load()
		if tc == nil {
			t.full.Store(true)
			return false
		}
		o := int(f % chunkFrames)
		m := min(n-i, chunkFrames-o)
		for k := range m {
			tc[o+k] = float32(pressure[i+k])
		}
		for s := range t.N {
			c, tp := t.chunks[s][f/chunkFrames].Load(), taps[s]
			if c == nil {
				t.full.Store(true)
				return false
			}
			file, tru, dem, conv := tp.Wave[sim.AtFile], tp.True, tp.Demand, tp.Wave[sim.AtConverter]
			for k := range m {
				j := i + k
				c.file[o+k] = float32(file[j])
				c.truth[o+k] = toHalf(tru[j])
				c.demand[o+k] = toHalf(dem[j])
				c.conv[o+k] = toHalf(conv[j])
			}
		}
		i += m
	}
	for i, p := range pressure[:n] {
		if p < 0 {
			p = -p
		}
		if p > t.loudest {
			t.loudest, t.Loudest = p, start+int64(i)
		}
	}
	for s := range t.N {
		tp := taps[s]
		ceil := tp.Ceiling
		for tap, x := range [numTaps][]float64{tp.True, tp.Demand, tp.Wave[sim.AtConverter], tp.Wave[sim.AtFile]} {
			for i := 0; i < n; {
				f := start + int64(i)
				b := &t.bins[s][f/binFrames]
				m := min(n-i, binFrames-int(f%binFrames))
				lo, hi := 0.0, 0.0
				for _, v := range x[i : i+m] {
					lo, hi = min(lo, v), max(hi, v)
				}
				b.lo[tap], b.hi[tap] = min(b.lo[tap], float32(lo)), max(b.hi[tap], float32(hi))
				if tap == TapDemand && (hi > ceil || lo < -ceil) {
					b.over = true
				}
				i += m
			}
		}
		t.readout[s].Write(tp)
		t.high[s].add(&pk[s], &to[s])
	}
	t.spoken.WriteMono(pressure)
	t.frames.Store(start + int64(n))
	return true
}

// Mark notes an event in the take.
func (t *Take) Mark(at float64, word string) {
	i := len(t.Marks)
	for i > 0 && t.Marks[i-1].At > at {
		i--
	}
	t.Marks = slices.Insert(t.Marks, i, ui.Mark{At: at, Text: word})
}

// note marks what the talker did up to frame f, from entry next of what there is
// to do, and tells of leaning in and of coming back.
func (t *Take) note(next *int, f int64, lean func(at int64), back func()) {
	for *next < len(t.perf.Do) && t.perf.Do[*next].At <= f {
		d := t.perf.Do[*next]
		*next++
		t.Mark(float64(d.At)/Rate, eventWords[d.What])
		switch d.What {
		case "lean_in":
			lean(d.At)
		case "talk":
			back()
		}
	}
}

// change notes that a strip's settings were changed.
func (t *Take) change(strip int, old, now sim.Chain) {
	if now.Preamp.GainDB != old.Preamp.GainDB {
		t.Changes = append(t.Changes, GainChange{strip, t.Frames(), now.Preamp.GainDB})
		t.markGain(strip, now.Preamp.GainDB)
	}
	t.End[strip] = now
	if len(t.changes) < maxChanges {
		t.changes = append(t.changes, Change{t.Frames(), strip, now})
	}
}

// markGain notes a turn of a strip's gain; turns that follow one another closely
// are one.
func (t *Take) markGain(strip int, db float64) {
	name := StripNames[strip] + " "
	at := t.Seconds()
	for i := len(t.Marks) - 1; i >= 0; i-- {
		if m := &t.Marks[i]; gainMark(*m) && m.Text[:2] == name && at-m.At < 1.5 {
			m.Text = name + ui.Decimal(db, 1) + " dB"
			return
		}
	}
	t.Mark(at, name+ui.Decimal(db, 1)+" dB")
}

func gainMark(m ui.Mark) bool { return strings.HasSuffix(m.Text, " dB") }

// Window fills w with what strip s did around frame center.
func (t *Take) Window(w *Window, s int, center int64) {
	w.Start = center - WindowFrames/2
	n := t.frames.Load()
	tr := &w.Strip[s]
	for i := range WindowFrames {
		f := w.Start + int64(i)
		if f < 0 || f >= n {
			tr.Truth[i], tr.Demand[i], tr.Conv[i], tr.File[i] = 0, 0, 0, 0
			continue
		}
		c := t.chunks[s][f/chunkFrames].Load()
		if c == nil {
			continue
		}
		o := f % chunkFrames
		tr.Truth[i], tr.Demand[i], tr.Conv[i], tr.File[i] = c.truth[o].float(), c.demand[o].float(), c.conv[o].float(), c.file[o]
	}
}

// Outline gives the lowest and highest value of strip s's file between two
// times in seconds, and whether it went over there.
func (t *Take) Outline(s int, from, to float64) (lo, hi float32, over bool) {
	a := int(from * Rate / binFrames)
	b := int(math.Ceil(to * Rate / binFrames))
	end := int(t.frames.Load() / binFrames) // the last one may still be changing
	for i := max(a, 0); i < min(max(b, a+1), end); i++ {
		b := &t.bins[s][i]
		lo, hi = min(lo, b.lo[tapFile]), max(hi, b.hi[tapFile])
		over = over || b.over
	}
	return lo, hi, over
}

// OverSpans appends where strip s went over, from bin first on, as seconds.
func (t *Take) OverSpans(dst []ui.Span, s int, first int) ([]ui.Span, int) {
	end := int(t.frames.Load() / binFrames)
	for i := first; i < end; i++ {
		if !t.bins[s][i].over {
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
	if t.given != nil {
		t.End = t.given.set // what came too late is none of its own
	}
	for s, r := range t.readout[:t.N] {
		r.Settings(t.End[s])
		t.Readings[s] = r.Readings()
		t.Overs[s] = r.Overs()
		t.Levels[s] = r.Levels()
	}
	t.SpokenLUFS = t.spoken.Integrated()
	n := t.Frames()
	t.Full = n == maxFrames
	t.Spoken = make([]float32, n)
	for i := int64(0); i < n; i += chunkFrames {
		copy(t.Spoken[i:], t.talker[i/chunkFrames].Load()[:])
	}
	for i := range t.talker {
		t.talker[i].Store(nil)
	}
	for s := range t.N {
		t.File[s] = make([]float32, n)
		for i := int64(0); i < n; i += chunkFrames {
			copy(t.File[s][i:], t.chunks[s][i/chunkFrames].Load().file[:])
		}
	}
}

// view is what strip s of a finished take shows: all of it is the take's own.
func (t *Take) view(s int) (v StripView) {
	if s >= t.N {
		return v
	}
	r := &t.Readings[s]
	v.Loudest, v.Readings, v.Overs, v.Reduction = t.high[s], *r, r.Overs, 1
	for st := range v.Peak {
		v.Peak[st], v.RMS[st] = t.Levels[s][st].Peak, t.Levels[s][st].RMS
	}
	v.MeterHold, v.MeterWanted = sim.DB(r.PeakDBFS).Lin(), v.Demand
	return v
}

// Loudest is the loudest that a strip has had.
type Loudest struct {
	// Held is the largest peak at each station as full scale of the file, by the
	// gains of that moment; Native the same in the station's unit.
	Held, Native [sim.NumStations]float64
	// Demand is the largest that the converter was asked for, Truth that of the
	// true wave; full scale = 1.
	Demand, Truth float64
}

// add takes a block in.
func (h *Loudest) add(p *peaks, to *[sim.NumStations]float64) {
	for st, v := range p.wave {
		h.Held[st], h.Native[st] = max(h.Held[st], v*to[st]), max(h.Native[st], v)
	}
	h.Demand, h.Truth = max(h.Demand, p.demand), max(h.Truth, p.truth)
}

// peaks are the largest magnitudes of a block.
type peaks struct {
	wave          [sim.NumStations]float64
	demand, truth float64
}

// of looks at a block.
func (p *peaks) of(t *sim.Taps) {
	for st := range t.Wave {
		p.wave[st] = largest(t.Wave[st])
	}
	p.demand, p.truth = largest(t.Demand), largest(t.True)
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
	Strip [MaxStrips]StripWindow
	Valid bool
}

// largest is the largest magnitude. Without its sign the bits of a finite number
// rise with it, which takes one comparison where the number takes two.
func largest(x []float64) float64 {
	var top uint64
	for _, v := range x {
		if b := math.Float64bits(v) << 1; b > top {
			top = b
		}
	}
	return math.Float64frombits(top >> 1)
}
