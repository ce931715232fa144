package trust

import (
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// probe stands in for a test, to see whether Record fails it.
type probe struct {
	testing.TB
	failed bool
}

func (p *probe) Helper()      {}
func (p *probe) Name() string { return "TestProbe" }
func (p *probe) Error(...any) { p.failed = true }
func (p *probe) Errorf(string, ...any) {
	p.failed = true
}

func TestRecordAsserts(t *testing.T) {
	t.Setenv(Env, "")
	inf := math.Inf(1)
	for _, c := range []struct {
		name string
		c    Check
		ok   bool
	}{
		{"inside", Check{Area: "a", What: "w", Source: "s", Expected: 1, Got: 1.05, Tolerance: 0.1}, true},
		{"outside", Check{Area: "a", What: "w", Source: "s", Expected: 1, Got: 1.2, Tolerance: 0.1}, false},
		{"exact", Check{Area: "a", What: "w", Source: "s", Expected: 1, Got: 1}, true},
		{"not exact", Check{Area: "a", What: "w", Source: "s", Expected: 1, Got: 1 + 1e-12}, false},
		{"below wide", Check{Area: "a", What: "w", Source: "s", Expected: 0, Got: -0.3, Tolerance: 0.2, Below: 0.4}, true},
		{"above narrow", Check{Area: "a", What: "w", Source: "s", Expected: 0, Got: 0.3, Tolerance: 0.2, Below: 0.4}, false},
		{"limit held", Check{Area: "a", What: "w", Source: "s", Expected: 5, Got: 4, Op: "<="}, true},
		{"limit broken", Check{Area: "a", What: "w", Source: "s", Expected: 5, Got: 4, Op: ">="}, false},
		{"unknown relation", Check{Area: "a", What: "w", Source: "s", Op: "~"}, false},
		{"silence", Check{Area: "a", What: "w", Source: "s", Expected: -inf, Got: -inf, Tolerance: 1}, true},
		{"not silence", Check{Area: "a", What: "w", Source: "s", Expected: -inf, Got: -80, Tolerance: 1}, false},
		{"NaN", Check{Area: "a", What: "w", Source: "s", Got: math.NaN(), Tolerance: inf}, false},
		{"no source", Check{Area: "a", What: "w"}, false},
	} {
		p := &probe{}
		if got := Record(p, c.c); got != c.ok || p.failed == c.ok {
			t.Errorf("%s: Record says %v, test failed %v, want %v", c.name, got, p.failed, c.ok)
		}
	}
}

func TestRecordFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "trust.jsonl")
	t.Setenv(Env, path)
	want := []Check{
		{Area: "loudness", What: "signal 1", Source: "Tech 3341", Expected: -23, Got: -22.993, Tolerance: 0.1, Unit: "LUFS"},
		{Area: "peak", What: "silence", Source: "definition", Expected: math.Inf(-1), Got: math.Inf(-1), Below: 0.4, Op: "<="},
	}
	for _, c := range want {
		Record(t, c)
	}
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	lines, err := Read(f)
	if err != nil || len(lines) != len(want) {
		t.Fatalf("read %d lines, %v", len(lines), err)
	}
	for i, l := range lines {
		if l.Check != want[i] || l.Test != t.Name() {
			t.Errorf("line %d came back as %+v", i, l)
		}
	}
	t.Setenv(Env, "relative.jsonl")
	p := &probe{}
	Record(p, want[0])
	if !p.failed {
		t.Error("a relative record file must fail: every package has its own directory")
	}
}

func TestRenderIsDeterministic(t *testing.T) {
	var lines []Line
	for i := range 12 {
		lines = append(lines, Line{Check: Check{Area: "b", What: "signal " + string(rune('0'+i%10)) + "0", Source: "s", Expected: 1, Got: 1 + float64(i)/100, Tolerance: 1}})
	}
	lines = append(lines, Line{Check: Check{Area: "a|x", What: "out", Source: "s", Expected: 1, Got: 3, Tolerance: 1}},
		Line{Check: Check{Area: "b", What: "signal 9", Source: "s", Expected: 1, Got: 1, Tolerance: 1}})
	render := func() string {
		var b strings.Builder
		failed, err := Render(&b, lines)
		if err != nil || failed != 1 {
			t.Fatalf("failed %d, %v", failed, err)
		}
		return b.String()
	}
	first := render()
	r := rand.New(rand.NewPCG(1, 2))
	for range 20 {
		r.Shuffle(len(lines), func(i, j int) { lines[i], lines[j] = lines[j], lines[i] })
		if got := render(); got != first {
			t.Fatal("the page depends on the order of the record")
		}
	}
	if !strings.Contains(first, `a\|x`) || !strings.Contains(first, "**no**") {
		t.Error("area not escaped, or failure not shown")
	}
	if strings.Index(first, "| signal 9 |") > strings.Index(first, "| signal 10 |") {
		t.Error("signal 9 must come before signal 10")
	}
	// signal 00 was recorded with 0 and 0.1 off: the worse one stays.
	if !strings.Contains(first, "| signal 00 | 1 ±1 |  | 1.1 | 0.1 |") {
		t.Errorf("worst measurement not kept:\n%s", first)
	}
}

func FuzzRead(f *testing.F) {
	f.Add(`{"area":"a","what":"w","source":"s","expected":"1","got":"-Inf","tolerance":"0.1"}`)
	f.Add("\n\n{}")
	f.Fuzz(func(t *testing.T, s string) {
		lines, err := Read(strings.NewReader(s))
		if err != nil {
			return
		}
		var b strings.Builder
		if _, err := Render(&b, lines); err != nil {
			t.Fatal(err)
		}
	})
}
