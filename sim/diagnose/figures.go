package diagnose

import (
	"math"
	"slices"
)

// passed returns the magnitude that a share of the counts lies above, between
// the edges of bins, and the number of counts.
func passed(counts []int64, edge func(int) float64, want float64) float64 {
	for i := len(counts) - 1; i >= 0; i-- {
		n := float64(counts[i])
		if n >= want && n > 0 {
			return edge(i) + (edge(i+1)-edge(i))*(1-want/n)
		}
		want -= n
	}
	return edge(0)
}

func db(v float64) float64 { return 20 * math.Log10(max(v, 1e-12)) }

func median(v []float64) float64 {
	if len(v) == 0 {
		return 0
	}
	s := slices.Clone(v)
	slices.Sort(s)
	return s[len(s)/2]
}
