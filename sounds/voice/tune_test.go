//go:build tune

package voice

import (
	"bytes"
	"flag"
	"fmt"
	"go/format"
	"math"
	"os"
	"runtime"
	"strings"
	"sync"
	"testing"
)

var (
	tuneTalkers = flag.String("tune-talkers", "", "tune these only")
	tunePasses  = flag.Int("tune-passes", 4, "corrections of the spectrum, and one")
	tuneLevel   = flag.Bool("tune-level", false, "set the levels only")
	tuneOnly    = flag.Int("tune-step", -1, "tune this effort step only")
)

// TestTune measures every talker and writes tuning.go anew:
//
//	go test -tags tune -run TestTune -timeout 30m ./sounds/voice
//
// Run it after any change to the synthesis, the talkers or the sentences.
func TestTune(t *testing.T) {
	var wg sync.WaitGroup
	places := make(chan struct{}, runtime.NumCPU())
	for _, tk := range talkers {
		if *tuneTalkers != "" && !strings.Contains(*tuneTalkers, tk.Name) {
			continue
		}
		wg.Go(func() {
			places <- struct{}{}
			defer func() { <-places }()
			tuneTalker(t, tk)
			t.Logf("%s done", tk.Name)
		})
	}
	wg.Wait()
	writeTuning(t)
}

func tuneTalker(t *testing.T, tk Talker) {
	const seconds = 80
	now := *tunings[tk.Name]
	defer func() { *tunings[tk.Name] = now }()
	for step := range now {
		if *tuneOnly >= 0 && step != *tuneOnly {
			continue
		}
		v := float64(step) / (tuneSteps - 1)
		set := func(tn tuning) {
			for i := range tunings[tk.Name] {
				tunings[tk.Name][i] = tn
			}
		}
		tn := now[step] // a good start
		sh := shapeOf(&tk, v)
		low := lowestBand(tk.F0Hz * math.Exp2(sh.shift/12) * .9)
		want := make([]float64, len(eqBands)) // response wanted of the equaliser at each centre
		response := func(b int) float64 {
			db := 0.0
			for _, q := range tn.sections()[always:] {
				db += 20 * math.Log10(q.magnitude(exact(b)))
			}
			return db
		}
		for b := range want {
			want[b] = response(b)
		}
		target := tuneTarget(&tk, v)
		passes := *tunePasses
		if *tuneLevel {
			passes = 0
		}
		for pass := range passes { // corrections and a look at the last
			set(tn)
			got := bandLevels(corpus(tk.Name, At(v), uint64(31+pass), seconds))
			eg, et := 0.0, 0.0
			for b := low; b <= 20; b++ {
				eg += math.Pow(10, got[b]/10)
				et += math.Pow(10, target[b]/10)
			}
			shift := 10 * math.Log10(et/eg)
			rms := 0.0
			for b := low; b <= 20; b++ {
				rms += math.Pow(got[b]+shift-target[b], 2) / float64(21-low)
			}
			t.Logf("%s %.3f pass %d: %.2f dB rms", tk.Name, v, pass, math.Sqrt(rms))
			if pass == passes-1 {
				line := ""
				for b := low; b <= 20; b++ {
					line += fmt.Sprintf(" %.0f:%.1f(%.1f)", thirds[b], got[b]+shift-target[b], want[b])
				}
				t.Log(line)
				break
			}
			miss := make([]float64, len(eqBands))
			for b := range miss {
				k := max(b, low)
				miss[b] = target[k] - got[k] - shift
			}
			// Only the smooth part of what is missing: a talker's harmonics
			// leave gaps at low frequencies that no equaliser should fill,
			// and formants must stay where they are.
			raw := make([]float64, len(want))
			for b := range raw {
				raw[b] = want[b] + miss[b]
			}
			for b := range want {
				top := 10.0
				if b >= 13 { // the pulse lacks height; broad gain there moves no formant
					top = 15
				}
				if b == 4 && v <= .5 {
					top = 8
				}
				if b >= 5 && b <= 9 { // where first formants are
					top = 7
					if b <= 6 { // close vowels' lie low and are easily drawn down
						top = 4
					}
					if b == 5 && v <= .5 && tk.F0Hz < 160 { // a second harmonic is there
						top = 1.5
					}
					if v > .5 { // harmonics lie wide apart; the spectrum goes before the formants
						top = 10
					}
				}
				s := raw[b]
				if b <= 9 {
					s = .1*raw[max(0, b-1)] + .8*raw[b] + .1*raw[min(len(raw)-1, b+1)]
				}
				want[b] = min(top, max(-min(top, 10), s))
			}
			for range 60 {
				var db [len(eqBands)]float64
				for b := range want {
					db[b] = response(b)
				}
				for b := range want {
					tn.eq[b] = min(15, max(-15, tn.eq[b]+.4*(want[b]-db[b])))
				}
			}
			for b := range tn.eq {
				tn.eq[b] = math.Round(tn.eq[b]*10) / 10
			}
		}
		if !*tuneLevel {
			set(tn)
			spl, _ := activeLevel(corpus(tk.Name, At(v), 77, seconds))
			tn.level = math.Round((tn.level+ladder(effortSPL, v)-spl)*100) / 100
		}
		now[step] = tn
	}
	// Levels again, twice, over five minutes and with all steps in place:
	// sentences vary in effort and so hear their neighbours' tuning.
	for pass := range 2 {
		*tunings[tk.Name] = now
		for step := range now {
			if *tuneOnly >= 0 && step != *tuneOnly {
				continue
			}
			v := float64(step) / (tuneSteps - 1)
			spl, _ := activeLevel(corpus(tk.Name, At(v), 177+uint64(pass), 300))
			now[step].level = math.Round((now[step].level+ladder(effortSPL, v)-spl)*100) / 100
		}
	}
}

func writeTuning(t *testing.T) {
	var out bytes.Buffer
	old, err := os.ReadFile("tuning.go")
	if err != nil {
		t.Fatal(err)
	}
	head, _, ok := bytes.Cut(old, []byte("var tunings"))
	if !ok {
		t.Fatal("tuning.go has no tunings")
	}
	out.Write(head)
	out.WriteString("var tunings = map[string]*[tuneSteps]tuning{\n")
	for _, tk := range talkers {
		fmt.Fprintf(&out, "%q: {\n", tk.Name)
		for _, tn := range tunings[tk.Name] {
			fmt.Fprintf(&out, "{level: %.2f, eq: [len(eqBands)]float64{", tn.level)
			for b, g := range tn.eq {
				if b > 0 {
					out.WriteString(", ")
				}
				fmt.Fprintf(&out, "%.1f", g)
			}
			out.WriteString("}},\n")
		}
		out.WriteString("},\n")
	}
	out.WriteString("}\n")
	src, err := format.Source(out.Bytes())
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile("tuning.go", src, 0o644); err != nil {
		t.Fatal(err)
	}
}

// tuneTarget is the long-term spectrum aimed at, in third octaves from 80 Hz
// (any overall level): at normal effort between Byrne's and the standard's, at
// higher efforts the standard's, the talker's own tint on top. Outside the
// standard's bands it goes on as Byrne's does.
func tuneTarget(tk *Talker, v float64) []float64 {
	level := func(k int) []float64 { // k: 0 quiet .. 4 shout
		out := make([]float64, len(thirds))
		std := func(e int) []float64 {
			s := make([]float64, len(thirds))
			for b := range s {
				switch {
				case b < 3:
					s[b] = ansiBand(e, 3) + byrne[b] - byrne[3]
				case b > 20:
					s[b] = ansiBand(e, 20) + byrne[b] - byrne[20]
				default:
					s[b] = ansiBand(e, b)
				}
			}
			return s
		}
		normal := std(0)
		for b := range normal {
			normal[b] = .9*(byrne[b]-7.65) + .1*normal[b]
		}
		switch k {
		case 0: // as far below normal as raised is above, by level
			up := std(1)
			for b := range out {
				out[b] = normal[b] - (up[b]-std(0)[b])*8.35/5.99*.6
			}
		case 1:
			out = normal
		default:
			out = std(k - 1)
		}
		return out
	}
	x := v * 4
	i := min(3, int(x))
	a, b := level(i), level(i+1)
	for k := range a {
		a[k] += (b[k] - a[k]) * (x - float64(i))
		w := min(1.2, max(-.2, math.Log2(exact(k)/250)/4))
		a[k] += tk.tint[0] + (tk.tint[1]-tk.tint[0])*w
	}
	return a
}
