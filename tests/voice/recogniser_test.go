//go:build full

package voice_test

import (
	"bytes"
	"context"
	"encoding/binary"
	"flag"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"gainwright/sounds/voice"
	"gainwright/tests/limited"
)

// The outside listener is Debian's pocketsphinx (BSD) with its US English
// model. Words right are those of the sentence that an alignment with the
// fewest errors finds again; inserted words do not count against it, as the
// grammars fix the number of words.

const model = "/usr/share/pocketsphinx/model/en-us/"

var (
	talkersFlag = flag.String("talkers", "", "comma-separated talkers for the recogniser tests (default: all)")
	roundsFlag  = flag.Int("rounds", 1, "rounds of 20 sentences, each with its own seed")
)

func needs(t *testing.T, names ...string) {
	t.Helper()
	for _, n := range names {
		if strings.HasPrefix(n, "/") {
			if _, err := os.Stat(n); err != nil {
				t.Fatalf("this test needs %s (Debian: pocketsphinx-en-us): %v", n, err)
			}
			continue
		}
		if _, err := exec.LookPath(n); err != nil {
			t.Fatalf("this test needs %s (Debian packages pocketsphinx, espeak-ng, sox): %v", n, err)
		}
	}
}

// slots are the five-slot sentences' words: our own, from the ferry.
var slots = [5][10]string{
	{"martha", "peter", "alice", "thomas", "helen", "oscar", "rosa", "simon", "walter", "nina"},
	{"carried", "painted", "wanted", "bought", "found", "sold", "counted", "moved", "washed", "dropped"},
	{"two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "twelve"},
	{"old", "green", "heavy", "small", "wooden", "yellow", "broken", "clean", "narrow", "cheap"},
	{"ropes", "lamps", "baskets", "tickets", "ladders", "barrels", "bottles", "anchors", "chairs", "boats"},
}

// sentences are 20 of them in which each word occurs twice.
func sentences() []string {
	var out []string
	step := [5]int{1, 3, 7, 9, 1}
	for i := range 20 {
		var w []string
		for s := range slots {
			w = append(w, slots[s][(i*step[s]+s*3+i/10*(2*s+1))%10])
		}
		out = append(out, strings.Join(w, " "))
	}
	return out
}

// free are free sentences for the open language model.
var free = []string{
	"the old ferry ran from six in the morning until dark",
	"my father worked on the river and his father before him",
	"in those days there was no bridge so everyone came by boat",
	"the water was high that spring and the current pulled hard",
	"people paid with whatever they had sometimes only eggs or bread",
	"every morning the teacher stood at the front with his hat on",
	"one night we lost the rope and went down with the stream",
	"nobody was hurt but we were very cold and a long way from home",
	"it was hard work but i would do it again tomorrow",
	"the young ones think it is all done with machines",
	"my job was to sell the tickets and to count the people",
	"in the evening the light came low over the valley",
}

func grammar(any bool) string {
	var b strings.Builder
	b.WriteString("#JSGF V1.0;\ngrammar ferry;\n")
	var all []string
	for i, s := range slots {
		fmt.Fprintf(&b, "<s%d> = %s;\n", i, strings.Join(s[:], " | "))
		all = append(all, s[:]...)
	}
	fmt.Fprintf(&b, "<w> = %s;\n", strings.Join(all, " | "))
	if any {
		b.WriteString("public <u> = <w> <w> <w> <w> <w>;\n")
	} else {
		b.WriteString("public <u> = <s0> <s1> <s2> <s3> <s4>;\n")
	}
	return b.String()
}

// to16k takes every third sample behind a windowed-sinc low-pass at 7.6 kHz.
func to16k(x []float64) []float64 {
	const half = 96
	h := make([]float64, 2*half+1)
	for i := range h {
		k := float64(i - half)
		v := 2 * 7600.0 / 48000
		if k != 0 {
			v = math.Sin(math.Pi*k*v) / (math.Pi * k)
		}
		h[i] = v * (0.54 + 0.46*math.Cos(math.Pi*k/half))
	}
	out := make([]float64, len(x)/3)
	for i := range out {
		s := 0.0
		for k, c := range h {
			if j := 3*i + k - half; j >= 0 && j < len(x) {
				s += c * x[j]
			}
		}
		out[i] = s
	}
	return out
}

// writeRaw writes 16-bit samples at 16 kHz, the peak 6 dB under full scale,
// 0.3 s of silence on either side, with dither.
func writeRaw(t *testing.T, path string, x []float64) {
	t.Helper()
	pk := 1e-12
	for _, v := range x {
		pk = max(pk, math.Abs(v))
	}
	r := uint64(12345)
	rnd := func() float64 {
		r = r*6364136223846793005 + 1442695040888963407
		return float64(r>>11) / (1 << 53)
	}
	const pad = 4800
	b := make([]byte, 2*(len(x)+2*pad))
	for i := 0; i < len(b)/2; i++ {
		v := 0.0
		if k := i - pad; k >= 0 && k < len(x) {
			v = x[k] / pk * 0.5 * 32767
		}
		binary.LittleEndian.PutUint16(b[2*i:], uint16(int16(math.Round(v+rnd()-rnd()))))
	}
	if err := os.WriteFile(path, b, 0o644); err != nil {
		t.Fatal(err)
	}
}

// recognise runs the recogniser over DIR/uNN.raw and gives the hypotheses.
func recognise(t *testing.T, dir string, n int, args ...string) []string {
	t.Helper()
	var ids strings.Builder
	for i := range n {
		fmt.Fprintf(&ids, "u%02d\n", i)
	}
	ctl, hyp := filepath.Join(dir, "ids"), filepath.Join(dir, "hyp")
	if err := os.WriteFile(ctl, []byte(ids.String()), 0o644); err != nil {
		t.Fatal(err)
	}
	cmd := limited.Command(t, 20*time.Minute, "pocketsphinx_batch", append([]string{"-hmm", model + "en-us", "-dict", model + "cmudict-en-us.dict",
		"-cepdir", dir, "-cepext", ".raw", "-ctl", ctl, "-adcin", "yes", "-adchdr", "0", "-hyp", hyp, "-logfn", "/dev/null"}, args...)...)
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("pocketsphinx_batch: %v\n%s", err, out)
	}
	raw, err := os.ReadFile(hyp)
	if err != nil {
		t.Fatal(err)
	}
	out := make([]string, n)
	for i, line := range strings.Split(strings.TrimRight(string(raw), "\n"), "\n") {
		if k := strings.LastIndex(line, "("); k >= 0 && i < n {
			out[i] = strings.TrimSpace(line[:k])
		}
	}
	return out
}

// right counts the words of ref found again in hyp.
func right(ref, hyp string) int {
	a, b := strings.Fields(ref), strings.Fields(hyp)
	type cell struct{ cost, hits int }
	row := make([]cell, len(b)+1)
	for j := range row {
		row[j].cost = j
	}
	for i := range a {
		diag := row[0]
		row[0].cost = i + 1
		for j := range b {
			same := diag
			if a[i] == b[j] {
				same.hits++
			} else {
				same.cost++
			}
			best := same
			if c := row[j+1]; c.cost+1 < best.cost || c.cost+1 == best.cost && c.hits > best.hits {
				best = cell{c.cost + 1, c.hits}
			}
			if c := row[j]; c.cost+1 < best.cost || c.cost+1 == best.cost && c.hits > best.hits {
				best = cell{c.cost + 1, c.hits}
			}
			diag, row[j+1] = row[j+1], best
		}
	}
	return row[len(b)].hits
}

type utterer func(text string, seed uint64) []float64 // 16 kHz

func talkerSays(t *testing.T, name string, e voice.Effort, clipDB float64) utterer {
	return func(text string, seed uint64) []float64 {
		p, err := voice.New(voice.Script{{Text: text, Effort: e}}, name, seed)
		if err != nil {
			t.Fatal(err)
		}
		x, err := p.Render(context.Background(), nil)
		if err != nil {
			t.Fatal(err)
		}
		if clipDB > 0 {
			clip(x, clipDB)
		}
		return to16k(x)
	}
}

// clip cuts the wave off flat at db under its peak, still at 48 kHz.
func clip(x []float64, db float64) {
	pk := 0.0
	for _, v := range x {
		pk = max(pk, math.Abs(v))
	}
	c := pk * math.Pow(10, -db/20)
	for i, v := range x {
		x[i] = max(-c, min(c, v))
	}
}

func espeakSays(t *testing.T) utterer {
	return func(text string, seed uint64) []float64 {
		dir := t.TempDir()
		wav := filepath.Join(dir, "e.wav")
		if out, err := limited.Command(t, 5*time.Minute, "espeak-ng", "-v", "en-us", "-w", wav, text).CombinedOutput(); err != nil {
			t.Fatalf("espeak-ng: %v\n%s", err, out)
		}
		raw, err := limited.Command(t, 5*time.Minute, "sox", wav, "-r", "16000", "-b", "16", "-c", "1", "-e", "signed", "-t", "raw", "-").Output()
		if err != nil {
			t.Fatalf("sox: %v", err)
		}
		x := make([]float64, len(raw)/2)
		for i := range x {
			x[i] = float64(int16(binary.LittleEndian.Uint16(raw[2*i:])))
		}
		return x
	}
}

type score struct{ slot, any, lm float64 }

// measure has the sentences said and recognised; without lm the open model,
// which is slow, is left out.
func measure(t *testing.T, say utterer, rounds int, lm bool) (score, string) {
	t.Helper()
	dir := t.TempDir()
	slotGram, anyGram := filepath.Join(dir, "slot.gram"), filepath.Join(dir, "any.gram")
	os.WriteFile(slotGram, []byte(grammar(false)), 0o644)
	os.WriteFile(anyGram, []byte(grammar(true)), 0o644)
	var misses bytes.Buffer
	pct := func(ref, hyp []string, note string) float64 {
		hits, n := 0, 0
		for i := range ref {
			k := right(ref[i], hyp[i])
			if k < len(strings.Fields(ref[i])) {
				fmt.Fprintf(&misses, "  %s: %q heard as %q\n", note, ref[i], hyp[i])
			}
			hits += k
			n += len(strings.Fields(ref[i]))
		}
		return 100 * float64(hits) / float64(n)
	}
	var out score
	var refs, slot, any []string
	for r := range rounds {
		ref := sentences()
		for i, s := range ref {
			writeRaw(t, filepath.Join(dir, fmt.Sprintf("u%02d.raw", i)), say(s+".", uint64(100*r+i)))
		}
		refs = append(refs, ref...)
		slot = append(slot, recognise(t, dir, len(ref), "-jsgf", slotGram)...)
		any = append(any, recognise(t, dir, len(ref), "-jsgf", anyGram)...)
	}
	out.slot, out.any = pct(refs, slot, "slot"), pct(refs, any, "any")
	out.lm = math.NaN()
	if lm {
		for i, s := range free {
			writeRaw(t, filepath.Join(dir, fmt.Sprintf("u%02d.raw", i)), say(s+".", uint64(500+i)))
		}
		out.lm = pct(free, recognise(t, dir, len(free), "-lm", model+"en-us.lm.bin"), "open")
	}
	return out, misses.String()
}

func chosen(t *testing.T) []voice.Talker {
	if *talkersFlag == "" {
		return voice.Talkers()
	}
	var out []voice.Talker
	for _, n := range strings.Split(*talkersFlag, ",") {
		tk, err := voice.Find(n)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, tk)
	}
	return out
}

func TestRecogniserUnderstands(t *testing.T) {
	needs(t, "pocketsphinx_batch", model+"en-us/mdef", model+"en-us.lm.bin", "espeak-ng", "sox")
	control, _ := measure(t, espeakSays(t), 1, true)
	t.Logf("%-10s %-7s slot %5.1f %%  any %5.1f %%  open %5.1f %%  (control)", "espeak-ng", "", control.slot, control.any, control.lm)
	for _, tk := range chosen(t) {
		for _, e := range []voice.Effort{voice.Normal, voice.Shout} {
			t.Run(fmt.Sprintf("%s, %s", tk.Name, e), func(t *testing.T) {
				t.Parallel()
				understands(t, tk, e, control)
			})
		}
	}
}

// understands holds a talker to what is asked: adults at normal effort to 95 and 90 %, a
// child or a shout to 90 and 80 %; the open model, trained on adults, must hear everyone
// clearly better than the control.
func understands(t *testing.T, tk voice.Talker, e voice.Effort, control score) {
	s, misses := measure(t, talkerSays(t, tk.Name, e, 0), *roundsFlag, e == voice.Normal)
	t.Logf("%-10s %-7s slot %5.1f %%  any %5.1f %%  open %5.1f %%\n%s", tk.Name, e, s.slot, s.any, s.lm, misses)
	wantSlot, wantAny, aboveControl := 95.0, 90.0, 20.0
	if tk.Child {
		aboveControl = 15
	}
	if tk.Child || e == voice.Shout {
		wantSlot, wantAny = 90, 80
	}
	if s.slot < wantSlot || s.any < wantAny {
		t.Errorf("%s %s: want at least %v %% and %v %%", tk.Name, e, wantSlot, wantAny)
	}
	if e == voice.Normal && s.lm < control.lm+aboveControl {
		t.Errorf("%s: open language model %.1f %%, not clearly above the control's %.1f %%", tk.Name, s.lm, control.lm)
	}
}
