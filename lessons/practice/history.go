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
	// Own is the name of the user's own voice, if that sat there: somebody whose laugh one
	// knows. It changes no level and counts in no mean.
	Own string `json:"own_voice,omitempty"`
}

// History is what a person practised, oldest first; the zero value is a beginner's.
// It is plain data, to be kept as JSON and plotted.
type History struct {
	Level  int      `json:"level"` // of the next guest; 0 is 1
	Played []Played `json:"played"`
}

// Mean is the mean score of the last n guests who were strangers, NaN if there were none.
func (h *History) Mean(n int) float64 {
	sum, of := 0.0, 0
	for i := len(h.Played) - 1; i >= 0 && of < n; i-- {
		if x := &h.Played[i]; x.Own == "" {
			sum += x.Score
			of++
		}
	}
	return sum / float64(of)
}

// Strangers counts the guests who were not the user.
func (h *History) Strangers() int {
	n := 0
	for i := range h.Played {
		if h.Played[i].Own == "" {
			n++
		}
	}
	return n
}
