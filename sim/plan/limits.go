package plan

import (
	"errors"

	"gainwright/sim"
)

// Limits say what is acceptable.
type Limits struct {
	// Risk is the largest acceptable chance, 0 to 1, that anything goes over in the
	// session.
	Risk float64 `json:"risk" yaml:"risk"`
	// NoiseLUFS is the largest acceptable K-weighted noise after delivery.
	NoiseLUFS float64 `json:"noise_lufs" yaml:"noise_lufs"`
	// DeliveryLUFS is the loudness that speech is brought to.
	DeliveryLUFS float64 `json:"delivery_lufs" yaml:"delivery_lufs"`
}

// DefaultLimits: one session in twenty may go over; noise 41 LU below speech at
// the loudness of a mono interview (both assumed; yours to set).
func DefaultLimits() Limits {
	return Limits{Risk: 0.05, NoiseLUFS: -60, DeliveryLUFS: sim.DeliveryLUFS}
}

// Params lists the limits like assumptions.
func (l Limits) Params() []Param { return list(limitParams, &l) }

// Set changes one limit by its key; an unknown key or a value out of range is an
// error and changes nothing.
func (l *Limits) Set(key string, v float64) error { return set(limitParams, l, key, v) }

// Validate returns every fault, joined.
func (l Limits) Validate() error {
	var errs []error
	for _, p := range l.Params() {
		errs = append(errs, p.check(p.Value))
	}
	return errors.Join(errs...)
}

var limitParams = []param[Limits]{
	{Param: Param{Key: "risk", Name: "largest chance of an over in the session", Low: 0.05, High: 0.05, Min: 1e-4, Max: 0.9999, Standing: Yours, Source: "yours to say"}, of: func(l *Limits) *float64 { return &l.Risk }},
	{Param: Param{Key: "noise_lufs", Name: "most noise after delivery", Unit: "LUFS", Low: -60, High: -60, Min: -120, Max: 0, Standing: Yours, Source: "yours to say"}, of: func(l *Limits) *float64 { return &l.NoiseLUFS }},
	{Param: Param{Key: "delivery_lufs", Name: "loudness of delivered speech", Unit: "LUFS", Low: -19, High: -19, Min: -60, Max: 0, Standing: Yours, Source: "practitioners' convention for mono, not a standard"}, of: func(l *Limits) *float64 { return &l.DeliveryLUFS }},
}
