package bench

// Told is the planner's window of a strip as it was told: the gains, dB, between which it
// lay, how finely the upper one is known, the one suggested, and that at which the highest
// peak held of talk would read 0 dBFS. The zero Told is nothing.
type Told struct {
	Known     bool    `json:"known,omitempty"`
	LowDB     float64 `json:"low_db,omitempty"`
	HighDB    float64 `json:"high_db,omitempty"`
	EdgeDB    float64 `json:"edge_db,omitempty"`
	SuggestDB float64 `json:"suggest_db,omitempty"`
	FullDB    float64 `json:"full_db,omitempty"`
}
