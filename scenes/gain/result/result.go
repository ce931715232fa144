package result

import (
	"fmt"
	"math"
	"strings"

	"gainwright/scenes/bench"
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
	"gainwright/sim"
	"gainwright/sim/plan"
)

// Advice is what a better setting would have been.
type Advice struct {
	GainDB float64 // NaN if the gain was well set
	// NoiseDB is how much more noise the delivered file would have had.
	NoiseDB float64
	Words   string
	Verdict string // in two or three words
}

// headroom is what was left above the loudest moment of readings r with settings c; micOut
// is the highest voltage that the microphone gave.
func headroom(c sim.Chain, r sim.Readings, micOut float64) float64 {
	if r.RailOvers == 0 {
		return float64(r.HeadroomDB)
	}
	// What the converter was asked for had been cut off before: count from the
	// microphone, to the lower of the two ceilings.
	to, ceil := sim.ToFullScale(c), sim.Ceilings(c)
	return kit.Decibel(min(ceil[sim.AtConverter], ceil[sim.AtPreamp]*to[sim.AtPreamp]) / (micOut * to[sim.AtMicOut]))
}

// Most is the most gain that a take allowed, whole dB; NaN where no gain did.
func Most(c sim.Chain, r sim.Readings, micOut float64) float64 {
	most := math.Floor(plan.Mostly(c.Preamp.GainDB, headroom(c, r, micOut)))
	if math.IsInf(most, 0) || r.MicOverloadSamples > 0 {
		return math.NaN()
	}
	return most
}

// Advise works out what would have been better than the settings c that gave the
// readings r; micOut is the highest voltage that the microphone gave. hour is the window
// for the hour as it was told; where nothing was, the take alone speaks.
func Advise(c sim.Chain, r sim.Readings, micOut float64, hour bench.Told) Advice {
	gain, head := c.Preamp.GainDB, headroom(c, r, micOut)
	a := Advice{GainDB: math.NaN(), Verdict: "well set"}
	switch {
	case math.IsInf(head, 0) || math.IsNaN(head):
		a.Words, a.Verdict = "Nothing was heard.", "nothing heard"
		return a
	case r.MicOverloadSamples > 0:
		a.Words, a.Verdict = "The microphone itself was overloaded: only more distance, or another microphone, helps.", "microphone overloaded"
		return a
	}
	most := math.Floor(gain + head)
	lost := r.Overs > 0 || r.RailOvers > 0
	take := fmt.Sprintf("This take needed at most %s dB", ui.Decimal(max(most, kit.GainMin), 0))
	if lost {
		a.Verdict = "too hot"
		if r.RailOvers > 0 {
			take = "The preamp was at its rail. " + take
		}
		if gain <= kit.GainMin {
			a.Words = "Less gain is not to be had here: a pad or more distance."
			return a
		}
	}
	to := func(g float64) string {
		a.GainDB = min(max(g, kit.GainMin), kit.GainMax)
		a.NoiseDB = noiseCost(c, a.GainDB)
		return fmt.Sprintf("%s dB, %s", ui.Decimal(a.GainDB, 0), price(a.NoiseDB))
	}
	if !hour.Known {
		a.Words = take + "."
		if lost {
			a.Words = take + ": " + to(most) + "."
		}
		return a
	}
	switch {
	case lost && hour.SuggestDB > most:
		a.Words = take + ", less than an hour asks for: it had one of the moments that a window has to leave over. " + kit.Capital(to(most)) + "."
	case lost:
		a.Words = take + ". For the hour " + to(hour.SuggestDB) + ": " + plan.OneLaugh + "."
	case gain > hour.HighDB+hour.EdgeDB:
		a.Verdict = "too hot for an hour"
		a.Words = take + ", an hour at most " + to(hour.SuggestDB) + ": " + plan.OneLaugh + "."
	case gain < hour.LowDB && noiseCost(c, hour.SuggestDB) < -1:
		a.Verdict = "very low"
		a.Words = take + ". " + kit.Capital(to(min(hour.SuggestDB, most))) + ", and right for the hour."
	case math.Abs(most-hour.SuggestDB) < 1:
		a.Words = fmt.Sprintf("Well set, for this take and for the hour: both allow %s dB.", ui.Decimal(min(most, hour.SuggestDB), 0))
	case most > hour.SuggestDB:
		a.Words = fmt.Sprintf("Well set. %s, the hour at most %s dB: %s.", take, ui.Decimal(hour.SuggestDB, 0), plan.OneLaugh)
	default:
		a.Words = fmt.Sprintf("Well set. %s, the hour at most %s dB: this one had a moment louder than most.", take, ui.Decimal(hour.SuggestDB, 0))
	}
	return a
}

// noiseCost is how much louder the noise of the delivered file would be at another gain, dB.
func noiseCost(c sim.Chain, to float64) float64 {
	now := c.Preamp.GainDB
	rel := func(g float64) float64 {
		c.Preamp.GainDB = g
		sum := 0.0
		for _, p := range sim.NoiseParts(c) {
			sum += p.KRMS * p.KRMS
		}
		return 10*math.Log10(sum) - g
	}
	return rel(to) - rel(now)
}

func price(db float64) string {
	switch {
	case db >= 0.05:
		return "at the price of " + ui.Decimal(db, 1) + " dB more noise"
	case db <= -0.05:
		return "with " + ui.Decimal(-db, 1) + " dB less noise"
	}
	return "with no more noise"
}

// Card is what became of a take, in plain words.
type Card struct {
	Of    *bench.Take // whose it is
	Words [bench.MaxStrips][4]string
	All   [bench.MaxStrips]string
	Score string // what was told before, beside fixed rules
	para  [bench.MaxStrips][4]ui.Para
	under ui.Para
	Box   ink.Rect
	Head  ink.Rect
	sub   ui.Strs
}

// untold stands for the advice where it would be the answer.
const untold = "What would have been better is not told yet."

// Make works the card out for a take that has ended. secret keeps to what was read: how
// the gain was set and what would have been better is the answer to something.
func (c *Card) Make(t *bench.Take, secret bool, score string) {
	c.Of, c.Score = t, score
	for i := range t.N {
		r := &t.Readings[i]
		w := &c.Words[i]
		w[0], w[3] = "Strip "+bench.StripNames[i], untold
		if !secret {
			advice := Advise(t.End[i], *r, t.Levels[i][sim.AtMicOut].Peak, t.Told[i])
			w[0] += ": " + advice.Verdict
			w[3] = advice.Words
		}
		w[1] = LostWords(*r)
		w[2] = detailWords(*r)
		c.All[i] = w[1] + " " + w[2] + " " + w[3]
	}
}

// LostWords say what was lost, without units.
func LostWords(r sim.Readings) string {
	switch r.Overs {
	case 0:
		return "Nothing was cut off."
	case 1:
		return "1 moment flattened, lost for good."
	}
	return fmt.Sprintf("%d moments flattened, lost for good.", r.Overs)
}

// detailWords are the figures beneath.
func detailWords(r sim.Readings) string {
	gain := "At " + ui.Decimal(float64(r.GainDB), 1) + " dB of gain "
	s := gain + ui.Decimal(float64(r.HeadroomDB), 1) + " dB were left at the loudest moment."
	if r.Overs > 0 {
		s = fmt.Sprintf("%sup to %s dB too high, the longest %s ms.", gain, ui.Decimal(-float64(r.HeadroomDB), 1), ui.Decimal(float64(r.LongestOverMS), 1))
	}
	v := float64(r.DeliveredNoiseLUFS)
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return s + " Its noise could not be measured."
	}
	return s + " Noise after delivery: " + ui.Decimal(v, 1) + " LUFS."
}

// Height is what the card needs at a width.
func (c *Card) Height(th *ui.Theme, width float32, n int) float32 {
	w := (width - 24 - float32(n-1)*14) / float32(n)
	rows := float32(0)
	st := th.Style(ui.Small, ink.Regular, ink.Left, th.Say)
	row := th.Row(ui.Small)
	for i := range n {
		h := float32(0)
		for k := 1; k < 4; k++ {
			h += c.para[i][k].Height(c.Words[i][k], st, w, row)
		}
		rows = max(rows, h)
	}
	if c.Score != "" {
		rows += c.under.Height(c.Score, th.Style(ui.Tiny, ink.Regular, ink.Left, th.Say), width-24, th.Row(ui.Tiny)) + 4
	}
	return 16 + max(th.Row(ui.Strong), 26) + 4 + th.Row(ui.Strong) + rows + 14
}

// Draw draws the card; large is for a presentation.
func (c *Card) Draw(l *ink.List, th *ui.Theme, v *bench.Sight, large bool) {
	t := v.Bench.Take()
	head := c.Head
	st := th.Style(ui.Strong, ink.Bold, ink.Left, th.Say)
	const title = "What became of it"
	l.TextIn(ui.Left(&head, min(ink.Measure(title, st)+1, head.W)), title, st)
	ui.Left(&head, 12)
	sub := th.Style(ui.Tiny, ink.Regular, ink.Left, th.SayDim)
	if t == nil || !t.Done || c.Of != t {
		in := c.Box
		var none = "No take yet. What a take has kept and lost is told here once it has ended."
		c.para[0][0].Draw(l, in, none, th.Style(ui.Body, ink.Regular, ink.Left, th.SayDim), th.Row(ui.Body))
		return
	}
	s := c.sub.Get([6]int64{t.ID, int64(head.W), int64(th.Text * 100)}, func() string {
		base := fmt.Sprintf("take %d, %s s", t.Number, ui.Decimal(t.Seconds(), 1))
		long := base
		if when := v.LoudestWords(); when != "" {
			long = base + ": loudest " + when
		}
		return ui.Fit(sub, head.W, long, base, "")
	})
	l.TextIn(head, s, sub)
	size, big := ui.Small, ui.Body
	if large {
		size, big = ui.Strong, ui.Title
	}
	row := th.Row(size)
	box := c.Box
	if c.Score != "" {
		st := th.Style(ui.Tiny, ink.Regular, ink.Left, th.SayDim)
		low := ui.Bottom(&box, c.under.Height(c.Score, st, box.W, th.Row(ui.Tiny)))
		c.under.Draw(l, low, c.Score, st, th.Row(ui.Tiny))
		ui.Bottom(&box, 4)
	}
	for i := range t.N {
		in := ui.Column(box, i, t.N, 14)
		if i > 0 {
			l.Line(1, th.Grid, ink.Point{X: in.X - 7, Y: in.Y}, ink.Point{X: in.X - 7, Y: in.Bottom()})
		}
		top := ui.Top(&in, th.Row(max(big, ui.Strong)))
		good := t.Readings[i].Overs == 0
		d := th.DP(size) * 1.1
		ui.Verdict(l, th, ink.Point{X: top.X + d/2 + 1, Y: top.Y + top.H/2}, d, good)
		ui.Left(&top, d+8)
		bold := th.Style(big, ink.Bold, ink.Left, th.Say)
		l.TextIn(top, ui.Fit(bold, top.W, c.Words[i][0], strings.TrimPrefix(c.Words[i][0], "Strip "), bench.StripTitles[i]), bold)
		for k := 1; k < 4; k++ {
			stl := th.Style(size, ink.Regular, ink.Left, th.Say)
			switch k {
			case 1:
				stl.Color = th.SayGood
				if !good {
					stl.Color = th.SayLost
				}
				stl.Font = ink.Regular
			case 2:
				stl.Color = th.SayNoise
			}
			h := c.para[i][k].Draw(l, in, c.Words[i][k], stl, row)
			ui.Top(&in, h+3)
		}
	}
}
