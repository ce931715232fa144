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

// The kinds of events. A knock stands apart: it is told beside the risk, never in it.
const (
	Talk Kind = iota
	UnvoicedLaugh
	SocialLaugh
	OpenLaugh
	Outburst
	Cough
	numVoiced // those that count for the risk
	Knock     = numVoiced
)

var kindNames = [...]string{"talk", "unvoiced laugh", "social laugh", "open laugh", "outburst", "cough", "knock"}

func (k Kind) String() string { return kindNames[k] }

// Laughs tells whether k is a laugh of any class.
func (k Kind) Laughs() bool { return k >= UnvoicedLaugh && k <= OpenLaugh }

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

// LaughClass is one class of laughs: its share of all laughs, its level over ordinary
// talk, and how that spreads from laugh to laugh.
type LaughClass struct {
	Share, LevelDB, SDDB float64
}

// Model is the conversation. Levels are dB SPL at 1 m, rms over the event's
// sounding part: the 20 ms frames within 30 dB of its loudest, which is how the
// talkers of this program are levelled too. The zero Model is an hour of nothing;
// start from Default or a Preset.
//
// An event's level is the guest's ordinary level plus what the kind of event adds,
// each with its spread, but never above LoudestDB. Talk rises over the session by
// RiseDB, laughs by LaughRiseShare of it. Moving about is in centimetres, so that its
// decibels depend on the distance.
type Model struct {
	Minutes float64

	TalkLevelDB  float64
	GuestSDDB    float64 // of the guest's level, before anybody has heard the guest
	SessionSDDB  float64 // of the session's level over that of the sound check
	RiseDB       float64 // of talk, first to last minute
	UtteranceSD  float64
	TalkPerMin   float64
	LaughPerHour float64 // of all classes
	Unvoiced     LaughClass
	Social       LaughClass // its Share is what the other two leave: see SocialShare
	Open         LaughClass // its SDDB is within one guest
	OpenGuestSD  float64    // of a guest's own open laugh, between guests

	LaughRiseShare float64 // of RiseDB
	LaughAwayDB    float64 // a laugh goes away from the microphone
	BurstPerHour   float64
	BurstDB        float64
	BurstSDDB      float64
	CoughPerHour   float64
	CoughDB        float64
	CoughSDDB      float64
	LoudestDB      float64 // no event is louder
	MoveSDCM       float64 // of each event's distance
	LeanShare      float64 // of the time
	LeanCM         float64 // nearer when leaning in

	TalkCrest  Crest
	LaughCrest Crest
	BurstCrest Crest
	CoughCrest Crest
	// TalkMeterDB is how far the peak of a typical second of talk lies over its
	// level: where ordinary moments hover on a meter. It has no part in the risk.
	TalkMeterDB float64

	// Knocks, pops and clicks: peaks over that of a typical second of talk.
	KnockPerHour float64
	KnockDB      float64
	KnockSDDB    float64

	// What a sound check is worth as evidence.
	HeardSDDB    float64 // of one utterance around the guest's level, as heard
	AskedLaughSD float64 // of a laugh on request around the guest's own open laugh
	RateShape    float64 // of the Gamma distribution of a guest's laughs an hour, once minutes are listened to
}

// Default is an hour with one guest of the ordinary kind.
func Default() Model {
	return Model{
		Minutes: 60, TalkLevelDB: 60, GuestSDDB: 4.2, SessionSDDB: 2, RiseDB: 3, UtteranceSD: 2.5, TalkPerMin: 8,
		LaughPerHour: 30, Unvoiced: LaughClass{0.35, -4, 4}, Social: LaughClass{0, 3, 4}, Open: LaughClass{0.15, 11, 4}, OpenGuestSD: 3.5,
		LaughRiseShare: 0.5, LaughAwayDB: 2, BurstPerHour: 1, BurstDB: 12.5, BurstSDDB: 3,
		CoughPerHour: 2, CoughDB: 6.8, CoughSDDB: 4, LoudestDB: 95, MoveSDCM: 2.5, LeanShare: 0.035, LeanCM: 5,
		TalkCrest: Crest{MeanDB: 14, SDDB: 1.3}, LaughCrest: Crest{MeanDB: 15, SDDB: 1.4},
		BurstCrest: Crest{MeanDB: 13.9, SDDB: 0.4}, CoughCrest: Crest{MeanDB: 16.1, SDDB: 1.2},
		TalkMeterDB: 12.4, KnockPerHour: 20, KnockDB: 12, KnockSDDB: 6,
		HeardSDDB: 2.9, AskedLaughSD: 5.7, RateShape: 2,
	}
}

// A Preset is a kind of conversation: how much is laughed, how, and how often somebody
// gets loud.
type Preset struct {
	Name  string // for a command line and a scenario
	Title string // for a sentence: "a calm guest"
	set   func(*Model)
}

// Presets lists the kinds of conversation, the calmest first. Their figures are
// assumed; that laughs come in these classes is published.
func Presets() []Preset {
	return []Preset{
		{"calm", "a calm guest", func(m *Model) { m.mix(12, 0.4, 0.05, 10, 0.2, 3) }},
		{"ordinary", "an ordinary guest", func(m *Model) { m.mix(30, 0.35, 0.15, 11, 1, 3) }},
		{"lively", "a lively guest", func(m *Model) { m.mix(60, 0.3, 0.25, 13, 3, 4) }},
	}
}

func (m *Model) mix(laughs, unvoiced, open, openDB, bursts, burstSD float64) {
	m.LaughPerHour, m.Unvoiced.Share, m.Open.Share, m.Open.LevelDB = laughs, unvoiced, open, openDB
	m.BurstPerHour, m.BurstSDDB = bursts, burstSD
}

// PresetNames lists the names of Presets.
func PresetNames() []string {
	var out []string
	for _, p := range Presets() {
		out = append(out, p.Name)
	}
	return out
}

// SetPreset changes what the named preset says and leaves the rest; an unknown name
// is an error.
func (m *Model) SetPreset(name string) error {
	for _, p := range Presets() {
		if p.Name == name {
			p.set(m)
			return nil
		}
	}
	return fmt.Errorf("there is no preset %q: there are %s", name, strings.Join(PresetNames(), ", "))
}

// Preset returns the preset whose figures m has; false if somebody has set their own.
func (m Model) Preset() (Preset, bool) {
	for _, p := range Presets() {
		t := m
		if p.set(&t); t == m {
			return p, true
		}
	}
	return Preset{}, false
}

// SocialShare is the share of laughs that are voiced and not open: what the other two
// classes leave.
func (m *Model) SocialShare() float64 { return 1 - m.Unvoiced.Share - m.Open.Share }

// Standing is how well something is known.
type Standing string

// The standings, the best first.
const (
	Published Standing = "published"       // in a text or abstract that was seen
	Secondary Standing = "second-hand"     // told by others of a text that was not seen
	Computed  Standing = "computed"        // or measured, here
	Assumed   Standing = "assumed"         // common practice or a guess
	Yours     Standing = "yours to decide" // an aim, not an assumption
)

// A Param is one assumption: its value, the range in which it plausibly lies, and
// where it comes from.
type Param struct {
	Key   string  `json:"key"` // path in a scenario's plan section
	Name  string  `json:"name"`
	Unit  string  `json:"unit"`
	Value float64 `json:"value"`
	// Low and High bound what is plausible; what the plan is uncertain by comes from
	// drawing all of them at once. Equal for what is not an assumption but an aim, or
	// has no part in the risk. For what a Preset sets they go with the value.
	Low      float64  `json:"low"`
	High     float64  `json:"high"`
	Min      float64  `json:"min"` // what is accepted at all
	Max      float64  `json:"max"`
	Standing Standing `json:"standing"`
	Source   string   `json:"source"`
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
	// around gives the plausible range where it goes with the value.
	around func(v float64) (low, high float64)
}

func factor(down, up float64) func(float64) (float64, float64) {
	return func(v float64) (float64, float64) { return v * down, v * up }
}

func within(down, up float64) func(float64) (float64, float64) {
	return func(v float64) (float64, float64) { return v - down, v + up }
}

const (
	crestSource = "measured on the program's own talkers"
	laughSource = "Wang et al. 2024, Ludusan and Wagner 2022, Truong and Trouvain 2012 (abstracts) for the order of the classes"
	checkSource = "Brown et al. 1996 (abstract): the session is not the check"
	presetWords = "the preset's"
)

type mp = param[Model]

// modelParams is the table of assumptions: ranges, standings and sources in one
// place. What the program's talkers have is measured by TestMeasureTalkers in
// tests/plan.
var modelParams = []mp{
	{Param: Param{Key: "minutes", Name: "length of the session", Unit: "min", Low: 60, High: 60, Min: 0.1, Max: 1440, Standing: Yours, Source: "yours to say"}, of: func(m *Model) *float64 { return &m.Minutes }},
	{Param: Param{Key: "talk_level_db", Name: "a guest's ordinary talk, level at 1 m", Unit: "dB SPL", Low: 54, High: 68, Min: 30, Max: 110, Standing: Secondary, Source: "ISO 9921 relaxed and normal, ANSI S3.5-1997 normal"}, of: func(m *Model) *float64 { return &m.TalkLevelDB }},
	{Param: Param{Key: "talker_sd_db", Name: "spread between guests, before a check", Unit: "dB", Low: 3, High: 5.5, Min: 0, Max: 20, Standing: Published, Source: "Hodgson et al., sound power of lecturers (abstract)"}, of: func(m *Model) *float64 { return &m.GuestSDDB }},
	{Param: Param{Key: "session_sd_db", Name: "spread of the session around its check", Unit: "dB", Low: 1, High: 3, Min: 0, Max: 20, Standing: Published, Source: checkSource}, of: func(m *Model) *float64 { return &m.SessionSDDB }},
	{Param: Param{Key: "drift_db", Name: "rise of talk over the session", Unit: "dB", Low: 0, High: 6, Min: -20, Max: 20, Standing: Assumed, Source: "assumed"}, of: func(m *Model) *float64 { return &m.RiseDB }},
	{Param: Param{Key: "laugh_drift_share", Name: "share of that rise on laughs", Low: 0, High: 1, Min: 0, Max: 1, Standing: Assumed, Source: "assumed"}, of: func(m *Model) *float64 { return &m.LaughRiseShare }},
	{Param: Param{Key: "utterance_sd_db", Name: "spread between utterances", Unit: "dB", Low: 1.5, High: 3.5, Min: 0, Max: 20, Standing: Assumed, Source: "assumed; the program's own talkers have 0.9 dB at one effort"}, of: func(m *Model) *float64 { return &m.UtteranceSD }},
	{Param: Param{Key: "utterances_per_minute", Name: "utterances", Unit: "a minute", Low: 4, High: 12, Min: 0, Max: 60, Standing: Assumed, Source: "assumed"}, of: func(m *Model) *float64 { return &m.TalkPerMin }},
	{Param: Param{Key: "laughs_per_hour", Name: "laughs of all kinds", Unit: "an hour", Min: 0, Max: 1000, Standing: Assumed, Source: presetWords + "; Laskowski and Burger (abstract): 13,000 bouts in 65 h of meetings"}, of: func(m *Model) *float64 { return &m.LaughPerHour }, around: factor(0.5, 2)},
	{Param: Param{Key: "unvoiced_laugh.share", Name: "share of unvoiced laughs", Min: 0, Max: 1, Standing: Published, Source: "Laskowski and Burger (abstract): a third of all laughs"}, of: func(m *Model) *float64 { return &m.Unvoiced.Share }, around: factor(0.7, 1.2)},
	{Param: Param{Key: "unvoiced_laugh.level_db", Name: "unvoiced laugh over ordinary talk", Unit: "dB", Low: -7, High: -1, Min: -40, Max: 40, Standing: Assumed, Source: "assumed; " + laughSource}, of: func(m *Model) *float64 { return &m.Unvoiced.LevelDB }},
	{Param: Param{Key: "unvoiced_laugh.sd_db", Name: "spread of unvoiced laughs", Unit: "dB", Low: 3, High: 5, Min: 0, Max: 20, Standing: Assumed, Source: "assumed"}, of: func(m *Model) *float64 { return &m.Unvoiced.SDDB }},
	{Param: Param{Key: "social_laugh.level_db", Name: "social laugh over ordinary talk", Unit: "dB", Low: 0, High: 6, Min: -40, Max: 40, Standing: Assumed, Source: "assumed; " + laughSource}, of: func(m *Model) *float64 { return &m.Social.LevelDB }},
	{Param: Param{Key: "social_laugh.sd_db", Name: "spread of social laughs", Unit: "dB", Low: 3, High: 5, Min: 0, Max: 20, Standing: Assumed, Source: "assumed"}, of: func(m *Model) *float64 { return &m.Social.SDDB }},
	{Param: Param{Key: "open_laugh.share", Name: "share of open laughs", Min: 0, Max: 1, Standing: Assumed, Source: presetWords + ", assumed"}, of: func(m *Model) *float64 { return &m.Open.Share }, around: factor(0.5, 1.6)},
	{Param: Param{Key: "open_laugh.level_db", Name: "open laugh over ordinary talk", Unit: "dB", Min: -40, Max: 40, Standing: Assumed, Source: presetWords + ", assumed; posed laughs of eight talkers in an open corpus lie 16 dB over their reading (second-hand)"}, of: func(m *Model) *float64 { return &m.Open.LevelDB }, around: within(4, 4)},
	{Param: Param{Key: "open_laugh.guest_sd_db", Name: "spread of open laughs between guests", Unit: "dB", Low: 2.5, High: 4.5, Min: 0, Max: 20, Standing: Assumed, Source: "assumed; Vettin and Todt 2004 (abstract): less than within one"}, of: func(m *Model) *float64 { return &m.OpenGuestSD }},
	{Param: Param{Key: "open_laugh.sd_db", Name: "spread of one guest's open laughs", Unit: "dB", Low: 3, High: 5, Min: 0, Max: 20, Standing: Assumed, Source: "assumed; Vettin and Todt 2004 (abstract): more than between guests"}, of: func(m *Model) *float64 { return &m.Open.SDDB }},
	{Param: Param{Key: "laugh_away_db", Name: "a laugh goes away from the microphone by", Unit: "dB", Low: 0, High: 4, Min: -20, Max: 20, Standing: Assumed, Source: "assumed"}, of: func(m *Model) *float64 { return &m.LaughAwayDB }},
	{Param: Param{Key: "outbursts_per_hour", Name: "outbursts", Unit: "an hour", Min: 0, Max: 1000, Standing: Assumed, Source: presetWords + ", assumed"}, of: func(m *Model) *float64 { return &m.BurstPerHour }, around: factor(0.3, 3)},
	{Param: Param{Key: "outburst_db", Name: "outburst over ordinary talk", Unit: "dB", Low: 9, High: 16, Min: -20, Max: 50, Standing: Secondary, Source: "ANSI S3.5-1997: loud lies 12.5 dB over normal"}, of: func(m *Model) *float64 { return &m.BurstDB }},
	{Param: Param{Key: "outburst_sd_db", Name: "spread of outbursts", Unit: "dB", Min: 0, Max: 20, Standing: Assumed, Source: presetWords + ", assumed"}, of: func(m *Model) *float64 { return &m.BurstSDDB }, around: factor(0.7, 1.4)},
	{Param: Param{Key: "coughs_per_hour", Name: "coughs", Unit: "an hour", Low: 0, High: 6, Min: 0, Max: 1000, Standing: Assumed, Source: "assumed"}, of: func(m *Model) *float64 { return &m.CoughPerHour }},
	{Param: Param{Key: "cough_db", Name: "cough, turned away, over ordinary talk", Unit: "dB", Low: 2, High: 12, Min: -20, Max: 40, Standing: Assumed, Source: "assumed; eight talkers in an open corpus cough 12.8 dB over their reading (second-hand), not turned away"}, of: func(m *Model) *float64 { return &m.CoughDB }},
	{Param: Param{Key: "cough_sd_db", Name: "spread of coughs", Unit: "dB", Low: 3, High: 5, Min: 0, Max: 20, Standing: Assumed, Source: "assumed"}, of: func(m *Model) *float64 { return &m.CoughSDDB }},
	{Param: Param{Key: "loudest_db", Name: "the loudest a voice gets, at 1 m", Unit: "dB SPL", Low: 90, High: 100, Min: 60, Max: 140, Standing: Assumed, Source: "assumed; a few trained actors and singers pass 90 dBA, the most in the literature (abstract)"}, of: func(m *Model) *float64 { return &m.LoudestDB }},
	{Param: Param{Key: "move_sd_cm", Name: "moving about", Unit: "cm", Low: 1, High: 4, Min: 0, Max: 50, Standing: Assumed, Source: "assumed; the decibels follow from the distance"}, of: func(m *Model) *float64 { return &m.MoveSDCM }},
	{Param: Param{Key: "lean_in_share", Name: "share of the time leaning in", Low: 0, High: 0.1, Min: 0, Max: 1, Standing: Assumed, Source: "assumed; 10 to 60 s at a time"}, of: func(m *Model) *float64 { return &m.LeanShare }},
	{Param: Param{Key: "lean_in_cm", Name: "nearer when leaning in", Unit: "cm", Low: 3, High: 8, Min: 0, Max: 100, Standing: Assumed, Source: "assumed"}, of: func(m *Model) *float64 { return &m.LeanCM }},
	{Param: Param{Key: "talk_crest.mean_db", Name: "crest of an utterance", Unit: "dB", Low: 13, High: 16, Min: 0, Max: 40, Standing: Computed, Source: crestSource}, of: func(m *Model) *float64 { return &m.TalkCrest.MeanDB }},
	{Param: Param{Key: "talk_crest.sd_db", Name: "spread of an utterance's crest", Unit: "dB", Low: 0.8, High: 2, Min: 0, Max: 10, Standing: Computed, Source: crestSource}, of: func(m *Model) *float64 { return &m.TalkCrest.SDDB }},
	{Param: Param{Key: "laugh_crest.mean_db", Name: "crest of a laugh", Unit: "dB", Low: 14, High: 17, Min: 0, Max: 40, Standing: Computed, Source: crestSource}, of: func(m *Model) *float64 { return &m.LaughCrest.MeanDB }},
	{Param: Param{Key: "laugh_crest.sd_db", Name: "spread of a laugh's crest", Unit: "dB", Low: 0.8, High: 2.5, Min: 0, Max: 10, Standing: Computed, Source: crestSource}, of: func(m *Model) *float64 { return &m.LaughCrest.SDDB }},
	{Param: Param{Key: "outburst_crest.mean_db", Name: "crest of an outburst", Unit: "dB", Low: 13, High: 16, Min: 0, Max: 40, Standing: Computed, Source: crestSource}, of: func(m *Model) *float64 { return &m.BurstCrest.MeanDB }},
	{Param: Param{Key: "outburst_crest.sd_db", Name: "spread of an outburst's crest", Unit: "dB", Low: 0, High: 2.5, Min: 0, Max: 10, Standing: Computed, Source: crestSource}, of: func(m *Model) *float64 { return &m.BurstCrest.SDDB }},
	{Param: Param{Key: "cough_crest.mean_db", Name: "crest of a cough", Unit: "dB", Low: 14, High: 18, Min: 0, Max: 40, Standing: Computed, Source: crestSource}, of: func(m *Model) *float64 { return &m.CoughCrest.MeanDB }},
	{Param: Param{Key: "cough_crest.sd_db", Name: "spread of a cough's crest", Unit: "dB", Low: 0.8, High: 2.5, Min: 0, Max: 10, Standing: Computed, Source: crestSource}, of: func(m *Model) *float64 { return &m.CoughCrest.SDDB }},
	{Param: Param{Key: "talk_meter_db", Name: "peak of a typical second over talk's level", Unit: "dB", Low: 12.4, High: 12.4, Min: 0, Max: 40, Standing: Computed, Source: crestSource}, of: func(m *Model) *float64 { return &m.TalkMeterDB }},
	{Param: Param{Key: "knocks_per_hour", Name: "knocks, pops and clicks (told beside the risk)", Unit: "an hour", Low: 20, High: 20, Min: 0, Max: 1000, Standing: Assumed, Source: "assumed: at most 10 cm, no screen; hints in twelve half minutes of meetings"}, of: func(m *Model) *float64 { return &m.KnockPerHour }},
	{Param: Param{Key: "knock_db", Name: "knock over a typical second of talk, peak", Unit: "dB", Low: 12, High: 12, Min: -40, Max: 60, Standing: Assumed, Source: "assumed"}, of: func(m *Model) *float64 { return &m.KnockDB }},
	{Param: Param{Key: "knock_sd_db", Name: "spread of knocks", Unit: "dB", Low: 6, High: 6, Min: 0, Max: 20, Standing: Assumed, Source: "assumed"}, of: func(m *Model) *float64 { return &m.KnockSDDB }},
	{Param: Param{Key: "heard_sd_db", Name: "spread of utterances as evidence", Unit: "dB", Low: 2.9, High: 2.9, Min: 0, Max: 20, Standing: Assumed, Source: "assumed; utterances and moving about together"}, of: func(m *Model) *float64 { return &m.HeardSDDB }},
	{Param: Param{Key: "asked_laugh_sd_db", Name: "spread of a laugh on request as evidence", Unit: "dB", Low: 5.7, High: 5.7, Min: 0, Max: 40, Standing: Assumed, Source: "assumed"}, of: func(m *Model) *float64 { return &m.AskedLaughSD }},
	{Param: Param{Key: "laugh_rate_shape", Name: "certainty of the laughs an hour", Unit: "laughs", Low: 2, High: 2, Min: 0, Max: 1000, Standing: Assumed, Source: "assumed; counts once minutes are listened to"}, of: func(m *Model) *float64 { return &m.RateShape }},
}

func list[T any](table []param[T], v *T) []Param {
	out := make([]Param, len(table))
	for i, p := range table {
		p.Value = *p.of(v)
		if p.around != nil {
			p.Low, p.High = p.around(p.Value)
			p.Low, p.High = max(p.Low, p.Min), min(p.High, p.Max)
		}
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
	if s := m.SocialShare(); s < -1e-9 {
		errs = append(errs, fmt.Errorf("open_laugh.share: with that of unvoiced laughs it makes more than all (%.2f)", 1-s))
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
