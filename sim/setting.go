package sim

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"gainwright/sim/say"
)

// Kind is what the value of a setting is.
type Kind uint8

// The kinds of setting.
const (
	Number Kind = iota // from Min to Max
	Flag               // on or off
	Choice             // one of Words
)

// A Word is one that a Choice can have.
type Word struct {
	Word  string // as a scenario has it: "pcm16"
	Label string // as a control shows it: "16 bit"
	Hint  string // a sentence about it
}

// A Setting describes one value of a Chain. The table of them is the only place
// that does: validation, scenario files, --set, rules of lessons, the scene's
// controls and the lists for people are made from it.
type Setting struct {
	Key     string // path in a scenario, below the strip: "preamp.gain_db"
	Name    string // for people: "preamp gain"
	Unit    string // of a number; ":1" for a ratio, "" for what is none
	Kind    Kind
	Station Station // whose setting it is
	// Min and Max are the range of a number, and of what Get gives for the others;
	// Step is the least change that a control offers.
	Min, Max, Step float64
	Whole          bool   // a number without fractions
	Words          []Word // of a Choice

	// How a control shows it. Key is the control's ID below the strip unless said
	// otherwise.
	Label  string  // short, below the station's name: "gain"
	Hint   string  // a sentence about a Flag
	Lo, Hi float64 // the usual range, which a slider spans
	Digits int     // after the decimal point
	Log    bool    // equal ratios are equal ways
	// ID is the control's, where it is not the key; of a Choice with several
	// controls what stands before ".word".
	ID string
	// Switch is the word that means "on", for a Choice of two that is shown as a switch.
	Switch string
	// ByPlace marks the two switches that LimiterPlace stands for; they have no
	// controls of their own.
	ByPlace bool

	access
}

// access reads and writes the value as a number: a flag as 0 or 1, a choice as its
// place among the words, −1 if it is none of them.
type access struct {
	kind  Kind
	whole bool
	words []string
	get   func(*Chain) float64
	set   func(*Chain, float64)
	word  func(*Chain) string // of a choice, also one that is none of its words
}

// Get gives the value as a number: a flag is 0 or 1, a choice its place among
// Words, −1 for a word that is none of them.
func (s *Setting) Get(c *Chain) float64 { return s.get(c) }

// Set writes what Get reads. It does not check the range; Validate does.
func (s *Setting) Set(c *Chain, v float64) { s.set(c, v) }

// Value gives the value as it is: float64, bool or string.
func (s *Setting) Value(c *Chain) any {
	switch s.Kind {
	case Flag:
		return s.get(c) != 0
	case Choice:
		return s.word(c)
	}
	return s.get(c)
}

// WordList lists the words of a Choice.
func (s *Setting) WordList() []string { return slices.Clone(s.words) }

// WordIndex is the place of a word, −1 if it is none of them.
func (s *Setting) WordIndex(w string) int { return slices.Index(s.words, w) }

// Range tells what the value can be, for people: "−20 to 80 dB", "true or false",
// "hard or round".
func (s *Setting) Range() string {
	num := func(v float64) string { return say.Number("%v", v) }
	switch {
	case s.Kind == Flag:
		return "true or false"
	case s.Kind == Choice && len(s.words) > 2:
		return strings.Join(s.words[:len(s.words)-1], ", ") + " or " + s.words[len(s.words)-1]
	case s.Kind == Choice:
		return strings.Join(s.words, " or ")
	case math.IsInf(s.Max, 1):
		return num(s.Min) + " or more, or inf"
	case s.Whole:
		return num(s.Min) + " to " + num(s.Max) + " " + s.Unit + ", whole"
	}
	return num(s.Min) + " to " + num(s.Max) + " " + s.Unit
}

// check returns a *SettingError if the value of c cannot be.
func (s *Setting) check(c *Chain) error {
	v := s.get(c)
	switch {
	case v >= s.Min && v <= s.Max: // not NaN
		return nil
	case s.Kind == Choice:
		return &SettingError{s.Key, fmt.Sprintf("%q is not one of %s", s.word(c), strings.Join(s.words, ", "))}
	}
	return &SettingError{s.Key, fmt.Sprintf("%v %s is out of range (%v to %v)", v, s.Unit, s.Min, s.Max)}
}

func number(p func(*Chain) *float64) access {
	return access{get: func(c *Chain) float64 { return *p(c) }, set: func(c *Chain, v float64) { *p(c) = v }}
}

func whole(p func(*Chain) *int) access {
	return access{whole: true, get: func(c *Chain) float64 { return float64(*p(c)) }, set: func(c *Chain, v float64) { *p(c) = int(v) }}
}

func ratio(p func(*Chain) *Ratio) access {
	return access{get: func(c *Chain) float64 { return float64(*p(c)) }, set: func(c *Chain, v float64) { *p(c) = Ratio(v) }}
}

func flag(p func(*Chain) *bool) access {
	return access{
		kind: Flag,
		get: func(c *Chain) float64 {
			if *p(c) {
				return 1
			}
			return 0
		},
		set: func(c *Chain, v float64) { *p(c) = v != 0 },
	}
}

func choice[T ~string](p func(*Chain) *T, allowed ...T) access {
	words := make([]string, len(allowed))
	for i, a := range allowed {
		words[i] = string(a)
	}
	return access{
		kind: Choice, words: words,
		get: func(c *Chain) float64 { return float64(slices.Index(allowed, *p(c))) },
		set: func(c *Chain, v float64) {
			if v >= 0 && int(v) < len(allowed) {
				*p(c) = allowed[int(v)]
			}
		},
		word: func(c *Chain) string { return string(*p(c)) },
	}
}

// complete fills in what a row need not say, and refuses a row that cannot be.
func complete(rows []Setting) []Setting {
	seen := map[string]bool{}
	for i := range rows {
		s := &rows[i]
		s.Kind, s.Whole = s.kind, s.whole
		switch s.Kind {
		case Flag:
			s.Min, s.Max, s.Step = 0, 1, 1
		case Choice:
			s.Min, s.Max, s.Step = 0, float64(len(s.words)-1), 1
			for k, w := range s.words {
				if k == len(s.Words) {
					s.Words = append(s.Words, Word{Label: w})
				}
				s.Words[k].Word = w
			}
		}
		s.fillIn()
		if seen[s.Key] || s.Name == "" || s.Min > s.Max || s.Kind == Choice && len(s.Words) != len(s.words) {
			panic("sim: the row of the setting " + s.Key + " cannot be")
		}
		seen[s.Key] = true
	}
	return rows
}

// fillIn gives what a row leaves out: label, ID, the range of a control and its digits.
func (s *Setting) fillIn() {
	if s.Label == "" {
		s.Label = s.Name
	}
	if s.ID == "" {
		s.ID = s.Key
	}
	if s.Lo == 0 && s.Hi == 0 {
		s.Lo, s.Hi = s.Min, s.Max
	}
	if s.Digits == 0 {
		for v := s.Step; v != math.Trunc(v) && s.Digits < 3; v *= 10 {
			s.Digits++
		}
	}
}

var inf = math.Inf(1)

// The settings, in the order of the signal, which is the order of scenario files.
// Ranges are what the engine can do; Lo and Hi what equipment has.
var settings = complete([]Setting{
	{Key: "room.noise_dba", Station: AtMicrophone, Name: "room noise", Unit: "dBA", Min: -100, Max: 90, Step: 1, Lo: 10, Hi: 70,
		access: number(func(c *Chain) *float64 { return &c.Room.NoiseDBA })},
	{Key: "distance_m", Station: AtMicrophone, Name: "distance", Unit: "m", Min: 0.02, Max: 2, Step: 0.01, Log: true,
		access: number(func(c *Chain) *float64 { return &c.DistanceM })},

	{Key: "microphone.sensitivity_mv_per_pa", Station: AtMicOut, Name: "sensitivity", Unit: "mV/Pa", Min: 0.1, Max: 200, Step: 0.1, Lo: 0.5, Hi: 50, Log: true,
		access: number(func(c *Chain) *float64 { return &c.Microphone.SensitivityMVPerPa })},
	{Key: "microphone.source_ohm", Station: AtMicOut, Name: "source resistance", Unit: "Ω", Min: 1, Max: 10000, Step: 10, Lo: 50, Hi: 2000, Log: true,
		access: number(func(c *Chain) *float64 { return &c.Microphone.SourceOhm })},
	{Key: "microphone.self_noise_dba", Station: AtMicOut, Name: "self noise", Unit: "dBA", Min: 0, Max: 60, Step: 1, Lo: 0, Hi: 40,
		access: number(func(c *Chain) *float64 { return &c.Microphone.SelfNoiseDBA })},
	{Key: "microphone.max_spl_db", Station: AtMicOut, Name: "maximum SPL", Unit: "dB SPL", Min: 80, Max: 180, Step: 1, Lo: 100, Hi: 160,
		access: number(func(c *Chain) *float64 { return &c.Microphone.MaxSPLDB })},
	{Key: "microphone.proximity", Station: AtMicOut, Name: "bass rise close up",
		Label: "bass rises close by", Hint: "A cardioid microphone has more bass the closer one is.",
		access: flag(func(c *Chain) *bool { return &c.Microphone.Proximity })},

	{Key: "preamp.gain_db", Station: AtPreamp, Name: "preamp gain", Label: "gain", Unit: "dB", Min: -20, Max: 80, Step: 1, Lo: 0, Hi: 70, Digits: 1,
		access: number(func(c *Chain) *float64 { return &c.Preamp.GainDB })},
	{Key: "preamp.pad_db", Station: AtPreamp, Name: "pad", Unit: "dB", Min: 0, Max: 40, Step: 10,
		access: number(func(c *Chain) *float64 { return &c.Preamp.PadDB })},
	{Key: "preamp.ein_dbu", Station: AtPreamp, Name: "equivalent input noise", Label: "input noise", Unit: "dBu", Min: -200, Max: -80, Step: 1, Lo: -131, Hi: -100,
		access: number(func(c *Chain) *float64 { return &c.Preamp.EINDBu })},
	{Key: "preamp.output_noise_dbu", Station: AtPreamp, Name: "output noise", Unit: "dBu", Min: -200, Max: -40, Step: 1, Lo: -110, Hi: -60,
		access: number(func(c *Chain) *float64 { return &c.Preamp.OutputNoiseDBu })},
	{Key: "preamp.rail_dbu", Station: AtPreamp, Name: "rail", Unit: "dBu", Min: -20, Max: 60, Step: 1, Lo: -10, Hi: 30,
		access: number(func(c *Chain) *float64 { return &c.Preamp.RailDBu })},
	{Key: "preamp.rail_knee", Station: AtPreamp, Name: "how the rail bends", ID: "preamp.rail_round", Switch: string(RoundKnee),
		Words:  []Word{{Label: "the rail is hard"}, {Label: "the rail bends softly", Hint: "A round knee: the last 6 dB below the rail bend."}},
		access: choice(func(c *Chain) *Knee { return &c.Preamp.RailKnee }, HardKnee, RoundKnee)},

	{Key: "input_limiter.on", Station: AtInputLimiter, Name: "input limiter on", ByPlace: true,
		access: flag(func(c *Chain) *bool { return &c.InputLimiter.On })},
	{Key: "input_limiter.threshold_dbfs", Station: AtInputLimiter, Name: "input limiter threshold", Label: "threshold", Unit: "dBFS", Min: -60, Max: 12, Step: 1, Lo: -40, Hi: 6,
		access: number(func(c *Chain) *float64 { return &c.InputLimiter.ThresholdDBFS })},
	{Key: "input_limiter.ratio", Station: AtInputLimiter, Name: "input limiter ratio", Label: "ratio", Unit: ":1", Min: 1, Max: inf, Step: 1, Lo: 1, Hi: 21,
		access: ratio(func(c *Chain) *Ratio { return &c.InputLimiter.Ratio })},
	{Key: "input_limiter.attack_ms", Station: AtInputLimiter, Name: "input limiter attack", Label: "attack", Unit: "ms", Min: 0.01, Max: 500, Step: 0.1, Lo: 0.1, Hi: 100, Log: true,
		access: number(func(c *Chain) *float64 { return &c.InputLimiter.AttackMS })},
	{Key: "input_limiter.release_ms", Station: AtInputLimiter, Name: "input limiter release", Label: "release", Unit: "ms", Min: 1, Max: 5000, Step: 10, Lo: 10, Hi: 2000, Log: true,
		access: number(func(c *Chain) *float64 { return &c.InputLimiter.ReleaseMS })},

	{Key: "converter.full_scale_dbu", Station: AtConverter, Name: "full scale", Unit: "dBu", Min: -40, Max: 40, Step: 1, Lo: -20, Hi: 26,
		access: number(func(c *Chain) *float64 { return &c.Converter.FullScaleDBu })},
	{Key: "converter.bits", Station: AtConverter, Name: "word length", Unit: "bit", Min: 4, Max: 32, Step: 1, Lo: 6, Hi: 24,
		access: whole(func(c *Chain) *int { return &c.Converter.Bits })},
	{Key: "converter.dynamic_range_dba", Station: AtConverter, Name: "dynamic range", Unit: "dBA", Min: 20, Max: 200, Step: 1, Lo: 70, Hi: 130,
		access: number(func(c *Chain) *float64 { return &c.Converter.DynamicRangeDBA })},
	{Key: "converter.dither", Station: AtConverter, Name: "dither", ID: "converter.dithered", Switch: string(TPDF),
		Words:  []Word{{Label: "dither", Hint: "Noise of two codes' width before rounding, so that the rounding has no pattern."}, {Label: "no dither"}},
		access: choice(func(c *Chain) *Dither { return &c.Converter.Dither }, TPDF, NoDither)},
	{Key: "converter.dual_range_db", Station: AtConverter, Name: "second range", Unit: "dB", Min: 0, Max: 48, Step: 6,
		access: number(func(c *Chain) *float64 { return &c.Converter.DualRangeDB })},
	{Key: "converter.mismatch_db", Station: AtConverter, Name: "range mismatch", Label: "gain fault", Unit: "dB", Min: -3, Max: 3, Step: 0.1,
		access: number(func(c *Chain) *float64 { return &c.Converter.MismatchDB })},
	{Key: "converter.mismatch_samples", Station: AtConverter, Name: "range delay", Unit: "samples", Min: 0, Max: 8, Step: 0.1,
		access: number(func(c *Chain) *float64 { return &c.Converter.MismatchSamples })},

	{Key: "limiter.on", Station: AtLimiter, Name: "limiter on", ByPlace: true,
		access: flag(func(c *Chain) *bool { return &c.Limiter.On })},
	{Key: "limiter.threshold_dbfs", Station: AtLimiter, Name: "limiter threshold", Label: "threshold", Unit: "dBFS", Min: -60, Max: 0, Step: 1, Lo: -40, Hi: 0,
		access: number(func(c *Chain) *float64 { return &c.Limiter.ThresholdDBFS })},
	{Key: "limiter.ratio", Station: AtLimiter, Name: "limiter ratio", Label: "ratio", Unit: ":1", Min: 1, Max: inf, Step: 1, Lo: 1, Hi: 21,
		access: ratio(func(c *Chain) *Ratio { return &c.Limiter.Ratio })},
	{Key: "limiter.knee_db", Station: AtLimiter, Name: "limiter knee", Label: "knee", Unit: "dB", Min: 0, Max: 24, Step: 1,
		access: number(func(c *Chain) *float64 { return &c.Limiter.KneeDB })},
	{Key: "limiter.look_ahead_ms", Station: AtLimiter, Name: "look-ahead", Unit: "ms", Min: 0, Max: MaxLookAheadMS, Step: 0.5,
		access: number(func(c *Chain) *float64 { return &c.Limiter.LookAheadMS })},
	{Key: "limiter.true_peak", Station: AtLimiter, Name: "limiter watches between samples",
		Label: "watches between samples", Hint: "A look-ahead limiter then holds true peaks too.",
		access: flag(func(c *Chain) *bool { return &c.Limiter.TruePeak })},
	{Key: "limiter.attack_ms", Station: AtLimiter, Name: "limiter attack", Label: "attack", Unit: "ms", Min: 0, Max: 500, Step: 0.1, Lo: 0.1, Hi: 100, Log: true,
		access: number(func(c *Chain) *float64 { return &c.Limiter.AttackMS })},
	{Key: "limiter.release_ms", Station: AtLimiter, Name: "limiter release", Label: "release", Unit: "ms", Min: 1, Max: 5000, Step: 10, Lo: 10, Hi: 2000, Log: true,
		access: number(func(c *Chain) *float64 { return &c.Limiter.ReleaseMS })},

	{Key: "file.format", Station: AtFile, Name: "file format", ID: "file",
		Words: []Word{
			{Label: "16 bit", Hint: "65 536 codes: its floor is 93 dB below a full-scale sine with dither."},
			{Label: "24 bit", Hint: "A floor below that of any converter."},
			{Label: "32-bit float", Hint: "Holds more than full scale, if the converter gave it."},
		},
		access: choice(func(c *Chain) *Format { return &c.File.Format }, PCM16, PCM24, Float32)},
	{Key: "file.dither", Station: AtFile, Name: "file dither", ID: "file.dithered", Switch: string(TPDF),
		Words: []Word{
			{Label: "dither where words get shorter", Hint: "Used only where the file's words are shorter than the converter's, or were worked on."},
			{Label: "no dither where words get shorter"},
		},
		access: choice(func(c *Chain) *Dither { return &c.File.Dither }, TPDF, NoDither)},
})

// Settings lists every setting of a chain. The list and its rows are shared: read
// only.
func Settings() []*Setting { return settingList }

var settingList, settingByKey = func() ([]*Setting, map[string]*Setting) {
	list, by := make([]*Setting, len(settings)), map[string]*Setting{}
	for i := range settings {
		list[i] = &settings[i]
		by[settings[i].Key] = &settings[i]
	}
	return list, by
}()

// SettingByKey finds a setting by its path below the strip.
func SettingByKey(key string) (*Setting, bool) {
	s, ok := settingByKey[key]
	return s, ok
}
