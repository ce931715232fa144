package diagnose

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
	Unclear                 // not whole, or perhaps not, and nothing that could be told
)

// learned lists the histories between which the model decides; whether a wall was turned
// down by a constant is the last.
var learned = [...]History{Whole, Moving, Softened, Rounded, Limited, Lower}

// verdict is what one channel's wave went through.
type verdict struct {
	history    [2]History // of the upper and the lower half
	confidence float64
	main       History
	p          [len(learned)]float64
	asymmetric float64 // confidence that the two ceilings differ, 0 if not
	apartDB    float64
	rise       float64 // dB that restored peaks pass a wall, where some were restored
	restored   bool
}

// flattened tells whether a ceiling cut the wave.
func (h History) flattened() bool { return h == Full || h == Lower || h == Moving || h == Softened }

// blame sets the histories of the halves that the verdict speaks of.
func (v *verdict) blame(each *[2][len(learned)]float64) {
	v.history = [2]History{}
	if v.main == Whole || v.main == Unclear {
		return
	}
	i := indexOf(v.main)
	for k := range v.history {
		if p := each[k][i]; p > 0 && p >= 0.5*max(each[0][i], each[1][i]) {
			v.history[k] = v.main
		}
	}
	// Without straight tops a moving gain counts as blurred.
	if v.history == [2]History{} {
		v.history = [2]History{v.main, v.main}
	}
}

// decide takes the likeliest history where it is likely enough. To say that a recording
// was cut is grave: that takes more than being the likeliest, it must hardly be whole.
func (v *verdict) decide() {
	sum := 0.0
	for _, p := range v.p {
		sum += p
	}
	best := 0
	for i := range v.p {
		v.p[i] /= sum
		if v.p[i] > v.p[best] {
			best = i
		}
	}
	v.main, v.confidence = learned[best], v.p[best]
	need := believed
	switch {
	case v.main == Whole:
		need = perhapsWhole
	case v.main.flattened() && v.p[0] > leastDoubt:
		need = 1
	case v.main.flattened() && v.p[indexOf(Moving)]+v.p[indexOf(Softened)] >= surelyCut:
		need = 0 // which of the two is the lesser question
	case v.main == Limited:
		need = heldBelieved
	}
	switch {
	case v.confidence >= need:
	case v.p[0] >= perhapsWhole:
		v.main, v.confidence = Whole, v.p[0]
	default:
		v.main, v.confidence = Unclear, 1-v.p[0]
	}
}

// hesitate takes back a cut of which few tops tell, when the trees are not sure of it: a
// word said three times is not much of a voice to know.
func (v *verdict) hesitate(tops float64) {
	if v.main.flattened() && tops < fewTops && v.p[indexOf(Moving)]+v.p[indexOf(Softened)] < fewBelieved {
		v.main, v.confidence = Unclear, 1-v.p[0]
	}
}

// Half-waves that are loud, some seconds' worth.
const fewTops = 1000

// Probabilities from which the model is believed.
const (
	perhapsWhole = 0.4  // nothing is told of damage that is not believed
	believed     = 0.4  // of six, and with hardly any doubt that something is there
	heldBelieved = 0.45 // a studio's voice without a limiter is much like one with it
	surelyCut    = 0.85
	fewBelieved  = 0.65
	leastDoubt   = 0.1  // with more than that of being whole nothing is said to be cut
	bentBelieved = 0.45 // where there is a wall all the same
)

func indexOf(h History) int {
	for i, l := range learned {
		if l == h {
			return i
		}
	}
	return 0
}
