package sim

// Taps is one block of everything a strip lets one see. All slices have the
// same length and are aligned: index i of every one is the same moment of the
// performance.
type Taps struct {
	// Wave holds the signal at each station, in the station's unit. The analogue
	// stations are the continuous wave's values at the converter's sampling
	// instants, not band-limited afterwards.
	Wave [NumStations][]float64
	// True is the talker's own wave, scaled to the converter's full scale by the
	// chain's gains and limited to the band of its filters, with no noise and no
	// ceilings: what was there to be recorded.
	True []float64
	// Demand is what the converter was asked for, full scale = 1: everything
	// before its hard ceiling and its quantiser. |Demand| > Ceiling is an over.
	Demand []float64
	// Gain is the amplitude ratio that the digital limiter applied.
	Gain []float64
	// InGain is the amplitude ratio that the input limiter applied.
	InGain []float64
	// Hot marks samples at which an analogue stage bent the wave: 1 the
	// microphone was above its maximum SPL, 2 the preamp was at its rail, 3 both.
	Hot []uint8
	// Ceiling is the converter's ceiling, full scale = 1 (above 1 with two ranges).
	Ceiling float64
}

// NewTaps returns taps with room for frames samples.
func NewTaps(frames int) *Taps {
	t := &Taps{}
	for i := range t.Wave {
		t.Wave[i] = make([]float64, frames)
	}
	t.True = make([]float64, frames)
	t.Demand = make([]float64, frames)
	t.Gain = make([]float64, frames)
	t.InGain = make([]float64, frames)
	t.Hot = make([]uint8, frames)
	return t
}

// Len returns the number of samples in the block.
func (t *Taps) Len() int { return len(t.True) }

// Resize sets the length within the capacity given to NewTaps; a larger n
// allocates.
func (t *Taps) Resize(n int) {
	if n > cap(t.True) {
		*t = *NewTaps(n)
		return
	}
	for i := range t.Wave {
		t.Wave[i] = t.Wave[i][:n]
	}
	t.True, t.Demand = t.True[:n], t.Demand[:n]
	t.Gain, t.InGain, t.Hot = t.Gain[:n], t.InGain[:n], t.Hot[:n]
}

// Slice returns the taps from sample i up to j, sharing memory.
func (t *Taps) Slice(i, j int) Taps {
	s := *t
	for k := range s.Wave {
		s.Wave[k] = t.Wave[k][i:j]
	}
	s.True, s.Demand = t.True[i:j], t.Demand[i:j]
	s.Gain, s.InGain, s.Hot = t.Gain[i:j], t.InGain[i:j], t.Hot[i:j]
	return s
}
