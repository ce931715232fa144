package plan

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
)

// Kind is what made a peak.
type Kind uint8

// The kinds of events.
const (
	Talk Kind = iota
	Laugh
	Outburst
	Cough
	numKinds
)

var kindNames = [numKinds]string{"talk", "laugh", "outburst", "cough"}

// String returns the kind's name.
func (k Kind) String() string { return kindNames[k] }

// Crest is the distribution of an event's peak over its own rms level, in dB.
type Crest struct {
	MeanDB float64 `json:"mean_db" yaml:"mean_db"`
	SDDB   float64 `json:"sd_db" yaml:"sd_db"`
	// Shape is normal in dB if empty. "gaussian" and "laplacian" take one sample of
	// such noise for the peak instead: stand-ins whose over-probability is known in
	// closed form.
	Shape string `json:"shape,omitempty" yaml:"shape,omitempty"`
}

// Model is the conversation. All levels are dB SPL at 1 m, rms over the event.
type Model struct {
	Minutes float64 `json:"minutes" yaml:"minutes"`

	TalkLevelDB  float64 `json:"talk_level_db" yaml:"talk_level_db"`
	TalkerSDDB   float64 `json:"talker_sd_db" yaml:"talker_sd_db"`
	DriftDB      float64 `json:"drift_db" yaml:"drift_db"`
	UtteranceSD  float64 `json:"utterance_sd_db" yaml:"utterance_sd_db"`
	TalkPerMin   float64 `json:"utterances_per_minute" yaml:"utterances_per_minute"`
	LaughPerHour float64 `json:"laughs_per_hour" yaml:"laughs_per_hour"`
	LaughDB      float64 `json:"laugh_db" yaml:"laugh_db"`
	LaughSDDB    float64 `json:"laugh_sd_db" yaml:"laugh_sd_db"`
	BurstPerHour float64 `json:"outbursts_per_hour" yaml:"outbursts_per_hour"`
	BurstDB      float64 `json:"outburst_db" yaml:"outburst_db"`
	BurstSDDB    float64 `json:"outburst_sd_db" yaml:"outburst_sd_db"`
	CoughPerHour float64 `json:"coughs_per_hour" yaml:"coughs_per_hour"`
	CoughDB      float64 `json:"cough_db" yaml:"cough_db"`
	CoughSDDB    float64 `json:"cough_sd_db" yaml:"cough_sd_db"`
	DistanceSD   float64 `json:"distance_sd_db" yaml:"distance_sd_db"`
	LeanShare    float64 `json:"lean_in_share" yaml:"lean_in_share"`
	LeanDB       float64 `json:"lean_in_db" yaml:"lean_in_db"`

	TalkCrest  Crest `json:"talk_crest" yaml:"talk_crest"`
	LaughCrest Crest `json:"laugh_crest" yaml:"laugh_crest"`
	BurstCrest Crest `json:"outburst_crest" yaml:"outburst_crest"`
	CoughCrest Crest `json:"cough_crest" yaml:"cough_crest"`
}

// Default is an hour with one guest who is at ease.
func Default() Model {
	return Model{
		Minutes: 60, TalkLevelDB: 62.35, TalkerSDDB: 3, DriftDB: 3, UtteranceSD: 2.5, TalkPerMin: 8,
		LaughPerHour: 20, LaughDB: 15, LaughSDDB: 3, BurstPerHour: 1, BurstDB: 20, BurstSDDB: 4,
		CoughPerHour: 2, CoughDB: 12.8, CoughSDDB: 3, DistanceSD: 1.5, LeanShare: 0.03, LeanDB: 6,
		TalkCrest: Crest{MeanDB: 15, SDDB: 1.2}, LaughCrest: Crest{MeanDB: 16.5, SDDB: 1.5},
		BurstCrest: Crest{MeanDB: 15, SDDB: 1.2}, CoughCrest: Crest{MeanDB: 17, SDDB: 1.5},
	}
}

// A Param is one assumption of a Model: its value, the range in which it
// plausibly lies, and where it comes from.
type Param struct {
	Key       string  `json:"key"` // path in a scenario's plan section
	Name      string  `json:"name"`
	Unit      string  `json:"unit"`
	Value     float64 `json:"value"`
	Low, High float64 // plausible range, for the sensitivity
	Min, Max  float64 `json:"-"` // what is accepted at all
	Source    string  `json:"source"`
	field     func(*Model) *float64
}

const assumed = "assumed"

// params is the table of assumptions: ranges and sources in one place.
var params = []Param{
	{Key: "minutes", Name: "length of the session", Unit: "min", Low: 20, High: 120, Min: 0.1, Max: 1440, Source: "yours to say", field: func(m *Model) *float64 { return &m.Minutes }},
	{Key: "talk_level_db", Name: "talk, level at 1 m", Unit: "dB SPL", Low: 58, High: 68.34, Min: 30, Max: 110, Source: "ANSI S3.5-1997, normal effort", field: func(m *Model) *float64 { return &m.TalkLevelDB }},
	{Key: "talker_sd_db", Name: "spread between people", Unit: "dB", Low: 2, High: 5, Min: 0, Max: 20, Source: assumed, field: func(m *Model) *float64 { return &m.TalkerSDDB }},
	{Key: "drift_db", Name: "rise from first to last minute", Unit: "dB", Low: 0, High: 6, Min: -20, Max: 20, Source: assumed, field: func(m *Model) *float64 { return &m.DriftDB }},
	{Key: "utterance_sd_db", Name: "spread between utterances", Unit: "dB", Low: 1.5, High: 4, Min: 0, Max: 20, Source: assumed, field: func(m *Model) *float64 { return &m.UtteranceSD }},
	{Key: "utterances_per_minute", Name: "utterances", Unit: "1/min", Low: 4, High: 12, Min: 0, Max: 60, Source: assumed, field: func(m *Model) *float64 { return &m.TalkPerMin }},
	{Key: "laughs_per_hour", Name: "laughs", Unit: "1/h", Low: 5, High: 60, Min: 0, Max: 1000, Source: assumed, field: func(m *Model) *float64 { return &m.LaughPerHour }},
	{Key: "laugh_db", Name: "laugh over talk", Unit: "dB", Low: 10, High: 18, Min: -20, Max: 40, Source: "assumed; an open corpus of eight talkers has +16.2 dB over reading (secondary)", field: func(m *Model) *float64 { return &m.LaughDB }},
	{Key: "laugh_sd_db", Name: "spread of laughs", Unit: "dB", Low: 2, High: 5, Min: 0, Max: 20, Source: assumed, field: func(m *Model) *float64 { return &m.LaughSDDB }},
	{Key: "outbursts_per_hour", Name: "outbursts", Unit: "1/h", Low: 0.2, High: 4, Min: 0, Max: 1000, Source: assumed, field: func(m *Model) *float64 { return &m.BurstPerHour }},
	{Key: "outburst_db", Name: "outburst over talk", Unit: "dB", Low: 15, High: 24, Min: -20, Max: 50, Source: "ANSI S3.5-1997: shout lies 19.95 dB over normal", field: func(m *Model) *float64 { return &m.BurstDB }},
	{Key: "outburst_sd_db", Name: "spread of outbursts", Unit: "dB", Low: 2, High: 6, Min: 0, Max: 20, Source: assumed, field: func(m *Model) *float64 { return &m.BurstSDDB }},
	{Key: "coughs_per_hour", Name: "coughs", Unit: "1/h", Low: 0, High: 10, Min: 0, Max: 1000, Source: assumed, field: func(m *Model) *float64 { return &m.CoughPerHour }},
	{Key: "cough_db", Name: "cough over talk", Unit: "dB", Low: 9, High: 16, Min: -20, Max: 40, Source: "an open corpus of eight talkers (secondary)", field: func(m *Model) *float64 { return &m.CoughDB }},
	{Key: "cough_sd_db", Name: "spread of coughs", Unit: "dB", Low: 2, High: 5, Min: 0, Max: 20, Source: assumed, field: func(m *Model) *float64 { return &m.CoughSDDB }},
	{Key: "distance_sd_db", Name: "spread by moving about", Unit: "dB", Low: 0.5, High: 3, Min: 0, Max: 20, Source: assumed, field: func(m *Model) *float64 { return &m.DistanceSD }},
	{Key: "lean_in_share", Name: "share of events leaning in", Unit: "1", Low: 0, High: 0.1, Min: 0, Max: 1, Source: assumed, field: func(m *Model) *float64 { return &m.LeanShare }},
	{Key: "lean_in_db", Name: "louder when leaning in", Unit: "dB", Low: 3, High: 9, Min: 0, Max: 30, Source: "inverse distance law: half the distance", field: func(m *Model) *float64 { return &m.LeanDB }},
	{Key: "talk_crest.mean_db", Name: "crest of an utterance", Unit: "dB", Low: 13, High: 18, Min: 0, Max: 40, Source: crestSource, field: func(m *Model) *float64 { return &m.TalkCrest.MeanDB }},
	{Key: "talk_crest.sd_db", Name: "spread of that crest", Unit: "dB", Low: 0.8, High: 2, Min: 0, Max: 10, Source: crestSource, field: func(m *Model) *float64 { return &m.TalkCrest.SDDB }},
	{Key: "laugh_crest.mean_db", Name: "crest of a laugh", Unit: "dB", Low: 14, High: 19, Min: 0, Max: 40, Source: crestSource, field: func(m *Model) *float64 { return &m.LaughCrest.MeanDB }},
	{Key: "laugh_crest.sd_db", Name: "spread of that crest", Unit: "dB", Low: 0.8, High: 2.5, Min: 0, Max: 10, Source: crestSource, field: func(m *Model) *float64 { return &m.LaughCrest.SDDB }},
	{Key: "outburst_crest.mean_db", Name: "crest of an outburst", Unit: "dB", Low: 13, High: 18, Min: 0, Max: 40, Source: crestSource, field: func(m *Model) *float64 { return &m.BurstCrest.MeanDB }},
	{Key: "outburst_crest.sd_db", Name: "spread of that crest", Unit: "dB", Low: 0.8, High: 2, Min: 0, Max: 10, Source: crestSource, field: func(m *Model) *float64 { return &m.BurstCrest.SDDB }},
	{Key: "cough_crest.mean_db", Name: "crest of a cough", Unit: "dB", Low: 14, High: 20, Min: 0, Max: 40, Source: crestSource, field: func(m *Model) *float64 { return &m.CoughCrest.MeanDB }},
	{Key: "cough_crest.sd_db", Name: "spread of that crest", Unit: "dB", Low: 0.8, High: 2.5, Min: 0, Max: 10, Source: crestSource, field: func(m *Model) *float64 { return &m.CoughCrest.SDDB }},
}

const crestSource = "measured on the program's own talkers"

// Params lists every assumption of m with its value.
func (m Model) Params() []Param {
	out := make([]Param, len(params))
	for i, p := range params {
		p.Value = *p.field(&m)
		out[i] = p
	}
	return out
}

// Set changes one assumption by its key; an unknown key or a value out of range
// is an error and changes nothing.
func (m *Model) Set(key string, v float64) error {
	for _, p := range params {
		if p.Key != key {
			continue
		}
		if math.IsNaN(v) || v < p.Min || v > p.Max {
			return fmt.Errorf("%s: %v %s is out of range (%v to %v)", key, v, p.Unit, p.Min, p.Max)
		}
		*p.field(m) = v
		return nil
	}
	return fmt.Errorf("%s is not an assumption of the plan", key)
}

// Validate returns every fault, joined.
func (m Model) Validate() error {
	var errs []error
	for _, p := range m.Params() {
		if math.IsNaN(p.Value) || p.Value < p.Min || p.Value > p.Max {
			errs = append(errs, fmt.Errorf("%s: %v %s is out of range (%v to %v)", p.Key, p.Value, p.Unit, p.Min, p.Max))
		}
	}
	for _, c := range []Crest{m.TalkCrest, m.LaughCrest, m.BurstCrest, m.CoughCrest} {
		if c.Shape != "" && c.Shape != "gaussian" && c.Shape != "laplacian" {
			errs = append(errs, fmt.Errorf("shape: %q is not one of gaussian, laplacian", c.Shape))
		}
	}
	return errors.Join(errs...)
}

// draw returns one peak over rms in dB.
func (c *Crest) draw(r *rand.Rand) float64 {
	switch c.Shape {
	case "gaussian":
		return 20 * math.Log10(math.Abs(r.NormFloat64()))
	case "laplacian":
		return 20 * math.Log10(r.ExpFloat64()/math.Sqrt2)
	}
	return c.MeanDB + c.SDDB*r.NormFloat64()
}
