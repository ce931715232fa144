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
)

// KeepDB is the room that a setting should leave above the loudest moment of a
// take (common practice, no source).
const KeepDB = 6

// Advice is what a better setting would have been.
type Advice struct {
	GainDB float64 // NaN if the gain was well set
	// NoiseDB is how much more noise the delivered file would have had.
	NoiseDB float64
	Words   string
}

// Advise works out what would have been better than the settings c that gave the
// readings r; micOut is the highest voltage that the microphone gave.
func Advise(c sim.Chain, r sim.Readings, micOut float64) Advice {
	gain, head := c.Preamp.GainDB, float64(r.HeadroomDB)
	if r.RailOvers > 0 {
		// What the converter was asked for had been cut off before: count from the
		// microphone, to the lower of the two ceilings.
		to, ceil := sim.ToFullScale(c), sim.Ceilings(c)
		head = kit.Decibel(min(ceil[sim.AtConverter], ceil[sim.AtPreamp]*to[sim.AtPreamp]) / (micOut * to[sim.AtMicOut]))
	}
	a := Advice{GainDB: math.NaN()}
	cost := func(to float64) float64 {
		rel := func(g float64) float64 {
			k := c
			k.Preamp.GainDB = g
			sum := 0.0
			for _, p := range sim.NoiseParts(k) {
				sum += p.KRMS * p.KRMS
			}
			return 10*math.Log10(sum) - g
		}
		return rel(to) - rel(gain)
	}
	price := func(db float64) string {
		switch {
		case db >= 0.05:
			return "at the price of " + ui.Decimal(db, 1) + " dB more noise"
		case db <= -0.05:
			return "with " + ui.Decimal(-db, 1) + " dB less noise"
		}
		return "with no more noise"
	}
	to := math.Floor(gain + head - KeepDB)
	to = min(max(to, kit.GainMin), kit.GainMax)
	switch {
	case math.IsInf(head, 0) || math.IsNaN(head):
		a.Words = "Nothing was heard."
	case r.MicOverloadSamples > 0:
		a.Words = "The microphone itself was overloaded: only more distance, or another microphone, helps."
	case r.RailOvers > 0 && to < gain:
		a.GainDB, a.NoiseDB = to, cost(to)
		a.Words = fmt.Sprintf("The preamp was at its rail. %s dB of gain would have left %d dB, %s.", ui.Decimal(to, 0), KeepDB, price(a.NoiseDB))
	case r.Overs > 0:
		if to >= gain {
			a.Words = "Less gain is not to be had here: a pad or more distance."
			break
		}
		a.GainDB, a.NoiseDB = to, cost(to)
		a.Words = fmt.Sprintf("%s dB would have left %d dB at the loudest, %s.", ui.Decimal(to, 0), KeepDB, price(a.NoiseDB))
	case head < 3:
		a.GainDB, a.NoiseDB = to, cost(to)
		a.Words = fmt.Sprintf("A close call. %s dB would have left %d dB, %s.", ui.Decimal(to, 0), KeepDB, price(a.NoiseDB))
	case head > 20 && to > gain && cost(to) < -1:
		// Up to where the next laugh still has twice the room.
		to = math.Floor(gain + head - 2*KeepDB)
		a.GainDB, a.NoiseDB = to, cost(to)
		a.Words = fmt.Sprintf("More room than it takes. %s dB would still have left %d dB, %s.", ui.Decimal(to, 0), 2*KeepDB, price(a.NoiseDB))
	default:
		a.Words = "Well set: room above the loudest moment, and more gain would hardly lower the noise."
		if n := cost(min(gain+6, kit.GainMax)); n < -1 {
			a.Words = fmt.Sprintf("Well set. 6 dB more would lower the noise by %s dB, and take that room.", ui.Decimal(-n, 1))
		}
	}
	return a
}

// Card is what became of a take, in plain words.
type Card struct {
	Of    *bench.Take // whose it is
	Words [bench.MaxStrips][4]string
	All   [bench.MaxStrips]string
	para  [bench.MaxStrips][4]ui.Para
	Box   ink.Rect
	Head  ink.Rect
	sub   ui.Strs
}

// Make works the card out for a take that has ended.
func (c *Card) Make(t *bench.Take) {
	c.Of = t
	for i := range t.N {
		r := &t.Readings[i]
		w := &c.Words[i]
		advice := Advise(t.End[i], *r, t.Levels[i][sim.AtMicOut].Peak)
		w[0] = "Strip " + bench.StripNames[i] + ": " + VerdictWord(*r, advice)
		w[1] = LostWords(*r)
		w[2] = detailWords(*r)
		w[3] = advice.Words
		c.All[i] = w[1] + " " + w[2] + " " + w[3]
	}
}

// VerdictWord says in two or three words how well the gain was set.
func VerdictWord(r sim.Readings, a Advice) string {
	head := float64(r.HeadroomDB)
	switch {
	case math.IsInf(head, 0) || math.IsNaN(head):
		return "nothing heard"
	case r.MicOverloadSamples > 0:
		return "microphone overloaded"
	case r.Overs > 0:
		return "too hot"
	case head < 3:
		return "a close call"
	case a.GainDB > float64(r.GainDB):
		return "very low"
	}
	return "well set"
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
	for i := range t.N {
		in := ui.Column(c.Box, i, t.N, 14)
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
