//go:build train

package restore

import (
	"context"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"go/format"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"gainwright/sounds/voice"
	"gainwright/tests/repair/speechset"
)

// Learning the mixer. Two steps, because the first takes more than an hour:
//
//	go test -tags train -run TestMixData -timeout 3h ./sim/repair/restore
//	go test -tags train -run TestMixTrain -timeout 1h ./sim/repair/restore
//
// The first clips the speech listed below, runs the methods and leaves features and truth in
// mixFolder, a file for each take, and goes on where it was stopped; the second fits the
// network and writes mixer_table.go. None of the speakers held for judging and nothing of
// speechset.Test is among it, of Later only those who were looked at before. (The table in
// use comes of takes that were mended with all predictions; of those with over crowded of
// their samples clipped, the first was put for all three afterwards.)
var mixFolder = filepath.Join(os.TempDir(), "gainwright-mix")

// A mixTake is a take to learn from.
type mixTake struct {
	Name  string
	Group string // left out together when the fit is judged
	Rate  int
	SDR   float64
	N     int  // clipped samples
	Half  bool // counts half: made from less, or with noise that we made
	load  func() ([]float64, int, error)
}

func (m *mixTake) file(kind string) string {
	return filepath.Join(mixFolder, fmt.Sprintf("%s-%g.%s", m.Name, m.SDR, kind))
}

func mixTakes() (out []mixTake) {
	levels := []float64{3, 5, 7, 10, 4, 6, 8, 13, 2, 18}
	effects := []string{"", "", "equalizer 2800 1.2q 6 treble -4", "", "", "reverb 25 40 40", "", "compand 0.005,0.15 6:-70,-70,-45,-26,-20,-13,0,-4 -3", "", "bass 6"}
	people := slices.Concat(speechset.Side(false), speechset.Later[:speechset.Seen])
	people = slices.DeleteFunc(people, func(s speechset.Speaker) bool { return s.Rate != 0 && !Wide(s.Rate) })
	add := func(round, most int) {
		for k := range levels {
			for n, who := range people {
				if most--; most < 0 {
					return
				}
				out = append(out, mixTake{
					Name:  fmt.Sprintf("%s-%d-%d", who.Name, round, k),
					Group: who.Name, SDR: levels[(k+n+5*round)%len(levels)],
					load: func() ([]float64, int, error) {
						return who.Take(3+2*k+29*round, 2, effects[(k+3*round)%len(effects)])
					},
				})
			}
		}
	}
	add(0, 1000)
	for k, sdr := range []float64{3, 7, 12} { // made from less than 48 kHz, most of them
		for _, it := range slices.Concat(speechset.Tuning, speechset.Held) {
			out = append(out, mixTake{Name: fmt.Sprintf("%s-%d", it.Name, k), Group: it.Name, Half: true, SDR: sdr, load: func() ([]float64, int, error) {
				x, err := it.Load(48000)
				return middle(x, 2*48000), 48000, err
			}})
		}
	}
	for n, who := range voice.Talkers() {
		for k, sdr := range []float64{3, 5, 7, 10, 15, 20} {
			out = append(out, mixTake{Name: fmt.Sprintf("%s-%d", who.Name, k), Group: who.Name, Half: true, SDR: sdr, load: func() ([]float64, int, error) {
				x, err := said(who.Name, n, k)
				return x, voice.Rate, err
			}})
		}
	}
	add(1, 1000)
	add(2, 20)
	for n, who := range voice.Talkers() {
		for take := range 5 {
			for _, sdr := range []float64{1, 3, 5, 7, 10, 15, 20}[take/3:] {
				out = append(out, mixTake{Name: fmt.Sprintf("%s-clean-%d", who.Name, take), Group: who.Name, SDR: sdr, load: func() ([]float64, int, error) {
					x, err := clean(who.Name, n, take)
					return x, voice.Rate, err
				}})
			}
		}
	}
	for n, who := range people {
		for k, sdr := range [][]float64{{1, 15}, {1, 20}}[n%2] {
			out = append(out, mixTake{Name: fmt.Sprintf("%s-more-%d", who.Name, k), Group: who.Name, SDR: sdr, load: func() ([]float64, int, error) {
				return who.Take(70+11*k, 2, effects[(k+n)%len(effects)])
			}})
		}
	}
	for _, sdr := range []float64{1, 5, 10, 15, 20} {
		for _, it := range slices.Concat(speechset.Tuning, speechset.Held) {
			out = append(out, mixTake{Name: fmt.Sprintf("%s-more-%g", it.Name, sdr), Group: it.Name, Half: true, SDR: sdr, load: func() ([]float64, int, error) {
				x, err := it.Load(48000)
				return middle(x, 2*48000), 48000, err
			}})
		}
	}
	return out
}

// clean is some seconds of one of our talkers speaking up, without any noise: what they are
// judged by, in other words. The third begins with a laugh, those after it have one between
// sentences.
func clean(name string, n, take int) ([]float64, error) {
	s := voice.Ordinary()
	script := voice.Script{
		{Text: s[(5*n+17*take)%(len(s)-20)], Effort: voice.Loud},
		{Text: s[(5*n+17*take+1)%(len(s)-20)], Effort: voice.Raised},
	}
	seconds := 2.5
	if take >= 2 {
		at := 0
		if take > 2 {
			at, seconds = 1, 4
		}
		script = slices.Insert(script, at, voice.Event{Do: "laugh", Effort: voice.Loud})
	}
	p, err := voice.New(script, name, uint64(500+10*n+take))
	if err != nil {
		return nil, err
	}
	return toOne(heard(p, int(seconds*voice.Rate))), nil
}

// heard is the first n samples of p at most.
func heard(p *voice.Performance, n int) []float64 {
	x := make([]float64, min(p.Length(), n))
	for n := 0; n < len(x); {
		m, err := p.Read(x[n:])
		n += m
		if err != nil {
			break
		}
	}
	return x
}

// toOne brings the peak of x to 1.
func toOne(x []float64) []float64 {
	peak := 0.0
	for _, v := range x {
		peak = max(peak, math.Abs(v))
	}
	for i := range x {
		x[i] /= peak
	}
	return x
}

// said is two seconds of one of our talkers, peak 1, and some noise.
func said(name string, n, k int) ([]float64, error) {
	s := voice.Ordinary()
	p, err := voice.New(voice.Script{
		{Text: s[(2*n+k)%len(s)], Effort: voice.At(0.25 * float64(k%4))},
		{Do: "laugh", Effort: voice.At(0.6)},
	}, name, uint64(n+10*k))
	if err != nil {
		return nil, err
	}
	x := toOne(middle(heard(p, 6*voice.Rate), 2*voice.Rate))
	r := rand.New(rand.NewPCG(uint64(n), uint64(k)))
	for i := range x {
		x[i] += []float64{0.002, 0.0005, 0.006, 0}[k%4] * r.NormFloat64()
	}
	return x, nil
}

func TestMixData(t *testing.T) {
	if err := os.MkdirAll(mixFolder, 0o777); err != nil {
		t.Fatal(err)
	}
	takes := mixTakes()
	for i, m := range takes {
		if _, err := os.Stat(m.file("json")); err == nil {
			continue
		}
		x, rate, err := m.load()
		if errors.Is(err, speechset.ErrSilent) {
			continue
		}
		if err != nil {
			t.Fatal(err)
		}
		m.Rate = rate
		y, theta := speechset.Clip(x, m.SDR)
		q := markedAt(y, theta)
		b := NewBench(rate, Best)
		b.ctx = context.Background()
		b.estimates(q)
		dst := make([]float64, len(y))
		b.judged(dst, q)
		var out []float32
		was, is := 0.0, 0.0
		b.mixer.each(q, b.told(), dst, rate, func(v *view, at int) {
			truth := math.Abs(x[at])/theta - 1
			out = v.row(out, truth)
			was += truth * truth
			is += (v.best - truth) * (v.best - truth)
			m.N++
		})
		fmt.Printf("%d/%d %s, %g dB: %d clipped, before %.2f\n", i, len(takes), m.Name, m.SDR, m.N, 10*math.Log10(was/is))
		if err := keepMix(&m, out); err != nil {
			t.Fatal(err)
		}
	}
}

func (v *view) row(out []float32, truth float64) []float32 {
	out = append(out, v.x[:]...)
	for _, v := range v.ex {
		out = append(out, float32(v))
	}
	return append(out, float32(v.best), float32(v.sure), float32(truth))
}

func keepMix(m *mixTake, out []float32) error {
	f, err := os.Create(m.file("f32"))
	if err != nil {
		return err
	}
	if err := binary.Write(f, binary.LittleEndian, out); err != nil {
		return err
	}
	if err := f.Close(); err != nil {
		return err
	}
	b, err := json.Marshal(m)
	if err != nil {
		return err
	}
	return os.WriteFile(m.file("json"), b, 0o666)
}

// A mixSet is what TestMixData left of a take, a few thousand samples of it at most, and how
// much each weighs: so much that takes, and not samples, count alike.
type mixSet struct {
	mixTake
	v      []view
	truth  []float64
	weight float64
}

const mixMost = 4000 // samples of a take

func readMix(r *rand.Rand) ([]mixSet, error) {
	names, err := filepath.Glob(filepath.Join(mixFolder, "*.json"))
	if err != nil {
		return nil, err
	}
	var sets []mixSet
	for _, name := range names {
		b, err := os.ReadFile(name)
		if err != nil {
			return nil, err
		}
		var s mixSet
		if err := json.Unmarshal(b, &s.mixTake); err != nil {
			return nil, err
		}
		if b, err = os.ReadFile(s.file("f32")); err != nil {
			return nil, err
		}
		const row = mixFeatures + mixMethods + 3
		v := make([]float32, len(b)/4)
		if _, err := binary.Decode(b, binary.LittleEndian, v); err != nil {
			return nil, err
		}
		if s.N < 20 {
			continue
		}
		use := r.Perm(s.N)
		use = use[:min(mixMost, s.N)]
		for _, i := range use {
			at := v[i*row:][:row]
			v := view{x: [mixFeatures]float32(at), best: float64(at[row-3]), sure: float64(at[row-2])}
			for k := range v.ex {
				v.ex[k] = float64(at[mixFeatures+k])
			}
			s.v = append(s.v, v)
			s.truth = append(s.truth, float64(at[row-1]))
		}
		s.weigh()
		sets = append(sets, s)
	}
	return sets, nil
}

// error is the sum of squares that est errs by.
func (s *mixSet) error(est func(v *view) float64) (e float64) {
	for i, truth := range s.truth {
		v := s.v[i]
		d := est(&v) - truth
		e += d * d
	}
	return e
}

func mixNone(*view) float64     { return 0 }
func mixBefore(v *view) float64 { return v.best }

// weigh makes s count as errors re those of what there was before, takes of over 30 dB no
// more than of that.
func (s *mixSet) weigh() {
	s.weight = 1 / (s.error(mixBefore) + 0.001*s.error(mixNone) + 1e-9)
	if s.Half {
		s.weight /= 2
	}
}

// gain is ΔSDR, dB, on what was kept of the take.
func (s *mixSet) gain(est func(v *view) float64) float64 {
	return 10 * math.Log10(s.error(mixNone)/s.error(est))
}

// mixFit fits a network by Adam (Kingma, Ba, 2015) with weights that decay apart from it
// (Loshchilov, Hutter, 2019), on mean squared errors re those of what there was before.
func mixFit(sets []mixSet, epochs int, decay float64, seed uint64) *mixing {
	g := &mixing{}
	for k := range g.Mean {
		var sum, square, n float64
		for _, s := range sets {
			for i := range s.v {
				v, one := float64(s.v[i].x[k]), 1/float64(len(s.v))
				sum, square, n = sum+v*one, square+v*v*one, n+one
			}
		}
		sum /= n
		g.Mean[k] = float32(sum)
		g.Scale[k] = float32(1 / (math.Sqrt(max(0, square/n-sum*sum)) + 1e-4))
	}
	r := rand.New(rand.NewPCG(seed, 1))
	const nh, no = mixHidden * (mixFeatures + 1), (mixMethods + 1) * (mixHidden + 1)
	p := make([]float64, nh+no)
	for i := range p {
		if i < nh && i%(mixFeatures+1) < mixFeatures {
			p[i] = r.NormFloat64() / math.Sqrt(mixFeatures)
		} else if i >= nh && (i-nh)%(mixHidden+1) < mixHidden {
			p[i] = 0.05 * r.NormFloat64() / math.Sqrt(mixHidden)
		}
	}
	type ref struct{ s, i int }
	var all []ref
	for s := range sets {
		for i := range sets[s].v {
			all = append(all, ref{s, i})
		}
	}
	const batch = 2048
	steps := epochs * len(all) / batch
	mean := float64(len(all)) / float64(len(sets))
	grad, m1, m2 := make([]float64, nh+no), make([]float64, nh+no), make([]float64, nh+no)
	at := len(all)
	for step := 1; step <= steps; step++ {
		clear(grad)
		for range batch {
			if at == len(all) {
				r.Shuffle(len(all), func(i, j int) { all[i], all[j] = all[j], all[i] })
				at = 0
			}
			q := all[at]
			at++
			s := &sets[q.s]
			mixBack(g, p, grad, &s.v[q.i], s.truth[q.i], s.weight*mean/batch)
		}
		rate := 0.003 * min(1, float64(step)/200) * 0.5 * (1 + math.Cos(math.Pi*float64(step)/float64(steps)))
		c1, c2 := 1-math.Pow(0.9, float64(step)), 1-math.Pow(0.999, float64(step))
		for i, v := range grad {
			m1[i] = 0.9*m1[i] + 0.1*v
			m2[i] = 0.999*m2[i] + 0.001*v*v
			p[i] -= rate * (m1[i]/c1/(math.Sqrt(m2[i]/c2)+1e-8) + decay*p[i])
		}
	}
	for i, v := range p {
		if i < nh {
			g.Hidden[i/(mixFeatures+1)][i%(mixFeatures+1)] = float32(v)
		} else {
			g.Out[(i-nh)/(mixHidden+1)][(i-nh)%(mixHidden+1)] = float32(v)
		}
	}
	return g
}

// mixBack adds one sample's gradient, of its squared error times weight, to grad.
func mixBack(g *mixing, p, grad []float64, view *view, truth, weight float64) {
	if view.sure == 1 {
		return
	}
	ex := &view.ex
	const nh = mixHidden * (mixFeatures + 1)
	var x [mixFeatures]float64
	for i, v := range view.x {
		x[i] = float64(min(max((v-g.Mean[i])*g.Scale[i], -mixClamp), mixClamp))
	}
	var h [mixHidden]float64
	for j := range h {
		w := p[j*(mixFeatures+1):][:mixFeatures+1]
		s := w[mixFeatures]
		for i, v := range x {
			s += w[i] * v
		}
		h[j] = math.Tanh(s)
	}
	var o [mixMethods + 1]float64
	for k := range o {
		w := p[nh+k*(mixHidden+1):][:mixHidden+1]
		o[k] = w[mixHidden]
		for j, v := range h {
			o[k] += w[j] * v
		}
	}
	var w [mixMethods]float64
	sum, e := 0.0, 0.0
	for k := range w {
		w[k] = math.Exp(o[k])
		sum += w[k]
	}
	for k, v := range ex {
		w[k] /= sum
		e += w[k] * v
	}
	spread, t := spreadOf(ex[:]), math.Tanh(o[mixMethods])
	e2 := e + mixShift*t*spread
	if e2 <= 0 {
		return // no more, no less
	}
	d := 2 * (view.sure*view.best + (1-view.sure)*e2 - truth) * weight * (1 - view.sure)
	var dh [mixHidden]float64
	for k := range o {
		do := d * mixShift * spread * (1 - t*t)
		if k < mixMethods {
			do = d * w[k] * (ex[k] - e)
		}
		at := nh + k*(mixHidden+1)
		grad[at+mixHidden] += do
		for j, v := range h {
			grad[at+j] += do * v
			dh[j] += do * p[at+j]
		}
	}
	for j, v := range h {
		dj := dh[j] * (1 - v*v)
		gw := grad[j*(mixFeatures+1):][:mixFeatures+1]
		gw[mixFeatures] += dj
		for i, v := range x {
			gw[i] += dj * v
		}
	}
}

func (g *mixing) use(v *view) float64 { return v.mixed(g) }

// TestMixTrain fits the network and writes the table; with JUDGE set it leaves speakers out,
// a quarter at a time, says what it brings them, and writes nothing.
func TestMixTrain(t *testing.T) {
	sets, err := readMix(rand.New(rand.NewPCG(5, 6)))
	if err != nil {
		t.Fatal(err)
	}
	const epochs, decay = 5, 0.2
	if os.Getenv("JUDGE") != "" {
		quarter := map[string]int{}
		for _, s := range sets {
			if _, ok := quarter[s.Group]; !ok {
				quarter[s.Group] = len(quarter) % 4
			}
		}
		sum := map[float64][3]float64{}
		for k := range 4 {
			rest := slices.DeleteFunc(slices.Clone(sets), func(s mixSet) bool { return quarter[s.Group] == k })
			g := mixFit(rest, epochs, decay, 1)
			for _, s := range sets {
				if quarter[s.Group] == k {
					v := sum[s.SDR]
					sum[s.SDR] = [3]float64{v[0] + 1, v[1] + s.gain(mixBefore), v[2] + s.gain(g.use)}
				}
			}
		}
		for sdr, v := range sum {
			fmt.Printf("%g dB, %g takes: before %.2f dB, mixed %.2f\n", sdr, v[0], v[1]/v[0], v[2]/v[0])
		}
		return
	}
	g := mixFit(sets, epochs, decay, 1)
	if err := writeMixing(g); err != nil {
		t.Fatal(err)
	}
}

func writeMixing(g *mixing) error {
	var out strings.Builder
	out.WriteString("package restore\n\n// Code generated by the training test (build tag train). DO NOT EDIT.\n\nvar theMixing = mixing{\n")
	row := func(name string, v []float32) {
		out.WriteString(name + "{")
		for i, x := range v {
			if i > 0 {
				out.WriteString(", ")
			}
			fmt.Fprintf(&out, "%.4g", x)
		}
		out.WriteString("},\n")
	}
	row("Mean: [mixFeatures]float32", g.Mean[:])
	row("Scale: [mixFeatures]float32", g.Scale[:])
	out.WriteString("Hidden: [mixHidden][mixFeatures + 1]float32{\n")
	for _, h := range g.Hidden {
		row("", h[:])
	}
	out.WriteString("},\nOut: [mixMethods + 1][mixHidden + 1]float32{\n")
	for _, h := range g.Out {
		row("", h[:])
	}
	out.WriteString("},\n}\n")
	src, err := format.Source([]byte(out.String()))
	if err != nil {
		return err
	}
	return os.WriteFile("mixer_table.go", src, 0o666)
}
