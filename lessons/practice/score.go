package practice

import (
	"fmt"
	"math"

	"gainwright/lessons/model"
	"gainwright/lessons/names"
	"gainwright/sim"
	"gainwright/sim/plan"
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
	// MostGainDB is the most gain that this conversation allowed, HourGainDB the most that an
	// hour with the guest does, by what the sound check told, both whole decibels.
	// FittingGainDB would have been right for both.
	MostGainDB    float64      `json:"most_gain_db"`
	HourGainDB    float64      `json:"hour_gain_db"`
	FittingGainDB float64      `json:"fitting_gain_db"`
	Hour          *Hour        `json:"-"`
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

// score counts what matters, and says the one thing that would have helped most. noise is
// by how many decibels there was more of it than need be, risk by how much the chance of an
// over in an hour lies above the acceptable one. Room that nobody used costs nothing: what
// it costs in noise is counted there.
func (o *Outcomes) score(m names.Measured, noise, risk float64, changes int) {
	overs := float64(m["overs"])
	ramp := func(x, none, full float64) float64 { return min(1, max(0, (x-none)/(full-none))) }
	o.Parts = []Part{
		{"nothing lost at the ceiling", 40 * (1 - min(1, math.Log2(1+overs)/6)), 40},
		{"safe for an hour of it", 20 * ramp(risk, 0.5, 0.01), 20},
		{"noise when delivered", 30 * ramp(noise, 6, 0), 30},
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
	o.Advice = o.advice(worst, changes)
}

// advice is the sentence about the part of which most was lost; −1 is none.
func (o *Outcomes) advice(worst, changes int) string {
	take, hour := whole(o.MostGainDB), whole(o.HourGainDB)
	both := fmt.Sprintf("this conversation needed at most %s, an hour of it at most %s: %s", take, hour, plan.OneLaugh)
	switch {
	case o.MostGainDB < o.HourGainDB:
		both = fmt.Sprintf("this conversation needed at most %s, less than the %s of an hour: it had one of the moments that a window has to leave over", take, hour)
	case o.MostGainDB == o.HourGainDB:
		both = fmt.Sprintf("this conversation and an hour of it allow at most %s", take)
	}
	switch worst {
	case -1:
		return "Nothing to mend: " + both + "."
	case 0:
		return "Too hot: " + both + "."
	case 1:
		return "Nothing was lost this time, but " + both + "."
	case 2:
		return fmt.Sprintf("Too low: with %s the recording would have needed less lifting afterwards, and %s.", whole(o.FittingGainDB), both)
	}
	return fmt.Sprintf("The %s made while it rolled can be heard in the recording: decide before, then leave it.", plain.Count(changes, "change", "changes"))
}

func whole(db float64) string { return fmt.Sprintf("%.0f dB", db) }
