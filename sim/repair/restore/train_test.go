//go:build train

package restore

import (
	"encoding/gob"
	"fmt"
	"go/format"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"gainwright/sounds"
	"gainwright/sounds/voice"
	"gainwright/tests/repair/speechset"
)

// Learning the gate. Two steps, because the first takes long:
//
//	go test -tags train -run TestTrainData -timeout 3h ./sim/repair/restore
//	go test -tags train -run TestTrainGate -timeout 1h ./sim/repair/restore
//
// The first clips the speech listed below, runs every method of the ensemble and
// leaves features and truth in trainFile; the second fits the network and writes
// gate_table.go. No file of speechset.Test is used.

var trainFile = filepath.Join(os.TempDir(), "gainwright-train.gob")

type trainSet struct {
	Name  string
	Group string // left out together when the fit is judged
	Rate  int
	SDR   float64
	X     [][gateFeatures]float32
	Ex    [][gateMethods]float32
	True  []float32 // excess re the clip level
	Base  float64   // Σ True² over all clipped samples kept: the error of doing nothing
}

type trainItem struct {
	name, group string
	load        func(rate int) ([]float64, error)
	noise       float64 // rms re peak
}

func trainItems() []trainItem {
	var out []trainItem
	for _, it := range speechset.Tuning {
		out = append(out, trainItem{it.Name, strings.Split(strings.Split(it.Name, "_")[0], "-")[0], it.Load, 0})
	}
	for i, v := range []string{"en-us+m2", "en-gb-x-rp+f2", "en-gb-x-gbclan+m4", "en-029+f4"} {
		text := []string{
			"When the water was high we tied up at the old mill, and that was that.",
			"I was nine. I counted the planks every morning, and there were forty one of them.",
			"You could hear the engine before you could see the boat, on a foggy day at least.",
			"She shouted across the whole river, and he still pretended not to hear her!",
		}[i]
		it := speechset.Voice(v, text)
		out = append(out, trainItem{it.Name, "en", it.Load, []float64{0.003, 0.001, 0.01, 0}[i]})
	}
	for i, who := range voice.Talkers() {
		if i >= 4 {
			break
		}
		out = append(out, trainItem{who.Name, "ours", func(rate int) ([]float64, error) {
			s := voice.Ordinary()
			p, err := voice.New(voice.Script{
				{Text: s[2*i%len(s)], Effort: voice.At(0.25 * float64(i))},
				{Do: "laugh", Effort: voice.At(0.6)},
				{Text: s[(2*i+1)%len(s)], Effort: voice.At(0.5)},
			}, who.Name, uint64(i))
			if err != nil {
				return nil, err
			}
			x := heard(p, 6*voice.Rate)
			if rate != voice.Rate {
				x = sounds.ResampleAll([][]float64{x}, voice.Rate, rate, sounds.Steep)[0]
			}
			return toOne(x), nil
		}, []float64{0.002, 0.0005, 0.006, 0.02}[i]})
	}
	return out
}

func TestTrainData(t *testing.T) {
	var sets []trainSet
	for n, it := range trainItems() {
		for _, rate := range []int{16000, 48000} {
			x, err := it.load(rate)
			if err != nil {
				t.Fatal(err)
			}
			r := rand.New(rand.NewPCG(uint64(n), 3))
			for i := range x {
				x[i] += it.noise * r.NormFloat64()
			}
			x = middle(x, 3*rate)
			levels := [][]float64{{1, 5, 10}, {2, 7, 15}, {3, 9, 20}}[n%3]
			if rate == 48000 {
				x = middle(x, rate*5/4)
				levels = [][]float64{{3}, {7}, {12}, {20}}[n%4]
			}
			for _, sdr := range levels {
				y, theta := speechset.Clip(x, sdr)
				q := markedAt(y, theta)
				b := NewBench(rate, Best)
				b.estimates(q)
				s := trainSet{Name: it.name, Group: it.group, Rate: rate, SDR: sdr}
				keep := 1 + len(q.At)/6000
				i := 0
				b.feature.each(q, b.est, rate, func(f *[gateFeatures]float64, e *[gateMethods]float64, at int) {
					i++
					if i%keep != 0 {
						return
					}
					var f32 [gateFeatures]float32
					var e32 [gateMethods]float32
					for k, v := range f {
						f32[k] = float32(v)
					}
					for k, v := range e {
						e32[k] = float32(v)
					}
					tr := math.Abs(x[at])/theta - 1
					s.X, s.Ex, s.True = append(s.X, f32), append(s.Ex, e32), append(s.True, float32(tr))
					s.Base += tr * tr
				})
				sets = append(sets, s)
				fmt.Println(it.name, rate, sdr, len(s.True))
			}
		}
	}
	f, err := os.Create(trainFile)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if err := gob.NewEncoder(f).Encode(sets); err != nil {
		t.Fatal(err)
	}
}

// markedAt marks what a ceiling at ±theta left at it.
func markedAt(y []float64, theta float64) *Stretch {
	q := &Stretch{Y: y, Sign: make([]int8, len(y)), Bound: make([]float64, len(y))}
	for i, v := range y {
		switch {
		case v >= theta:
			q.Sign[i] = 1
		case v <= -theta:
			q.Sign[i] = -1
		default:
			continue
		}
		q.Bound[i] = theta
		q.At = append(q.At, i)
	}
	return q
}

// middle is the middle of x, n samples.
func middle(x []float64, n int) []float64 {
	if len(x) <= n {
		return x
	}
	at := (len(x) - n) / 2
	return x[at : at+n]
}

func (s *trainSet) score(est func(x *[gateFeatures]float64, ex *[gateMethods]float64) float64) float64 {
	e := 0.0
	for i := range s.True {
		x, ex := s.at(i)
		d := est(&x, &ex) - float64(s.True[i])
		e += d * d
	}
	return 10 * math.Log10(s.Base/e)
}

func (s *trainSet) at(i int) (x [gateFeatures]float64, ex [gateMethods]float64) {
	for k, v := range s.X[i] {
		x[k] = float64(v)
	}
	for k, v := range s.Ex[i] {
		ex[k] = float64(v)
	}
	return x, ex
}

// evenly trusts all estimates: the network is learnt without the jury.
var evenly = func() (t [gateMethods]float64) {
	for k := range t {
		t[k] = 1
	}
	return t
}()

func plainMean(_ *[gateFeatures]float64, ex *[gateMethods]float64) float64 {
	m := 0.0
	for _, v := range ex {
		m += v / gateMethods
	}
	return m
}

func fit(sets []trainSet, epochs int, seed uint64) *Gate {
	g := &Gate{}
	var count float64
	for _, s := range sets {
		for _, x := range s.X {
			count++
			for k, v := range x {
				g.Mean[k] += float64(v)
			}
		}
	}
	for k := range g.Mean {
		g.Mean[k] /= count
	}
	for _, s := range sets {
		for _, x := range s.X {
			for k, v := range x {
				d := float64(v) - g.Mean[k]
				g.Scale[k] += d * d
			}
		}
	}
	for k := range g.Scale {
		g.Scale[k] = 1 / math.Sqrt(g.Scale[k]/count+1e-9)
	}
	r := rand.New(rand.NewPCG(seed, 1))
	for j := range g.Hidden {
		for i := range g.Hidden[j] {
			g.Hidden[j][i] = r.NormFloat64() / math.Sqrt(gateFeatures)
		}
	}
	const nh, no = gateHidden * (gateFeatures + 1), (gateMethods + 1) * (gateHidden + 1)
	var grad, m1, m2 [nh + no]float64
	type ref struct{ s, i int }
	var idx []ref
	weight := make([]float64, len(sets))
	for s := range sets {
		e := sets[s].Base / math.Pow(10, sets[s].score(plainMean)/10)
		weight[s] = 1 / (e + 1e-9)
		for i := range sets[s].True {
			idx = append(idx, ref{s, i})
		}
	}
	const batch = 64
	total := epochs * len(idx) / batch
	scale := float64(len(idx)) / float64(len(sets)*batch)
	mask := judgeMask()
	for step := 1; step <= total; step++ {
		grad = [nh + no]float64{}
		for range batch {
			q := idx[r.IntN(len(idx))]
			x, ex := sets[q.s].at(q.i)
			// Forward, as blendOne does, keeping what the gradient needs.
			for i := range x {
				x[i] = min(max((x[i]-g.Mean[i])*g.Scale[i], -gateClamp), gateClamp)
				x[i] *= mask[i]
			}
			var h [gateHidden]float64
			for j := range h {
				s := g.Hidden[j][gateFeatures]
				for i, v := range x {
					s += g.Hidden[j][i] * v
				}
				h[j] = math.Tanh(s)
			}
			var o, w [gateMethods + 1]float64
			sum, e := 0.0, 0.0
			for k := range o {
				s := g.Out[k][gateHidden]
				for j, v := range h {
					s += g.Out[k][j] * v
				}
				o[k] = s
				if k < gateMethods {
					w[k] = math.Exp(s)
					sum += w[k]
				}
			}
			for k, v := range ex {
				w[k] /= sum
				e += w[k] * v
			}
			th := math.Tanh(o[gateMethods])
			sp := gateShift * spreadOf(ex[:])
			d := 2 * (max(0, e+sp*th) - float64(sets[q.s].True[q.i])) * weight[q.s] * scale
			var dh [gateHidden]float64
			for k := range o {
				var do float64
				if k < gateMethods {
					do = d * w[k] * (ex[k] - e)
				} else {
					do = d * sp * (1 - th*th)
				}
				gw := grad[nh+k*(gateHidden+1):]
				gw[gateHidden] += do
				for j, v := range h {
					gw[j] += do * v
					dh[j] += do * g.Out[k][j]
				}
			}
			for j, v := range h {
				dj := dh[j] * (1 - v*v)
				gw := grad[j*(gateFeatures+1):]
				gw[gateFeatures] += dj
				for i, v := range x {
					gw[i] += dj * v
				}
			}
		}
		lr := 0.003 * (1 - float64(step)/float64(total+1))
		c1, c2 := 1-math.Pow(0.9, float64(step)), 1-math.Pow(0.999, float64(step))
		for i, v := range grad {
			v = min(max(v, -20), 20)
			m1[i] = 0.9*m1[i] + 0.1*v
			m2[i] = 0.999*m2[i] + 0.001*v*v
			var p *float64
			if i < nh {
				p = &g.Hidden[i/(gateFeatures+1)][i%(gateFeatures+1)]
			} else {
				p = &g.Out[(i-nh)/(gateHidden+1)][(i-nh)%(gateHidden+1)]
			}
			*p -= lr * (m1[i]/c1/(math.Sqrt(m2[i]/c2)+1e-9) + 0.003**p)
		}
	}
	for i := range mask {
		g.Scale[i] *= mask[i]
	}
	return g
}

func judgeMask() (m [gateFeatures]float64) {
	for i := range m {
		m[i] = 1
	}
	for _, f := range strings.Fields(os.Getenv("MASK")) {
		if i, err := strconv.Atoi(f); err == nil {
			m[i] = 0
		}
	}
	return m
}

func TestTrainGate(t *testing.T) {
	var sets []trainSet
	f, err := os.Open(trainFile)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if err := gob.NewDecoder(f).Decode(&sets); err != nil {
		t.Fatal(err)
	}
	epochs := 4
	if os.Getenv("EP") != "" {
		epochs, _ = strconv.Atoi(os.Getenv("EP"))
	}
	if os.Getenv("JUDGE") != "" {
		blend := gateTrust
		if b, err := strconv.ParseFloat(os.Getenv("BLEND"), 64); err == nil {
			blend = b
		}
		for i := range sets {
			if strings.HasPrefix(sets[i].Name, "en-") {
				sets[i].Group = sets[i].Name
			}
		}
		groups := map[string]bool{}
		for _, s := range sets {
			groups[s.Group] = true
		}
		var all, gated, n float64
		for g := range groups {
			var rest []trainSet
			for _, s := range sets {
				if s.Group != g {
					rest = append(rest, s)
				}
			}
			net := fit(rest, epochs, 1)
			for _, s := range sets {
				if s.Group == g {
					a, b := s.score(plainMean), s.score(func(x *[gateFeatures]float64, ex *[gateMethods]float64) float64 {
						base := baseBlend(x[gateMethods+5], ex, &evenly)
						return blend*net.blendOne(x, ex, &evenly, 0) + (1-blend)*base
					})
					fmt.Printf("left out %-8s %-18s %5d Hz %4.0f dB: mean %6.2f  gate %6.2f  %+.2f\n", g, s.Name, s.Rate, s.SDR, a, b, b-a)
					all, gated, n = all+a, gated+b, n+1
				}
			}
		}
		fmt.Printf("left out: mean %.2f gate %.2f\n", all/n, gated/n)
		return
	}
	net := fit(sets, epochs, 1)
	var a, b float64
	for _, s := range sets {
		a += s.score(plainMean) / float64(len(sets))
		b += s.score(func(x *[gateFeatures]float64, ex *[gateMethods]float64) float64 {
			return net.blendOne(x, ex, &evenly, 0)
		}) / float64(len(sets))
	}
	fmt.Printf("on the training speech: mean %.2f gate %.2f\n", a, b)
	var out strings.Builder
	out.WriteString("package restore\n\n// Code generated by the training test (build tag train). DO NOT EDIT.\n\nvar theGate = Gate{\n")
	row := func(v []float64) {
		out.WriteString("{")
		for i, x := range v {
			if i > 0 {
				out.WriteString(", ")
			}
			fmt.Fprintf(&out, "%.4g", x)
		}
		out.WriteString("}")
	}
	out.WriteString("Mean: [gateFeatures]float64")
	row(net.Mean[:])
	out.WriteString(",\nScale: [gateFeatures]float64")
	row(net.Scale[:])
	out.WriteString(",\nHidden: [gateHidden][gateFeatures + 1]float64{\n")
	for _, h := range net.Hidden {
		row(h[:])
		out.WriteString(",\n")
	}
	out.WriteString("},\nOut: [gateMethods + 1][gateHidden + 1]float64{\n")
	for _, h := range net.Out {
		row(h[:])
		out.WriteString(",\n")
	}
	out.WriteString("},\n}\n")
	src, err := format.Source([]byte(out.String()))
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile("gate_table.go", src, 0o666); err != nil {
		t.Fatal(err)
	}
}
