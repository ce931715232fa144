package trust

import (
	"bufio"
	"bytes"
	"cmp"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
)

// Read reads recorded lines. An empty line is skipped; anything else that is
// not a record is an error that names the line.
func Read(r io.Reader) ([]Line, error) {
	var out []Line
	s := bufio.NewScanner(r)
	s.Buffer(nil, 1<<20)
	for n := 1; s.Scan(); n++ {
		b := bytes.TrimSpace(s.Bytes())
		if len(b) == 0 {
			continue
		}
		var l Line
		if err := json.Unmarshal(b, &l); err != nil {
			return nil, fmt.Errorf("line %d: %w", n, err)
		}
		out = append(out, l)
	}
	return out, s.Err()
}

// Render turns recorded lines into a Markdown page and returns the number of
// checks that do not hold. The page depends only on the set of checks: it is
// sorted, carries no dates, and of a check recorded more than once it keeps
// the worst measurement.
func Render(w io.Writer, lines []Line) (failed int, err error) {
	lines = worst(lines)
	areas := 0
	for i, l := range lines {
		if l.Err() != nil {
			failed++
		}
		if i == 0 || lines[i-1].Area != l.Area {
			areas++
		}
	}
	var b strings.Builder
	b.WriteString("# What was checked, against what\n\n")
	b.WriteString("This page is generated from the tests; do not edit it. Every row is a number the program measured " +
		"while its tests ran, beside the number it was compared with and where that number comes from. " +
		"A source that begins with “from memory” was not looked up.\n\n")
	fmt.Fprintf(&b, "%d checks in %d areas; %d outside their tolerance.\n\n", len(lines), areas, failed)
	b.WriteString("To make it again:\n\n```\nGAINWRIGHT_TRUST=/tmp/trust.jsonl go test -count=1 ./...\n" +
		"GAINWRIGHT_TRUST=/tmp/trust.jsonl go test -count=1 -tags full ./tests/...\n" +
		"go run ./tests/trust/page --in /tmp/trust.jsonl\n```\n")
	for i, l := range lines {
		if i == 0 || lines[i-1].Area != l.Area {
			fmt.Fprintf(&b, "\n## %s\n\n", cell(l.Area))
			b.WriteString("| measured | expected | unit | got | off by | source | holds |\n|---|---|---|---|---|---|---|\n")
		}
		holds := "yes"
		if l.Err() != nil {
			holds = "**no**"
		}
		fmt.Fprintf(&b, "| %s | %s | %s | %s | %s | %s | %s |\n",
			cell(l.What), cell(l.Allowed()), cell(l.Unit), number(l.Got), l.deviation(), cell(l.Source), holds)
	}
	_, err = io.WriteString(w, b.String())
	return failed, err
}

// deviation is the distance to the expected value, or a dash for a limit.
func (l Line) deviation() string {
	if l.Op != "" {
		return "–"
	}
	d := l.Got - l.Expected
	if l.Got == l.Expected {
		d = 0
	}
	// Three digits; what is a rounding error of the arithmetic reads as zero,
	// so that the page is the same on every machine.
	if math.Abs(d) < 1e-9*max(1, math.Abs(l.Expected)) {
		return "0"
	}
	return strconv.FormatFloat(d, 'g', 3, 64)
}

func cell(s string) string {
	s = strings.Join(strings.Fields(s), " ")
	return strings.ReplaceAll(s, "|", "\\|")
}

func worst(lines []Line) []Line {
	lines = slices.Clone(lines)
	slices.SortStableFunc(lines, func(a, b Line) int {
		return cmp.Or(cmp.Compare(a.Area, b.Area), natural(a.What, b.What), cmp.Compare(a.Source, b.Source),
			cmp.Compare(a.Unit, b.Unit), cmp.Compare(b.badness(), a.badness()), cmp.Compare(a.Got, b.Got))
	})
	return slices.CompactFunc(lines, func(a, b Line) bool {
		return a.Area == b.Area && a.What == b.What && a.Source == b.Source && a.Unit == b.Unit
	})
}

func (l Line) badness() float64 {
	switch {
	case math.IsNaN(l.Got):
		return math.Inf(1)
	case l.Op == "<=":
		return l.Got
	case l.Op == ">=":
		return -l.Got
	case l.Got == l.Expected:
		return 0
	}
	return math.Abs(l.Got - l.Expected)
}

// natural orders "signal 9" before "signal 10".
func natural(a, b string) int {
	digits := func(s string) int {
		i := 0
		for i < len(s) && s[i] >= '0' && s[i] <= '9' {
			i++
		}
		return i
	}
	for a != "" && b != "" {
		if na, nb := digits(a), digits(b); na > 0 && nb > 0 {
			x, y := strings.TrimLeft(a[:na], "0"), strings.TrimLeft(b[:nb], "0")
			if c := cmp.Or(cmp.Compare(len(x), len(y)), cmp.Compare(x, y), cmp.Compare(na, nb)); c != 0 {
				return c
			}
			a, b = a[na:], b[nb:]
			continue
		}
		if a[0] != b[0] {
			return cmp.Compare(a[0], b[0])
		}
		a, b = a[1:], b[1:]
	}
	return cmp.Compare(len(a), len(b))
}
