package cli

import (
	"fmt"
	"math"
	"strings"

	"gainwright/cmd/gainwright/internal/picture"
	"gainwright/sim"
)

// Wrap breaks a paragraph into lines.
func Wrap(s string, width int) string {
	var b strings.Builder
	col := 0
	for _, w := range strings.Fields(s) {
		if n := Runes(w); col > 0 && col+1+n > width {
			b.WriteByte('\n')
			col = 0
		} else if col > 0 {
			b.WriteByte(' ')
			col++
		}
		b.WriteString(w)
		col += Runes(w)
	}
	return b.String()
}

// Counted is n with the noun that goes with it.
func Counted(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// Capital writes s with a capital letter.
func Capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// SignedDB is a change in dB, with its sign.
func SignedDB(v float64) string {
	t := picture.DB(v, "dB")
	if v >= 0.05 {
		t = "+" + t
	}
	return t
}

// Runes counts the characters of s.
func Runes(s string) int { return len([]rune(s)) }

// Left pads s on its left to a width.
func Left(s string, w int) string { return strings.Repeat(" ", max(0, w-Runes(s))) + s }

// Finite tells whether a level is a number one can compute with.
func Finite(l sim.Level) bool { return !math.IsInf(float64(l), 0) && !math.IsNaN(float64(l)) }
