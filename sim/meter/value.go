package meter

import (
	"fmt"
	"math"
)

// Sample rates the meters accept, in hertz.
const (
	MinRate = 8000
	MaxRate = 192000
)

// CheckRate returns an error when a sample rate lies outside [MinRate],
// [MaxRate].
func CheckRate(rate int) error {
	if rate < MinRate || rate > MaxRate {
		return fmt.Errorf("meter: sample rate %d Hz is outside %d to %d Hz", rate, MinRate, MaxRate)
	}
	return nil
}

func mustRate(rate int) {
	if err := CheckRate(rate); err != nil {
		panic(err.Error())
	}
}

// DB returns the level of a magnitude in decibels, 20·log10|x|; −Inf for 0.
func DB(x float64) float64 { return 20 * math.Log10(math.Abs(x)) }

// PowerDB returns the level of a mean square in decibels, 10·log10 p; −Inf for
// 0.
func PowerDB(p float64) float64 { return 10 * math.Log10(p) }

// FromDB is the inverse of [DB]: the magnitude of a level in decibels.
func FromDB(db float64) float64 { return math.Pow(10, db/20) }

// SineDB converts an rms value to dBFS in the AES17 sense: 20·log10(rms·√2).
func SineDB(rms float64) float64 { return DB(rms * math.Sqrt2) }

// Comparing bit patterns orders magnitudes, infinities and NaNs in one integer
// comparison: every pattern at or above invalidBits is no sample.
const (
	signMask    = 1<<63 - 1
	invalidBits = (1023 + 128) << 52 // 2^128
)

func magBits(x float64) uint64 { return math.Float64bits(x) & signMask }

// usable reports whether x counts as a sample.
func usable(x float64) bool { return magBits(x) < invalidBits }

// Largest returns the largest magnitude in x, 0 for none; no number if one of x is none.
func Largest(x []float64) float64 { return math.Float64frombits(maxBits(x)) }

// maxBitsOf is maxBits for any processor. Integer maxima compile to conditional moves.
func maxBitsOf(x []float64) uint64 {
	var a, b uint64
	for len(x) >= 4 {
		a = max(a, magBits(x[0]), magBits(x[1]))
		b = max(b, magBits(x[2]), magBits(x[3]))
		x = x[4:]
	}
	for _, v := range x {
		a = max(a, magBits(v))
	}
	return max(a, b)
}

// scrub sets unusable samples to zero and returns how many there were.
func scrub(x []float64) int {
	n := 0
	for i, v := range x {
		if !usable(v) {
			x[i] = 0
			n++
		}
	}
	return n
}
