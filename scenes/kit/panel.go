package kit

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"gainwright/scenes/ink"
	"gainwright/scenes/ui"
)

// ErrNoTake is why nothing of a take can be had.
var ErrNoTake = errors.New("there is no take yet")

// Decibel is 20·log10, −∞ for 0.
func Decibel(v float64) float64 { return 20 * math.Log10(v) }

// Panel draws the ground of a panel.
func Panel(l *ink.List, th *ui.Theme, r ink.Rect) { l.Fill(r, 9, th.Panel) }

// What is said of hearing wherever sound is played.
const (
	SafetyLong  = "Start low. Hearing: at most 80 dBA for 40 hours a week (WHO and ITU-T H.870). Local rules and qualified people come first."
	SafetyShort = "Start low: at most 80 dBA for 40 hours a week (WHO, ITU-T H.870); local rules come first."
)

// Bit is 1 for true, for keys of texts that are kept.
func Bit(b bool) int64 {
	if b {
		return 1
	}
	return 0
}

// GapDP is the room between two panels, dp.
const GapDP = 8

// ChipHeight is the height of a row of chips, dp.
func ChipHeight(th *ui.Theme) float32 { return max(26, th.Row(ui.Small)+7, th.Least) }

// Share cuts a row into n pieces whose widths go with what they need.
func Share(r ink.Rect, n int, gap float32, need func(int) float32, place func(int, ink.Rect)) {
	sum := float32(0)
	for i := range n {
		sum += need(i)
	}
	room := r.W - gap*float32(n-1)
	for i := range n {
		place(i, ui.Left(&r, need(i)/sum*room))
		ui.Left(&r, gap)
	}
}

// Capital writes s with a capital letter.
func Capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// Grouped writes a count with thin blanks between thousands.
func Grouped(n int) string {
	s := fmt.Sprint(n)
	for i := len(s) - 3; i > 0; i -= 3 {
		s = s[:i] + "\u00a0" + s[i:]
	}
	return s
}

// Hash is a key for a text.
func Hash(s string) (h int64) {
	for i := range s {
		h = h*31 + int64(s[i])
	}
	return h
}
