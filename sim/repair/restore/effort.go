package restore

import "fmt"

// Effort is how much time declipping takes for how much quality: the one control
// it has. The zero value is Best.
type Effort int

// The efforts.
const (
	// Best runs nine estimates of three families and weighs them sample by sample. Above
	// 24 kHz it looks a second time, with a memory as long as a period of a voice, and
	// weighs all that anew.
	Best Effort = iota
	// Balanced averages three estimates.
	Balanced
	// Fast predicts from what is left of the wave, above 24 kHz with two memories.
	Fast
)

// String gives the effort's name, as ParseEffort reads it.
func (e Effort) String() string {
	switch e {
	case Best:
		return "best"
	case Balanced:
		return "balanced"
	case Fast:
		return "fast"
	}
	return fmt.Sprintf("effort %d", int(e))
}

// ParseEffort reads "fast", "balanced" or "best".
func ParseEffort(s string) (Effort, error) {
	for _, e := range []Effort{Best, Balanced, Fast} {
		if e.String() == s {
			return e, nil
		}
	}
	return 0, fmt.Errorf("%q is not one of fast, balanced, best", s)
}

// MarshalText writes the name.
func (e Effort) MarshalText() ([]byte, error) { return []byte(e.String()), nil }

// UnmarshalText reads the name.
func (e *Effort) UnmarshalText(b []byte) error {
	v, err := ParseEffort(string(b))
	if err == nil {
		*e = v
	}
	return err
}
