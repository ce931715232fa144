package repair

// Effort is how much time declipping takes for how much quality.
type Effort int

// The efforts.
const (
	Best Effort = iota
	Balanced
	Fast
)
