package restore

import (
	"math"

	"gainwright/sim/repair/vec"
)

// Above 24 kHz a mixer has the last word on what the methods told: sample by sample, a small
// network (one hidden layer) over features that hold no level and no rate gives the weights of
// a convex combination of the estimates, and by how much that errs as a rule, as a shift in
// units of their spread: where they agree, nothing moves the result. It was learnt on open
// recordings of people, see TestMixTrain; mixer_table.go has its numbers.
const (
	mixMethods  = gateMethods + 3 // the gate's, what the gate made of them, and the two late ones
	mixFeatures = mixMethods + 20
	mixHidden   = 64
	mixShift    = 3    // the shift lies within so many standard deviations of the estimates
	mixClamp    = 2.5  // features are held within so many standard deviations
	mixSoft     = 0.02 // excess, re the clip level, below which ratios mean little
)

// A mixing is the network's numbers: mean and scale of the features, hidden layer (each
// unit with its bias last), output layer (likewise; the last one for the shift).
type mixing struct {
	Mean, Scale [mixFeatures]float32
	Hidden      [mixHidden][mixFeatures + 1]float32
	Out         [mixMethods + 1][mixHidden + 1]float32
}

// excess is the mixed one for the estimates' excesses ex and features x, which are
// standardised in place.
func (g *mixing) excess(x *[mixFeatures]float32, ex *[mixMethods]float64) float64 {
	for i := range x {
		x[i] = min(max((x[i]-g.Mean[i])*g.Scale[i], -mixClamp), mixClamp)
	}
	var o [mixMethods + 1]float32
	for k := range o {
		o[k] = g.Out[k][mixHidden]
	}
	for j := range g.Hidden {
		w := &g.Hidden[j]
		s := w[mixFeatures]
		for i, v := range x {
			s += w[i] * v
		}
		h := float32(math.Tanh(float64(s)))
		for k := range o {
			o[k] += h * g.Out[k][j]
		}
	}
	top := o[0]
	for _, v := range o[:mixMethods] {
		top = max(top, v)
	}
	sum, mean := 0.0, 0.0
	for k, v := range ex {
		w := math.Exp(float64(o[k] - top))
		sum += w
		mean += w * v
	}
	return max(0, mean/sum+mixShift*math.Tanh(float64(o[mixMethods]))*spreadOf(ex[:]))
}

// A mixer works out what the network looks at.
type mixer struct {
	power, slope           []float64 // running sums over the stretch, one longer than it
	clips, signs, added    []float64
	told, apart            []float64    // what predictions add, and by how much they differ, as energies
	near                   [2][]float64 // known samples in the tenth below the ceiling, of each polarity
	below                  []float64    // and in the three twentieths below that
	blocks                 []float64
	quiet                  float64
	perMS                  float64 // slopes count per sample of 16 kHz
	centre                 []float64
	short, half, step, one int
}

// Where predictions from several starts and with several memories agree, a twentieth of a
// second around, they are right, as in a voice with nothing above some kHz or one made of
// resonators, and no weights of a network are as good as they: its share falls from fromDB of
// agreement to nothing at wholeDB.
const mixFromDB, mixWholeDB = 20, 27

// mix takes to dst, the better estimate so far, what the network makes of est, mixMethods
// estimates of q, as far as predictions do not agree.
func (f *mixer) mix(dst []float64, q *Stretch, est [][]float64, rate int, g *mixing) {
	f.each(q, est, dst, rate, func(v *view, i int) {
		dst[i] = float64(q.Sign[i]) * q.Bound[i] * (1 + v.mixed(g))
	})
}

// A view is what is known of one clipped sample: what the network looks at, the estimates'
// excesses, the better one so far, re the clip level, and the share the latter keeps.
type view struct {
	x          [mixFeatures]float32
	ex         [mixMethods]float64
	best, sure float64
}

func (v *view) mixed(g *mixing) float64 {
	if v.sure == 1 {
		return v.best
	}
	return v.sure*v.best + (1-v.sure)*g.excess(&v.x, &v.ex)
}

// agree works out how far predictions are apart: one from the sparse estimates, the one from
// the recording alone, and the last.
func (f *mixer) agree(q *Stretch, again, fresh, late []float64) {
	vec.Grow(&f.told, len(q.Y)+1)
	vec.Grow(&f.apart, len(q.Y)+1)
	f.told[0], f.apart[0] = 0, 0
	for i, sign := range q.Sign {
		told, apart := 0.0, 0.0
		if sign != 0 {
			v := excess(q, late, i)
			d, e := v-excess(q, again, i), v-excess(q, fresh, i)
			told, apart = v*v, max(d*d, e*e)
		}
		f.told[i+1], f.apart[i+1] = f.told[i]+told, f.apart[i]+apart
	}
}

// ready works out the sums.
func (f *mixer) ready(q *Stretch, best []float64, rate int) {
	n := len(q.Y)
	for _, v := range []*[]float64{&f.power, &f.slope, &f.clips, &f.signs, &f.added, &f.near[0], &f.near[1], &f.below} {
		vec.Grow(v, n+1)
		(*v)[0] = 0
	}
	vec.Grow(&f.centre, n)
	f.short, f.half = rate/60, rate/2
	f.step = max(1, int(math.Round(float64(rate)/8000)))
	f.perMS = float64(rate) / 16000
	prev, next := q.Y[0], 0
	for i, v := range q.Y {
		for next < len(q.At)-1 && q.At[next] < i {
			next++
		}
		b := q.Bound[q.At[next]] // of a ceiling that moves, the next one
		var clip, sign, more, below float64
		var near [2]float64
		switch l := math.Abs(v); {
		case q.Sign[i] != 0:
			clip, sign = 1, float64(q.Sign[i])
			more = excessOf(q, best, i)
			f.centre[i] = more
		case l > (1-belowTop)*b:
			near[polarity(v > 0)] = 1
		case l > (1-2.5*belowTop)*b:
			below = 1
		}
		d := (v - prev) * f.perMS
		prev = v
		f.power[i+1] = f.power[i] + v*v
		f.slope[i+1] = f.slope[i] + d*d
		f.clips[i+1] = f.clips[i] + clip
		f.signs[i+1] = f.signs[i] + sign
		f.added[i+1] = f.added[i] + more
		f.near[0][i+1] = f.near[0][i] + near[0]
		f.near[1][i+1] = f.near[1][i] + near[1]
		f.below[i+1] = f.below[i] + below
	}
	f.quiet = quietOf(f.power, rate, &f.blocks)
}

func polarity(top bool) int {
	if top {
		return 1
	}
	return 0
}

// excessOf is the excess of x re the clip level.
func excessOf(q *Stretch, x []float64, i int) float64 { return excess(q, x, i) / q.Bound[i] }

func soft(v float64) float64 { return math.Log(v + mixSoft) }

// each calls visit for every clipped sample of q; best is what the estimates are set against.
func (f *mixer) each(q *Stretch, est [][]float64, best []float64, rate int, visit func(v *view, i int)) {
	if len(q.At) == 0 {
		return
	}
	f.ready(q, best, rate)
	f.agree(q, est[3], est[6], est[mixMethods-1])
	var v view
	x, ex := &v.x, &v.ex
	for s := 0; s < len(q.At); {
		e := q.runEnd(s)
		run := f.run(q, est, s, e)
		for t, i := range q.At[s:e] {
			for k := range ex {
				ex[k] = excessOf(q, est[k], i)
			}
			m := soft(f.centre[i])
			for k, v := range ex {
				x[k] = float32(soft(v) - m)
			}
			o := x[mixMethods:]
			place := 2*(float64(t)+0.5)/float64(e-s) - 1
			a, b := max(0, i-f.short), min(len(q.Y), i+f.short)
			c, d := max(0, i-f.half), min(len(q.Y), i+f.half)
			n, wide := f.clips[b]-f.clips[a], f.clips[d]-f.clips[c]
			same := &f.near[polarity(q.Sign[i] > 0)]
			sign := float64(q.Sign[i])
			alike := (wide + sign*(f.signs[d]-f.signs[c])) / 2 // of this polarity
			near := f.near[0][d] - f.near[0][c] + f.near[1][d] - f.near[1][c]
			o[0] = float32(m)
			copy(o[1:], run[:])
			o[7] = float32(math.Abs(place))
			o[8] = float32(place)
			o[9] = float32(n / float64(b-a))
			o[10] = float32(wide / float64(d-c))
			o[11] = float32(math.Log(f.quiet/(q.Bound[i]*q.Bound[i]) + 1e-6))
			o[12] = float32(math.Log((f.slope[b]-f.slope[a])/(f.power[b]-f.power[a]+1e-30) + 1e-6))
			o[13] = float32(math.Log(spreadOf(ex[:])/(f.centre[i]+mixSoft) + 0.01))
			o[14] = float32(soft((f.added[b] - f.added[a]) / n))
			o[15] = float32(soft((f.added[d] - f.added[c]) / wide))
			o[16] = float32(alike / wide)
			o[17] = float32(math.Log(belowTop * (alike + 1) / ((*same)[d] - (*same)[c] + 1)))
			o[18] = float32(math.Log((1 + near) / (1 + f.below[d] - f.below[c])))
			from, to := max(0, i-rate/20), min(len(q.Y), i+rate/20)
			alike10 := agreement(f.told[to]-f.told[from], f.apart[to]-f.apart[from])
			o[19] = float32(min(alike10, mixWholeDB/10))
			v.best, v.sure = f.centre[i], ramp(10*alike10, mixFromDB, mixWholeDB)
			visit(&v, i)
		}
		s = e
	}
}

// run is what is looked at of the run At[s:e] as a whole: the highest of all estimates, its
// length in ms, and how steeply and from how far it is reached and left.
func (f *mixer) run(q *Stretch, est [][]float64, s, e int) (x [6]float32) {
	peak := 0.0
	for _, i := range q.At[s:e] {
		for k := range mixMethods {
			peak = max(peak, excessOf(q, est[k], i))
		}
	}
	x[0] = float32(soft(peak))
	x[1] = float32(math.Log(float64(e-s) / (16 * f.perMS)))
	first, last := q.At[s], q.At[e-1]
	sign, n := float64(q.Sign[first]), len(q.Y)-1
	under := func(i, of int) float64 { return 1 - sign*q.Y[min(max(i, 0), n)]/q.Bound[of] }
	x[2] = float32(min(math.Log(max(1e-3, under(first-1, first)*f.perMS)), 1))
	x[3] = float32(min(math.Log(max(1e-3, under(last+1, last)*f.perMS)), 1))
	x[4] = float32(min(max(under(first-f.step, first), 0), 2))
	x[5] = float32(min(max(under(last+f.step, last), 0), 2))
	return x
}
