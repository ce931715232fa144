package main

import (
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"gainwright/cmd/gainwright/internal/clitest"
	"gainwright/sounds/codec"
)

var (
	notANumber = regexp.MustCompile(`\b(Inf|NaN|Infinity)\b`)
	embedded   = regexp.MustCompile(`data:[a-z]+/[a-z+.-]+;base64,[A-Za-z0-9+/=]*`)
	// An infinite level is a fact of a table; a sentence that counts with one is none.
	reckoned = regexp.MustCompile(`(lies|by|about|than|of|up to|only|is) –|∞ (dB|LU|dBFS|LUFS|dBTP) (further|nearer|lower|less|more|below|above|under|louder|quieter|of)`)
)

// TestNoSentenceCountsInfinities: silence, a truth that is the take, a wave that is
// flat throughout, a constant, a click and ten samples, through every command that
// takes a recording, with every treatment.
func TestNoSentenceCountsInfinities(t *testing.T) {
	dir := t.TempDir()
	const rate, n = 16000, 8000
	rng := rand.New(rand.NewPCG(1, 2))
	makes := map[string]func(i int) float64{
		"silence":  func(int) float64 { return 0 },
		"square":   func(i int) float64 { return math.Copysign(1, math.Sin(2*math.Pi*200*(float64(i)+.5)/rate)) },
		"constant": func(int) float64 { return 0.5 },
		"click": func(i int) float64 {
			if i == n/2 {
				return 0.9
			}
			return 0
		},
		"sine":  func(i int) float64 { return min(max(1.24*math.Sin(2*math.Pi*220.5*float64(i)/rate), -1), 1) },
		"noise": func(int) float64 { return min(max(rng.NormFloat64(), -1), 1) },
	}
	for name, f := range makes {
		x := make([]float64, n)
		for i := range x {
			x[i] = f(i)
		}
		clitest.PutWAV(t, filepath.Join(dir, name+".wav"), rate, codec.PCM24, x)
	}
	makes["short"] = nil
	clitest.PutWAV(t, filepath.Join(dir, "short.wav"), rate, codec.PCM16, []float64{0, .1, .2, .3, .4, -.1, -.2, -.3, 0, 0})
	check := func(args []string) {
		t.Helper()
		_, out, errs := call(t, dir, args...)
		texts := map[string]string{"output": out, "errors": errs}
		for _, page := range []string{"p.html", "c/report.html"} {
			if b, err := os.ReadFile(filepath.Join(dir, page)); err == nil {
				texts[page] = embedded.ReplaceAllString(string(b), "")
				os.Remove(filepath.Join(dir, page))
			}
		}
		for where, text := range texts {
			text = strings.Join(strings.Fields(text), " ") // sentences are wrapped
			for _, r := range []*regexp.Regexp{notANumber, reckoned} {
				if at := r.FindStringIndex(text); at != nil {
					t.Errorf("%v: %s: … %s …", args, where, text[max(0, at[0]-80):min(len(text), at[1]+40)])
				}
			}
		}
	}
	var methods []string
	for _, m := range clitest.ReadJSON(t, must(t, dir, "repair", "--list", "--json"))["methods"].([]any) {
		methods = append(methods, m.(map[string]any)["name"].(string))
	}
	if len(methods) < 5 {
		t.Fatalf("treatments: %q", methods)
	}
	for name := range makes {
		f := name + ".wav"
		check([]string{"meter", "--force", "--report", "p.html", f})
		check([]string{"take", "--force", "--out", "t", f})
		check([]string{"compare", "--force", "--out", "c", "--recording", f})
		for _, m := range methods {
			args := []string{"repair", "--force", "--method", m, "--report", "p.html", f, "out.wav"}
			if m == "splice" {
				args = append(args, "--splice", "noise.wav")
			}
			if m == "declip" {
				args = append(args, "--quality", "fast")
			}
			truth := []string{f, "silence.wav"}
			if name == "short" {
				truth = truth[:1]
			}
			for _, tr := range truth {
				check(append(args[:len(args):len(args)], "--truth", tr))
			}
		}
	}
	// A take that is the truth, made worse; and a truth that comes back whole.
	status, out, errs := call(t, dir, "repair", "--force", "--method", "limiter", "--truth", "square.wav", "square.wav", "out.wav")
	if status != 0 || !strings.Contains(out, "nothing was lost") {
		t.Errorf("status %d: %s%s", status, out, errs)
	}
	// 40 % of this sine is flat: by no speech that is light.
	status, out, errs = call(t, dir, "repair", "--force", "--method", "declip", "sine.wav", "out.wav")
	if status != 0 || strings.Contains(out, "lightly") || !strings.Contains(out, "% of the samples cut off") {
		t.Errorf("status %d: %s%s", status, out, errs)
	}
}
