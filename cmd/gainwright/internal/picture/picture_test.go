package picture

import (
	"bytes"
	"encoding/xml"
	"errors"
	"image/color"
	"image/png"
	"io"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/recorder"

	"gainwright/sim"
)

// feed gives x to a gather as the true wave, clipped at 1 by the converter.
func feed(g *Gather, x []float64, block int) {
	t := sim.NewTaps(block)
	for len(x) > 0 {
		n := min(block, len(x))
		t.Resize(n)
		t.Ceiling = 1
		for i, v := range x[:n] {
			c := max(-1, min(1, v))
			t.True[i], t.Demand[i], t.InGain[i], t.Gain[i] = v, v, 1, 1
			t.Wave[sim.AtConverter][i], t.Wave[sim.AtFile][i] = c, c/2
		}
		g.Write(t)
		x = x[n:]
	}
}

// The overview covers every sample once, keeps the extremes, and stays within its
// bounds, however long the take and however it is cut.
func TestOverview(t *testing.T) {
	rnd := rand.New(rand.NewPCG(3, 4))
	for _, n := range []int{1, 15, 16, 17, 65535, 65536, 65537, 500000} {
		x := make([]float64, n)
		for i := range x {
			x[i] = rnd.NormFloat64() * 0.4
		}
		var first []Bucket
		for _, block := range []int{1 + n/7, 1024, 333} {
			g := NewGather(48000)
			feed(g, x, block)
			all, per := g.Overview()
			if len(all) > buckets || len(all) != (n+per-1)/per {
				t.Fatalf("%d samples: %d columns of %d", n, len(all), per)
			}
			for i, b := range all {
				hi, lo, over := math.Inf(-1), math.Inf(1), false
				for _, v := range x[i*per : min(n, (i+1)*per)] {
					hi, lo, over = max(hi, v), min(lo, v), over || math.Abs(v) > 1
				}
				if b.WantHi != hi || b.WantLo != lo || b.Over != over || b.Hi != min(hi, 1)/2 {
					t.Fatalf("%d samples, column %d: %+v, want %v to %v, over %v", n, i, b, lo, hi, over)
				}
			}
			if first == nil {
				first = append(first, all...)
			}
			for i := range all {
				if all[i] != first[i] {
					t.Fatalf("%d samples: column %d depends on the blocks", n, i)
				}
			}
		}
	}
}

// The moment is the stretch around the largest true value.
func TestMoment(t *testing.T) {
	const rate = 48000
	n := rate * MomentMS / 1000
	for _, at := range []int{0, 3, n / 2, 1000, 20000, 47990, 47999} {
		x := make([]float64, rate)
		for i := range x {
			x[i] = 0.3 * math.Sin(float64(i)*0.1)
		}
		x[at] = -2
		for _, block := range []int{1, 100, 1024} {
			g := NewGather(rate)
			feed(g, x, block)
			m := g.Moment()
			k := at - int(m.Start)
			if k < 0 || k >= n || m.True[k] != -2 || m.Conv[k] != -1 || m.Demand[k] != -2 {
				t.Fatalf("peak at %d: moment from %d (blocks of %d)", at, m.Start, block)
			}
			if at > n && at < rate-n && (k < n/2-2 || k > n/2+2) {
				t.Errorf("peak at %d stands at %d of %d", at, k, n)
			}
			for i := range m.True {
				if j := int(m.Start) + i; j >= 0 && m.True[i] != x[j] {
					t.Fatalf("peak at %d: sample %d is not sample %d of the take", at, i, j)
				}
			}
		}
	}
}

func TestGatherAllocatesNothing(t *testing.T) {
	g := NewGather(48000)
	taps := sim.NewTaps(1024)
	if n := testing.AllocsPerRun(200, func() { g.Write(taps) }); n > 0 {
		t.Errorf("%v allocations a block", n)
	}
}

// Hatching stays inside the polygon.
func TestHatch(t *testing.T) {
	var rec recorder.Canvas
	c := draw.NewCanvas(&rec, 100, 100)
	hatch(c, rectangle(10, 20, 40, 50), color.NRGBA{A: 255}, 3, 1)
	strokes := 0
	for _, a := range rec.Actions {
		s, ok := a.(*recorder.Stroke)
		if !ok {
			continue
		}
		strokes++
		for _, p := range s.Path {
			if p.Pos.X < 9.999 || p.Pos.X > 40.001 || p.Pos.Y < 19.999 || p.Pos.Y > 50.001 {
				t.Errorf("a line reaches %v", p.Pos)
			}
		}
	}
	if strokes < 15 {
		t.Errorf("%d lines", strokes)
	}
	// Degenerate ones are nothing, and no endless loop.
	hatch(c, nil, color.NRGBA{}, 3, 1)
	hatch(c, []vg.Point{{X: 1, Y: 1}, {X: 1, Y: 1}, {X: 1, Y: 1}}, color.NRGBA{}, 3, 1)
	hatch(c, rectangle(0, 0, vg.Length(math.Inf(1)), 1), color.NRGBA{}, 3, 1)
}

// Takes at the edges can be drawn, in both formats.
func TestDrawEdges(t *testing.T) {
	loud, both := sim.Default(), sim.Default()
	loud.Preamp.GainDB = 80
	both.InputLimiter.On, both.Limiter.On = true, true
	both.Converter.DualRangeDB, both.File.Format = 30, sim.Float32
	for name, s := range map[string]*Sheet{
		"nothing written": {Strip: "A", Chain: sim.Default(), Gather: NewGather(48000)},
		"one sample":      {Strip: "A", Chain: loud, Gather: func() *Gather { g := NewGather(8000); feed(g, []float64{0.5}, 1); return g }()},
		"silence":         {Strip: "A", Chain: both, Gather: func() *Gather { g := NewGather(192000); feed(g, make([]float64, 192000), 999); return g }()},
		"far over": {Title: strings.Repeat("A long title ", 30), Strip: "A", Chain: loud, Marks: []Mark{{0, "here"}, {0.01, "and here"}, {99, "beyond"}},
			Gather: func() *Gather {
				g := NewGather(48000)
				feed(g, []float64{300, -300, 0.1, 4000}, 4)
				return g
			}()},
	} {
		ro, err := sim.NewReadout(48000)
		if err != nil {
			t.Fatal(err)
		}
		ro.Settings(s.Chain)
		s.Levels, s.Readings = ro.Levels(), ro.Readings()
		var b bytes.Buffer
		if err := Draw(&b, s, PNG); err != nil {
			t.Errorf("%s: %v", name, err)
		} else if _, err := png.Decode(&b); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		b.Reset()
		if err := Draw(&b, s, SVG); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if strings.Contains(b.String(), "NaN") || strings.Contains(b.String(), "Inf") {
			t.Errorf("%s: the SVG has coordinates that are no numbers", name)
		}
		d := xml.NewDecoder(&b)
		for {
			if _, err := d.Token(); errors.Is(err, io.EOF) {
				break
			} else if err != nil {
				t.Errorf("%s: %v", name, err)
				break
			}
		}
	}
	if Draw(io.Discard, &Sheet{}, "gif") == nil {
		t.Error("drew a gif")
	}
}
