//go:build full

package voice_test

import (
	"bufio"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"sort"
	"strings"
	"testing"

	"gainwright/sounds/voice"
)

var effortFlag = flag.String("effort", "normal", "effort for the phone report")

// dictionary reads the recogniser's own pronunciations.
func dictionary(t *testing.T) map[string][]string {
	f, err := os.Open(model + "cmudict-en-us.dict")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	out := map[string][]string{}
	s := bufio.NewScanner(f)
	for s.Scan() {
		w := strings.Fields(s.Text())
		if len(w) > 1 {
			out[w[0]] = w[1:]
		}
	}
	return out
}

// align pairs the phones of a with those of b at the least cost; "" stands
// for a phone left out or put in.
func align(a, b []string) (pairs [][2]string) {
	n, m := len(a), len(b)
	d := make([][]int, n+1)
	for i := range d {
		d[i] = make([]int, m+1)
		for j := range d[i] {
			switch {
			case i == 0:
				d[i][j] = 3 * j
			case j == 0:
				d[i][j] = 3 * i
			default:
				c := 4
				if a[i-1] == b[j-1] {
					c = 0
				} else if isVowelPhone(a[i-1]) != isVowelPhone(b[j-1]) {
					c = 7
				}
				d[i][j] = min(d[i-1][j-1]+c, d[i-1][j]+3, d[i][j-1]+3)
			}
		}
	}
	for i, j := n, m; i > 0 || j > 0; {
		switch {
		case i > 0 && j > 0 && (d[i][j] == d[i-1][j-1] && a[i-1] == b[j-1] ||
			a[i-1] != b[j-1] && (d[i][j] == d[i-1][j-1]+4 && isVowelPhone(a[i-1]) == isVowelPhone(b[j-1]) || d[i][j] == d[i-1][j-1]+7)):
			pairs = append(pairs, [2]string{a[i-1], b[j-1]})
			i, j = i-1, j-1
		case i > 0 && d[i][j] == d[i-1][j]+3:
			pairs = append(pairs, [2]string{a[i-1], ""})
			i--
		default:
			pairs = append(pairs, [2]string{"", b[j-1]})
			j--
		}
	}
	return pairs
}

func isVowelPhone(p string) bool { return strings.ContainsAny(p[:1], "AEIOU") }

// TestPhoneReport shows which sounds the recogniser's phone loop mistakes; it
// is a tool for tuning and asserts only that most are right.
func TestPhoneReport(t *testing.T) {
	needs(t, "pocketsphinx_batch", model+"en-us-phone.lm.bin")
	dict := dictionary(t)
	effort, err := voice.ParseEffort(*effortFlag)
	if err != nil {
		t.Fatal(err)
	}
	for _, tk := range chosen(t) {
		dir := t.TempDir()
		say := talkerSays(t, tk.Name, effort, 0)
		var refs [][]string
		for i, s := range voice.Ordinary() {
			if i >= 24 {
				break
			}
			var ref []string
			for _, w := range strings.Fields(strings.ToLower(s)) {
				ref = append(ref, dict[strings.Trim(w, ",.?!")]...)
			}
			writeRaw(t, filepath.Join(dir, fmt.Sprintf("u%02d.raw", len(refs))), say(s, uint64(i)))
			refs = append(refs, ref)
		}
		hyps := recognise(t, dir, len(refs), "-allphone", model+"en-us-phone.lm.bin", "-lw", "2.0", "-beam", "1e-10", "-pbeam", "1e-10")
		total, hit, extra := map[string]int{}, map[string]int{}, map[string]int{}
		wrong := map[string]map[string]int{}
		all, good := 0, 0
		for i := range refs {
			var hyp []string
			for _, p := range strings.Fields(hyps[i]) {
				if p != "SIL" && !strings.HasPrefix(p, "+") {
					hyp = append(hyp, p)
				}
			}
			for _, pr := range align(refs[i], hyp) {
				if pr[0] == "" {
					extra[pr[1]]++
					continue
				}
				total[pr[0]]++
				all++
				if pr[0] == pr[1] {
					hit[pr[0]]++
					good++
				} else {
					if wrong[pr[0]] == nil {
						wrong[pr[0]] = map[string]int{}
					}
					wrong[pr[0]][pr[1]]++
				}
			}
		}
		var names []string
		for p := range total {
			names = append(names, p)
		}
		sort.Slice(names, func(a, b int) bool { return total[names[a]]-hit[names[a]] > total[names[b]]-hit[names[b]] })
		var b strings.Builder
		for _, p := range names {
			var w []string
			for q := range wrong[p] {
				w = append(w, q)
			}
			sort.Slice(w, func(x, y int) bool { return wrong[p][w[x]] > wrong[p][w[y]] })
			fmt.Fprintf(&b, "  %-3s %3d of %3d ", p, hit[p], total[p])
			for k, q := range w {
				if k == 7 {
					break
				}
				if q == "" {
					fmt.Fprintf(&b, " -:%d", wrong[p][q])
				} else {
					fmt.Fprintf(&b, " %s:%d", q, wrong[p][q])
				}
			}
			fmt.Fprintf(&b, "   put in %d\n", extra[p])
		}
		t.Logf("%s %s: %.1f %% of %d phones right\n%s", tk.Name, effort, 100*float64(good)/float64(all), all, b.String())
		if good*2 < all {
			t.Errorf("%s: fewer than half of the phones right", tk.Name)
		}
	}
}
