package practice

import (
	"time"

	"gainwright/lessons/names"
)

// Played is one guest in the personal history.
type Played struct {
	At         time.Time    `json:"at"`
	Number     int          `json:"number"`
	Level      int          `json:"level"`
	Talker     string       `json:"talker"`
	GainDB     float64      `json:"gain_db"`
	Score      float64      `json:"score"` // 0 to 100
	Overs      int          `json:"overs"`
	HeadroomDB names.Number `json:"headroom_db"`
	NoiseDB    names.Number `json:"noise_db"` // delivered noise above what a fitting gain gives
	Changes    int          `json:"changes"`
}

// History is what a person practised, oldest first; the zero value is a beginner's.
// It is plain data, to be kept as JSON and plotted.
type History struct {
	Level  int      `json:"level"` // of the next guest; 0 is 1
	Played []Played `json:"played"`
}

// Mean is the mean score of the last n guests, NaN if there were none.
func (h *History) Mean(n int) float64 {
	p := h.Played[max(0, len(h.Played)-n):]
	sum := 0.0
	for _, x := range p {
		sum += x.Score
	}
	return sum / float64(len(p))
}
