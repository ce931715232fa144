package meter

import "math"

const (
	noiseTicks = 100 // a noise window is 100 ticks, about 100 ms
	noiseLowDB = -220.0
	noisePerDB = 20
	noiseBins  = 280 * noisePerDB
)

// Stats gathers plain figures about one channel: rms, DC, peak, crest factor,
// noise floor and speech level.
//
// The noise floor is the lowest decile of the rms of consecutive 100 ms
// windows, each freed of its mean: the level that a tenth of the windows stay
// under. Speech pauses for more than a tenth of the time, and a pause between
// phrases outlasts 100 ms, so that decile falls into pauses, where the noise is
// alone. Where nobody pauses it reads high. On steady noise it lies a little
// under the rms: 0.1 dB for white noise, 2 dB for a rumble 100 Hz wide. Windows
// of digital silence are left out, as they tell nothing of the noise of a
// room; [Stats.Silent] counts them.
type Stats struct {
	active *ActiveLevel

	n         int // samples
	inTick    int
	sum, sq   float64 // over everything
	peak      float64
	tAbs      float64 // in the current tick
	tSum, tSq float64
	ticks     int // in the current window
	wSum, wSq float64
	windows   [noiseBins]int64
	counted   int64
	silent    int64
	bad       int
}

// NewStats returns a meter. It panics on a rate [CheckRate] refuses.
func NewStats(rate int) *Stats { return &Stats{active: NewActiveLevel(rate)} }

// Write feeds samples.
func (s *Stats) Write(x []float64) {
	s.n += len(x)
	tick := s.active.tick
	for len(x) > 0 {
		m := min(len(x), tick-s.inTick)
		abs, sum, sq, top := s.tAbs, s.tSum, s.tSq, uint64(0)
		for _, v := range x[:m] {
			b := magBits(v)
			if b >= invalidBits {
				s.bad++
				continue
			}
			top = max(top, b)
			abs += math.Abs(v)
			sum += v
			sq += v * v
		}
		s.tAbs, s.tSum, s.tSq = abs, sum, sq
		s.peak = max(s.peak, math.Float64frombits(top))
		x = x[m:]
		if s.inTick += m; s.inTick == tick {
			s.endTick()
		}
	}
}

func (s *Stats) endTick() {
	s.active.add(s.tAbs, s.tSq)
	s.sum += s.tSum
	s.sq += s.tSq
	s.wSum += s.tSum
	s.wSq += s.tSq
	s.inTick, s.tAbs, s.tSum, s.tSq = 0, 0, 0, 0
	if s.ticks++; s.ticks < noiseTicks {
		return
	}
	if s.wSq == 0 {
		s.silent++
	} else {
		n := float64(noiseTicks * s.active.tick)
		mean := s.wSum / n
		i := (PowerDB(max(0, s.wSq/n-mean*mean)) - noiseLowDB) * noisePerDB
		s.windows[int(min(max(i, 0), noiseBins-1))]++
		s.counted++
	}
	s.ticks, s.wSum, s.wSq = 0, 0, 0
}

// Frames returns the number of samples fed.
func (s *Stats) Frames() int { return s.n }

// MeanSquare returns the mean of the squares, DC included.
func (s *Stats) MeanSquare() float64 {
	if s.n == 0 {
		return 0
	}
	return (s.sq + s.tSq) / float64(s.n)
}

// RMS returns the root of [Stats.MeanSquare]. Use [DB] for dB re square full
// scale and [SineDB] for dBFS.
func (s *Stats) RMS() float64 { return math.Sqrt(s.MeanSquare()) }

// DC returns the mean.
func (s *Stats) DC() float64 {
	if s.n == 0 {
		return 0
	}
	return (s.sum + s.tSum) / float64(s.n)
}

// Peak returns the largest magnitude.
func (s *Stats) Peak() float64 { return s.peak }

// CrestDB returns the crest factor, peak over rms, in dB; 0 for silence.
func (s *Stats) CrestDB() float64 {
	if s.peak == 0 {
		return 0
	}
	return DB(s.peak / s.RMS())
}

// NoiseRMS returns the noise floor as an rms value, or 0 when there was no
// complete window with sound in it.
func (s *Stats) NoiseRMS() float64 {
	if s.counted == 0 {
		return 0
	}
	// The decile is interpolated inside its 0.05 dB step.
	want := 0.1 * float64(s.counted)
	for i, n := range s.windows {
		if n > 0 && want <= float64(n) {
			return FromDB(noiseLowDB + (float64(i)+want/float64(n))/noisePerDB)
		}
		want -= float64(n)
	}
	return FromDB(noiseLowDB + noiseBins/noisePerDB)
}

// Silent returns the share of complete windows that are digital silence, 0 to 1.
func (s *Stats) Silent() float64 {
	if s.counted+s.silent == 0 {
		return 0
	}
	return float64(s.silent) / float64(s.counted+s.silent)
}

// ActiveDB returns the active speech level in dB re square full scale, see
// [ActiveLevel].
func (s *Stats) ActiveDB() float64 { return s.active.Level() }

// Activity returns the share of active time, 0 to 1, see [ActiveLevel].
func (s *Stats) Activity() float64 { return s.active.Activity() }

// SNRDB returns the ratio of the speech while active to the noise floor in dB,
// where speech is what the active level holds beyond the noise. It is +Inf
// without a noise floor and −Inf when there is nothing but noise.
func (s *Stats) SNRDB() float64 {
	n := s.NoiseRMS()
	if n == 0 {
		if s.MeanSquare() == 0 {
			return math.Inf(-1)
		}
		return math.Inf(1)
	}
	a := math.Pow(10, s.ActiveDB()/10)
	return PowerDB(max(0, a/(n*n)-1))
}

// Invalid returns how many samples were not usable and counted as zero.
func (s *Stats) Invalid() int { return s.bad }

// Reset makes the meter as new.
func (s *Stats) Reset() {
	a := s.active
	a.Reset()
	*s = Stats{active: a}
}
