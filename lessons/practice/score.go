package practice

import (
	"fmt"
	"math"

	"gainwright/lessons/model"
	"gainwright/lessons/names"
	"gainwright/sim"
	"gainwright/sounds/scenario/plain"
	"gainwright/sounds/voice"
)

// Part is one thing that counts.
type Part struct {
	Name   string  `json:"name"`
	Points float64 `json:"points"`
	Of     float64 `json:"of"`
}

// Outcomes is what came of a conversation.
type Outcomes struct {
	Score    float64        `json:"score"` // 0 to 100
	Parts    []Part         `json:"parts"`
	Advice   string         `json:"advice"` // one sentence
	Readings names.Measured `json:"readings"`
	// FittingGainDB would have kept 6 dB of headroom.
	FittingGainDB float64      `json:"fitting_gain_db"`
	Level         int          `json:"level"` // of the next guest
	Marks         []voice.Mark `json:"marks"` // what happened when
	Overs         []sim.Span   `json:"-"`
}

// oneTurnSeconds is how closely changes of one setting may follow the first of them and
// be one turn.
const oneTurnSeconds = 1.5

// turns counts the changes as one hears them.
func turns(changes []model.Change) int {
	n := 0
	for i, first := 0, 0; i < len(changes); i++ {
		if i == 0 || changes[i].Key != changes[first].Key || changes[i].AtS-changes[first].AtS >= oneTurnSeconds {
			n, first = n+1, i
		}
	}
	return n
}

// score counts what matters, and says the one thing that would have helped most.
func (o *Outcomes) score(m names.Measured, noise float64, changes int) {
	overs, room := float64(m["overs"]), float64(m["headroom_db"])
	ramp := func(x, none, full float64) float64 { return min(1, max(0, (x-none)/(full-none))) }
	o.Parts = []Part{
		{"nothing lost at the ceiling", 40 * (1 - min(1, math.Log2(1+overs)/6)), 40},
		{"headroom kept", 25 * min(ramp(room, 0, 3), ramp(room, 26, 12)), 25},
		{"noise when delivered", 25 * ramp(noise, 7, 1), 25},
		{"hands off while it rolls", 10 * ramp(float64(changes), 4, 0), 10},
	}
	if math.IsNaN(noise) {
		o.Parts[2].Points = 0
	}
	worst, most := -1, 2.0
	for i := range o.Parts {
		p := &o.Parts[i]
		p.Points = names.Round(p.Points, 1)
		o.Score += p.Points
		if lost := p.Of - p.Points; lost > most {
			worst, most = i, lost
		}
	}
	o.Score = names.Round(o.Score, 1)
	fit := names.Format(o.FittingGainDB, "dB")
	switch {
	case worst == -1:
		o.Advice = "Nothing to mend: leave it like this and listen to the guest."
	case worst == 0 || worst == 1 && room < 3:
		o.Advice = fmt.Sprintf("The loudest moment needed %s more room than there was: after a sound check leave more above ordinary talk (%s of gain would have kept 6 dB).", names.Format(max(0, 6-room), "dB"), fit)
	case worst == 1 || worst == 2:
		o.Advice = fmt.Sprintf("There were %s of headroom that nobody used; with %s the recording would have needed less lifting afterwards.", names.Format(room, "dB"), fit)
	default:
		o.Advice = fmt.Sprintf("The %s made while it rolled can be heard in the recording: decide before, then leave it.", plain.Count(changes, "change", "changes"))
	}
}
