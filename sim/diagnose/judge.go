package diagnose

import (
	"math"
)

// What the model is not asked about: too little crest, dB, too few tops; and the fewest
// straight tops of a gain that moved.
const (
	leastCrest = 6.0
	leastTops  = 40
	leastFlats = 3
)

// leastRise is by how many dB restored peaks must pass a wall for it to be a cut: what a
// limiter that holds its ceiling to the sample shaves off is less, and so is what nobody
// would turn the gain down for.
const leastRise = 0.5

// judgeWave decides what happened to the wave; after finish it is decided once.
func (c *Channel) judgeWave() verdict {
	if c.judged == nil {
		v := c.judge()
		c.judged = &v
	}
	return *c.judged
}

func (c *Channel) judge() verdict {
	v := c.walls()
	if v.main != Whole {
		if v.rise, v.restored = c.restored(&v); v.restored && v.rise < leastRise {
			v = verdict{}
		}
	}
	switch v.main {
	case Whole:
		c.model(&v)
	case Lower:
		c.ridden(&v)
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

// ridden asks whether the gain that moved a wall since moved while it did so: below a
// limiter's ceiling cut tops lie at one level, too, beside others that are not cut.
//
// Some curves of overload go flat at their top; what they bend below shows all the same.
func (c *Channel) ridden(v *verdict) {
	each := c.weigh(v)
	var moved, down, bent float64
	for k, h := range v.history {
		if h == Lower { // the other half may have met no ceiling at all
			moved += each[k][indexOf(Moving)]
			down += each[k][indexOf(Lower)]
			bent += each[k][indexOf(Rounded)]
		}
	}
	to := Lower
	switch sum := moved + down + bent; {
	case bent > 0 && bent >= bentBelieved*sum:
		to, v.confidence = Rounded, bent/sum
	case moved > down && c.straight() >= leastFlats:
		to, v.confidence = Moving, moved/sum
	default:
		return
	}
	v.main, v.restored = to, false
	for k := range v.history {
		if v.history[k] == Lower || c.sides[k].flats.n >= leastFlats {
			v.history[k] = to
		}
	}
	if to == Moving {
		if v.rise, v.restored = c.restored(v); v.restored && v.rise < leastRise {
			*v = verdict{main: Unclear, p: v.p, confidence: 1 - v.p[0]}
		}
	}
}

// straight is how many straight tops there are.
func (c *Channel) straight() int { return c.sides[0].flats.n + c.sides[1].flats.n }

// weigh gathers the classifier's probabilities of both sides, as far as they carry the
// wave: damage on either is damage, and whole is what is whole on both.
func (c *Channel) weigh(v *verdict) (each [2][len(learned)]float64) {
	views := [2]view{c.view(0), c.view(1)}
	top := max(views[0].r, views[1].r)
	v.p = [len(learned)]float64{1}
	for k, w := range views {
		if w.r < 0.6*top {
			continue
		}
		each[k] = theForest.Probabilities(c.features(w))
		v.p[0] = min(v.p[0], each[k][0])
		for i := 1; i < len(learned); i++ {
			v.p[i] = max(v.p[i], each[k][i])
		}
	}
	return each
}

// model asks the classifier about a wave without walls.
func (c *Channel) model(v *verdict) {
	r := max(c.view(0).r, c.view(1).r)
	// A tone, a hum or a noise has tops of one level too: the model was made for
	// talk, which has a crest of 6 dB and more even when it is limited.
	tops := c.view(0).topN + c.view(1).topN
	if r < 10*lowest || db(r)-c.stats.ActiveDB() < leastCrest || tops < leastTops {
		v.confidence = 0.5
		return
	}
	each := c.weigh(v)
	// A wall would show. A gain that moves leaves the tops straight: without such tops,
	// it is not that.
	v.p[indexOf(Lower)] = 0
	if c.straight() < leastFlats {
		v.p[indexOf(Softened)] += v.p[indexOf(Moving)]
		v.p[indexOf(Moving)] = 0
	}
	v.decide()
	v.hesitate(tops)
	v.blame(&each)
	if !v.main.flattened() {
		return
	}
	if v.main == Moving {
		v.rise, v.restored = c.restored(v)
	}
	// Codes that are far apart leave straight tops, too.
	high, _, _, _ := c.heldTops(v)
	if dB, _ := c.over(v); dB < leastRise || c.o.Step >= coarse*high {
		v.p[indexOf(Moving)], v.p[indexOf(Softened)] = 0, 0
		v.rise, v.restored = 0, false
		v.decide()
		v.blame(&each)
	}
}
