package practice

import (
	"context"
	"math"

	"gainwright/sim/plan"
	"gainwright/sim/plan/ear"
	"gainwright/sounds/voice"
)

// hourSessions is how many hours with the guest are simulated, hourSeed with what chance:
// what the scenes show comes of the same.
const (
	hourSessions = 20_000
	hourSeed     = 1
)

// Hour is what an hour with the guest asks for, as the sound check tells it.
type Hour struct {
	Setup  plan.Setup
	Window plan.Ruler
	result *plan.Result
}

// gain is the highest whole decibel that the hour allows, within what a practice accepts;
// without a window safety comes first, for noise can be turned down a little, an over not.
func (h *Hour) gain() float64 {
	g := h.Window.SuggestDB
	if math.IsNaN(g) {
		g = math.Floor(h.Window.HighDB)
	}
	return min(max(g, 0), mostGainDB)
}

// risk is the chance that an hour goes over at a gain.
func (h *Hour) risk(gain float64) float64 { return h.Setup.At(gain, h.result).Risk }

// hour works it out by what the guest says in the sound check.
func (p *Practice) hour(ctx context.Context) (*Hour, error) {
	sp, err := p.Speech(ctx, false)
	if err != nil {
		return nil, err
	}
	heard := ear.Coarse(ear.Recording(sp.X, voice.Rate, nil).Heard(true))
	h := &Hour{Setup: plan.Setup{Chain: p.s.Strips[0].Chain, Model: plan.Default(), Limits: plan.DefaultLimits(), Check: heard}}
	if k := p.s.Knob(); k != nil {
		h.Setup.Knob.LowDB, h.Setup.Knob.HighDB = k.Range(h.Setup.Chain)
	}
	if err := h.Setup.Prepare(ctx); err != nil {
		return nil, err
	}
	if h.result, err = plan.InSlices(ctx, h.Setup.Conversation(), hourSessions, hourSeed, nil); err != nil {
		return nil, err
	}
	h.Window = h.Setup.Ruler(h.result)
	return h, nil
}
