// Package trust records checks against published values, so that a page can
// show what was compared with what, how far apart the two were, and how far
// apart they may be.
//
// A test calls [Record] with what it expected and what it measured. The call
// asserts: it fails the test when the two are further apart than allowed. When
// the environment variable GAINWRIGHT_TRUST names a file, the check is also
// appended there as one line of JSON; the command in trust/page turns such a
// file into tests/TRUST.md:
//
//	GAINWRIGHT_TRUST=/tmp/trust.jsonl go test -count=1 ./...
//	go run ./tests/trust/page --in /tmp/trust.jsonl
//
// -count=1 matters: a cached test result runs nothing and so records nothing.
package trust

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"testing"
)

// Env is the environment variable that names the file checks are appended to.
const Env = "GAINWRIGHT_TRUST"

// Check is one comparison of a measured number with a published or computed
// one.
type Check struct {
	Area   string  // what part of the program: "loudness", "true peak"
	What   string  // what was measured, with its conditions: "Tech 3341 signal 3, integrated"
	Source string  // where Expected comes from: a document, a formula, or "from memory: …"
	Got    float64 // measured here, in Unit

	// Expected is the value Got is compared with, in Unit. It may be infinite;
	// then Got must be the same infinity.
	Expected float64

	// Tolerance is the largest allowed |Got−Expected|, in Unit. Zero asks for
	// equality. It is not used when Op is set.
	Tolerance float64

	// Below, when it is not zero, replaces Tolerance for a Got under Expected:
	// true peak may read 0.2 dB over and 0.4 dB under.
	Below float64

	// Op is "" for a value within the tolerance, "<=" or ">=" when Expected is
	// a limit.
	Op string

	Unit string // "dB", "LUFS", "Hz"; may be empty for a pure number
}

// Err says why the check does not hold, or returns nil.
func (c Check) Err() error {
	switch {
	case c.Area == "" || c.What == "" || c.Source == "":
		return fmt.Errorf("trust: check %q/%q needs an area, a description and a source", c.Area, c.What)
	case math.IsNaN(c.Got) || math.IsNaN(c.Expected):
		return fmt.Errorf("%s: got %v, want %v %s", c.What, c.Got, c.Expected, c.Unit)
	}
	ok := false
	switch c.Op {
	case "<=":
		ok = c.Got <= c.Expected
	case ">=":
		ok = c.Got >= c.Expected
	case "":
		// The first comparison lets equal infinities pass.
		ok = c.Got == c.Expected || c.Got-c.Expected <= c.Tolerance && c.Expected-c.Got <= c.below()
	default:
		return fmt.Errorf("trust: %s: unknown relation %q", c.What, c.Op)
	}
	if ok {
		return nil
	}
	return fmt.Errorf("%s: got %v %s, want %s (%s)", c.What, c.Got, c.Unit, c.Allowed(), c.Source)
}

func (c Check) below() float64 {
	if c.Below != 0 {
		return c.Below
	}
	return c.Tolerance
}

// Allowed describes the accepted values in words, without the unit:
// "-23 ±0.1", "0 +0.2/-0.4", "at least 15".
func (c Check) Allowed() string {
	e := number(c.Expected)
	switch {
	case c.Op == "<=":
		return "at most " + e
	case c.Op == ">=":
		return "at least " + e
	case c.below() != c.Tolerance:
		return fmt.Sprintf("%s +%s/-%s", e, number(c.Tolerance), number(c.below()))
	case c.Tolerance == 0:
		return e + " exactly"
	default:
		return fmt.Sprintf("%s ±%s", e, number(c.Tolerance))
	}
}

// number prints with enough digits to recognise a table value and few enough
// to be the same on machines whose last bits differ.
func number(x float64) string { return strconv.FormatFloat(x, 'g', 6, 64) }

// Line is a check as it stands in the file.
type Line struct {
	Check
	Test string // name of the test that recorded it
}

// lineJSON is the form on disk. Numbers are strings because JSON has no
// infinity, and silence measures minus infinity decibels.
type lineJSON struct {
	Area      string `json:"area"`
	What      string `json:"what"`
	Source    string `json:"source"`
	Expected  string `json:"expected"`
	Got       string `json:"got"`
	Tolerance string `json:"tolerance"`
	Below     string `json:"below,omitempty"`
	Op        string `json:"op,omitempty"`
	Unit      string `json:"unit,omitempty"`
	Test      string `json:"test,omitempty"`
}

// MarshalJSON writes the line's form on disk.
func (l Line) MarshalJSON() ([]byte, error) {
	f := func(x float64) string { return strconv.FormatFloat(x, 'g', -1, 64) }
	j := lineJSON{l.Area, l.What, l.Source, f(l.Expected), f(l.Got), f(l.Tolerance), "", l.Op, l.Unit, l.Test}
	if l.Below != 0 {
		j.Below = f(l.Below)
	}
	return json.Marshal(j)
}

// UnmarshalJSON reads the line's form on disk.
func (l *Line) UnmarshalJSON(b []byte) error {
	var j lineJSON
	if err := json.Unmarshal(b, &j); err != nil {
		return err
	}
	*l = Line{Check: Check{Area: j.Area, What: j.What, Source: j.Source, Op: j.Op, Unit: j.Unit}, Test: j.Test}
	for _, f := range []struct {
		dst  *float64
		s    string
		name string
	}{{&l.Expected, j.Expected, "expected"}, {&l.Got, j.Got, "got"}, {&l.Tolerance, j.Tolerance, "tolerance"}, {&l.Below, j.Below, "below"}} {
		if f.s == "" && f.name == "below" {
			continue
		}
		v, err := strconv.ParseFloat(f.s, 64)
		if err != nil {
			return fmt.Errorf("%s is not a number: %q", f.name, f.s)
		}
		*f.dst = v
	}
	return nil
}

// Record asserts the check and, when GAINWRIGHT_TRUST names a file, appends it
// there. It reports whether the check holds. A check that fails is written
// too, so that the page shows it.
func Record(t testing.TB, c Check) bool {
	t.Helper()
	err := c.Err()
	if err != nil {
		t.Error(err)
	}
	if path := os.Getenv(Env); path != "" {
		if werr := appendLine(path, Line{c, t.Name()}); werr != nil {
			t.Errorf("trust: recording %q: %v", c.What, werr)
		}
	}
	return err == nil
}

func appendLine(path string, l Line) error {
	if !filepath.IsAbs(path) {
		// go test runs every package in its own directory: a relative name
		// would scatter the record.
		return fmt.Errorf("%s must be an absolute path, not %q", Env, path)
	}
	b, err := json.Marshal(l)
	if err != nil {
		return err
	}
	f, err := os.OpenFile(path, os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o644)
	if err != nil {
		return err
	}
	// One write in append mode: several test processes share the file.
	if _, err := f.Write(append(b, '\n')); err != nil {
		f.Close()
		return err
	}
	return f.Close()
}
