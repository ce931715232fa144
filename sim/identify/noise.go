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

// signed has a sign either way.
func signed(v float64) string {
	if v < 0 {
		return "−" + oneDecimal(-v)
	}
	return "+" + oneDecimal(v)
}

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

// HighPassNote tells of a high-pass that quiet recordings show, by that of the highest mark:
// the noise after the gain, which no high-pass before it touches, hides it least there. "" if
// there is none.
func HighPassNote(list []Heard) string {
	var at *Heard
	for i, h := range list {
		if (h.Step == Quiet || h.Step == Plugged) && (at == nil || h.Mark > at.Mark || h.Mark == at.Mark && h.HighPass > at.HighPass) {
			at = &list[i]
		}
	}
	if at == nil || at.HighPass == 0 {
		return ""
	}
	return noteOf(*at, "below about "+strconv.FormatFloat(5*math.Round(at.HighPass/5), 'f', 0, 64)+" Hz the noise falls away: a high-pass is on, or the microphone hears nothing lower; all else was found with it")
}

const gridDB = 0.01 // of the finest grid

// fit finds both twice: how far a gain that is not known well matters at a point is told by
// the share that is before it, which the first fit tells.
func (n *Noises) fit(points []noisePoint) {
	f := noiseFit{points: points, se: make([]float64, len(points))}
	for i, p := range points {
		f.se[i] = math.Hypot(p.half, playedAgainDB) / ninety
	}
	in, out, _ := f.best()
	for i, p := range points {
		f.se[i] = math.Hypot(p.half, playedAgainDB*before(in+p.gain, out)) / ninety
	}
	in, out, least := f.best()
	if least > 9*float64(len(points)) && f.worst(in, out) > 1 {
		n.Notes = append(n.Notes, "the noise does not follow the gain: something else was heard in the quiet recordings, or marks were mixed up")
	}
	scale := max(1, least/float64(max(len(points)-2, 1)))
	inBy := func(d, o float64) float64 { return f.loss(in+d, out+o) }
	outBy := func(d, o float64) float64 { return f.loss(in+o, out+d) }
	most := least + ninety*ninety*scale
	// The tone at the lowest mark is what all gains are told from, and with them what is
	// before the gain.
	widen := func(d float64) float64 { return math.Copysign(math.Hypot(d, playedAgainDB), d) }
	n.In = Estimate{in, in + widen(endOf(inBy, -1, most)), in + widen(endOf(inBy, 1, most))}
	n.Out = Estimate{out, out + endOf(outBy, -1, most), out + endOf(outBy, 1, most)}
	shareIn, shareOut := 0.0, 0.0
	for _, p := range points {
		b := before(in+p.gain, out)
		shareIn, shareOut = max(shareIn, b), max(shareOut, 1-b)
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

// before is the share of a noise's power that is before the gain, given both behind it, dB.
func before(in, out float64) float64 { return 1 / (1 + math.Pow(10, (out-in)/10)) }

// A noiseFit is how well two noises agree with points of standard errors se, dB.
type noiseFit struct {
	points []noisePoint
	se     []float64
}

func (f *noiseFit) off(i int, in, out float64) float64 {
	p := f.points[i]
	return p.level - 10*math.Log10(math.Pow(10, (in+p.gain)/10)+math.Pow(10, out/10))
}

func (f *noiseFit) loss(in, out float64) (l float64) {
	for i := range f.points {
		d := f.off(i, in, out) / f.se[i]
		l += d * d
	}
	return l
}

// worst is the farthest that a point is off, dB.
func (f *noiseFit) worst(in, out float64) (w float64) {
	for i := range f.points {
		w = max(w, math.Abs(f.off(i, in, out)))
	}
	return w
}

// best minimises the squares over a grid that narrows.
func (f *noiseFit) best() (in, out, least float64) {
	in, out = math.Inf(1), math.Inf(1)
	for _, p := range f.points {
		in, out = min(in, p.level-p.gain), min(out, p.level)
	}
	least = f.loss(in, out)
	for width := 12.0; width > gridDB; width *= 0.7 {
		a, b := in, out
		for i := -4.0; i <= 4; i++ {
			for k := -4.0; k <= 4; k++ {
				if l := f.loss(a+i*width/4, b+k*width/4); l < least {
					in, out, least = a+i*width/4, b+k*width/4, l
				}
			}
		}
	}
	return in, out, least
}

// endOf is how far one noise can go, by sign, until the loss is over most though the other
// is free to follow; dB.
func endOf(vary func(d, other float64) float64, sign, most float64) float64 {
	over := func(d float64) bool {
		best, at := math.Inf(1), 0.0
		for width := 12.0; width > gridDB; width *= 0.4 {
			middle := at
			for i := -6.0; i <= 6; i++ {
				if l := vary(sign*d, middle+i*width/6); l < best {
					best, at = l, middle+i*width/6
				}
			}
		}
		return best > most
	}
	const farthest = 30
	lo, hi := 0.0, 0.05
	for ; hi < farthest && !over(hi); hi *= 1.5 {
		lo = hi
	}
	for hi = min(hi, farthest); hi-lo > gridDB; {
		if mid := (lo + hi) / 2; over(mid) {
			hi = mid
		} else {
			lo = mid
		}
	}
	return sign * hi
}
