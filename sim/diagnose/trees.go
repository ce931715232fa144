package diagnose

import (
	"math"
	"sort"
)

// What decides where walls do not is a sum of small decision trees for each history
// (gradient boosting, J. Friedman, Annals of Statistics 29, 2001): each asks three
// questions of the form “is this feature above that?”, and adds what its leaf says. All
// trees ask about the same few edges of a feature, and what leaves say is kept in steps,
// so that a tree takes 22 bytes of the program that browsers load.

// TreeDepth is how many questions lead to a leaf; FeatureEdges how many edges of a feature
// may be asked about.
const (
	TreeDepth    = 3
	FeatureEdges = 31
)

// Never is a number of an edge that nothing lies above: the answer is no.
const Never = FeatureEdges

// A Tree asks whether Feature[0] lies above its edge of the number Above[0]; the answer no
// leads to question 2i+1, yes to 2i+2. Behind the last questions lie the leaves, in steps
// of the forest's Unit.
type Tree struct {
	Feature [1<<TreeDepth - 1]uint8
	Above   [1<<TreeDepth - 1]uint8
	Leaf    [1 << TreeDepth]int8
}

// Passed is how many edges each feature lies above.
type Passed [featureCount]uint8

// At returns the leaf that features lead to.
func (t *Tree) At(p *Passed) int8 {
	i := 0
	for range TreeDepth {
		i = 2*i + 1
		if p[t.Feature[(i-1)/2]] > t.Above[(i-1)/2] {
			i++
		}
	}
	return t.Leaf[i-len(t.Feature)]
}

// A Forest has, for each history of Learned, the trees whose sum is its score.
type Forest struct {
	Edges [featureCount][]float32 // rising, at the most FeatureEdges
	Unit  float64                 // of the leaves
	Trees [len(learned)][]Tree
}

// Passed returns how many edges of the forest features lie above.
func (o *Forest) Passed(f *Features) (p Passed) {
	for i, edges := range o.Edges {
		p[i] = uint8(sort.Search(len(edges), func(k int) bool { return float32(f[i]) <= edges[k] }))
	}
	return p
}

// Probabilities returns those of learned, in its order: the softmax of the scores.
func (o *Forest) Probabilities(f Features) (p [len(learned)]float64) {
	passed := o.Passed(&f)
	top := math.Inf(-1)
	for k, trees := range o.Trees {
		sum := 0
		for i := range trees {
			sum += int(trees[i].At(&passed))
		}
		p[k] = float64(sum) * o.Unit
		top = max(top, p[k])
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
