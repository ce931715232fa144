package mend

import (
	"fmt"
	"gainwright/scenes/bench"
	"gainwright/scenes/work"
	"gainwright/sim"
	"gainwright/sim/repair"
	"gainwright/sounds/voice"
	"math"
)

// mendTake is what there is to mend: one stretch of a recording, full scale = 1.
type mendTake struct {
	title string
	x     []float64
	// truth is the talker's own wave at the file's scale, lower the file made with
	// mendLowerDB less gain; nil where they are not known.
	truth, lower []float64
	safety       []float64 // another strip's file with less gain, or nil
	safetyName   string
	ceiling      float64 // of the converter, 0 where it is not known
	loudest      int64
	clips        repair.Clips
	over         int // samples whose true value lay beyond the ceiling, where known
}

// splice puts in from the safety track what is clipped.
func (m *mendTake) splice() repair.Treatment {
	s := repair.DefaultSplice(m.safety)
	s.Clips = &m.clips
	return s
}

// builtinTake is a laugh recorded with too much gain and no limiter.
func builtinTake(h *work.Context) (*mendTake, error) {
	perf, err := voice.New(voice.Script{
		{Text: "The river froze that winter, and nobody could cross.", Effort: voice.Normal},
		{Do: "laugh", Effort: voice.Loud},
	}, "captain", mendSeed)
	if err != nil {
		return nil, err
	}
	x, err := perf.Render(h, func(done, total int) { h.Report("the performance", 0.3*float64(done)/float64(total)) })
	if err != nil {
		return nil, err
	}
	c := sim.Default()
	c.Preamp.GainDB = 54
	r, err := work.Record(h, c, mendSeed, x, h.Span("recording", 0.3, 0.5))
	if err != nil {
		return nil, err
	}
	m := &mendTake{title: "the captain laughs", x: r.File, truth: r.Truth, ceiling: r.Ceiling}
	m.find()
	safe := c
	safe.Preamp.GainDB -= 2 * mendLowerDB
	second, err := work.Record(h, safe, mendSeed+1, x, h.Span("recording", 0.5, 0.6))
	if err != nil {
		return nil, err
	}
	m.safety, m.safetyName = second.File, "the safety track"
	return m, m.alongside(h, c, x)
}

// alongside adds the file made with less gain from the performance, Pa at 1 m.
func (m *mendTake) alongside(h *work.Context, c sim.Chain, pressure []float64) error {
	c.Preamp.GainDB -= mendLowerDB
	if c.Validate() != nil {
		return nil // there is no such gain
	}
	r, err := work.Record(h, c, mendSeed, pressure, h.Span("the take with less gain", 0.6, 0.7))
	if err != nil {
		return err
	}
	m.lower = r.File
	return nil
}

// harsh reports whether it is clipped, as far as is known.
func (m *mendTake) harsh() bool { return m.over > 0 || m.clips.Samples > 0 }

// find looks for the loudest moment, of the truth, else of the file, and counts
// what went over.
func (m *mendTake) find() {
	x := m.truth
	if x == nil {
		x = m.x
	}
	peak := 0.0
	for i, v := range x {
		a := math.Abs(v)
		if a > peak {
			peak, m.loudest = a, int64(i)
		}
		if m.truth != nil && a > m.ceiling {
			m.over++
		}
	}
}

// takeExcerpt cuts the stretch around the loudest moment out of a take's strip,
// and gives the pressure and settings that make it again. The pressure is that
// of a talker who stays where they are and a gain that stays as it ended: leaning
// in and turns of the gain are in it.
func takeExcerpt(t *bench.Take, strip int) (m *mendTake, pressure []float64, c sim.Chain) {
	n := int64(mendSeconds() * bench.Rate)
	total := t.Frames()
	from := max(0, min(t.Loudest-n/2, total-n))
	to := min(total, from+n)
	m = &mendTake{title: fmt.Sprintf("take %d, strip %s", t.Number, bench.StripNames[strip])}
	cut := func(x []float32) []float64 {
		y := make([]float64, to-from)
		for i := range y {
			y[i] = float64(x[from+int64(i)])
		}
		return y
	}
	m.x = cut(t.File[strip])
	c = t.End[strip]
	m.ceiling = sim.Ceilings(c)[sim.AtConverter]
	best := t.End[strip].Preamp.GainDB - mendSafetyDB
	for i := range takeStrips(t) {
		if g := t.End[i].Preamp.GainDB; i != strip && g <= best && t.Readings[i].Overs < t.Readings[strip].Overs {
			best, m.safety, m.safetyName = g, cut(t.File[i]), "strip "+bench.StripNames[i]
		}
	}
	// The wave as it was kept for drawing has 8 bits; the performance is exact, and
	// the same but for a constant where nobody moved and no gain was turned.
	to1 := sim.ToFullScale(c)[sim.AtTalker]
	pressure = cut(t.Spoken)
	m.truth = make([]float64, to-from)
	kept := make([]float64, to-from)
	var w bench.Window
	for at := from; at < to; at += bench.WindowFrames {
		t.Window(&w, strip, at+bench.WindowFrames/2)
		for i := int64(0); i < bench.WindowFrames && at+i < to; i++ {
			kept[at+i-from] = float64(w.Strip[strip].Truth[i])
		}
	}
	still := true
	for i, p := range pressure {
		m.truth[i] = p * to1
		still = still && math.Abs(kept[i]-m.truth[i]) <= math.Abs(m.truth[i])/100+1e-6
	}
	if !still {
		m.truth = kept
		for i, v := range kept {
			pressure[i] = v / to1
		}
	}
	m.find()
	return m, pressure, c
}

// clipLevel is where the tops of the take are flat, for the picture.
func (m *mendTake) clipLevel() float64 {
	if m.ceiling > 0 {
		return m.ceiling
	}
	return max(m.clips.Top, m.clips.Bottom)
}

const (
	// mendLowerDB is how much less gain the take beside the mended one has.
	mendLowerDB = 12
	mendSeed    = 11
	// A take must differ in gain by so much to serve as the other's safety track.
	mendSafetyDB = 3
	mendShortest = bench.Rate / 2

	mendSpoken   = 0
	mendRecorded = 1
	mendMended   = 2
	mendLower    = 3
)

// mendSeconds is how much of a recording is mended: the stretch around its
// loudest moment, and less where everything shares one thread.
func mendSeconds() float64 {
	if work.Sliced {
		return 5
	}
	return 12
}

// strips is how many strips t has files of.
func takeStrips(t *bench.Take) (n int) {
	for _, f := range t.File {
		if len(f) > 0 {
			n++
		}
	}
	return n
}
