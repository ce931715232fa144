package diagnose

import "math"

// What decides where walls do not is a sum of small decision trees for each history
// (gradient boosting, J. Friedman, Annals of Statistics 29, 2001): each asks three
// questions of the form “is this feature above that?”, and adds what its leaf says.

// TreeDepth is how many questions lead to a leaf.
const TreeDepth = 3

// A Tree asks Feature[0]; the answer no leads to question 2i+1, yes to 2i+2. Behind the
// last questions lie the leaves.
type Tree struct {
	Feature [1<<TreeDepth - 1]uint8
	Above   [1<<TreeDepth - 1]float32
	Leaf    [1 << TreeDepth]float32
}

// At returns what the tree says of features.
func (t *Tree) At(f *Features) float64 {
	i := 0
	for range TreeDepth {
		i = 2*i + 1
		if float32(f[t.Feature[(i-1)/2]]) > t.Above[(i-1)/2] {
			i++
		}
	}
	return float64(t.Leaf[i-len(t.Feature)])
}

// A Forest has, for each history of Learned, the trees whose sum is its score.
type Forest [len(learned)][]Tree

// Probabilities returns those of learned, in its order: the softmax of the scores.
func (o *Forest) Probabilities(f Features) (p [len(learned)]float64) {
	top := math.Inf(-1)
	for k, trees := range o {
		for i := range trees {
			p[k] += trees[i].At(&f)
		}
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
