package program

import (
	"fmt"
	"strings"

	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
)

// footWords says which idea of how many a presentation shows, and as many of the keys as
// there is room for in w dp.
func footWords(sc kit.Scene, at, of int, st ink.Style, w float32) string {
	head := fmt.Sprintf("%d of %d   ← → idea   ", at+1, of)
	var keys []string
	if pr, ok := sc.(kit.Presented); ok {
		keys = pr.IdeaKeys()
	}
	for n := len(keys); ; n-- {
		s := head + strings.Join(append(keys[:n:n], "Esc end"), "   ")
		if n == 0 || ink.Measure(s, st) <= w {
			return s
		}
	}
}
