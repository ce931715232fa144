package hear_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"os"
	"testing"

	"gainwright/sim/plan/hear"
	"gainwright/sounds/voice"
)

func perform(t testing.TB, s voice.Script, talker string, seed uint64) []float64 {
	t.Helper()
	p, err := voice.New(s, talker, seed)
	if err != nil {
		t.Fatal(err)
	}
	x, err := p.Render(t.Context(), nil)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

// check is some talk, a laugh, and silence around it, over a little noise; it returns
// where the laugh lies.
func check(t testing.TB, talker string, seed uint64, laugh bool) (x []float64, from, to float64) {
	t.Helper()
	all := voice.Ordinary()
	var s voice.Script
	for k := range 6 {
		s = append(s, voice.Event{Text: all[(7*int(seed)+k)%len(all)], Effort: voice.Normal})
	}
	x = append(perform(t, s, talker, seed), make([]float64, voice.Rate)...)
	from = float64(len(x)) / voice.Rate
	if laugh {
		x = append(x, perform(t, voice.Script{{Do: "laugh"}}, talker, seed+50)...)
	}
	to = float64(len(x)) / voice.Rate
	x = append(x, make([]float64, voice.Rate)...)
	r := rand.New(rand.NewPCG(seed, 2))
	for i := range x {
		x[i] = 0.5*x[i] + 1e-4*r.NormFloat64()
	}
	return x, from, to
}

// TestFindsLaughs: of every talker the laugh is found where it is, with its own peak,
// and no talk is taken for one. One performance of each; three come with GAINWRIGHT_LONG.
func TestFindsLaughs(t *testing.T) {
	right, wrong, n, each := 0, 0, 0, 1
	if os.Getenv("GAINWRIGHT_LONG") != "" {
		each = 3
	}
	for i, tk := range voice.Talkers() {
		for k := range each {
			x, from, to := check(t, tk.Name, uint64(300+10*i+k), true)
			f, err := hear.Check(x, voice.Rate)
			if err != nil {
				t.Fatal(err)
			}
			n++
			want := hear.Measure(x, voice.Rate, from, to).PeakDBFS
			for _, l := range f.Laughs {
				if l.FromS < to && l.ToS > from && math.Abs(l.PeakDBFS-want) < 0.01 {
					right++
				} else {
					wrong++
					t.Logf("%s: a laugh at %.1f to %.1f s, the one there is lies at %.1f to %.1f", tk.Name, l.FromS, l.ToS, from, to)
				}
			}
			if len(f.Talk) < 3 {
				t.Errorf("%s: %d utterances", tk.Name, len(f.Talk))
			}
			x, _, _ = check(t, tk.Name, uint64(300+10*i+k), false)
			if f, err := hear.Check(x, voice.Rate); err != nil || len(f.Laughs) > 0 {
				wrong++
				t.Logf("%s: talk alone, %v, %v", tk.Name, f.Laughs, err)
			}
		}
	}
	t.Logf("%d of %d laughs found, %d that were none", right, n, wrong)
	if right < n*5/6 || wrong > 1 {
		t.Errorf("%d of %d laughs found, %d that were none", right, n, wrong)
	}
}

func TestNoTalk(t *testing.T) {
	for _, x := range [][]float64{nil, make([]float64, 10), make([]float64, voice.Rate*10), {math.NaN(), 1}} {
		if _, err := hear.Check(x, voice.Rate); !errors.Is(err, hear.ErrNoTalk) {
			t.Errorf("%d samples: %v", len(x), err)
		}
	}
}

func FuzzCheck(f *testing.F) {
	f.Add([]byte{1, 200, 3, 100, 5, 6, 7, 8, 9, 0}, uint16(8000))
	f.Fuzz(func(t *testing.T, b []byte, rate uint16) {
		x := make([]float64, len(b))
		for i, v := range b {
			x[i] = float64(int8(v)) / 128
		}
		got, err := hear.Check(x, int(rate))
		if err == nil && len(got.Talk) == 0 {
			t.Error("no error, and no talk")
		}
		for _, p := range append(got.Talk, got.Laughs...) {
			if p.FromS < 0 || p.ToS < p.FromS || math.IsNaN(p.PeakDBFS) {
				t.Errorf("%+v", p)
			}
		}
	})
}
