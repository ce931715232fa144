package main

import (
	"math"
	"math/rand/v2"
	"slices"

	"gainwright/sim/diagnose"
)

// quantised gives, for each feature, the edges that may be asked about, and how many of
// them each example lies above.
func quantised(ex []example) (edges [len(diagnose.Features{})][]float32, passed []diagnose.Passed) {
	const parts = diagnose.FeatureEdges + 1
	for j := range edges {
		v := make([]float32, len(ex))
		for i := range ex {
			v[i] = float32(ex[i].f[j])
		}
		slices.Sort(v)
		for q := 1; q < parts; q++ {
			e := v[q*len(v)/parts]
			if n := len(edges[j]); n == 0 || e > edges[j][n-1] {
				edges[j] = append(edges[j], e)
			}
		}
	}
	known := diagnose.Forest{Edges: edges}
	for i := range ex {
		passed = append(passed, known.Passed(&ex[i].f))
	}
	return edges, passed
}

// A tree under way: leaves are not in steps yet.
type growing struct {
	diagnose.Tree
	leaf [len(diagnose.Tree{}.Leaf)]float64
}

// at is what it adds to the score.
func (t *growing) at(p *diagnose.Passed) float64 {
	i := 0
	for range diagnose.TreeDepth {
		i = 2*i + 1
		if p[t.Feature[(i-1)/2]] > t.Above[(i-1)/2] {
			i++
		}
	}
	return t.leaf[i-len(t.Feature)]
}

// A fitter grows one forest.
type fitter struct {
	ex     []example
	passed []diagnose.Passed
	edges  [len(diagnose.Features{})][]float32
	g, h   []float64 // gradient and curvature of the loss by the score of one class
	node   []int
	r      *rand.Rand
}

// The forest is small and learns slowly, each tree from a part of the examples and
// features: there are few speakers. With 100 rounds speakers that were not met were told
// less well, with more not better.
const (
	rounds   = 160
	learning = 0.1
	lambda   = 3.0
	part     = 0.4
	asked    = len(diagnose.Features{}) * 6 / 10 // features a tree may ask about
)

// boost fits a forest by gradient boosting with second-order steps.
func boost(ex []example, classes int, seed uint64) (forest diagnose.Forest) {
	t := &fitter{ex: ex, g: make([]float64, len(ex)), h: make([]float64, len(ex)), node: make([]int, len(ex)), r: rand.New(rand.NewPCG(seed, 1))}
	t.edges, t.passed = quantised(ex)
	score, p := make([][]float64, len(ex)), make([][]float64, len(ex))
	for i := range score {
		score[i], p[i] = make([]float64, classes), make([]float64, classes)
	}
	grown := make([][]growing, classes)
	for range rounds {
		for i := range ex {
			softmax(p[i], score[i])
		}
		for k := range classes {
			rows := t.gradients(p, k)
			one := t.tree(rows, t.r.Perm(len(diagnose.Features{}))[:asked])
			grown[k] = append(grown[k], one)
			for i := range ex {
				score[i][k] += one.at(&t.passed[i])
			}
		}
	}
	return inSteps(grown, t.edges)
}

// inSteps makes a forest of trees.
func inSteps(grown [][]growing, edges [len(diagnose.Features{})][]float32) (forest diagnose.Forest) {
	most := 0.0
	for _, trees := range grown {
		for _, t := range trees {
			for _, v := range t.leaf {
				most = max(most, math.Abs(v))
			}
		}
	}
	forest.Edges, forest.Unit = edges, most/127
	for k, trees := range grown {
		for _, t := range trees {
			for m, v := range t.leaf {
				t.Leaf[m] = int8(math.Round(v / forest.Unit))
			}
			forest.Trees[k] = append(forest.Trees[k], t.Tree)
		}
	}
	return forest
}

func softmax(p, score []float64) {
	top, sum := slices.Max(score), 0.0
	for k, s := range score {
		p[k] = math.Exp(s - top)
		sum += p[k]
	}
	for k := range p {
		p[k] /= sum
	}
}

// gradients sets those of class k, and draws the examples that its next tree is grown of.
func (t *fitter) gradients(p [][]float64, k int) (rows []int) {
	for i := range t.ex {
		if t.r.Float64() < part {
			rows = append(rows, i)
		}
		y := 0.0
		if t.ex[i].class == k {
			y = 1
		}
		t.g[i], t.h[i] = y-p[i][k], max(p[i][k]*(1-p[i][k]), 1e-6)
	}
	return rows
}

// split is the best question of a node: above edge b of feature f.
type split struct {
	gain float64
	f, b int
}

func (t *fitter) tree(rows, feats []int) (out growing) {
	for _, i := range rows {
		t.node[i] = 0
	}
	for d := range diagnose.TreeDepth {
		first := 1<<d - 1
		best := make([]split, 1<<d)
		for i := range best {
			best[i] = split{1e-9, 0, diagnose.Never} // where no question helps, the answer is no
		}
		for _, j := range feats {
			t.ask(rows, j, first, best)
		}
		for m, b := range best {
			out.Feature[first+m], out.Above[first+m] = uint8(b.f), uint8(b.b)
		}
		for _, i := range rows {
			b := best[t.node[i]-first]
			t.node[i] = 2*t.node[i] + 1
			if int(t.passed[i][b.f]) > b.b {
				t.node[i]++
			}
		}
	}
	t.leaves(rows, &out)
	return out
}

// ask tries every threshold of feature j in the nodes of one depth.
func (t *fitter) ask(rows []int, j, first int, best []split) {
	var sg, sh [1 << diagnose.TreeDepth][diagnose.FeatureEdges + 1]float64
	for _, i := range rows {
		m, b := t.node[i]-first, t.passed[i][j]
		sg[m][b] += t.g[i]
		sh[m][b] += t.h[i]
	}
	for m := range best {
		tg, th := 0.0, 0.0
		for b := range sg[m] {
			tg += sg[m][b]
			th += sh[m][b]
		}
		lg, lh := 0.0, 0.0
		for b := range t.edges[j] {
			lg += sg[m][b]
			lh += sh[m][b]
			if lh < 1 || th-lh < 1 {
				continue
			}
			gain := lg*lg/(lh+lambda) + (tg-lg)*(tg-lg)/(th-lh+lambda) - tg*tg/(th+lambda)
			if gain > best[m].gain {
				best[m] = split{gain, j, b}
			}
		}
	}
}

// leaves sets what the tree adds.
func (t *fitter) leaves(rows []int, out *growing) {
	var sg, sh [len(out.leaf)]float64
	for _, i := range rows {
		m := t.node[i] - len(out.Above)
		sg[m] += t.g[i]
		sh[m] += t.h[i]
	}
	for m := range sg {
		out.leaf[m] = learning * sg[m] / (sh[m] + lambda)
	}
}
