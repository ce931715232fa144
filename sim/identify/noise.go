package identify

import (
	"fmt"
	"math"
	"slices"
	"strconv"
)

// Noises are the two noises of a chain with a gain between them: n² = N_in²·G² + N_out².
// Both are rms in dB of a full-scale sine. In is at the lowest mark. One of which only a
// bound is known has no value, and −∞ for the lower end.
type Noises struct {
	In, Out Estimate
	Notes   []string
}

const leastShare = 0.3 // of the noise at some mark, below which a part only has a bound

func oneDecimal(v float64) string { return strconv.FormatFloat(v, 'f', 1, 64) }

func noteOf(h Heard, what string) string {
	return fmt.Sprintf("%s, mark %s: %s", h.From, strconv.FormatFloat(h.Mark, 'f', -1, 64), what)
}

type noisePoint struct{ gain, level, half float64 }

// NoisesOf finds both from recordings of quiet at several marks, whose gains the law
// tells. Where there are recordings with the plug, those count, since they hold no room.
func NoisesOf(list []Heard, g *GainLaw) Noises {
	n := Noises{In: Unknown(), Out: Unknown()}
	step := Quiet
	if slices.ContainsFunc(list, func(h Heard) bool { return h.Step == Plugged }) {
		step = Plugged
	}
	var points []noisePoint
	for _, h := range list {
		if h.Step != step || !h.Levels.Noise.Known() {
			continue
		}
		gain := g.At(h.Mark)
		if math.IsNaN(gain) {
			n.Notes = append(n.Notes, noteOf(h, "the gain at this mark is not known: record the tone there"))
			continue
		}
		if h.Levels.Noise.Value < -180 {
			n.Notes = append(n.Notes, noteOf(h, "is digital silence: a recorder that mutes tells nothing of its noise"))
			continue
		}
		points = append(points, noisePoint{gain, h.Levels.Noise.Value, h.Levels.Noise.High - h.Levels.Noise.Value})
	}
	if len(points) == 0 {
		return n
	}
	lo, hi := points[0].gain, points[0].gain
	for _, p := range points {
		lo, hi = min(lo, p.gain), max(hi, p.gain)
	}
	if hi-lo < 6 {
		n.Notes = append(n.Notes, "noise before and after the gain cannot be told apart: record quiet at the lowest and the highest mark")
		top := slices.MaxFunc(points, func(a, b noisePoint) int { return int(math.Copysign(1, a.level-b.level)) })
		n.Out = Estimate{math.NaN(), math.Inf(-1), top.level + top.half}
		n.In = Estimate{math.NaN(), math.Inf(-1), top.level + top.half - lo}
		return n
	}
	n.fit(points)
	return n
}

// fit minimises the squares of dB over a grid that narrows; the interval is where the
// squares, in units of what each point is uncertain by, grow by 2.7.
func (n *Noises) fit(points []noisePoint) {
	loss := func(in, out float64) (l float64) {
		for _, p := range points {
			m := 10 * math.Log10(math.Pow(10, (in+p.gain)/10)+math.Pow(10, out/10))
			se := math.Hypot(p.half, 0.25) / 1.645
			l += (p.level - m) * (p.level - m) / se / se
		}
		return l
	}
	in, out := math.Inf(1), math.Inf(1)
	for _, p := range points {
		in, out = min(in, p.level-p.gain), min(out, p.level)
	}
	least := loss(in, out)
	for width := 12.0; width > 0.01; width *= 0.7 {
		a, b := in, out
		for i := -4.0; i <= 4; i++ {
			for k := -4.0; k <= 4; k++ {
				if l := loss(a+i*width/4, b+k*width/4); l < least {
					in, out, least = a+i*width/4, b+k*width/4, l
				}
			}
		}
	}
	if least > 9*float64(len(points)) {
		n.Notes = append(n.Notes, "the noise does not follow the gain: something else was heard in the quiet recordings, or marks were mixed up")
	}
	scale := max(1, least/float64(max(len(points)-2, 1)))
	// An end of the interval: the other part is free to follow.
	end := func(vary func(d, other float64) float64, sign float64) float64 {
		d := 0.0
		for d < 30 {
			best := math.Inf(1)
			for o := -12.0; o <= 12; o += 0.5 {
				best = min(best, vary(sign*(d+0.05), o))
			}
			if best > least+2.7*scale {
				break
			}
			d += 0.05
		}
		return sign * d
	}
	inBy := func(d, o float64) float64 { return loss(in+d, out+o) }
	outBy := func(d, o float64) float64 { return loss(in+o, out+d) }
	// What is before the gain stands at the lowest mark by the gain between marks, which a
	// played tone tells no better; what is after it differs from what is left of the former.
	widen := func(d, by float64) float64 { return math.Copysign(math.Hypot(d, by), d) }
	n.In = Estimate{in, in + widen(end(inBy, -1), math.Sqrt2*playedAgainDB), in + widen(end(inBy, 1), math.Sqrt2*playedAgainDB)}
	n.Out = Estimate{out, out + widen(end(outBy, -1), playedAgainDB), out + widen(end(outBy, 1), playedAgainDB)}
	shareIn, shareOut := 0.0, 0.0
	for _, p := range points {
		a, b := math.Pow(10, (in+p.gain)/10), math.Pow(10, out/10)
		shareIn, shareOut = max(shareIn, a/(a+b)), max(shareOut, b/(a+b))
	}
	if shareIn < leastShare {
		n.In = Estimate{math.NaN(), math.Inf(-1), n.In.High}
		n.Notes = append(n.Notes, "the noise before the gain is below the one after it at every mark: only a bound is known")
	}
	if shareOut < leastShare {
		n.Out = Estimate{math.NaN(), math.Inf(-1), n.Out.High}
		n.Notes = append(n.Notes, "the noise after the gain is below the one before it at every mark: only a bound is known")
	}
}
