package repair_test

import (
	"context"
	"math"
	"strings"
	"testing"

	"gainwright/sim/repair"
)

// A voice that was limited before the converter has lower peaks than a wave of speech
// would: here cut deep and freed of its lows, which tilts the tops so that nobody sees
// the cut. Clipped again, lightly, it lost 2.7 and 3.1 dB when estimates were trusted all
// the same, and the captain still 0.7 before levels below the ceiling had a say.
func TestDeclipDoesNotHarmWhatWasLimited(t *testing.T) {
	for _, c := range []struct {
		who               string
		cut, highpass, in float64 // re the peak; Hz; dB
	}{{"guest", 0.15, 200, 18}, {"captain", 0.25, 80, 18}, {"guest", 0.15, 200, 15}} {
		x := clipAt(talk(t, c.who, 0.5), c.cut)
		low, g := 0.0, 2*math.Pi*c.highpass/rate
		for i, v := range x {
			low += g * (v - low)
			x[i] = v - low
		}
		scale(x, 1/peak(x))
		y, _ := clipTo(x, c.in)
		out, rep := apply(t, repair.Declip{}, y)
		d := repair.Compare(x, y, out, true)
		t.Logf("%+v: %+.2f dB; %s", c, d.GainDB, rep.Verdict)
		if d.GainDB < -0.3 {
			t.Errorf("%+v: %+.2f dB", c, d.GainDB)
		}
		held, ok := rep.Number("held_back_percent")
		if says := strings.Contains(rep.Verdict.Lost, "less was added"); !ok || held < 5 || !says {
			t.Errorf("%+v: held back %.1f %%, said %q", c, held, rep.Verdict)
		}
	}
}

func TestPromise(t *testing.T) {
	for _, e := range []repair.Effort{repair.Best, repair.Balanced, repair.Fast} {
		for _, hz := range []int{16000, rate} {
			p := repair.PromisesOf(e).Of(hz)
			last := 0.0
			for a := -10.0; a <= 60; a++ {
				v := p.At(a, 15)
				if v < last || v > 20 {
					t.Errorf("%v: an agreement of %g dB promises %.2f dB, after %.2f dB", e, a, v, last)
				}
				last = v
			}
			if v := p.At(math.Inf(1), 15); v != last {
				t.Errorf("%v: estimates alike promise %v dB, not %v", e, v, last)
			}
			if goes := p.PerApart > 0; goes == (e == repair.Fast) {
				t.Errorf("%v, %d Hz: %+v: only what has two estimates can go by their agreement", e, hz, p)
			}
		}
	}
	// The last one up to 24 kHz, and the first one above.
	if p := repair.PromisesOf(repair.Best); p.Of(24000) != p.Low || p.Of(24001) != p.High || p.Low == p.High {
		t.Errorf("%+v is not told apart by rate", p)
	}
}

// What the words promise is the figure, rounded towards caution, and the same whether a
// take is mended whole or its parts are summed up.
func TestPromiseInWords(t *testing.T) {
	x := talk(t, "captain", 0.4)
	y, _ := clipTo(x, 14)
	clips := repair.Detect(y)
	d := repair.Declip{Effort: repair.Balanced, Clips: &clips}
	out, rep, err := d.Apply(context.Background(), y, rate, repair.Run{})
	if err != nil {
		t.Fatal(err)
	}
	promised, ok := rep.Number("promised_gain_db")
	if !ok || promised < 1 {
		t.Fatalf("promised %v dB", promised)
	}
	_, words, _ := strings.Cut(rep.Verdict.Back, "At most ")
	words, _, ok = strings.Cut(words, " % of the error should be left")
	left := 0.0
	for _, c := range words {
		left = 10*left + float64(c-'0')
	}
	if exact := 100 * math.Pow(10, -promised/10); !ok || left < exact || left > 2*exact+1 {
		t.Errorf("%q for a promise of %.2f dB, %.1f %%", rep.Verdict.Back, promised, exact)
	}
	var sum repair.DeclipTotals
	sum.Count(&clips)
	sum.Heed(rep)
	sum.Write(y, out)
	if sum.PromisedGainDB() != promised || !strings.HasSuffix(rep.Verdict.Back, sum.Promised()) {
		t.Errorf("summed up: %v dB, %q; alone %v dB, %q", sum.PromisedGainDB(), sum.Promised(), promised, rep.Verdict.Back)
	}
	// Of what is cut further than any speech that was measured, nothing is promised.
	y, _ = clipTo(x[:rate/5], 1)
	if _, rep := apply(t, repair.Declip{Effort: repair.Fast}, y); strings.Contains(rep.Verdict.Back, "should be left") {
		t.Errorf("at 1 dB: %s", rep.Verdict)
	} else if v, _ := rep.Number("promised_gain_db"); v != 0 {
		t.Errorf("at 1 dB: promised %v dB", v)
	}
}
