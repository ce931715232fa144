package restore

import (
	"math"

	"gainwright/sim/repair/vec"
)

// The gate decides, sample by sample, how far to trust each of the ensemble's
// estimates: a small network (one hidden layer) over features that have no level
// and no rate in them gives the weights of a convex combination and a shift of it in units of the
// estimates' spread: where they agree, nothing moves the result. Its few hundred numbers were
// learnt on clipped speech, see tests/repair/train.

const (
	gateMethods  = 9
	gateFeatures = gateMethods + 8
	gateHidden   = 16
	gateShift    = 2    // the shift lies within so many standard deviations of the estimates
	gateTrust    = 0.5  // its share of the result; baseBlend has the rest, for voices unlike those learnt
	gateJury     = 0.5  // how far the jury's word counts in the gate where little is clipped
	gateClamp    = 2.5  // features are held within so many standard deviations
	gateSoft     = 0.02 // excess, re the clip level, below which ratios mean little
)

// A Gate is the blending network's numbers, in order: mean and scale of the
// features, hidden layer (each with its bias last), output layer (likewise). Only
// the training program handles one.
type Gate struct {
	Mean, Scale [gateFeatures]float64
	Hidden      [gateHidden][gateFeatures + 1]float64
	Out         [gateMethods + 1][gateHidden + 1]float64
}

// blendOne returns the blended excess for the estimates' excesses ex and features x,
// which are standardised in place. With heed above 0 the estimates' weights are
// multiplied by trust to that power.
func (g *Gate) blendOne(x *[gateFeatures]float64, ex, trust *[gateMethods]float64, heed float64) float64 {
	for i := range x {
		x[i] = min(max((x[i]-g.Mean[i])*g.Scale[i], -gateClamp), gateClamp)
	}
	var h [gateHidden]float64
	for j := range h {
		w := &g.Hidden[j]
		s := w[gateFeatures]
		for i, v := range x {
			s += w[i] * v
		}
		h[j] = math.Tanh(s)
	}
	var o [gateMethods + 1]float64
	top := math.Inf(-1)
	for k := range o {
		w := &g.Out[k]
		s := w[gateHidden]
		for j, v := range h {
			s += w[j] * v
		}
		o[k] = s
		if k < gateMethods {
			top = max(top, s)
		}
	}
	sum, mean, square := 0.0, 0.0, 0.0
	for k, v := range ex {
		w := math.Exp(o[k] - top)
		if heed > 0 {
			w *= math.Pow(trust[k], heed)
		}
		sum += w
		mean += w * v
		square += w * v * v
	}
	mean /= sum
	spread := spreadOf(ex[:])
	if heed > 0 { // of those that are trusted
		own := 1.5 * math.Sqrt(max(0, square/sum-mean*mean))
		spread += heed / gateJury * (min(spread, own) - spread)
	}
	return max(0, mean+gateShift*math.Tanh(o[gateMethods])*spread)
}

func ramp(v, lo, hi float64) float64 { return min(max((v-lo)/(hi-lo), 0), 1) }

// gateShare is the gate's share of the result, by the share of clipped samples within half
// a second. It was learnt mostly at 16 kHz, and above 24 kHz knows less where a
// quarter is clipped; where nearly half is, the plain mean knows nothing at all.
func gateShare(rate int, share float64) float64 {
	if rate <= 24000 {
		return gateTrust
	}
	return 0.55 - 0.35*ramp(share, 0.12, 0.3) + 0.3*ramp(share, 0.33, 0.42)
}

// heed is how far the gate heeds the jury, by the share of clipped samples within
// half a second.
func heed(share float64) float64 { return gateJury * (1 - ramp(share, 0.02, 0.06)) }

// baseBlend is a mean without learning, over the methods that do best for the share
// of clipped samples within half a second: prediction where it is small, all in the
// middle, all but the Wiener ones where it is large. Among the predictions trust
// decides.
func baseBlend(share float64, ex, trust *[gateMethods]float64) float64 {
	var sparse, predicted, wiener, sum float64
	for k, v := range ex {
		switch {
		case k < 3:
			sparse += v
		case k < 7:
			predicted += trust[k] * v
			sum += trust[k]
		default:
			wiener += v
		}
	}
	predicted *= 4 / sum
	light, heavy := 1-ramp(share, 0.1, 0.2), ramp(share, 0.3, 0.4)
	return light*predicted/4 + heavy*(sparse+predicted)/7 + (1-light-heavy)*(sparse+predicted+wiener)/9
}

// spreadOf is the standard deviation of the excesses.
func spreadOf(ex []float64) float64 {
	m, s, n := 0.0, 0.0, float64(len(ex))
	for _, v := range ex {
		m += v / n
	}
	for _, v := range ex {
		s += (v - m) * (v - m) / n
	}
	return math.Sqrt(s)
}

// features computes what the gate looks at.
type features struct {
	clips, power, slope []float64 // running sums
	blocks              []float64
	visit               func(x *[gateFeatures]float64, ex *[gateMethods]float64, i int)
}

// blend writes the gate's blend of est at the clipped samples of q into dst.
func (f *features) blend(dst []float64, q *Stretch, est [][]float64, rate int, j *jury) {
	j.weigh(q, est)
	var trust [gateMethods]float64
	f.each(q, est, rate, func(x *[gateFeatures]float64, ex *[gateMethods]float64, i int) {
		b, share := q.Bound[i], x[gateMethods+5]
		j.at(i, &trust)
		plain, own := baseBlend(share, ex, &trust), gateShare(rate, share)
		dst[i] = float64(q.Sign[i]) * b * (1 + own*theGate.blendOne(x, ex, &trust, heed(share)) + (1-own)*plain)
	})
}

// quietOf is the quiet of the surroundings, from running sums of power: a tenth of the 20 ms
// blocks lie below. blocks is room for them.
func quietOf(power []float64, rate int, blocks *[]float64) float64 {
	all := (*blocks)[:0]
	blk := max(1, rate/50)
	for i := 0; i+blk < len(power); i += blk {
		all = append(all, (power[i+blk]-power[i])/float64(blk))
	}
	*blocks = all
	if len(all) == 0 {
		return 0
	}
	return vec.Select(all, max(1, len(all)*9/10))
}

// share is how much is clipped within half samples of i, in what blend was called for.
func (f *features) share(i, half int) float64 {
	a, b := max(0, i-half), min(len(f.clips)-1, i+half)
	return (f.clips[b] - f.clips[a]) / float64(b-a)
}

// each calls visit with features and excesses (re the clip level) for every
// clipped sample of q.
func (f *features) each(q *Stretch, est [][]float64, rate int, visit func(x *[gateFeatures]float64, ex *[gateMethods]float64, i int)) {
	if len(q.At) == 0 {
		return
	}
	n := len(q.Y)
	vec.Grow(&f.clips, n+1)
	vec.Grow(&f.power, n+1)
	vec.Grow(&f.slope, n+1)
	f.clips[0], f.power[0], f.slope[0] = 0, 0, 0
	perMS := float64(rate) / 16000 // slopes count per sample of 16 kHz
	prev := q.Y[0]
	for i, v := range q.Y {
		c := 0.0
		if q.Sign[i] != 0 {
			c = 1
		}
		d := (v - prev) * perMS
		prev = v
		f.clips[i+1] = f.clips[i] + c
		f.power[i+1] = f.power[i] + v*v
		f.slope[i+1] = f.slope[i] + d*d
	}
	quiet := quietOf(f.power, rate, &f.blocks)
	var x [gateFeatures]float64
	var ex [gateMethods]float64
	excess := func(k, i int) float64 {
		return max(0, float64(q.Sign[i])*est[k][i]/q.Bound[i]-1)
	}
	for s := 0; s < len(q.At); {
		e := q.runEnd(s)
		gap := float64(e - s)
		peak := 0.0
		for _, i := range q.At[s:e] {
			for k := range gateMethods {
				peak = max(peak, excess(k, i))
			}
		}
		for t, i := range q.At[s:e] {
			mean := 0.0
			for k := range gateMethods {
				ex[k] = excess(k, i)
				mean += ex[k] / gateMethods
			}
			for k := range gateMethods {
				x[k] = math.Log((ex[k] + gateSoft) / (mean + gateSoft))
			}
			a, b := max(0, i-rate/60), min(n, i+rate/60)
			o := x[gateMethods:]
			o[0] = math.Log(mean + gateSoft)
			o[1] = math.Log(peak + gateSoft)
			o[2] = math.Log(gap * 1000 / float64(rate))
			o[3] = math.Abs(2*(float64(t)+0.5)/gap - 1)
			o[4] = f.share(i, rate/60)
			o[5] = f.share(i, rate/2)
			o[6] = math.Log(quiet/(q.Bound[i]*q.Bound[i]) + 1e-6)
			o[7] = math.Log((f.slope[b]-f.slope[a])/(f.power[b]-f.power[a]+1e-30) + 1e-6)
			visit(&x, &ex, i)
		}
		s = e
	}
}
