// Package hear finds talk and laughs in the recording of a sound check.
//
// A laugh is a series of calls that are alike: 4 to 5 a second, each some 75 ms of the
// same sound, with gaps (Provine and Yong 1991; Bachorowski et al. 2001). Talk has
// syllables at the same rate, but no two alike. So what tells them apart is how well the
// envelopes of a few bands agree with themselves one call later. It is a finder for a
// check, in which one person talks and laughs before a microphone; for a meeting it is
// none.
package hear

import (
	"errors"
	"math"
	"slices"
)

// A Part is a stretch of the recording, in seconds.
type Part struct {
	FromS float64 `json:"from_s"`
	ToS   float64 `json:"to_s"`
	// PeakDBFS is its highest sample, LevelDBFS the rms of the 20 ms frames within 30 dB
	// of its loudest; both re a sample of 1.
	PeakDBFS  float64 `json:"peak_dbfs"`
	LevelDBFS float64 `json:"level_dbfs"`
}

// Found is what a check holds.
type Found struct {
	Talk   []Part // utterances
	Laughs []Part
}

// LeastTalkS is how much talk a check must hold.
const LeastTalkS = 3.0

// ErrNoTalk tells that there is too little talk to go by.
var ErrNoTalk = errors.New("hardly any talk in it: a check is half a minute of talk or more, then a laugh")

// Frames of the envelopes.
const frameS = 0.01

// Least and most time from one call of a laugh to the next, and what is looked at at
// once.
const (
	leastCallS = 0.14
	mostCallS  = 0.30
	lookS      = 0.8
	stepS      = 0.1
	// alike is how well one call agrees with the next, of 1.
	alike = 0.5
	// leastLaughS is the shortest laugh that counts.
	leastLaughS = 0.5
	// louderDB is how far a laugh lies over talk at least, to be told from it.
	louderDB = 6.0
	// pauseS ends an utterance.
	pauseS = 0.3
)

var bandsHz = []float64{300, 600, 1200, 2400, 4800}

// Check finds talk and laughs in x, one channel of samples at rate.
func Check(x []float64, rate int) (Found, error) {
	e := envelopes(x, rate)
	active := e.active()
	laughing := e.laughing(active)
	var out Found
	talk := slices.Clone(active)
	ordinary := e.middle(active, laughing)
	for _, r := range runs(laughing, int(pauseS/frameS)) {
		r[0] = e.begin(r[0], active, ordinary)
		p := Measure(x, rate, float64(r[0])*frameS, float64(r[1])*frameS)
		// Some words are alike as well, but no louder than the others.
		if p.ToS-p.FromS < leastLaughS || e.loud(r) < ordinary+louderDB {
			continue
		}
		out.Laughs = append(out.Laughs, p)
		for i := r[0]; i < r[1]; i++ {
			talk[i] = false
		}
	}
	seconds := 0.0
	for _, r := range runs(talk, int(pauseS/frameS)) {
		if s := float64(r[1]-r[0]) * frameS; s >= pauseS {
			seconds += s
			out.Talk = append(out.Talk, Measure(x, rate, float64(r[0])*frameS, float64(r[1])*frameS))
		}
	}
	if seconds < LeastTalkS {
		return Found{Laughs: out.Laughs}, ErrNoTalk
	}
	return out, nil
}

// Measure measures a stretch of x, cut to where x is.
func Measure(x []float64, rate int, fromS, toS float64) Part {
	a := min(max(int(fromS*float64(rate)), 0), len(x))
	b := min(max(int(toS*float64(rate)), a), len(x))
	n := max(rate/50, 1)
	top, peak := 0.0, 0.0
	var frames []float64
	for at := a; at < b; at += n {
		s := 0.0
		for _, v := range x[at:min(at+n, b)] {
			s += v * v
			peak = max(peak, v, -v)
		}
		s /= float64(min(at+n, b) - at)
		frames, top = append(frames, s), max(top, s)
	}
	sum, k := 0.0, 0
	for _, v := range frames {
		if v >= top/1000 {
			sum, k = sum+v, k+1
		}
	}
	return Part{FromS: float64(a) / float64(rate), ToS: float64(b) / float64(rate), PeakDBFS: 20 * math.Log10(peak), LevelDBFS: 10 * math.Log10(sum/float64(max(k, 1)))}
}

// runs joins stretches that are true with gaps of less than gap between.
func runs(on []bool, gap int) [][2]int {
	var out [][2]int
	for i, v := range on {
		if !v {
			continue
		}
		if k := len(out); k > 0 && i-out[k-1][1] < gap {
			out[k-1][1] = i + 1
		} else {
			out = append(out, [2]int{i, i + 1})
		}
	}
	return out
}

// envelope holds levels in dB, frame by frame.
type envelope struct {
	all   []float64
	bands [][]float64
}

func envelopes(x []float64, rate int) envelope {
	n := max(int(frameS*float64(rate)), 1)
	var e envelope
	level := func(y []float64) []float64 {
		out := make([]float64, 0, len(y)/n)
		for at := 0; at+n <= len(y); at += n {
			s := 1e-12
			for _, v := range y[at : at+n] {
				s += v * v / float64(n)
			}
			out = append(out, 10*math.Log10(s))
		}
		return out
	}
	buf := make([]float64, len(x))
	for i, f := range bandsHz {
		if 2.2*f > float64(rate) {
			break
		}
		band(buf, x, f, rate)
		e.bands = append(e.bands, level(buf))
		for j, v := range e.bands[i] {
			if i == 0 {
				e.all = append(e.all, 0)
			}
			e.all[j] += math.Pow(10, v/10)
		}
	}
	for i, v := range e.all {
		e.all[i] = 10 * math.Log10(v)
	}
	return e
}

// band is a band-pass of one octave, a biquad (Bristow-Johnson's cookbook).
func band(y, x []float64, hz float64, rate int) {
	w := 2 * math.Pi * hz / float64(rate)
	a := math.Sin(w) / (2 * 1.414)
	b0, a1, a2 := a/(1+a), -2*math.Cos(w)/(1+a), (1-a)/(1+a)
	var x1, x2, y1, y2 float64
	for i, v := range x {
		o := b0*(v-x2) - a1*y1 - a2*y2
		x2, x1, y2, y1 = x1, v, y1, o
		y[i] = o
	}
}

// active tells where somebody is heard: 12 dB over the quiet parts, and within 40 dB of
// the loudest.
func (e *envelope) active() []bool {
	out := make([]bool, len(e.all))
	if len(e.all) == 0 {
		return out
	}
	s := slices.Clone(e.all)
	slices.Sort(s)
	floor := max(s[len(s)/20]+12, s[len(s)-1]-40)
	for i, v := range e.all {
		out[i] = v > floor
	}
	return out
}

// middle is how loud talk is: what frames reach in which somebody is heard who does
// not laugh, the loudest tenth left out.
func (e *envelope) middle(active, laughing []bool) float64 {
	var v []float64
	for i, l := range e.all {
		if active[i] && !laughing[i] {
			v = append(v, l)
		}
	}
	if len(v) == 0 {
		return math.Inf(-1)
	}
	slices.Sort(v)
	return v[len(v)*9/10]
}

// begin goes back from where calls were found to be alike to the first of them: a laugh
// is loudest at its beginning, and that agrees least with the rest.
func (e *envelope) begin(at int, active []bool, ordinary float64) int {
	first := at
	for i := at - 1; i >= 0 && first-i < int(mostCallS/frameS) && at-i < int(lookS/frameS); i-- {
		if active[i] && e.all[i] > ordinary {
			first = i
		}
	}
	return first
}

// loud is the same of one stretch.
func (e *envelope) loud(r [2]int) float64 {
	v := slices.Clone(e.all[r[0]:min(r[1], len(e.all))])
	if len(v) == 0 {
		return math.Inf(-1)
	}
	slices.Sort(v)
	return v[len(v)*9/10]
}

// laughing tells where calls follow one another that are alike.
func (e *envelope) laughing(active []bool) []bool {
	out := make([]bool, len(active))
	look, step := int(lookS/frameS), int(stepS/frameS)
	for at := 0; at+look <= len(active); at += step {
		busy := 0
		for _, v := range active[at : at+look] {
			if v {
				busy++
			}
		}
		if busy < look/4 || e.agree(at, look) < alike {
			continue
		}
		for i := at; i < at+look; i++ {
			out[i] = true
		}
	}
	return out
}

// agree is the best agreement of a look with itself one call later, over all bands.
func (e *envelope) agree(at, look int) float64 {
	best := 0.0
	for lag := int(leastCallS / frameS); lag <= int(mostCallS/frameS); lag++ {
		var xy, xx, yy float64
		for _, b := range e.bands {
			if at+look+lag > len(b) {
				return best
			}
			x, y := b[at:at+look], b[at+lag:at+lag+look]
			floor := max(slices.Max(x), slices.Max(y)) - 25
			var mx, my float64
			for i := range x {
				mx += max(x[i], floor) / float64(look)
				my += max(y[i], floor) / float64(look)
			}
			for i := range x {
				u, v := max(x[i], floor)-mx, max(y[i], floor)-my
				xy, xx, yy = xy+u*v, xx+u*u, yy+v*v
			}
		}
		// The calls must stand out, too: a hum agrees with itself at any lag.
		if n := float64(look * len(e.bands)); xx/n < 9 || yy/n < 9 {
			continue
		}
		best = max(best, xy/math.Sqrt(xx*yy))
	}
	return best
}
