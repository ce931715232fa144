package speechset

import (
	"fmt"
	"math"
	"slices"
)

// A LightCase is a take that was clipped lightly: where mending has most to lose.
type LightCase struct {
	Speaker Speaker
	Process string
	SDR     float64 // dB; 0 for a handful of samples
	Seconds float64
	part    int
	effects string
	top     float64 // Hz, the highest frequency that the effects name
	rate    int     // Hz; 0 for that of the recordings
}

func (c LightCase) String() string {
	at := ""
	if c.rate > 0 {
		at = fmt.Sprintf(", %g kHz", float64(c.rate)/1000)
	}
	return fmt.Sprintf("%s %d, %s, %g dB, %g s%s", c.Speaker.Name, c.part, c.Process, c.SDR, c.Seconds, at)
}

// HeavyCases are four of every speaker of one side, at 3 to 10 dB. Another round is of the
// same speakers, otherwise processed.
func HeavyCases(held bool, round int) []LightCase { return HeavyOf(Side(held), round) }

// HeavyOf are HeavyCases of any speakers.
func HeavyOf(people []Speaker, round int) (out []LightCase) {
	each(people, round, func(s Speaker, n int) {
		for k, sdr := range []float64{3, 5, 7, 10} {
			p := Processes[(2*k+n)%len(Processes)]
			out = append(out, LightCase{Speaker: s, Process: p.Name, SDR: sdr, Seconds: 1, part: k, effects: p.Effects, top: p.Top})
		}
	})
	return out
}

// LightCases are 300 of one side's speakers, at 12 to 25 dB, some of them a handful of
// samples and some of takes of half a second.
func LightCases(held bool, round int) []LightCase { return LightOf(Side(held), round) }

// LightOf are LightCases of any speakers.
func LightOf(people []Speaker, round int) (out []LightCase) {
	levels := []float64{12, 15, 18, 21, 25, 13.5, 16, 20, 15, 0}
	i := 0
	each(people, round, func(s Speaker, n int) {
		for k := range lightTakes*(i+1)/len(people) - lightTakes*i/len(people) {
			p := Processes[(k+n)%len(Processes)]
			c := LightCase{Speaker: s, Process: p.Name, SDR: levels[(k+3*n)%len(levels)], Seconds: 2, part: k, effects: p.Effects, top: p.Top}
			if k == 9 {
				c.Seconds = 0.5
			}
			out = append(out, c)
		}
		i++
	})
	return out
}

const lightTakes = 300

// Side are the Speakers of one side.
func Side(held bool) (out []Speaker) {
	for _, s := range Speakers {
		if s.Held == held {
			out = append(out, s)
		}
	}
	return out
}

func each(people []Speaker, round int, do func(s Speaker, n int)) {
	for i, s := range people {
		do(s, 15*round+i)
	}
}

// Load makes the case: the take and what a 16-bit converter that clips leaves of it,
// full scale 1. ErrNarrow, if it cannot be processed so.
func (c LightCase) Load() (x, y []float64, rate int, err error) {
	who := c.Speaker
	if c.rate > 0 {
		who.Rate = c.rate
	}
	if who.Rate > 0 && 2*c.top >= float64(who.Rate) {
		return nil, nil, 0, ErrNarrow
	}
	if x, rate, err = who.Take(c.part, c.Seconds, c.effects); err != nil {
		return nil, nil, 0, err
	}
	var theta float64
	if c.SDR > 0 {
		_, theta = Clip(x, c.SDR)
	} else { // one sample of two thousand
		v := make([]float64, len(x))
		for i := range x {
			v[i] = math.Abs(x[i])
		}
		slices.Sort(v)
		theta = v[len(v)-1-len(v)/2000]
	}
	y = make([]float64, len(x))
	for i := range x {
		x[i] /= theta
		y[i] = min(max(math.Round(x[i]*32768), -32768), 32767) / 32768
	}
	return x, y, rate, nil
}

// Heavy tells whether more is clipped than lightly.
func (c LightCase) Heavy() bool { return c.SDR > 0 && c.SDR < 12 }

// At16kHz are the same takes at that rate.
func At16kHz(list []LightCase) []LightCase {
	out := slices.Clone(list)
	for i := range out {
		out[i].rate = 16000
	}
	return out
}

// Source is what the speaker says in the take, as it was recorded, at the rate of the
// recordings: at another one nobody sees where they were clipped.
func (c LightCase) Source() ([]float64, error) {
	x, _, err := c.Speaker.Take(c.part, c.Seconds, "")
	return x, err
}

// Other is the same of what the speaker says elsewhere.
func (c LightCase) Other() LightCase {
	c.part += 17 // no package has a multiple of that many files
	return c
}
