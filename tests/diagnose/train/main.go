// Command train learns the weights of package diagnose from recordings made by
// package labelled, its training halves only, and writes them as Go source:
//
//	GAINWRIGHT_SPEECH_ROOT=/tmp/x go run ./tests/diagnose/train --cache /tmp/set > sim/diagnose/weights.go
//
// The model is a forest of small trees, fitted by gradient boosting (boost.go); the
// estimate of the height of what was blurred, a ridge regression. The spreads that are
// stated are quantiles of the errors (split conformal prediction; V. Vovk et al.,
// Algorithmic Learning in a Random World, 2005): those of what was blurred, of speakers
// that each of four models was not shown. On the standard error it prints how the models
// do on those.
package main

import (
	"flag"
	"fmt"
	"hash/fnv"
	"log"
	"math"
	"slices"
	"strconv"
	"strings"

	"gonum.org/v1/gonum/mat"

	"gainwright/sim/diagnose"
	"gainwright/tests/diagnose/labelled"
	"gainwright/tests/repair/speechset"
)

var histories = map[string]diagnose.History{
	labelled.Clean: diagnose.Whole, labelled.Full: diagnose.Full, labelled.Lower: diagnose.Lower, labelled.Moving: diagnose.Moving,
	labelled.Softened: diagnose.Softened, labelled.Overload: diagnose.Rounded, labelled.Limited: diagnose.Limited,
}

// example is half a wave.
type example struct {
	f       diagnose.Features
	class   int
	speaker string
}

// height is half a wave that was clipped and blurred by a known amount.
type height struct {
	o       diagnose.OverFeatures
	db      float64
	file    int
	speaker string
}

// A gathering is what was read of all recordings.
type gathering struct {
	class map[diagnose.History]int
	ex    []example
	soft  []height
	risen map[risen][]float64 // errors of rises, as parts of them
}

// risen are recordings of one history, at low rates or others.
type risen struct {
	rate float64
	h    diagnose.History
}

// folds is how many models are tried, each on speakers that it was not shown.
const folds = 4

func main() {
	log.SetFlags(0)
	own := flag.Int("own", 574, "recordings to learn from that our own treatments made, beside those of other programs")
	cache := flag.String("cache", "", "directory for what was made")
	flag.Parse()
	g := gathering{class: map[diagnose.History]int{}, risen: map[risen][]float64{}}
	for i, h := range diagnose.Learned() {
		g.class[h] = i
	}
	files := 0
	each := func(_ int, f *labelled.File) error {
		g.add(files, f)
		files++
		return nil
	}
	for p := labelled.First; p < labelled.Held; p++ {
		if err := labelled.Outside(*cache, p, each); err != nil {
			log.Fatal(err)
		}
	}
	src, open := labelled.Sources(true)
	if !open {
		log.Fatal(speechset.Absent("recordings to learn from"))
	}
	for i := range *own {
		f, err := labelled.Cached(*cache, src, true, i)
		if err != nil {
			log.Fatal(err)
		}
		each(i, f)
	}
	g.tryForest()
	forest := boost(g.ex, len(g.class), 9)
	s := ridge(g.soft)
	bias, spread := g.tryRidge()
	s.Weights[len(s.Mean)] -= bias
	s.Spread = spread
	write(&forest, &s, g.riseSpread())
}

// add looks at a recording: at the halves that carry its wave, and of clipped ones at
// those that were cut.
func (g *gathering) add(i int, f *labelled.File) {
	c := diagnose.New(f.Rate, diagnose.Options{FullScale: f.FullScale(), Step: f.Step(), Lossy: f.Lossy})
	c.Write(f.X)
	l := diagnose.LookAt(c)
	g.rises(c, f)
	if f.History == labelled.Clean && labelled.StudioLimited(f.Source.Name) {
		return
	}
	cl, ok := g.class[histories[f.History]]
	if !ok || l.Wall == diagnose.Full && l.Clipped {
		return
	}
	cut := f.History == labelled.Lower || f.History == labelled.Moving || f.History == labelled.Softened
	for k := range 2 {
		if f.History == labelled.Softened && f.Cut[k]*3 >= max(f.Cut[0], f.Cut[1]) && f.Cut[k] > 3 {
			g.soft = append(g.soft, height{l.Over[k], f.OverDB, i, f.Source.Name})
		}
		if l.Level[k] >= 0.6*max(l.Level[0], l.Level[1]) && !(cut && f.Cut[k] < 8) {
			g.ex = append(g.ex, example{l.Features[k], cl, f.Source.Name})
		}
	}
}

// rises notes how far the rise of restored peaks is off, where the cut still shows. Our own
// talkers are left out: what was cut off them is guessed twice as well as of people.
func (g *gathering) rises(c *diagnose.Channel, f *labelled.File) {
	h := histories[f.History]
	if f.Lossy || f.Source.Family == "talker" || h != diagnose.Full && h != diagnose.Lower && h != diagnose.Moving {
		return
	}
	if dB, ok := diagnose.RiseAs(c, h); ok && dB >= 0.5 {
		k := risen{48000, h}
		if f.Rate == 16000 {
			k.rate = 16000
		}
		g.risen[k] = append(g.risen[k], math.Abs(dB-f.OverDB)/dB)
	}
}

// covered, two in three, is what is meant by a spread. Of rises more are covered where it
// is set: speakers who are met for the first time, above all those who say single words,
// keep within it less often.
const (
	covered     = 0.68
	riseCovered = 0.74
)

func (g *gathering) riseSpread() (s diagnose.RiseSpread) {
	for k, off := range g.risen {
		slices.Sort(off)
		part := off[int(riseCovered*float64(len(off)))]
		*s.At(k.rate, k.h) = part
		log.Printf("rise of restored peaks, history %d, %g Hz: %d recordings, three in four within %.3f of it", k.h, k.rate, len(off), part)
	}
	return s
}

// fold puts a speaker into one.
func fold(speaker string) int {
	h := fnv.New32()
	h.Write([]byte(speaker))
	return int(h.Sum32()>>3) % folds
}

// tryForest prints what halves of speakers that a forest does not know are taken for.
func (g *gathering) tryForest() {
	table := make([][]int, len(g.class))
	for i := range table {
		table[i] = make([]int, len(g.class))
	}
	for k := range folds {
		var known []example
		for _, e := range g.ex {
			if fold(e.speaker) != k {
				known = append(known, e)
			}
		}
		forest := boost(known, len(g.class), uint64(k))
		for _, e := range g.ex {
			if fold(e.speaker) == k {
				p := forest.Probabilities(e.f)
				table[e.class][slices.Index(p[:], slices.Max(p[:]))]++
			}
		}
	}
	log.Printf("%d halves; history (row) and what it is taken for, of %v:", len(g.ex), diagnose.Learned())
	for _, row := range table {
		log.Print(row)
	}
}

// tryRidge returns by how much the estimate of speakers that it was not fitted to is too
// high, the median, and what two in three lie within after that, over the root of the
// estimate.
func (g *gathering) tryRidge() (bias, spread float64) {
	var off, part []float64
	est, truth := map[int]float64{}, map[int]float64{}
	for k := range folds {
		var known []height
		for _, h := range g.soft {
			if fold(h.speaker) != k {
				known = append(known, h)
			}
		}
		m := ridge(known)
		for _, h := range g.soft {
			if fold(h.speaker) == k {
				est[h.file], truth[h.file] = max(est[h.file], m.Estimate(h.o)), h.db
			}
		}
	}
	for i, e := range est {
		off = append(off, e-truth[i])
	}
	slices.Sort(off)
	bias = off[len(off)/2]
	for i, e := range est {
		part = append(part, math.Abs(e-bias-truth[i])/math.Sqrt(max(e-bias, 1)))
	}
	slices.Sort(part)
	spread = part[int(covered*float64(len(part)))]
	log.Printf("height of what was blurred: %d recordings, median error %.2f dB, two in three within %.2f dB times the root of the estimate", len(off), bias, spread)
	return bias, spread
}

func write(forest *diagnose.Forest, s *diagnose.OverModel, rise diagnose.RiseSpread) {
	fmt.Print("// Code generated by tests/diagnose/train; DO NOT EDIT.\n\npackage diagnose\n\nvar theForest = Forest{\n\tEdges: [featureCount][]float32{\n")
	for _, e := range forest.Edges {
		fmt.Printf("\t\t{%s},\n", list(e))
	}
	fmt.Printf("\t},\n\tUnit: %.6g,\n\tTrees: [len(learned)][]Tree{\n", forest.Unit)
	for _, trees := range forest.Trees {
		fmt.Print("\t\t{\n")
		for _, t := range trees {
			fmt.Printf("\t\t\t{[...]uint8{%s}, [...]uint8{%s}, [...]int8{%s}},\n", list(t.Feature[:]), list(t.Above[:]), list(t.Leaf[:]))
		}
		fmt.Print("\t\t},\n")
	}
	fmt.Print("\t},\n")
	fmt.Printf("}\n\nvar softOver = OverModel{\n\tMean:    [...]float64{%s},\n\tScale:   [...]float64{%s},\n\tWeights: [...]float64{%s},\n\tSpread:  %.2f,\n}\n", list(s.Mean[:]), list(s.Scale[:]), list(s.Weights[:]), s.Spread)
	fmt.Printf("\nvar riseSpread = RiseSpread{{%s}, {%s}}\n", list(rise[0][:]), list(rise[1][:]))
}

// list writes numbers as a composite literal's elements. Edges are exact: many examples lie
// on one, and the side that they are on must not change.
func list[T uint8 | int8 | float32 | float64](v []T) string {
	s := make([]string, len(v))
	for i, x := range v {
		if edge, is := any(x).(float32); is {
			s[i] = strconv.FormatFloat(float64(edge), 'g', -1, 32)
		} else {
			s[i] = strconv.FormatFloat(float64(x), 'g', 4, 64)
		}
	}
	return strings.Join(s, ", ")
}

func ridge(hs []height) diagnose.OverModel {
	var m diagnose.OverModel
	nf := len(m.Mean)
	for i := range nf {
		var s, q float64
		for _, h := range hs {
			s += h.o[i]
			q += h.o[i] * h.o[i]
		}
		s /= float64(len(hs))
		m.Mean[i] = s
		m.Scale[i] = 1 / math.Sqrt(q/float64(len(hs))-s*s+1e-9)
	}
	a := mat.NewDense(nf+1, nf+1, nil)
	b := mat.NewVecDense(nf+1, nil)
	x := make([]float64, nf+1)
	for _, h := range hs {
		for i := range nf {
			x[i] = min(max((h.o[i]-m.Mean[i])*m.Scale[i], -4), 4)
		}
		x[nf] = 1
		for i := range x {
			for j := range x {
				a.Set(i, j, a.At(i, j)+x[i]*x[j])
			}
			b.SetVec(i, b.AtVec(i)+x[i]*h.db)
		}
	}
	for i := range nf {
		a.Set(i, i, a.At(i, i)+2)
	}
	var w mat.VecDense
	if err := w.SolveVec(a, b); err != nil {
		log.Fatal(err)
	}
	for i := range m.Weights {
		m.Weights[i] = w.AtVec(i)
	}
	return m
}
