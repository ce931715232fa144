//go:build full

package microphone_test

import (
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"gainwright/sim/plan"
	"gainwright/sim/plan/hear"
	"gainwright/sounds"
	"gainwright/sounds/own"
	"gainwright/tests/repair/speechset"
)

// People who both talk and laugh: game voices of the Debian package hedgewars-data (GPL-2).
// How loud a laugh was over the talk is not known of them, since each file has its own
// gain; it is put 6, 10 and 14 dB over.
var laughers = []string{"British", "Mobster", "Pirate", "Surfer", "Russian", "Default_pl"}

// What a performance tells the planner is what it would learn from the same recording, given
// to it as a sound check in a file, in which talk and laugh are marked, or to be found.
func TestOwnVoiceIsACheck(t *testing.T) {
	found, near, tried := 0, 0, 0
	for i, name := range laughers {
		dir := "games/hedgewars/Data/Sounds/voices/" + name + "/"
		src := voice{name, dir + "[A-KM-Z]*.ogg", own.Rate, false}.source(t)
		path := filepath.Join(speechset.Root(), "usr/share", dir, "Laugh.ogg")
		if _, err := os.Stat(path); err != nil {
			t.Fatal(speechset.Absent(path))
		}
		laugh := trim(decode(run(t, nil, "ffmpeg", "-nostdin", "-v", "error", "-i", path, "-f", "f32le", "-ac", "1", "-ar", "48000", "-")))
		for _, over := range []float64{6, 10, 14} {
			tried++
			p := selfPerformed(src, laugh, over, uint64(i))
			r, err := p.Look()
			if err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			// As a file, through the project's reader of files.
			b, err := p.Pack()
			if err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			f, err := sounds.OpenBytes("check.wav", b)
			if err != nil {
				t.Fatal(err)
			}
			chs, err := f.ReadAll()
			f.Close()
			if err != nil {
				t.Fatal(err)
			}
			// The strip at which a sample of 1 is ScalePa at 1 m.
			mouth := func(dbfs float64) float64 { return dbfs + 20*math.Log10(r.ScalePa/sounds.RefPressure) }
			conv := plan.Conversation{Model: plan.Default()}
			one := conv.Learn(r.Heard())
			off := func(f hear.Found) (talk, laugh float64) {
				h := plan.Heard{HeldDB: math.Inf(-1), Utterances: len(f.Talk), Laughs: 1, LaughPeakDB: mouth(f.Laughs[0].PeakDBFS)}
				for _, u := range f.Talk {
					h.HeldDB = max(h.HeldDB, mouth(u.PeakDBFS))
					h.LevelDB += mouth(u.LevelDBFS) / float64(len(f.Talk))
				}
				file := conv.Learn(h)
				return one.TalkDB - file.TalkDB, one.LaughDB - file.LaughDB
			}
			if talk, laugh := off(marked(t, p, chs[0])); math.Abs(talk) > .5 || math.Abs(laugh) > .5 {
				t.Errorf("%s, %.0f dB: off a file with marks by %.2f dB of talk, %.2f dB of laugh", name, over, talk, laugh)
			}
			c, err := hear.Check(chs[0], own.Rate)
			if err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			if len(c.Laughs) != 1 || len(c.Talk) == 0 {
				t.Logf("  %-10s %2.0f dB: %d laughs and %d utterances are found in a file", name, over, len(c.Laughs), len(c.Talk))
				continue
			}
			found++
			talk, laugh := off(c)
			t.Logf("  %-10s %2.0f dB: talk %.2f dB SPL, laugh %.2f dB over it; off a file by %.2f and %.2f dB", name, over, one.TalkDB, one.LaughDB, talk, laugh)
			if math.Abs(talk) <= .5 && math.Abs(laugh) <= .5 {
				near++
			}
		}
	}
	t.Logf("of %d recordings the laugh was found in %d; of these %d tell the same within 0.5 dB", tried, found, near)
	if found < tried/3 || float64(near) < .8*float64(found) {
		t.Error("a check in a file tells something else")
	}
}

// marked is what a file tells of which it is marked where talk and laugh are. What is marked as
// talk is cut into utterances.
func marked(t *testing.T, p *own.Performance, x []float64) (f hear.Found) {
	for _, k := range []own.Part{own.Talk, own.Again, own.Read} {
		c, err := hear.Check(x[p.Parts[k].From:p.Parts[k].To], own.Rate)
		if err != nil && k == own.Read {
			t.Fatal(err)
		}
		f.Talk = append(f.Talk, c.Talk...)
	}
	s := p.Parts[own.Laugh]
	f.Laughs = []hear.Part{hear.Measure(x, own.Rate, float64(s.From)/own.Rate, float64(s.To)/own.Rate)}
	return f
}

// selfPerformed is a performance of recordings: quiet, a sentence twice, lines, a laugh.
func selfPerformed(src [][]float64, laugh []float64, over float64, seed uint64) *own.Performance {
	rng := rand.New(rand.NewPCG(seed, 3))
	p := &own.Performance{Name: "x"}
	add := func(k own.Part, x []float64) {
		from := len(p.Samples)
		for _, v := range x {
			p.Samples = append(p.Samples, float32(v))
		}
		p.Parts[k] = own.Span{From: from, To: len(p.Samples)}
		p.Samples = append(p.Samples, make([]float32, own.Rate/2)...)
	}
	at := func(x []float64, db float64) []float64 {
		g := math.Pow(10, db/20) / rms(x)
		y := make([]float64, len(x))
		for i, v := range x {
			y[i] = g * v
		}
		return y
	}
	say := func(seconds float64) []float64 {
		var x []float64
		for float64(len(x)) < seconds*own.Rate {
			x = append(x, at(src[rng.IntN(len(src))], -32)...)
			x = append(x, make([]float64, own.Rate*(4+rng.IntN(4))/10)...)
		}
		return x
	}
	add(own.Quiet, make([]float64, 2*own.Rate))
	sentence := say(2.5)
	add(own.Talk, sentence)
	add(own.Again, sentence)
	add(own.Read, say(12))
	add(own.Laugh, at(laugh, -32+over))
	for i := range p.Samples {
		p.Samples[i] += float32(1e-4 * rng.NormFloat64())
	}
	p.Settle()
	return p
}
