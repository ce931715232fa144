package equipment

import (
	"fmt"
	"math"
	"strconv"

	"gainwright/sim"
	"gainwright/sim/monotone"
)

// A Knob turns marks into the gain of a chain and back. A mark stands for the level of a
// sine at the microphone that just reaches full scale there, and so for another gain in a
// chain with another microphone. Between marks that level follows a monotone curve (Fritsch
// and Butland, 1984), as where it was measured. A pad counts beside the knob: marks were
// measured without.
type Knob struct {
	Marks    []float64 // ascending, at least one
	Anchored bool      // a level in dB SPL was known; without, the marks were placed by guess
	gains    []float64 // the level at full scale, dB SPL, with its sign turned: it rises with the gain
	low      []float64 // how far the truth may lie below, dB
	high     []float64 // and above
	curve    *monotone.Curve
}

// newKnob takes the level at full scale at the lowest mark, dB SPL.
func newKnob(r *Recorder, full float64) *Knob {
	k := &Knob{Anchored: r.anchored()}
	for _, m := range r.Marks {
		k.Marks = append(k.Marks, m.Mark)
		k.gains = append(k.gains, *m.Gain.Value-full)
		lo, hi := m.Gain.widths()
		if k.Anchored {
			// The anchor's interval is the same error at every mark; what stands at a mark
			// holds both.
			if m.FullScale.known() {
				lo, hi = m.FullScale.widths()
			} else {
				alo, ahi := r.fullScale().widths()
				lo, hi = math.Hypot(lo, alo), math.Hypot(hi, ahi)
			}
		}
		k.low, k.high = append(k.low, lo), append(k.high, hi)
	}
	if len(k.Marks) > 1 {
		k.curve = monotone.Through(k.Marks, k.gains)
	}
	return k
}

// Least and Most are the ends of the knob.
func (k *Knob) Least() float64 { return k.Marks[0] }

// Most is the highest mark.
func (k *Knob) Most() float64 { return k.Marks[len(k.Marks)-1] }

// Range is the least and the largest gain of c that the knob can give, dB.
func (k *Knob) Range(c sim.Chain) (lo, hi float64) {
	c.Preamp.PadDB = 0
	return levelAt(&c, -k.gains[0]), levelAt(&c, -k.gains[len(k.gains)-1])
}

// Gain is the gain of c that stands for a mark, dB; an error, a sentence, outside the knob.
func (k *Knob) Gain(c sim.Chain, mark float64) (float64, error) {
	if !(mark >= k.Least() && mark <= k.Most()) {
		if len(k.Marks) == 1 {
			return 0, fmt.Errorf("the equipment file knows mark %s only, not %s", MarkText(k.Least()), MarkText(mark))
		}
		return 0, fmt.Errorf("mark %s is not on the knob: the equipment file knows marks %s to %s", MarkText(mark), MarkText(k.Least()), MarkText(k.Most()))
	}
	c.Preamp.PadDB = 0
	return levelAt(&c, -k.at(mark)), nil
}

func (k *Knob) at(mark float64) float64 {
	if k.curve == nil {
		return k.gains[0]
	}
	return k.curve.At(mark)
}

// A Set is where a gain lies on the knob.
type Set struct {
	Mark      float64 // the nearest that there is
	Low, High float64 // marks between which it lies in nine cases of ten
	Beyond    float64 // dB: above 0, more gain than the highest mark has; below, less than the lowest
}

// Find tells where the gain of c lies.
func (k *Knob) Find(c sim.Chain) Set {
	c.Preamp.PadDB = 0
	g := -FullScaleDBSPL(c)
	s := Set{Mark: k.inverse(g)}
	s.Beyond = g - min(max(g, k.gains[0]), k.gains[len(k.gains)-1])
	if math.Abs(s.Beyond) < 0.05 {
		s.Beyond = 0
	}
	s.Low = k.inverse(g - k.between(k.low, s.Mark))
	s.High = k.inverse(g + k.between(k.high, s.Mark))
	return s
}

// inverse is the lowest mark that has a level, or an end of the knob.
func (k *Knob) inverse(g float64) float64 {
	if g <= k.gains[0] {
		return k.Least()
	}
	for i := 1; i < len(k.Marks); i++ {
		if k.gains[i] < g {
			continue
		}
		a, b := k.Marks[i-1], k.Marks[i]
		for range 50 {
			if m := (a + b) / 2; k.at(m) < g {
				a = m
			} else {
				b = m
			}
		}
		return b
	}
	return k.Most()
}

// between interpolates a width.
func (k *Knob) between(w []float64, mark float64) float64 {
	for i := 1; i < len(w); i++ {
		if mark <= k.Marks[i] {
			t := (mark - k.Marks[i-1]) / (k.Marks[i] - k.Marks[i-1])
			return w[i-1] + t*(w[i]-w[i-1])
		}
	}
	return w[len(w)-1]
}

// Near is a mark as a hand can set it: the nearest half, or the nearest tenth where marks
// lie closer than that.
func (k *Knob) Near(mark float64) float64 {
	step := 0.5
	for i := 1; i < len(k.Marks); i++ {
		if k.Marks[i]-k.Marks[i-1] < 0.5 {
			step = 0.1
		}
	}
	return min(max(math.Round(mark/step)*step, k.Least()), k.Most())
}

// MarkText writes a mark as people say it: 4½, 2.3.
func MarkText(v float64) string {
	if w := math.Floor(v); v-w == 0.5 && v > 0 {
		if w == 0 {
			return "½"
		}
		return strconv.FormatFloat(w, 'f', -1, 64) + "½"
	}
	return strconv.FormatFloat(math.Round(v*10)/10, 'f', -1, 64)
}
