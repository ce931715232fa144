package plancmd

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"sync/atomic"
	"testing"

	"github.com/goccy/go-yaml"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/sim"
	"gainwright/sim/plan"
	"gainwright/sounds/scenario"
)

// mutant is a built-in scenario with some of its settings and assumptions changed,
// within their ranges, at their ends and beyond, and now and then with its text torn.
func mutant(t testing.TB, seed uint64) []byte {
	r := rand.New(rand.NewPCG(seed, 1))
	one := func(from ...any) any { return from[r.IntN(len(from))] }
	names := scenario.BuiltinNames()
	text, err := scenario.BuiltinText(names[r.IntN(len(names))])
	if err != nil {
		t.Fatal(err)
	}
	var doc yaml.MapSlice
	if err := yaml.UnmarshalWithOptions(text, &doc, yaml.UseOrderedMap()); err != nil {
		t.Fatal(err)
	}
	// What a mutant of this seed does: keeps to the ranges, goes to their ends, or beyond.
	spread := r.IntN(3)
	number := func(lo, hi float64) any {
		v := lo + (hi-lo)*r.Float64()
		switch {
		case spread > 0 && r.IntN(3) == 0:
			v = one(lo, hi).(float64)
		case spread > 1 && r.IntN(3) == 0:
			return one(lo-1e-3, hi+1e-3, 2*lo-hi, 2*hi-lo, -v, 1e300, -1e300, math.Inf(1), math.NaN(), 0, nil, "", "much", true, []int{1}, "1e9", yaml.MapSlice{})
		}
		return v
	}
	strips := scenarioStrips(doc)
	for range 1 + r.IntN(8) {
		switch r.IntN(5) {
		case 0, 1:
			all := sim.Settings()
			s := all[r.IntN(len(all))]
			path := strings.Split(s.Key, ".")
			if !scenario.Shared(s.Key) {
				path = append([]string{"strips", strips[r.IntN(len(strips))]}, path...)
			}
			switch s.Kind {
			case sim.Flag:
				put(&doc, path, r.IntN(2) == 0)
			case sim.Choice:
				words := s.WordList()
				put(&doc, path, words[r.IntN(len(words))])
			default:
				put(&doc, path, number(s.Min, s.Max))
			}
		case 2, 3:
			all := append(plan.DefaultLimits().Params(), plan.Default().Params()...)
			p := all[r.IntN(len(all))]
			put(&doc, append([]string{"plan"}, strings.Split(p.Key, ".")...), number(p.Min, p.Max))
		default:
			if spread > 1 {
				switch r.IntN(4) {
				case 0:
					doc = append(doc[:0:0], doc...)
					i := r.IntN(len(doc))
					doc = append(doc[:i], doc[i+1:]...)
				case 1:
					doc[r.IntN(len(doc))].Value = number(0, 1)
				case 2:
					put(&doc, []string{"strips"}, one(nil, yaml.MapSlice{}, []int{}, "A"))
				default:
					put(&doc, []string{"source"}, one(nil, yaml.MapSlice{{Key: "conversation", Value: yaml.MapSlice{{Key: "minutes", Value: number(1, 180)}}}}))
				}
				if len(doc) == 0 {
					return nil
				}
				strips = scenarioStrips(doc)
			} else {
				put(&doc, []string{"seed"}, r.IntN(1<<30))
			}
		}
	}
	out, err := yaml.Marshal(doc)
	if err != nil {
		t.Fatal(err)
	}
	if spread > 1 && r.IntN(5) == 0 && len(out) > 0 {
		switch i := r.IntN(len(out)); r.IntN(3) {
		case 0:
			out = out[:i]
		case 1:
			out[i] = byte(r.IntN(256))
		default:
			out = append(out[:i:i], out[min(len(out), i+1+r.IntN(40)):]...)
		}
	}
	return out
}

// scenarioStrips names the strips, or one that is not there.
func scenarioStrips(doc yaml.MapSlice) (names []string) {
	for _, e := range doc {
		if m, ok := e.Value.(yaml.MapSlice); ok && e.Key == "strips" {
			for _, s := range m {
				names = append(names, fmt.Sprint(s.Key))
			}
		}
	}
	if len(names) == 0 {
		names = []string{"A"}
	}
	return names
}

// put sets what stands at path, making what is not there yet.
func put(doc *yaml.MapSlice, path []string, v any) {
	for i := range *doc {
		e := &(*doc)[i]
		if e.Key != path[0] {
			continue
		}
		if len(path) == 1 {
			e.Value = v
			return
		}
		below, _ := e.Value.(yaml.MapSlice) // what is no mapping is replaced
		put(&below, path[1:], v)
		e.Value = below
		return
	}
	if len(path) > 1 {
		var below yaml.MapSlice
		put(&below, path[1:], v)
		v = below
	}
	*doc = append(*doc, yaml.MapItem{Key: path[0], Value: v})
}

// Whatever a scenario says, plan answers: with figures that are finite and in order, or
// with one error that says what is wrong. A dozen mutants, or those of the seeds that
// GAINWRIGHT_MUTANTS names: "0-2000" are half an hour's work on one core.
func TestPlanOfMutants(t *testing.T) {
	var first, end uint64 = 0, 8
	if s := os.Getenv("GAINWRIGHT_MUTANTS"); s != "" {
		if n, err := fmt.Sscanf(s, "%d-%d", &first, &end); n != 2 || err != nil || end <= first {
			t.Fatalf("GAINWRIGHT_MUTANTS=%q: want two numbers, as in 0-2000", s)
		}
	}
	n := int64(end - first)
	dir := t.TempDir()
	var planned, empty, refused atomic.Int64
	var all sync.WaitGroup
	next := make(chan uint64)
	for range runtime.GOMAXPROCS(0) {
		all.Go(func() {
			for seed := range next {
				text := mutant(t, seed)
				file := filepath.Join(dir, fmt.Sprintf("%d.yaml", seed))
				if err := os.WriteFile(file, text, 0o666); err != nil {
					t.Error(err)
					return
				}
				switch wrong, kind := answers(file); {
				case wrong != "":
					t.Errorf("seed %d: %s\n%s", seed, wrong, text)
				case kind == "empty":
					empty.Add(1)
				case kind == "refused":
					refused.Add(1)
				default:
					planned.Add(1)
				}
			}
		})
	}
	for seed := first; seed < end; seed++ {
		next <- seed
	}
	close(next)
	all.Wait()
	t.Logf("%d with a window, %d without, %d refused", planned.Load(), empty.Load(), refused.Load())
	if p, r := planned.Load()+empty.Load(), refused.Load(); p < n/4 || r < n/10 {
		t.Errorf("%d planned and %d refused of %d: the mutants are all of a kind", p, r, n)
	}
}

// answers plans a file and tells what is wrong with the answer, and its kind.
func answers(file string) (wrong, kind string) {
	defer func() {
		if p := recover(); p != nil {
			buf := make([]byte, 4096)
			wrong = fmt.Sprintf("panic: %v\n%s", p, buf[:runtime.Stack(buf, false)])
		}
	}()
	var out, errs bytes.Buffer
	status := cli.Run(cli.Program(New()), []string{"plan", file, "--json", "--quiet", "--sessions", fmt.Sprint(leastSessions)}, strings.NewReader(""), &out, &errs)
	if status != cli.ExitOK {
		e := errs.String()
		switch {
		case status != cli.ExitUsage:
			return fmt.Sprintf("status %d: %s", status, e), ""
		case out.Len() > 0:
			return "an error, and output", ""
		case !strings.HasPrefix(e, "gainwright: ") || !strings.HasSuffix(e, "\n") || strings.Contains(e, "\n\n"):
			return fmt.Sprintf("not one error: %q", e), ""
		case strings.Contains(e, "%!") || strings.Contains(e, "goroutine") || strings.Contains(e, "runtime error"):
			return fmt.Sprintf("not clear: %q", e), ""
		}
		return "", "refused"
	}
	if errs.Len() > 0 {
		return fmt.Sprintf("planned, and says %q", errs.String()), ""
	}
	var p planJSON
	if err := json.Unmarshal(out.Bytes(), &p); err != nil {
		return err.Error(), "" // NaN and Inf have no JSON
	}
	ordered := func(what string, v ...*float64) {
		last := math.Inf(-1)
		for _, x := range v {
			if x == nil {
				continue
			}
			if math.IsNaN(*x) || math.IsInf(*x, 0) || *x < last {
				wrong += fmt.Sprintf("%s out of order: %v after %v; ", what, *x, last)
			}
			last = *x
		}
	}
	w := &p.Window
	ordered("the window's upper end", w.From, w.High, w.To)
	if !w.Empty {
		ordered("the window", w.Low, w.High)
		if w.High != nil && *w.High >= -plan.PadDB && p.Suggested == nil {
			wrong += "a window, and no suggestion; "
		}
	}
	one, zero := 1.0, 0.0
	points := append([]plan.Point{p.Now}, p.Curve...)
	if p.Suggested != nil {
		points = append(points, p.Suggested.Point)
		if s := p.Suggested; s.Pad == 0 && !s.NoKnob && s.GainDB < plan.KnobHighDB {
			ordered("the suggestion", w.Low, &s.GainDB, w.High)
		} else if s.GainDB < 0 && !s.NoKnob || s.GainDB > plan.KnobHighDB && !s.NoKnob {
			wrong += "no knob offers the suggestion; "
		}
	}
	for _, q := range points {
		ordered(fmt.Sprintf("risk at %g dB", q.GainDB), &zero, &q.RiskLow, &q.Risk, &q.RiskHigh, &one)
		for _, v := range []float64{q.NoiseFloorDBFS, q.NoiseLUFS, q.TalkPeakDBFS} {
			if math.IsNaN(v) || math.Abs(v) > 1000 {
				wrong += fmt.Sprintf("at %g dB: %v; ", q.GainDB, v)
			}
		}
	}
	for i := 1; i < len(p.Curve); i++ {
		a, b := p.Curve[i-1], p.Curve[i]
		if b.GainDB <= a.GainDB || b.Risk < a.Risk || b.NoiseFloorDBFS < a.NoiseFloorDBFS-1e-9 || b.NoiseLUFS > a.NoiseLUFS+1e-6 {
			wrong += fmt.Sprintf("with more gain, less risk or more noise: %+v, then %+v; ", a, b)
		}
	}
	if w.Empty {
		kind = "empty"
	}
	return wrong, kind
}
