package sim

import (
	"math"

	"gainwright/sim/meter"
)

// maxRuns bounds the list of overs that a readout keeps; the counts go on.
const maxRuns = 1 << 16

// A Readout turns taps into readings. Write it every block of a take, in order;
// ask at any time. It allocates nothing per block once its list of overs has
// grown, and its memory does not grow with the length of the take beyond that.
type Readout struct {
	rate   int
	frames int64

	loud   *meter.Loudness
	peak   *meter.TruePeak
	kNoise *meter.KWeight

	samplePeak float64
	wantPeak   float64 // largest |Demand|
	ceiling    float64

	runs           []Span
	overs          int
	over           Span
	inOver         bool
	longest        int64
	clipped        int64
	flat, flatRuns int
	railRuns       int
	onRail         bool
	hotMic         int
	leastGain      float64
	sumD, sumC     float64 // energy asked of the converter, energy it gave
	sFF, sFT, sTT  float64 // file·file, file·true, true·true
	uFT, uTT       float64 // the same where no ceiling was touched
	noiseSum, kSum float64
	noiseN         int64
	noiseBuf, kBuf []float64
	held           [bendReach]float64 // what may be noise, once it is known that nothing bent near it
	heldOK         [bendReach]bool
	heldAt         int
	bent           int // samples for which the last bend still reaches what is held
	stationPeak    [NumStations]float64
	win            window
	levels         [levelBins]windowBin
	second         secondPeak
	talkPeaks      [talkBins]int
	chain          Chain
}

// A tenth of a second of everything, gathered so that pauses can be told from
// speech afterwards.
type window struct {
	n      int
	truth  float64
	energy [NumStations]float64
}

type windowBin struct {
	count  int64
	truth  float64
	energy [NumStations]float64
}

type secondPeak struct {
	n     int
	peak  float64
	truth float64
}

// bendReach is how many samples the converter's filters spread what an analogue
// stage did to one: 57 less 28 at the most, see newOversampler.
const bendReach = 29

const (
	levelBins = 240 // 1 dB wide, from −200 dB re the converter's full scale
	levelLow  = -200.0
	talkBins  = 1500 // 0.1 dB wide, from −140 dBFS
	talkLow   = -140.0
	// activeGateLU is how far below the mean of all sounding windows speech ends:
	// the relative gate of EBU Tech 3342, which separates foreground from pauses.
	activeGateDB = 20
)

// NewReadout returns an empty readout for strips at rate.
func NewReadout(rate int) (*Readout, error) {
	l, err := meter.NewLoudness(rate, 1)
	if err != nil {
		return nil, err
	}
	return &Readout{
		rate: rate, loud: l, peak: meter.NewTruePeak(rate), kNoise: meter.NewKWeight(rate),
		leastGain: 1, ceiling: 1, noiseBuf: make([]float64, chunk), kBuf: make([]float64, chunk),
	}, nil
}

// Reset empties it.
func (r *Readout) Reset() {
	n, err := NewReadout(r.rate)
	if err != nil {
		panic("sim: " + err.Error()) // the rate was accepted before
	}
	*r = *n
}

// Write adds one block of a strip's taps.
func (r *Readout) Write(t *Taps) {
	for i := 0; i < t.Len(); i += chunk {
		s := t.Slice(i, min(i+chunk, t.Len()))
		r.write(&s)
	}
}

// Settings tells which settings the take ended with.
func (r *Readout) Settings(c Chain) { r.chain = c }

func (r *Readout) write(t *Taps) {
	n := t.Len()
	file, truth, demand, conv := t.Wave[AtFile], t.True, t.Demand, t.Wave[AtConverter]
	r.ceiling = t.Ceiling
	r.loud.WriteMono(file)
	r.peak.Write(file)
	noise := r.noiseBuf[:n]
	gain, inGain, hot := t.Gain[:n], t.InGain[:n], t.Hot[:n]
	file, truth, demand, conv = file[:n], truth[:n], demand[:n], conv[:n]
	for i := range n {
		f, w, d := file[i], truth[i], demand[i]
		if a := math.Abs(f); a > r.samplePeak {
			r.samplePeak = a
		}
		ad := math.Abs(d)
		if ad > r.wantPeak {
			r.wantPeak = ad
		}
		over := ad > t.Ceiling
		if over {
			r.clipped++
			if !r.inOver {
				r.inOver = true
				r.over = Span{Start: r.frames + int64(i)}
				r.overs++
			}
		} else if r.inOver {
			r.closeOver(r.frames + int64(i))
		}
		r.sumD += d * d
		r.sumC += conv[i] * conv[i]
		r.sFF += f * f
		r.sFT += f * w
		r.sTT += w * w
		g := gain[i] * inGain[i]
		if g < r.leastGain {
			r.leastGain = g
		}
		h := hot[i]
		if h&1 != 0 {
			r.hotMic++
		}
		if h&2 != 0 {
			if !r.onRail {
				r.railRuns++
			}
			r.onRail = true
		} else {
			r.onRail = false
		}
		if !over && h == 0 {
			r.uFT += f * w
			r.uTT += w * w
		}
		if h != 0 {
			r.bent = 2*bendReach + 1
		}
		// The sample that lies bendReach back can be told now.
		noise[i] = 0
		if r.bent > 0 {
			r.bent--
		} else if r.heldOK[r.heldAt] {
			e := r.held[r.heldAt]
			noise[i] = e
			r.noiseSum += e * e
			r.noiseN++
		}
		r.heldOK[r.heldAt] = !over && inGain[i] > 0.999
		r.held[r.heldAt] = f/gain[i] - w
		if r.heldAt++; r.heldAt == bendReach {
			r.heldAt = 0
		}
		r.meterOver(f, t)
	}
	r.kNoise.Process(r.kBuf[:n], noise)
	kSum := r.kSum
	for _, k := range r.kBuf[:n] {
		kSum += k * k
	}
	r.kSum = kSum
	r.stations(t)
	r.frames += int64(n)
}

func (r *Readout) closeOver(end int64) {
	r.inOver = false
	r.over.End = end
	r.longest = max(r.longest, r.over.End-r.over.Start)
	if len(r.runs) < maxRuns {
		r.runs = append(r.runs, r.over)
	}
}

// meterOver counts what a plain meter on the file would: three or more samples
// in a row at full scale.
func (r *Readout) meterOver(f float64, t *Taps) {
	// The last code on the positive side is one step short of 1.
	if f >= 0.99996 || f <= -1 {
		r.flat++
		if r.flat == 3 {
			r.flatRuns++
		}
	} else {
		r.flat = 0
	}
}

// stations gathers peaks and window energies of every tap.
func (r *Readout) stations(t *Taps) {
	tenth, second := r.rate/10, r.rate
	for i := 0; i < t.Len(); {
		j := min(t.Len(), i+tenth-r.win.n, i+second-r.second.n)
		// Two at a time, so that the sums' additions overlap; an odd last one with itself.
		for s := Station(0); s < NumStations; s += 2 {
			o := min(s+1, NumStations-1)
			x, y := t.Wave[s][i:j], t.Wave[o][i:j]
			y = y[:len(x)]
			// On from what there is, so that the sums do not depend on the blocks.
			peakX, peakY, sumX, sumY := r.stationPeak[s], r.stationPeak[o], r.win.energy[s], r.win.energy[o]
			for i, v := range x {
				sumX += v * v
				if a := math.Abs(v); a > peakX {
					peakX = a
				}
				w := y[i]
				sumY += w * w
				if a := math.Abs(w); a > peakY {
					peakY = a
				}
			}
			r.stationPeak[s], r.stationPeak[o] = peakX, peakY
			r.win.energy[s], r.win.energy[o] = sumX, sumY
		}
		truth, inSecond, peak := r.win.truth, r.second.truth, r.second.peak
		file := t.Wave[AtFile][i:j]
		for i, v := range t.True[i:j] {
			truth += v * v
			inSecond += v * v
			if a := math.Abs(file[i]); a > peak {
				peak = a
			}
		}
		r.win.truth = truth
		r.second.truth, r.second.peak = inSecond, peak
		r.win.n += j - i
		r.second.n += j - i
		if r.win.n == tenth {
			b := &r.levels[levelBin(r.win.truth/float64(tenth))]
			b.count++
			b.truth += r.win.truth
			for s, e := range r.win.energy {
				b.energy[s] += e
			}
			r.win = window{}
		}
		if r.second.n == second {
			// A second counts as talk if its level reaches the gate so far.
			if _, gate := r.active(); r.second.truth/float64(second) > gate {
				k := int((20*math.Log10(r.second.peak) - talkLow) * 10)
				r.talkPeaks[min(max(k, 0), talkBins-1)]++
			}
			r.second = secondPeak{}
		}
		i = j
	}
}

func levelBin(meanSquare float64) int {
	if meanSquare <= 0 {
		return 0
	}
	return min(max(int(10*math.Log10(meanSquare)-levelLow), 0), levelBins-1)
}

// active sums the windows in which somebody spoke and returns the gate's mean
// square. The lowest bin is digital silence and never counts.
func (r *Readout) active() (sum windowBin, gate float64) {
	count, truth := int64(0), 0.0
	for _, b := range r.levels[1:] {
		count += b.count
		truth += b.truth
	}
	if count == 0 {
		return sum, 0
	}
	tenth := float64(r.rate / 10)
	gate = truth / (float64(count) * tenth) * math.Pow(10, -activeGateDB/10.0)
	for i := 1; i < levelBins; i++ {
		b := &r.levels[i]
		if b.count == 0 || b.truth/(float64(b.count)*tenth) < gate {
			continue
		}
		sum.count += b.count
		sum.truth += b.truth
		for s, e := range b.energy {
			sum.energy[s] += e
		}
	}
	return sum, gate
}

// Frames returns how many samples were written.
func (r *Readout) Frames() int64 { return r.frames }

// Overs lists the runs beyond the converter's ceiling, oldest first, a run that
// is still going on included; at most 65 536 are kept.
func (r *Readout) Overs() []Span {
	if !r.inOver {
		return r.runs
	}
	open := r.over
	open.End = r.frames
	return append(r.runs[:len(r.runs):len(r.runs)], open)
}

// OverCount is the number of overs so far; unlike Overs it costs nothing.
func (r *Readout) OverCount() int { return r.overs }

func db20(x float64) Level { return Level(20 * math.Log10(x)) }
func db10(x float64) Level { return Level(10 * math.Log10(x)) }

// Readings returns everything measured so far.
func (r *Readout) Readings() Readings {
	nan := Level(math.NaN())
	out := Readings{
		GainDB:             Level(r.chain.Preamp.GainDB),
		PeakDBFS:           db20(r.samplePeak),
		TruePeakDBTP:       Level(r.peak.DB()),
		HeadroomDB:         db20(r.ceiling / r.wantPeak),
		LoudnessLUFS:       Level(r.loud.Integrated()),
		LoudnessRangeLU:    Level(r.loud.Range()),
		ShortTermMaxLUFS:   Level(r.loud.MaxShortTerm()),
		MomentaryMaxLUFS:   Level(r.loud.MaxMomentary()),
		Overs:              r.overs,
		MeterOvers:         r.flatRuns,
		RailOvers:          r.railRuns,
		MicOverloadSamples: r.hotMic,
		NoiseFloorDBFS:     nan, SNRDB: nan, LostEnergyDB: 0, DeliveredGainDB: nan, DeliveredNoiseLUFS: nan,
	}
	longest := r.longest
	if r.inOver {
		longest = max(longest, r.frames-r.over.Start)
	}
	out.LongestOverMS = Level(1000 * float64(longest) / float64(r.rate))
	if r.frames > 0 {
		out.ClippedPercent = Level(100 * float64(r.clipped) / float64(r.frames))
	}
	out.LimiterReductionMaxDB = Level(math.Abs(20 * math.Log10(r.leastGain)))
	if r.sumC > 0 && r.sumD > r.sumC {
		out.LostEnergyDB = db10(r.sumD / r.sumC)
	}
	out.TalkPeakDBFS = r.talkPeak()
	act, _ := r.active()
	if r.noiseN > 0 && r.noiseSum > 0 {
		rms := math.Sqrt(r.noiseSum / float64(r.noiseN))
		out.NoiseFloorDBFS = Level(RMSToDBFS(rms))
		if act.count > 0 {
			truth := math.Sqrt(act.truth / (float64(act.count) * float64(r.rate/10)))
			out.SNRDB = db20(truth / rms)
		}
	}
	out.SDRDB = r.sdr()
	if l := float64(out.LoudnessLUFS); !math.IsInf(l, 0) && !math.IsNaN(l) {
		out.DeliveredGainDB = Level(DeliveryLUFS - l)
		if r.noiseN > 0 && r.kSum > 0 {
			out.DeliveredNoiseLUFS = Level(-0.691+10*math.Log10(r.kSum/float64(r.noiseN))) + out.DeliveredGainDB
		}
	}
	return out
}

// talkPeak is the median of the peaks gathered while somebody talked; NaN without any.
func (r *Readout) talkPeak() Level {
	total := 0
	for _, n := range r.talkPeaks {
		total += n
	}
	half := 0
	for i, n := range r.talkPeaks {
		if half += n; total > 0 && 2*half >= total {
			return Level(talkLow + (float64(i)+0.5)/10)
		}
	}
	return Level(math.NaN())
}

// sdr is the ratio of the true wave, at the gain it has where no ceiling was touched,
// to what the file differs from it by; NaN where there was no true wave.
func (r *Readout) sdr() Level {
	if !(r.sTT > 0) {
		return Level(math.NaN())
	}
	g := 1.0
	if r.uTT > 1e-9*r.sTT {
		g = r.uFT / r.uTT
	}
	if e := r.sFF - 2*g*r.sFT + g*g*r.sTT; e > 0 {
		return db10(g * g * r.sTT / e)
	}
	return Level(math.Inf(1))
}

// Levels returns what the level diagram draws: for every station the peak, the
// rms while somebody spoke and the ceiling of the settings given to Settings.
// Noise is left 0; NoiseLevels has it.
func (r *Readout) Levels() [NumStations]StationLevel {
	var out [NumStations]StationLevel
	act, _ := r.active()
	ceil := Ceilings(r.chain)
	for s := range out {
		out[s].Peak = r.stationPeak[s]
		if act.count > 0 {
			out[s].RMS = math.Sqrt(act.energy[s] / (float64(act.count) * float64(r.rate/10)))
		}
		out[s].Ceiling = ceil[s]
		out[s].Wanted = out[s].Peak
	}
	out[AtConverter].Wanted = r.wantPeak
	return out
}
