//go:build full

package diagnose_test

import (
	"fmt"
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"gainwright/sim/diagnose"
	"gainwright/tests/diagnose/labelled"
	"gainwright/tests/repair/speechset"
	"gainwright/tests/trust"
)

// cacheEnv names a directory in which the set is kept between runs.
const cacheEnv = "GAINWRIGHT_SET"

// truth lists what diagnosis should tell of a file.
func truth(f *labelled.File) (kinds []diagnose.Kind) {
	k := map[string]diagnose.Kind{
		labelled.Full: diagnose.FlatFull, labelled.Lower: diagnose.FlatLower, labelled.Moving: diagnose.FlatMoving,
		labelled.Softened: diagnose.FlatSoftened, labelled.Overload: diagnose.Bent, labelled.Limited: diagnose.HeldDown,
	}
	if d, ok := k[f.History]; ok {
		kinds = append(kinds, d)
	}
	for _, x := range []struct {
		is   bool
		kind diagnose.Kind
	}{{f.Loud, diagnose.NearlyFull}, {f.Quiet, diagnose.LowNoisy}, {f.Hum, diagnose.MainsHum}, {f.DC, diagnose.Offset}, {f.Asymmetric, diagnose.TwoCeilings}} {
		if x.is {
			kinds = append(kinds, x.kind)
		}
	}
	if len(kinds) == 0 {
		kinds = []diagnose.Kind{nothing}
	}
	return kinds
}

const nothing diagnose.Kind = "nothing to report"

func diagnosed(f *labelled.File) []diagnose.Finding {
	c := diagnose.New(f.Rate, diagnose.Options{FullScale: f.FullScale(), Step: f.Step(), Lossy: f.Lossy})
	for x := f.X; len(x) > 0; {
		n := min(len(x), 4096)
		c.Write(x[:n])
		x = x[n:]
	}
	return diagnose.Diagnose([]*diagnose.Channel{c})
}

func kindsOf(fs []diagnose.Finding) (kinds []diagnose.Kind) {
	for _, f := range fs {
		kinds = append(kinds, f.Kind)
	}
	if len(kinds) == 0 {
		kinds = []diagnose.Kind{nothing}
	}
	return kinds
}

// The half of the set that nothing was learnt from: precision and recall of every
// finding, and the estimated height of what was cut off.
func TestLabelled(t *testing.T) {
	src, open := labelled.Sources(false)
	families := map[string]int{}
	type tally struct{ hit, miss, alarm int }
	tallies := map[diagnose.Kind]*tally{}
	get := func(k diagnose.Kind) *tally {
		if tallies[k] == nil {
			tallies[k] = &tally{}
		}
		return tallies[k]
	}
	var offs, hardOffs []float64
	inside := 0
	files := 11 * len(labelled.Recipes)
	var mistakes []string
	for i := range files {
		f, err := labelled.Cached(os.Getenv(cacheEnv), src, false, i)
		if err != nil {
			t.Fatal(err)
		}
		families[f.Source.Family]++
		want := truth(f)
		found := diagnosed(f)
		got := kindsOf(found)
		ok := true
		for _, k := range want {
			if slices.Contains(got, k) {
				get(k).hit++
			} else {
				get(k).miss++
				ok = false
			}
		}
		for _, k := range got {
			if !slices.Contains(want, k) {
				get(k).alarm++
				ok = false
			}
		}
		if !ok {
			mistakes = append(mistakes, fmt.Sprintf("%s %s: %v, told %v (%s)", f.Name, f.Source.Name, want, got, f.Detail))
		}
		if f.OverDB >= 1 && f.OverDB <= 10 {
			off := math.Inf(1) // not seen as clipped: no suggestion
			for _, x := range found {
				if x.Next != nil {
					off = x.Next.LowerDB - f.OverDB
					if math.Abs(off) <= 2*x.Next.SpreadDB {
						inside++
					}
				}
			}
			offs = append(offs, off)
			if f.History != labelled.Softened {
				hardOffs = append(hardOffs, off)
			}
		}
	}
	t.Logf("%d files of %d recordings: %v", files, len(src), families)
	if !open {
		t.Log("no open recordings were found: talkers and espeak-ng only")
	}
	var names []string
	for k, x := range tallies {
		// That it cannot tell is a miss of what it should have told.
		if x.hit+x.miss == 0 {
			t.Logf("%s: %d of files that are no case of it", k, x.alarm)
			continue
		}
		names = append(names, string(k))
	}
	slices.Sort(names)
	sum := 0.0
	for _, n := range names {
		x := tallies[diagnose.Kind(n)]
		p, r := float64(x.hit)/math.Max(1, float64(x.hit+x.alarm)), float64(x.hit)/math.Max(1, float64(x.hit+x.miss))
		f1 := 0.0
		if p+r > 0 {
			f1 = 2 * p * r / (p + r)
		}
		sum += f1
		t.Logf("%-34s %3d files  precision %.3f  recall %.3f  F1 %.3f", n, x.hit+x.miss, p, r, f1)
	}
	macro := sum / float64(len(names))
	t.Logf("macro F1 %.3f over %d classes", macro, len(names))
	share := func(offs []float64, within float64) float64 {
		n := 0
		for _, o := range offs {
			if math.Abs(o) <= within {
				n++
			}
		}
		return 100 * float64(n) / float64(len(offs))
	}
	t.Logf("gain advice: %d files clipped by 1 to 10 dB, %.1f %% within 2 dB, %.1f %% within 1 dB, %d within twice the stated spread; %d of them not filtered or coded since: %.1f %% within 2 dB",
		len(offs), share(offs, 2), share(offs, 1), inside, len(hardOffs), share(hardOffs, 2))
	for _, m := range mistakes {
		t.Log(m)
	}
	const own = "own bound, on recordings whose past is known"
	trust.Record(t, trust.Check{Area: "diagnosis", What: fmt.Sprintf("macro F1 over %d classes, %d files, held out", len(names), files), Source: own, Op: ">=", Expected: 0.9, Got: macro})
	trust.Record(t, trust.Check{Area: "diagnosis", What: fmt.Sprintf("suggested gain within 2 dB, %d files clipped by 1 to 10 dB", len(offs)), Source: own, Op: ">=", Expected: 80, Got: share(offs, 2), Unit: "%"})
}

// Clean open recordings, at all levels, rates, word lengths and codecs: at most one
// in a hundred is said to be clipped.
func TestCleanOpenSpeech(t *testing.T) {
	src, open := labelled.Sources(false)
	if !open {
		t.Skip(speechset.Absent("pocketsphinx-testdata, alsa-utils, codec2-examples"))
	}
	var speech []*labelled.Source
	for _, s := range src {
		if s.Family == "open" {
			speech = append(speech, s)
		}
	}
	n, alarms, said := 0, 0, map[diagnose.Kind]int{}
	for i, s := range speech {
		for k := range 12 {
			rec := labelled.Recipe{History: labelled.Clean, Loud: k%4 == 3, Coded: k%2 == 1, Quiet: k%6 == 4}
			f, err := labelled.Keep(os.Getenv(cacheEnv), fmt.Sprintf("clean-%d-%d", i, k), func() (*labelled.File, error) {
				return labelled.MakeAs(s, rec, uint64(90000+100*i+k), fmt.Sprintf("%s %d", s.Name, k))
			})
			if err != nil {
				t.Fatal(err)
			}
			n++
			for _, x := range diagnosed(f) {
				said[x.Kind]++
				if x.Kind.Clipping() {
					alarms++
				}
				if x.Kind.Clipping() || x.Kind == diagnose.Bent || x.Kind == diagnose.HeldDown {
					t.Logf("%s: %s, %.2f (%s)", f.Name, x.Title, x.Confidence, f.Detail)
				}
			}
		}
	}
	t.Logf("%d clean files of %d open recordings: %d said to be clipped; all that was said: %v", n, len(speech), alarms, said)
	trust.Record(t, trust.Check{Area: "diagnosis", What: fmt.Sprintf("false alarms of clipping on %d clean files of open speech", n), Source: "own bound", Op: "<=", Expected: 1, Got: 100 * float64(alarms) / float64(n), Unit: "%"})
}

// The words of every finding are there.
func TestWords(t *testing.T) {
	src, _ := labelled.Sources(false)
	for i := range len(labelled.Recipes) {
		f, err := labelled.Cached(os.Getenv(cacheEnv), src, false, i)
		if err != nil {
			t.Fatal(err)
		}
		for _, x := range diagnosed(f) {
			if x.Title == "" || x.Means == "" || x.Remedy == "" || x.Confidence < 0.3 || x.Confidence > 1 || strings.Contains(x.Title+x.Means+x.Remedy+x.Advice, "NaN") {
				t.Errorf("%s: %+v", f.Name, x)
			}
			for _, w := range x.Where {
				if w.StartS < 0 || w.EndS <= w.StartS || w.EndS > labelled.Seconds+0.2 {
					t.Errorf("%s: %s at %v", f.Name, x.Kind, w)
				}
			}
		}
	}
}
