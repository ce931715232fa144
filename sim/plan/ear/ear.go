// Package ear listens to a guest as a host does in a sound check: how loud the talk is,
// and how loud the laughs are. What it hears is evidence for package plan. Talk counts by
// its level and not by its highest peak, which close by is that of a plosive's breath.
package ear

import (
	"math"
	"slices"

	"gainwright/sim"
	"gainwright/sim/plan"
)

// WindowSeconds is how finely is listened: the length of a Window.
const WindowSeconds = 0.1

// A Window is a tenth of a second of pressure at 1 m, Pa.
type Window struct {
	Peak, MeanSquare float64
}

// Of gathers a window.
func Of(x []float64) (w Window) {
	for _, v := range x {
		w.Peak = max(w.Peak, math.Abs(v))
		w.MeanSquare += v * v
	}
	w.MeanSquare /= float64(max(len(x), 1))
	return w
}

// Sort is what somebody does in a window.
type Sort uint8

// The sorts that are told apart; Aside is what says nothing of talk or laughs, such as a
// cough, or talk from much nearer.
const (
	Talk Sort = iota
	Laugh
	Aside
)

const (
	// Below floorDB, dB SPL at 1 m, nobody talks; nor more than belowDB under the loudest
	// of an utterance.
	floorDB = 35
	belowDB = 30
	// pause is how many quiet windows end an utterance, longest how many one has at most,
	// least how many it has at least.
	pause, longest, least = 3, 80, 4
	// most is how many utterances and laughs are remembered.
	most = 256
)

// Listener hears window after window. The zero Listener has heard nothing; it is for one goroutine.
type Listener struct {
	windows [longest]float64 // mean squares of the utterance going on
	n       int
	quiet   int
	talk    []float64 // levels of utterances, dB SPL at 1 m
	laughs  []float64 // peaks of laughs, as levels
	laugh   float64   // the peak of the laugh going on
}

// Add hears a window.
func (e *Listener) Add(w Window, s Sort) {
	if s == Laugh {
		e.laugh = max(e.laugh, w.Peak)
	} else if e.laugh > 0 {
		e.laughs = remember(e.laughs, level(e.laugh))
		e.laugh = 0
	}
	if s != Talk {
		e.end()
		return
	}
	if 10*math.Log10(w.MeanSquare/(sim.PressureRef*sim.PressureRef)) < floorDB {
		if e.quiet++; e.quiet >= pause {
			e.end()
		}
		return
	}
	e.quiet = 0
	e.windows[e.n] = w.MeanSquare
	if e.n++; e.n == longest {
		e.end()
	}
}

// end closes the utterance going on.
func (e *Listener) end() {
	if e.n >= least {
		top := slices.Max(e.windows[:e.n]) * math.Pow(10, -belowDB/10)
		sum, n := 0.0, 0
		for _, v := range e.windows[:e.n] {
			if v >= top {
				sum += v
				n++
			}
		}
		e.talk = remember(e.talk, 10*math.Log10(sum/float64(n)/(sim.PressureRef*sim.PressureRef)))
	}
	e.n, e.quiet = 0, 0
}

func remember(list []float64, v float64) []float64 {
	if len(list) == most {
		list = slices.Delete(list, 0, 1)
	}
	return append(list, v)
}

func level(pa float64) float64 { return 20 * math.Log10(pa/sim.PressureRef) }

// Utterances is how many were heard to their end, Laughs how many laughs.
func (e *Listener) Utterances() int { return len(e.talk) }

// Laughs is how many laughs were heard to their end.
func (e *Listener) Laughs() int { return len(e.laughs) }

// Heard is what package plan learns from. asked tells that the laughs came on request.
// The talk's level is the median of its utterances, so that one that was shouted does not
// count for more than it is.
func (e *Listener) Heard(asked bool) plan.Heard {
	h := plan.Heard{Utterances: len(e.talk)}
	if h.Utterances > 0 {
		t := slices.Clone(e.talk)
		slices.Sort(t)
		h.LevelDB = (t[len(t)/2] + t[(len(t)-1)/2]) / 2
	}
	sum := 0.0
	for _, v := range e.laughs {
		sum += v
	}
	switch n := len(e.laughs); {
	case n == 0:
	case asked:
		h.Asked, h.AskedPeakDB = n, sum/float64(n)
	default:
		h.Laughs, h.LaughPeakDB = n, sum/float64(n)
	}
	return h
}

// Recording hears what is there already: pressure at 1 m, Pa, at a rate in Hz; sort
// tells what is done at a time in seconds, nil that all of it is talk.
func Recording(x []float64, rate int, sort func(seconds float64) Sort) *Listener {
	e := new(Listener)
	n := int(WindowSeconds*float64(rate) + 0.5)
	for at := 0; at+n <= len(x); at += n {
		s := Talk
		if sort != nil {
			s = sort((float64(at) + float64(n)/2) / float64(rate))
		}
		e.Add(Of(x[at:at+n]), s)
	}
	e.end()
	return e
}

// Coarse rounds what was heard so that it does not change with every word: levels to
// half a decibel, counts down to powers of two from four on. What is worked out from it
// can so be kept for longer.
func Coarse(h plan.Heard) plan.Heard {
	half := func(v float64) float64 { return math.Round(2*v) / 2 }
	few := func(n int) int {
		p := 4
		for n >= 2*p {
			p *= 2
		}
		return min(n, p)
	}
	h.LevelDB, h.LaughPeakDB, h.AskedPeakDB = half(h.LevelDB), half(h.LaughPeakDB), half(h.AskedPeakDB)
	h.Utterances = few(h.Utterances)
	return h
}
