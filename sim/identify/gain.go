package identify

import (
	"math"
	"math/cmplx"
	"slices"

	"gainwright/sim/monotone"
)

// ToneHz is the tone by which the gain law is found.
const ToneHz = 1000.0

const (
	toneWindowS  = 0.1
	toneOver     = 10.0 // power over that of the bands beside it
	toneSteady   = 3.0  // dB below the loudest window that still count
	leastWindows = 5
	// A tone that clips has a thousand flat tops a second on either side; noise makes one
	// now and then. The codes of a soft tone make them, too, but no harmonics.
	clippedTops = 300
	// A stage whose curve bends takes three times as much of a tone as it makes of its third
	// harmonic (of a cubic: 3/4 and 1/4): by 0.2 dB where that is 0.8 %.
	bentThird = 0.008
	// A steady tone that moves by so much is followed by the recorder, or its loudspeaker
	// was not left alone: so many times what noise makes of it. Choices.
	movesDB      = 1.0
	movesSure    = 4
	movesWindows = 15
	// A sound that is played again is not quite the same: doors, people, warm loudspeakers.
	// Within 0.1 dB, one standard deviation (common practice, no source).
	playedAgainDB = ninety * 0.1
	// Of a normal distribution nine tenths lie within so many standard deviations.
	ninety = 1.645
)

// Levels are what the windows of a stretch of a recording hold.
type Levels struct {
	Tone  Estimate // of ToneHz, dB of a full-scale sine; unknown if there is none
	Noise Estimate // rms without offset, dB of a full-scale sine
	Third float64  // the tone's third harmonic, as a part of it
	// Moves is by how much the tone, which is played steadily, is louder at its end than at
	// its beginning, dB; 0 where that is not more than noise makes of it.
	Moves float64
}

// Listen measures a stretch. of is where windows begin that may be used, in frames; a
// negative to means the end.
func Listen(r Recording, rate int, from, to int64) (Levels, error) {
	n := int(toneWindowS * float64(rate))
	w := make([]float64, n)
	for i := range w {
		w[i] = 1 - math.Cos(2*math.Pi*(float64(i)+0.5)/float64(n)) // Hann, mean 1
	}
	var tones, beside, thirds, besideThirds, all []float64
	var part []float64
	err := stream(r, func(at int64, x []float64) error {
		for i, v := range x {
			k := at + int64(i)
			if k < from || to >= 0 && k >= to {
				continue
			}
			if part = append(part, v); len(part) < n {
				continue
			}
			tones = append(tones, band(part, w, ToneHz, rate))
			beside = append(beside, (band(part, w, ToneHz-80, rate)+band(part, w, ToneHz+80, rate))/2)
			thirds = append(thirds, band(part, w, 3*ToneHz, rate))
			besideThirds = append(besideThirds, (band(part, w, 3*ToneHz-80, rate)+band(part, w, 3*ToneHz+80, rate))/2)
			all = append(all, variance(part))
			part = part[:0]
		}
		return nil
	})
	tone, third := toneOf(tones, beside, thirds, besideThirds)
	return Levels{Tone: tone, Noise: noiseLevel(all), Third: third, Moves: moves(tones, beside)}, err
}

// band is the power of a sine at hz in x, after the window w.
func band(x, w []float64, hz float64, rate int) float64 {
	turn := cmplx.Exp(complex(0, -2*math.Pi*hz/float64(rate)))
	p, s := complex(1, 0), complex(0, 0)
	for i, v := range x {
		s += complex(v*w[i], 0) * p
		p *= turn
	}
	a := 2 * cmplx.Abs(s) / float64(len(x))
	return a * a / 2
}

func variance(x []float64) float64 {
	m, q := 0.0, 0.0
	for _, v := range x {
		m += v / float64(len(x))
	}
	for _, v := range x {
		q += (v - m) * (v - m) / float64(len(x))
	}
	return q
}

// sineDB is the level of a power against that of a full-scale sine.
func sineDB(power float64) float64 { return 10 * math.Log10(max(2*power, 1e-24)) }

// toneOf is the level of the windows in which the tone stands out and holds, and the median
// of its third harmonic, 0 where that does not stand out of the noise.
func toneOf(tones, beside, thirds, besideThirds []float64) (Estimate, float64) {
	top := 0.0
	for i, p := range tones {
		if p > toneOver*beside[i] {
			top = max(top, p)
		}
	}
	var list, third, noise []float64
	for i, p := range tones {
		if p > toneOver*beside[i] && sineDB(p) > sineDB(top)-toneSteady && top > 0 {
			list = append(list, sineDB(p))
			third = append(third, math.Sqrt(thirds[i]/p))
			noise = append(noise, math.Sqrt(besideThirds[i]/p))
		}
	}
	if len(list) < leastWindows {
		return Unknown(), 0
	}
	slices.Sort(third)
	slices.Sort(noise)
	t := third[len(third)/2]
	if t < 2*noise[len(noise)/2] {
		t = 0
	}
	return middle(list, 0.01), t
}

// moves is by how much the tone gains from its first windows to its last.
func moves(tones, beside []float64) float64 {
	var list []float64
	for i, p := range tones {
		if p > toneOver*beside[i] {
			list = append(list, sineDB(p))
		}
	}
	if len(list) < movesWindows {
		return 0
	}
	list = list[1 : len(list)-1] // the tone begins and ends within a window
	const few = 3
	n := len(list) / 3
	first, last := slices.Clone(list[:few]), slices.Clone(list[len(list)-n:])
	slices.Sort(first)
	slices.Sort(last)
	by := last[n/2] - first[few/2]
	noise := 1.2533 * spread(last) * math.Sqrt(1.0/few+1/float64(n))
	if math.Abs(by) < max(movesDB, movesSure*noise) {
		return 0
	}
	return by
}

// noiseLevel is the level of ordinary windows: knocks do not count.
func noiseLevel(powers []float64) Estimate {
	if len(powers) < leastWindows {
		return Unknown()
	}
	list := make([]float64, len(powers))
	for i, p := range powers {
		list[i] = sineDB(p)
	}
	return middle(list, 0.05)
}

// middle is the median, with the interval of a median of nine cases of ten, and at least
// so much.
func middle(list []float64, least float64) Estimate {
	slices.Sort(list)
	n := len(list)
	m := list[n/2]
	half := max(least, ninety*1.2533*spread(list)/math.Sqrt(float64(n)))
	return Estimate{m, m - half, m + half}
}

// spread is a standard deviation from the quartiles of a sorted list.
func spread(sorted []float64) float64 {
	n := len(sorted)
	return (sorted[3*n/4] - sorted[n/4]) / 1.349
}

// A Heard is one recording of the series, as it was measured.
type Heard struct {
	From    string // the file
	Step    Step
	Mark    float64
	Levels  Levels
	Ceiling Ceiling
	Peak    float64 // of the stretch
	Full    float64 // of the file's format
	// HighPass is where a quiet one falls away towards low frequencies, Hz; 0 if it does not.
	HighPass float64
}

// A MarkGain is the gain at a mark over that at the lowest mark.
type MarkGain struct {
	Mark float64
	Gain Estimate // dB
}

// A GainLaw is the gain between marks.
type GainLaw struct {
	Marks   []MarkGain // ascending
	Reaches float64    // tone level at the lowest mark, dBFS
	curve   *monotone.Curve
}

// At is the gain at a mark, dB over the lowest, by monotone interpolation (Fritsch and
// Butland, 1984); NaN outside the marks.
func (g *GainLaw) At(mark float64) float64 {
	if len(g.Marks) == 0 || mark < g.Marks[0].Mark || mark > g.Marks[len(g.Marks)-1].Mark {
		return math.NaN()
	}
	if g.curve == nil {
		return g.Marks[0].Gain.Value
	}
	return g.curve.At(mark)
}

// Gains finds the law from the tone at several marks. Notes say what was left out, or
// contradicts itself.
func Gains(list []Heard) (g *GainLaw, notes []string) {
	g = &GainLaw{Reaches: math.NaN()}
	by := map[float64][]Heard{}
	clean := math.Inf(1) // the third harmonic that the tone has anyway
	for _, h := range list {
		if h.Step == Steps && h.Levels.Tone.Known() {
			clean = min(clean, h.Levels.Third)
		}
	}
	for _, h := range list {
		if h.Step != Steps {
			continue
		}
		switch {
		case !h.Levels.Tone.Known():
			notes = append(notes, noteOf(h, "the tone does not stand out of the noise: play it louder, or nearer"))
		case h.Peak > 0.98*min(h.Full, 1) || h.Ceiling.Up+h.Ceiling.Down > clippedTops && h.Levels.Third > clean+bentThird/2:
			notes = append(notes, noteOf(h, "the tone clips: play it softer, at every mark"))
		case h.Levels.Moves != 0:
			notes = append(notes, noteOf(h, "a steady tone moves by "+signed(h.Levels.Moves)+" dB from its beginning to its end: an automatic level or a limiter follows it: switch that off, leave the loudspeaker where it is, and record it again"))
		case h.Levels.Third > clean+bentThird:
			notes = append(notes, noteOf(h, "a stage bends the tone, which makes it too low: play it softer, at every mark"))
		default:
			by[h.Mark] = append(by[h.Mark], h)
		}
	}
	marks := make([]float64, 0, len(by))
	for m := range by {
		marks = append(marks, m)
	}
	slices.Sort(marks)
	base := Unknown()
	for i, m := range marks {
		e, apart := together(by[m])
		if apart > 1 {
			notes = append(notes, noteOf(by[m][0], "recordings at this mark differ by "+oneDecimal(apart)+" dB: the sound, the distance or the mark was not the same"))
		}
		if i == 0 {
			base, g.Reaches = e, e.Value
			g.Marks = append(g.Marks, MarkGain{m, Estimate{}})
			continue
		}
		half := math.Hypot(math.Hypot(e.High-e.Value, base.High-base.Value), math.Sqrt2*playedAgainDB)
		v := e.Value - base.Value
		g.Marks = append(g.Marks, MarkGain{m, Estimate{v, v - half, v + half}})
		if i > 0 && v < g.Marks[i-1].Gain.Value-0.5 {
			notes = append(notes, noteOf(by[m][0], "the gain is lower than at the mark before: were the marks mixed up?"))
		}
	}
	g.fitCurve()
	return g, notes
}

func (g *GainLaw) fitCurve() {
	if len(g.Marks) < 2 {
		return
	}
	var x, y []float64
	for _, m := range g.Marks {
		x, y = append(x, m.Mark), append(y, m.Gain.Value)
	}
	g.curve = monotone.Through(x, y)
}

// together is the mean of the recordings of one mark, and by how much they differ.
func together(list []Heard) (e Estimate, apart float64) {
	lo, hi := math.Inf(1), math.Inf(-1)
	n := float64(len(list))
	for _, h := range list {
		t := h.Levels.Tone
		e.Value += t.Value / n
		e.High += (t.High - t.Value) / n
		lo, hi = min(lo, t.Value), max(hi, t.Value)
	}
	half := e.High + (hi-lo)/2
	return Estimate{e.Value, e.Value - half, e.Value + half}, hi - lo
}
