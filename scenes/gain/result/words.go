package result

import (
	"fmt"
	"strings"

	"gainwright/scenes/bench"
	"gainwright/scenes/ui"
	"gainwright/sim"
)

// OfTake says in plain words what became of a take.
func OfTake(t *bench.Take) string {
	var b strings.Builder
	fmt.Fprintf(&b, "Take %d, %s s: ", t.Number, ui.Decimal(t.Seconds(), 1))
	for i, r := range t.Readings[:t.N] {
		if i > 0 {
			b.WriteString("; ")
		}
		b.WriteString("strip " + bench.StripNames[i] + " ")
		b.WriteString(overWords(r))
	}
	if t.Full {
		fmt.Fprintf(&b, ". It ended by itself: a take has at most %d s", bench.MaxTakeSeconds)
	}
	return b.String() + "."
}

func overWords(r sim.Readings) string {
	if r.Overs == 0 {
		return "no overs, " + ui.Decimal(float64(r.HeadroomDB), 1) + " dB left"
	}
	n := "overs"
	if r.Overs == 1 {
		n = "over"
	}
	return fmt.Sprintf("%d %s, longest %s ms", r.Overs, n, ui.Decimal(float64(r.LongestOverMS), 1))
}

// Brief is OfTake in few words.
func Brief(t *bench.Take) string {
	words := make([]string, t.N)
	for i, r := range t.Readings[:t.N] {
		words[i] = bench.StripNames[i] + " no overs"
		if r.Overs > 0 {
			words[i] = fmt.Sprintf("%s %d overs", bench.StripNames[i], r.Overs)
		}
	}
	return fmt.Sprintf("Take %d: %s.", t.Number, strings.Join(words, ", "))
}
