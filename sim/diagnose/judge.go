package diagnose

import (
	"math"
)

// History is what happened to the wave, the part of a diagnosis of which there is
// one.
type History int

// The histories.
const (
	Whole    History = iota // no ceiling touched
	Full                    // flattened at full scale
	Lower                   // flattened at a level below it: turned down since, by a constant
	Moving                  // flattened, then turned by a moving gain
	Softened                // flattened, then filtered or coded
	Rounded                 // bent by an overdriven stage
	Limited                 // peaks held down without flattening
)

// learned lists the histories between which the model decides.
var learned = [...]History{Whole, Moving, Softened, Rounded, Limited}

// Thresholds of the walls. Each is a count that chance does not reach in an hour
// of speech that no ceiling touched.
const (
	leastKinks = 3    // runs at the highest value that end in corners
	leastAt    = 6    // samples there
	kinksFlats = 0.15 // of the straight tops must lie at it
	coarse     = 0.004
	leastCrest = 6.0 // dB
	leastTops  = 40
	leastFlats = 3
	manyFlats  = 20
)

// wall tells whether the histogram of the side ends in one.
func (c *Channel) wall(s *side) bool {
	// A limiter that looks ahead touches its ceiling too, but rarely for two samples
	// in a row.
	long := s.flats.n > 0 || s.peakLongest >= leastFlat || s.wallKinks > leastKinks && s.peakRuns*5 >= s.atPeak
	return s.wallKinks >= leastKinks && s.atPeak >= leastAt && long &&
		float64(s.wallKinks) >= kinksFlats*float64(s.flats.n) && c.codes() < coarse*s.peak
}

// atFull tells whether a level is full scale: the file's own, or that of the
// integer file that a file of floating point was made from.
func (c *Channel) atFull(level float64) bool {
	if math.IsInf(c.o.FullScale, 1) {
		return math.Abs(level-1) <= 1.0/(1<<14)
	}
	return level >= c.o.FullScale-c.o.Step/2
}

// verdict is what one channel's wave went through.
type verdict struct {
	history    [2]History // of the upper and the lower half
	confidence float64
	main       History
	p          [len(learned)]float64
	asymmetric float64 // confidence that the two ceilings differ, 0 if not
	apartDB    float64
}

// flattened tells whether a ceiling cut the wave.
func (h History) flattened() bool { return h == Full || h == Lower || h == Moving || h == Softened }

func sure(n, one float64) float64 { return 1 - math.Pow(one, n) }

// judgeWave decides what happened to the wave.
func (c *Channel) judgeWave() verdict {
	var v verdict
	for k := range c.sides {
		if s := &c.sides[k]; c.wall(s) {
			v.history[k] = Lower
			if c.atFull(s.peak) {
				v.history[k] = Full
			}
			v.confidence = max(v.confidence, min(0.99, sure(float64(s.wallKinks), 0.5)))
		}
	}
	a, b := v.history[0], v.history[1]
	switch {
	case a == Full || b == Full:
		v.main = Full
	case a == Lower || b == Lower:
		v.main = Lower
	default:
		c.model(&v)
	}
	// Two ceilings: one side goes on where the other was cut.
	for k := range c.sides {
		if !v.history[k].flattened() || v.main == Moving {
			continue
		}
		if d := db(c.sides[1-k].peak) - db(c.sides[k].peak); d > 1.2 && v.history[k] == Lower {
			v.asymmetric, v.apartDB = min(0.99, v.confidence*(1-math.Exp(-d))), d
		}
	}
	return v
}

// model asks the classifier about the sides that carry the wave.
func (c *Channel) model(v *verdict) {
	views := [2]view{c.view(0), c.view(1)}
	top := max(views[0].r, views[1].r)
	// A tone, a hum or a noise has tops of one level too: the model was made for
	// talk, which has a crest of 10 dB and more even when it is limited.
	if top < 10*lowest || db(top)-c.stats.ActiveDB() < leastCrest || views[0].topN+views[1].topN < leastTops {
		v.confidence = 0.5
		return
	}
	for k, w := range views {
		if w.r < 0.6*top {
			continue
		}
		p := probabilities(c.features(w))
		best := Whole
		for i, h := range learned {
			v.p[i] = max(v.p[i], p[i])
			if p[i] > p[indexOf(best)] {
				best = h
			}
		}
		if best == Moving && c.sides[0].flats.n+c.sides[1].flats.n < leastFlats {
			best = Softened
		}
		v.history[k] = best
	}
	// A gain that moves leaves the tops straight: without such tops, it is not that.
	if c.sides[0].flats.n+c.sides[1].flats.n < leastFlats {
		v.p[indexOf(Softened)] = max(v.p[indexOf(Softened)], v.p[indexOf(Moving)])
		v.p[indexOf(Moving)] = 0
	}
	// To say that a recording was cut is grave, and on blurred tops alone a voice
	// with broad ones can look like it: that takes more than being the likeliest.
	// Where straight tops are many, a ceiling made them, whatever tilted them since.
	least := blurFrom
	if c.sides[0].flats.n+c.sides[1].flats.n >= manyFlats {
		least = damageFrom
	}
	if i := indexOf(Softened); v.p[i] < least {
		v.p[i] = 0
	}
	v.decide()
}

// decide takes the likeliest history where it is likely enough; damage on either side
// is damage.
func (v *verdict) decide() {
	best := 1
	for i := 2; i < len(learned); i++ {
		if v.p[i] > v.p[best] {
			best = i
		}
	}
	if v.p[best] >= damageFrom {
		v.main, v.confidence = learned[best], v.p[best]
	} else {
		v.main, v.confidence = Whole, 1-v.p[best]
	}
}

// Probabilities from which the model's damage is believed, and its blurred walls.
const (
	damageFrom = 0.45
	blurFrom   = 0.95
)

func indexOf(h History) int {
	for i, l := range learned {
		if l == h {
			return i
		}
	}
	return 0
}

// ModelTerms is how many weights a history has.
const ModelTerms = 2*featureCount + 1

// A Model is the weights of the logistic model: scores are sums over standardised
// features and their squares, probabilities their softmax.
type Model struct {
	Mean, Scale [featureCount]float64
	// Weights of the features, of their squares less 1, and a constant, in that
	// order; the squares let a history lie between two others.
	Weights [len(learned)][ModelTerms]float64
}

// Hold is how far a standardised feature counts.
const Hold = 3

// Terms returns what the weights multiply.
func (m *Model) Terms(f Features) (t [ModelTerms]float64) {
	for i, x := range f {
		z := min(max((x-m.Mean[i])*m.Scale[i], -Hold), Hold)
		t[i], t[featureCount+i] = z, z*z-1
	}
	t[2*featureCount] = 1
	return t
}

// Probabilities returns those of learned, in its order.
func (m *Model) Probabilities(f Features) (p [len(learned)]float64) {
	t := m.Terms(f)
	top := math.Inf(-1)
	for k := range p {
		s := 0.0
		for i, v := range t {
			s += m.Weights[k][i] * v
		}
		p[k] = s
		top = max(top, s)
	}
	sum := 0.0
	for k := range p {
		p[k] = math.Exp(p[k] - top)
		sum += p[k]
	}
	for k := range p {
		p[k] /= sum
	}
	return p
}

func probabilities(f Features) [len(learned)]float64 { return theModel.Probabilities(f) }
