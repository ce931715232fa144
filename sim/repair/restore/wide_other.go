//go:build !amd64

package restore

// There is no vector code for this processor.

func widePowers(_ []float64, _, _ []complex128) int { return 0 }

func wideKeep(_, _ []complex128, _ []float64, _ float64) (int, float64) { return 0, 0 }

func wideClamp(_, _, _, _ []float64, _ float64) int { return 0 }
