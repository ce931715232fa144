package kit

import (
	"math"
	"strings"
	"testing"

	"gainwright/scenes/ink"
	"gainwright/scenes/ui"
)

// ruled lays a ruler out in w by its own height.
func ruled(w float32, text float32) (*Ruler, ui.Theme) {
	th := ui.NewTheme(true, text)
	r := NewRuler()
	r.Layout(&th, ink.Rect{X: 10, Y: 50, W: w, H: RulerHeight(&th)})
	return r, th
}

// TestRulerIsStraight: equal steps of gain are equal steps on the scale, and what lies beyond its
// ends stands at them.
func TestRulerIsStraight(t *testing.T) {
	r, _ := ruled(700, 1)
	step := r.X(1) - r.X(0)
	if step <= 0 {
		t.Fatalf("a decibel is %v wide", step)
	}
	for g := 0.0; g < 70; g++ {
		if d := r.X(g+1) - r.X(g); math.Abs(float64(d-step)) > 1e-3 {
			t.Errorf("from %v dB to the next: %v, else %v", g, d, step)
		}
	}
	if r.X(-20) != r.X(0) || r.X(99) != r.X(70) {
		t.Error("beyond the ends")
	}
}

// TestRulerTells: the words of each zone, both windows, and none while it is secret.
func TestRulerTells(t *testing.T) {
	r, _ := ruled(700, 1)
	r.Ticks = []RulerTick{{Name: "A", Gain: 52}, {Name: "B", Gain: 40}, {Name: "C", Gain: 20}}
	for _, tc := range []struct {
		quiet, risky float64
		secret       string
		want         []string
		never        []string
	}{
		{31, 44, "", []string{"Too noisy below 31 dB, too risky above 44 dB.", "Strip A at 52.0 dB: too risky.", "Strip B at 40.0 dB: in the window.", "Strip C at 20.0 dB: too noisy."}, nil},
		{45, 35, "", []string{"No window", "Strip B at 40.0 dB: too noisy and too risky."}, nil},
		{math.NaN(), math.NaN(), "", []string{"No window is known yet.", "Strip B at 40.0 dB."}, []string{"too"}},
		{31, 44, "the window is told when the conversation is over", []string{"The window is told when the conversation is over."}, []string{"31", "44", "in the window", "too risky", "at most"}},
	} {
		r.Quiet, r.Risky, r.Secret, r.Most = tc.quiet, tc.risky, tc.secret, 41
		got := r.Node().Value
		for _, w := range tc.want {
			if !strings.Contains(got, w) {
				t.Errorf("%q lacks %q", got, w)
			}
		}
		for _, w := range tc.never {
			if strings.Contains(got, w) {
				t.Errorf("%q has %q", got, w)
			}
		}
	}
}

// TestRulerKeepsSecrets: what is drawn while the window is secret does not depend on it.
func TestRulerKeepsSecrets(t *testing.T) {
	draw := func(quiet, risky, most float64) *ink.List {
		r, th := ruled(700, 1)
		r.Secret, r.Quiet, r.Risky, r.Most = "told later", quiet, risky, most
		r.Ticks = []RulerTick{{Name: "A", Gain: 40}}
		var l ink.List
		r.Draw(&l, &th)
		return &l
	}
	a, b := draw(31, 44, 41), draw(10, 20, 15)
	if len(a.Ops) != len(b.Ops) || len(a.Pts) != len(b.Pts) {
		t.Fatal("the picture tells the window")
	}
	for i := range a.Ops {
		if a.Ops[i] != b.Ops[i] {
			t.Fatalf("operation %d tells the window", i)
		}
	}
	for i := range a.Pts {
		if a.Pts[i] != b.Pts[i] {
			t.Fatalf("point %d tells the window", i)
		}
	}
}

// TestRulerStaysInside: at all widths and sizes of text nothing is written over the edge.
func TestRulerStaysInside(t *testing.T) {
	for _, text := range []float32{1, 1.5, 2} {
		for _, w := range []float32{366, 600, 1256} {
			r, th := ruled(w, text)
			r.Quiet, r.Risky, r.Rule, r.RuleTo, r.RuleWords, r.Most = 31, 44, 47, 53, [2]string{"−12 dBFS, a published guide", "−12"}, 69
			r.Lead = [3]string{"for the hour: 44 dB", "talk's held peak −22 dBFS", "sure to −26…−19"}
			r.Ticks = []RulerTick{{Name: "A", Gain: 52}, {Name: "B", Gain: 52}}
			var l ink.List
			r.Draw(&l, &th)
			for i := range l.Ops {
				for _, p := range l.Points(&l.Ops[i]) {
					if p.X < r.box.X-1 || p.X > r.box.Right()+1 || p.Y < r.box.Y-1 || p.Y > r.box.Bottom()+1 {
						t.Fatalf("%v wide, text %v: operation %d at %v is outside of %v", w, text, i, p, r.box)
					}
				}
				if op := &l.Ops[i]; op.Rect.W > 0 && (op.Rect.Y < r.box.Y-1 || op.Rect.Bottom() > r.box.Bottom()+1) {
					t.Fatalf("%v wide, text %v: operation %d in %v is outside of %v", w, text, i, op.Rect, r.box)
				}
			}
		}
	}
}

// BenchmarkRuler draws a ruler that has everything, which allocates nothing.
func BenchmarkRuler(b *testing.B) {
	r, th := ruled(1256, 1)
	r.Quiet, r.Risky, r.Rule, r.RuleWords, r.Most = 31, 44, 47, [2]string{"−12 dBFS", "−12"}, 41
	r.Ticks = []RulerTick{{Name: "A", Gain: 52}, {Name: "B", Gain: 40}}
	var l ink.List
	b.ReportAllocs()
	for b.Loop() {
		l.Reset()
		r.Draw(&l, &th)
		_ = r.Node()
	}
}
