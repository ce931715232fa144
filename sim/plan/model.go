package plan

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
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

func (k Kind) String() string { return kindNames[k] }

// Crest is the distribution of an event's peak over its own rms level, in dB.
//
// Within one kind of event, a louder one has a lower crest. The spread here is what
// the peak has beyond the spread of levels, so that the two may be drawn one without
// regard to the other and still give the peaks' own spread.
type Crest struct {
	MeanDB float64 `json:"mean_db" yaml:"mean_db"`
	SDDB   float64 `json:"sd_db" yaml:"sd_db"`
	// Shape is normal in dB if empty. "gaussian" and "laplacian" take one sample of
	// such noise for the peak instead: stand-ins whose over-probability is known in
	// closed form.
	Shape string `json:"shape,omitempty" yaml:"shape,omitempty"`
}

// Model is the conversation. Levels are dB SPL at 1 m, rms over the event's
// sounding part: the 20 ms frames within 30 dB of its loudest, which is how the
// talkers of this program are levelled too. The zero Model is an hour of nothing;
// start from Default.
//
// An event's level is the talker's ordinary level plus what the kind of event
// adds, each with its spread, but never above LoudestDB; the rise over the session
// belongs to talk alone, since laughs and shouts are stated over ordinary talk.
type Model struct {
	Minutes float64 `json:"minutes" yaml:"minutes"`

	TalkLevelDB  float64 `json:"talk_level_db" yaml:"talk_level_db"`
	TalkerSDDB   float64 `json:"talker_sd_db" yaml:"talker_sd_db"` // one draw a session
	DriftDB      float64 `json:"drift_db" yaml:"drift_db"`         // of talk, first to last minute
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
	LoudestDB    float64 `json:"loudest_db" yaml:"loudest_db"`         // no event is louder
	DistanceSD   float64 `json:"distance_sd_db" yaml:"distance_sd_db"` // an event
	LeanShare    float64 `json:"lean_in_share" yaml:"lean_in_share"`
	LeanDB       float64 `json:"lean_in_db" yaml:"lean_in_db"`

	TalkCrest  Crest `json:"talk_crest" yaml:"talk_crest"`
	LaughCrest Crest `json:"laugh_crest" yaml:"laugh_crest"`
	BurstCrest Crest `json:"outburst_crest" yaml:"outburst_crest"`
	CoughCrest Crest `json:"cough_crest" yaml:"cough_crest"`
	// TalkMeterDB is how far the peak of a typical second of talk lies over its
	// level: what a meter shows. It has no part in the risk.
	TalkMeterDB float64 `json:"talk_meter_db" yaml:"talk_meter_db"`
}

// Default is an hour with one guest who is at ease.
func Default() Model {
	return Model{
		Minutes: 60, TalkLevelDB: 62.35, TalkerSDDB: 3, DriftDB: 3, UtteranceSD: 2.5, TalkPerMin: 8,
		LaughPerHour: 20, LaughDB: 15, LaughSDDB: 3, BurstPerHour: 1, BurstDB: 20, BurstSDDB: 4,
		CoughPerHour: 2, CoughDB: 12.8, CoughSDDB: 3, LoudestDB: 95, DistanceSD: 1.5, LeanShare: 0.03, LeanDB: 6,
		TalkCrest: Crest{MeanDB: 14, SDDB: 1.3}, LaughCrest: Crest{MeanDB: 15, SDDB: 1.4},
		BurstCrest: Crest{MeanDB: 13.9, SDDB: 0.4}, CoughCrest: Crest{MeanDB: 16.1, SDDB: 1.2},
		TalkMeterDB: 12.4,
	}
}

// A Param is one assumption: its value, the range in which it plausibly lies, and
// where it comes from.
type Param struct {
	Key   string  `json:"key"` // path in a scenario's plan section
	Name  string  `json:"name"`
	Unit  string  `json:"unit"`
	Value float64 `json:"value"`
	// Low and High bound what is plausible; the sensitivity goes from one to the
	// other. Equal for what is not an assumption but an aim.
	Low    float64 `json:"low"`
	High   float64 `json:"high"`
	Min    float64 `json:"min"` // what is accepted at all
	Max    float64 `json:"max"`
	Source string  `json:"source"`
}

// check returns what is wrong with a value.
func (p *Param) check(v float64) error {
	if math.IsNaN(v) || v < p.Min || v > p.Max {
		return fmt.Errorf("%s: %s is out of range (%v to %v)", p.Key, strings.TrimSpace(fmt.Sprint(v, " ", p.Unit)), p.Min, p.Max)
	}
	return nil
}

// A param is a Param and where its value lies in a T.
type param[T any] struct {
	Param
	of func(*T) *float64
}

const (
	assumed     = "assumed"
	crestSource = "measured on the program's own talkers"
	yours       = "yours to say"
)

// modelParams is the table of assumptions: ranges and sources in one place. What
// the program's talkers have is measured by TestMeasureTalkers in tests/plan.
var modelParams = []param[Model]{
	{Param{Key: "minutes", Name: "length of the session", Unit: "min", Low: 20, High: 120, Min: 0.1, Max: 1440, Source: yours}, func(m *Model) *float64 { return &m.Minutes }},
	{Param{Key: "talk_level_db", Name: "talk, level at 1 m", Unit: "dB SPL", Low: 58, High: 68.34, Min: 30, Max: 110, Source: "ANSI S3.5-1997, normal effort"}, func(m *Model) *float64 { return &m.TalkLevelDB }},
	{Param{Key: "talker_sd_db", Name: "spread between people", Unit: "dB", Low: 1, High: 5, Min: 0, Max: 20, Source: assumed}, func(m *Model) *float64 { return &m.TalkerSDDB }},
	{Param{Key: "drift_db", Name: "rise of talk over the session", Unit: "dB", Low: 0, High: 6, Min: -20, Max: 20, Source: assumed}, func(m *Model) *float64 { return &m.DriftDB }},
	{Param{Key: "utterance_sd_db", Name: "spread between utterances", Unit: "dB", Low: 0.9, High: 4, Min: 0, Max: 20, Source: "assumed; the program's own talkers have 0.9 dB at one effort"}, func(m *Model) *float64 { return &m.UtteranceSD }},
	{Param{Key: "utterances_per_minute", Name: "utterances", Unit: "a minute", Low: 4, High: 12, Min: 0, Max: 60, Source: assumed}, func(m *Model) *float64 { return &m.TalkPerMin }},
	{Param{Key: "laughs_per_hour", Name: "open laughs", Unit: "an hour", Low: 5, High: 60, Min: 0, Max: 1000, Source: assumed}, func(m *Model) *float64 { return &m.LaughPerHour }},
	{Param{Key: "laugh_db", Name: "laugh over ordinary talk", Unit: "dB", Low: 10, High: 18, Min: -20, Max: 40, Source: "assumed; open laughter of eight talkers in an open corpus lies 16.2 dB over their reading (secondary)"}, func(m *Model) *float64 { return &m.LaughDB }},
	{Param{Key: "laugh_sd_db", Name: "spread of laughs", Unit: "dB", Low: 1.2, High: 5, Min: 0, Max: 20, Source: "assumed; the program's own talkers have 1.2 dB at one effort"}, func(m *Model) *float64 { return &m.LaughSDDB }},
	{Param{Key: "outbursts_per_hour", Name: "outbursts", Unit: "an hour", Low: 0.2, High: 4, Min: 0, Max: 1000, Source: assumed}, func(m *Model) *float64 { return &m.BurstPerHour }},
	{Param{Key: "outburst_db", Name: "outburst over ordinary talk", Unit: "dB", Low: 15, High: 24, Min: -20, Max: 50, Source: "assumed; ANSI S3.5-1997 has shout 19.95 dB over normal"}, func(m *Model) *float64 { return &m.BurstDB }},
	{Param{Key: "outburst_sd_db", Name: "spread of outbursts", Unit: "dB", Low: 2.3, High: 6, Min: 0, Max: 20, Source: "assumed; the program's own talkers have 2.3 dB at one effort"}, func(m *Model) *float64 { return &m.BurstSDDB }},
	{Param{Key: "coughs_per_hour", Name: "coughs", Unit: "an hour", Low: 0, High: 10, Min: 0, Max: 1000, Source: assumed}, func(m *Model) *float64 { return &m.CoughPerHour }},
	{Param{Key: "cough_db", Name: "cough over ordinary talk", Unit: "dB", Low: 3, High: 16, Min: -20, Max: 40, Source: "eight talkers in an open corpus (secondary)"}, func(m *Model) *float64 { return &m.CoughDB }},
	{Param{Key: "cough_sd_db", Name: "spread of coughs", Unit: "dB", Low: 0.6, High: 5, Min: 0, Max: 20, Source: assumed}, func(m *Model) *float64 { return &m.CoughSDDB }},
	{Param{Key: "loudest_db", Name: "the loudest a voice gets, at 1 m", Unit: "dB SPL", Low: 90, High: 100, Min: 60, Max: 140, Source: "assumed; a few trained actors and singers pass 90 dBA, the most in the literature (abstract)"}, func(m *Model) *float64 { return &m.LoudestDB }},
	{Param{Key: "distance_sd_db", Name: "spread by moving about", Unit: "dB", Low: 0.5, High: 3, Min: 0, Max: 20, Source: assumed}, func(m *Model) *float64 { return &m.DistanceSD }},
	{Param{Key: "lean_in_share", Name: "share of events leaning in", Unit: "", Low: 0, High: 0.1, Min: 0, Max: 1, Source: assumed}, func(m *Model) *float64 { return &m.LeanShare }},
	{Param{Key: "lean_in_db", Name: "louder when leaning in", Unit: "dB", Low: 3, High: 9, Min: 0, Max: 30, Source: "assumed: half the distance, by the inverse distance law"}, func(m *Model) *float64 { return &m.LeanDB }},
	{Param{Key: "talk_crest.mean_db", Name: "crest of an utterance", Unit: "dB", Low: 13, High: 18, Min: 0, Max: 40, Source: crestSource}, func(m *Model) *float64 { return &m.TalkCrest.MeanDB }},
	{Param{Key: "talk_crest.sd_db", Name: "spread of an utterance's crest", Unit: "dB", Low: 0.8, High: 2, Min: 0, Max: 10, Source: crestSource}, func(m *Model) *float64 { return &m.TalkCrest.SDDB }},
	{Param{Key: "laugh_crest.mean_db", Name: "crest of a laugh", Unit: "dB", Low: 14, High: 18, Min: 0, Max: 40, Source: crestSource}, func(m *Model) *float64 { return &m.LaughCrest.MeanDB }},
	{Param{Key: "laugh_crest.sd_db", Name: "spread of a laugh's crest", Unit: "dB", Low: 0.8, High: 2.5, Min: 0, Max: 10, Source: crestSource}, func(m *Model) *float64 { return &m.LaughCrest.SDDB }},
	{Param{Key: "outburst_crest.mean_db", Name: "crest of an outburst", Unit: "dB", Low: 13, High: 18, Min: 0, Max: 40, Source: crestSource}, func(m *Model) *float64 { return &m.BurstCrest.MeanDB }},
	{Param{Key: "outburst_crest.sd_db", Name: "spread of an outburst's crest", Unit: "dB", Low: 0, High: 2.5, Min: 0, Max: 10, Source: crestSource}, func(m *Model) *float64 { return &m.BurstCrest.SDDB }},
	{Param{Key: "cough_crest.mean_db", Name: "crest of a cough", Unit: "dB", Low: 14, High: 20, Min: 0, Max: 40, Source: crestSource}, func(m *Model) *float64 { return &m.CoughCrest.MeanDB }},
	{Param{Key: "cough_crest.sd_db", Name: "spread of a cough's crest", Unit: "dB", Low: 0.8, High: 2.5, Min: 0, Max: 10, Source: crestSource}, func(m *Model) *float64 { return &m.CoughCrest.SDDB }},
	{Param{Key: "talk_meter_db", Name: "peak of a typical second over talk's level", Unit: "dB", Low: 12.4, High: 12.4, Min: 0, Max: 40, Source: crestSource}, func(m *Model) *float64 { return &m.TalkMeterDB }},
}

var limitParams = []param[Limits]{
	{Param{Key: "risk", Name: "largest chance of an over in the session", Unit: "", Low: 0.05, High: 0.05, Min: 1e-4, Max: 0.9999, Source: yours}, func(l *Limits) *float64 { return &l.Risk }},
	{Param{Key: "noise_lufs", Name: "most noise after delivery", Unit: "LUFS", Low: -60, High: -60, Min: -120, Max: 0, Source: yours}, func(l *Limits) *float64 { return &l.NoiseLUFS }},
	{Param{Key: "delivery_lufs", Name: "loudness of delivered speech", Unit: "LUFS", Low: -19, High: -19, Min: -60, Max: 0, Source: "practitioners' convention for mono, not a standard"}, func(l *Limits) *float64 { return &l.DeliveryLUFS }},
}

func list[T any](table []param[T], v *T) []Param {
	out := make([]Param, len(table))
	for i, p := range table {
		p.Value = *p.of(v)
		out[i] = p.Param
	}
	return out
}

func set[T any](table []param[T], v *T, key string, x float64) error {
	for _, p := range table {
		if p.Key == key {
			if err := p.check(x); err != nil {
				return err
			}
			*p.of(v) = x
			return nil
		}
	}
	return fmt.Errorf("%s is not an assumption of the plan", key)
}

// Params lists every assumption of m with its value.
func (m Model) Params() []Param { return list(modelParams, &m) }

// Set changes one assumption by its key; an unknown key or a value out of range
// is an error and changes nothing.
func (m *Model) Set(key string, v float64) error { return set(modelParams, m, key, v) }

// Validate returns every fault, joined.
func (m Model) Validate() error {
	var errs []error
	for _, p := range m.Params() {
		errs = append(errs, p.check(p.Value))
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
