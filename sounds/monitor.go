package sounds

import (
	"fmt"
	"math"
	"sync/atomic"

	"gainwright/sounds/codec"

	"github.com/faiface/beep"
)

// MonitorSettings are the settings of a Monitor: a plain value.
type MonitorSettings struct {
	// TrimDB is the playback level, −80 to +24 dB. Playback starts low.
	TrimDB float64
	// CeilingDBFS is what no output sample exceeds, −60 to 0 dBFS.
	CeilingDBFS float64
	// Mute silences the output within 20 ms; the signal goes on underneath.
	Mute bool
}

// DefaultMonitor is trim −20 dB, ceiling −10 dBFS.
func DefaultMonitor() MonitorSettings {
	return MonitorSettings{TrimDB: -20, CeilingDBFS: -10}
}

// Validate reports the first setting that is out of range.
func (s MonitorSettings) Validate() error {
	if !(s.TrimDB >= -80 && s.TrimDB <= 24) {
		return fmt.Errorf("monitor trim of %g dB is outside −80 to +24", s.TrimDB)
	}
	if !(s.CeilingDBFS >= -60 && s.CeilingDBFS <= 0) {
		return fmt.Errorf("monitor ceiling of %g dBFS is outside −60 to 0", s.CeilingDBFS)
	}
	return nil
}

const (
	monitorFadeIn    = 0.3   // s, from silence when playback starts
	monitorRamp      = 0.02  // s, of trim and mute
	monitorLookAhead = 0.002 // s
	monitorRelease   = 0.1   // s, time constant
	// deviceFull is what beep's speaker multiplies by before it cuts the
	// fraction off.
	deviceFull = 1<<15 - 1
	// codeNudge keeps that cut from falling one code short after rounding.
	codeNudge = 1.0 / 1024
)

// A Monitor is the only stage between the product's signal and the sound
// device. It sets the playback level, holds a stated ceiling, and dithers.
//
// It exists because beep's speaker clamps what it is given at ±1 and truncates
// it to 16 bits without dither: a hidden clipper. What leaves a Monitor lies on
// the 16-bit codes of that speaker already, below the ceiling, so the speaker
// changes nothing. Every reading must be taken before the Monitor.
//
// The ceiling is held by a look-ahead limiter: the gain is a moving average of
// a moving minimum, which reaches every peak in time, and after it a clamp that
// makes the ceiling a guarantee for any input whatever. Samples that are not
// finite are silenced. The output is late by Latency frames. When the ceiling
// is lowered, the new one holds from the next block on.
//
// Stream is for one goroutine; Set, Settings and Readings are for any.
type Monitor struct {
	src  beep.Streamer
	set  atomic.Pointer[MonitorSettings]
	last *MonitorSettings

	ramp     int // frames of a trim or mute ramp
	trim     ramp
	mute     ramp
	fade     float64
	fadeStep float64

	ceil  float64 // what the limiter aims at
	limit float64 // highest code

	delay   [][2]float64
	at      int
	min     slidingMin
	rel     float64
	relK    float64
	box     []int64 // gains in units of 2^-40, so that their sum is exact
	boxAt   int
	boxSum  int64
	ended   bool // the source has
	tail    int  // frames of look-ahead to give after that
	drained bool
	rng     uint64

	peak      atomic.Uint64
	reduction atomic.Uint64
	bad       atomic.Uint64
}

// MonitorReadings are what a Monitor did since the last call of Readings.
type MonitorReadings struct {
	PeakDBFS    float64 // highest output sample; −inf for silence
	ReductionDB float64 // deepest limiting, ≥ 0
	NotFinite   uint64  // samples silenced since the start because they were not finite
}

// NewMonitor wraps src, which runs at rate Hz.
func NewMonitor(src beep.Streamer, rate int, s MonitorSettings) (*Monitor, error) {
	if rate < codec.MinRate || rate > codec.MaxRate {
		panic(fmt.Sprintf("sounds: NewMonitor: %d Hz", rate))
	}
	if err := s.Validate(); err != nil {
		return nil, err
	}
	d := int(monitorLookAhead*float64(rate)) + 1
	m := &Monitor{
		src:      src,
		ramp:     int(monitorRamp * float64(rate)),
		fadeStep: 1 / (monitorFadeIn * float64(rate)),
		delay:    make([][2]float64, d),
		box:      make([]int64, d+1),
		rel:      1,
		relK:     1 - math.Exp(-1/(monitorRelease*float64(rate))),
		tail:     d,
		rng:      0x9E3779B97F4A7C15,
	}
	m.min.init(d + 1)
	for i := range m.box {
		m.box[i] = boxOne
		m.boxSum += boxOne
	}
	m.set.Store(&s)
	m.trim.jump(dbToLin(s.TrimDB))
	m.mute.jump(1)
	if s.Mute {
		m.mute.jump(0)
	}
	m.reduction.Store(math.Float64bits(1))
	return m, nil
}

const boxOne = 1 << 40

func dbToLin(db float64) float64 { return math.Pow(10, db/20) }

// Set changes the settings; they are ramped over 20 ms.
func (m *Monitor) Set(s MonitorSettings) error {
	if err := s.Validate(); err != nil {
		return err
	}
	m.set.Store(&s)
	return nil
}

// Settings are those last set.
func (m *Monitor) Settings() MonitorSettings { return *m.set.Load() }

// Latency is by how many frames the output is late.
func (m *Monitor) Latency() int { return len(m.delay) }

// Readings returns the peak and the reduction since the last call.
func (m *Monitor) Readings() MonitorReadings {
	p := math.Float64frombits(m.peak.Swap(0))
	g := math.Float64frombits(m.reduction.Swap(math.Float64bits(1)))
	return MonitorReadings{PeakDBFS: 20 * math.Log10(p), ReductionDB: math.Max(0, -20*math.Log10(g)), NotFinite: m.bad.Load()}
}

// Err is the source's.
func (m *Monitor) Err() error { return m.src.Err() }

// Stream implements beep.Streamer. After the source has ended, what is still in
// the look-ahead follows.
func (m *Monitor) Stream(buf [][2]float64) (int, bool) {
	if m.drained || len(buf) == 0 {
		return 0, !m.drained
	}
	n := 0
	for n < len(buf) && !m.ended {
		k, ok := m.src.Stream(buf[n:])
		n += k
		m.ended = !ok || k == 0
	}
	if n < len(buf) {
		k := min(len(buf)-n, m.tail)
		clear(buf[n : n+k])
		m.tail -= k
		n += k
		if n == 0 {
			m.drained = true
			return 0, false
		}
	}
	s := m.set.Load()
	if s != m.last {
		m.last = s
		m.trim.to(dbToLin(s.TrimDB), m.ramp)
		target := 1.0
		if s.Mute {
			target = 0
		}
		m.mute.to(target, m.ramp)
		m.limit = math.Floor(dbToLin(s.CeilingDBFS)*deviceFull - codeNudge)
		// Room for the dither, ±1 code, and for rounding.
		m.ceil = math.Max(0, m.limit-1.5) / deviceFull
	}
	var bad uint64
	peak, least := 0.0, 1.0
	for i, x := range buf[:n] {
		if x[0]-x[0] != 0 {
			x[0] = 0
			bad++
		}
		if x[1]-x[1] != 0 {
			x[1] = 0
			bad++
		}
		g := m.trim.next()
		if m.fade < 1 {
			g *= m.fade
			m.fade += m.fadeStep
		}
		x[0] *= g
		x[1] *= g

		need := 1.0
		if p := math.Max(math.Abs(x[0]), math.Abs(x[1])); p > m.ceil {
			need = m.ceil / p
		}
		low := m.min.push(need)
		if low < m.rel {
			m.rel = low
		} else {
			m.rel += (low - m.rel) * m.relK
		}
		b := int64(m.rel * boxOne)
		m.boxSum += b - m.box[m.boxAt]
		m.box[m.boxAt] = b
		if m.boxAt++; m.boxAt == len(m.box) {
			m.boxAt = 0
		}
		gain := float64(m.boxSum) * (1.0 / boxOne) / float64(len(m.box))
		least = math.Min(least, gain)

		y := m.delay[m.at]
		m.delay[m.at] = x
		if m.at++; m.at == len(m.delay) {
			m.at = 0
		}
		mute := m.mute.next()
		if mute == 0 {
			buf[i] = [2]float64{}
			continue
		}
		for c := range y {
			q := math.RoundToEven(y[c]*gain*mute*deviceFull + m.dither())
			q = math.Max(-m.limit, math.Min(m.limit, q))
			v := 0.0
			if q > 0 {
				v = (q + codeNudge) / deviceFull
			} else if q < 0 {
				v = (q - codeNudge) / deviceFull
			}
			buf[i][c] = v
			peak = math.Max(peak, math.Abs(v))
		}
	}
	if bad > 0 {
		m.bad.Add(bad)
	}
	storeMax(&m.peak, peak)
	storeMin(&m.reduction, least)
	return n, true
}

// storeMax and storeMin race only with a Swap by the reader; losing one block's
// extreme to it would be harmless, but the loop does not lose it.
func storeMax(a *atomic.Uint64, v float64) {
	for {
		old := a.Load()
		if v <= math.Float64frombits(old) || a.CompareAndSwap(old, math.Float64bits(v)) {
			return
		}
	}
}

func storeMin(a *atomic.Uint64, v float64) {
	for {
		old := a.Load()
		if v >= math.Float64frombits(old) || a.CompareAndSwap(old, math.Float64bits(v)) {
			return
		}
	}
}

// dither is triangular over ±1 code: the sum of two uniform values (Lipshitz,
// Wannamaker, Vanderkooy, "Quantization and dither: a theoretical survey", JAES
// 40(5), 1992). The generator is Marsaglia's xorshift (J. Stat. Software 8(14),
// 2003) with a multiplied output.
func (m *Monitor) dither() float64 {
	x := m.rng
	x ^= x >> 12
	x ^= x << 25
	x ^= x >> 27
	m.rng = x
	r := x * 0x2545F4914F6CDD1D
	const k = 1.0 / (1 << 32)
	return (float64(uint32(r))+float64(uint32(r>>32)))*k - 1
}

// ramp moves a gain to its target in a straight line.
type ramp struct {
	cur, target, step float64
	left              int
}

func (r *ramp) jump(v float64) { *r = ramp{cur: v, target: v} }

func (r *ramp) to(v float64, frames int) {
	if v == r.target {
		return
	}
	r.target, r.left = v, frames
	r.step = (v - r.cur) / float64(frames)
}

func (r *ramp) next() float64 {
	if r.left > 0 {
		r.left--
		r.cur += r.step
		if r.left == 0 {
			r.cur = r.target
		}
	}
	return r.cur
}

// slidingMin is the minimum of the last n values, in constant time on average:
// a queue that only ever rises (D. Lemire, "Streaming maximum-minimum filter
// using no more than three comparisons per element", 2006).
type slidingMin struct {
	n     int
	val   []float64
	when  []int
	head  int
	size  int
	count int
}

func (s *slidingMin) init(n int) {
	s.n = n
	s.val = make([]float64, n+1)
	s.when = make([]int, n+1)
}

func (s *slidingMin) push(v float64) float64 {
	k := len(s.val)
	for s.size > 0 {
		last := s.head + s.size - 1
		if last >= k {
			last -= k
		}
		if s.val[last] < v {
			break
		}
		s.size--
	}
	slot := s.head + s.size
	if slot >= k {
		slot -= k
	}
	s.val[slot], s.when[slot] = v, s.count
	s.size++
	if s.when[s.head] <= s.count-s.n {
		if s.head++; s.head == k {
			s.head = 0
		}
		s.size--
	}
	s.count++
	return s.val[s.head]
}
