package series

import (
	"fmt"
	"math"
	"strings"
	"time"

	"gainwright/sim/identify"
	"gainwright/sim/say"
	"gainwright/sounds"
	"gainwright/sounds/equipment"
)

// A Row is a figure, its value in words, and what it rests on or what is missing.
type Row struct{ Name, Value, From string }

func counted(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// HasNoise tells whether anything is known of noise.
func (f *Found) HasNoise() bool {
	return !math.IsNaN(f.Noises.In.High) || !math.IsNaN(f.Noises.Out.High)
}

// Nothing tells whether nothing at all is known.
func (f *Found) Nothing() bool { return len(f.Sources) == 0 }

// Assumed is what was not measured.
func (f *Found) Assumed() []string {
	out := []string{"microphone, gain and converter are not told apart: what is stated is of all three together"}
	if len(f.Gains.Marks) > 1 {
		out = append(out, "between marks the gain follows a smooth rising curve")
	}
	if !f.FullAt.Known() {
		return append(out, "no level in dB SPL is known: how loud a sound reaches full scale is open")
	}
	switch f.Anchor.Kind {
	case "talk":
		out = append(out, fmt.Sprintf("ordinary talk is %.0f dB SPL at 1 m; people differ by %.0f dB either way", talkDBSPL, talkWithin))
	case "meter":
		out = append(out, fmt.Sprintf("the sound level meter is right within %.0f dB", meterWithin))
	default:
		out = append(out, fmt.Sprintf("the calibrator fits the microphone, and is right within %.0f dB", calibratorWithin))
	}
	return out
}

// Equipment is the equipment file, learnt on a day.
func (f *Found) Equipment(day time.Time) *equipment.Recorder {
	of := func(e identify.Estimate) *equipment.Interval { return equipment.Of(e.Value, e.Low, e.High) }
	r := &equipment.Recorder{Learnt: day.Format(time.DateOnly), WordLength: f.Bits, Assumed: f.Assumed()}
	for _, m := range f.Gains.Marks {
		r.Marks = append(r.Marks, equipment.Mark{Mark: m.Mark, Gain: of(m.Gain), FullScale: of(f.FullScale(m))})
	}
	if f.FullAt.Known() {
		r.Anchor = &equipment.Anchor{Kind: f.Anchor.Kind, Level: f.Anchor.Level, Mark: f.AnchorAt}
	}
	if f.HasNoise() {
		r.Noise = &equipment.Noise{Input: of(f.Noises.In), Output: of(f.Noises.Out)}
	}
	if f.Clip != nil {
		r.Clip = &equipment.Clip{Level: of(f.Clip.Level), Shape: string(f.Clip.Shape), OneSided: f.Clip.OneSided}
	}
	if q := f.Limiter; q != nil {
		r.Limiter = &equipment.Limiter{Place: string(q.Place), Odds: math.Round(q.Odds), Stretches: q.Stretches,
			Threshold: of(q.Threshold), Ratio: of(q.Ratio), Attack: of(q.AttackMS), Release: of(q.ReleaseMS), Smooths: string(q.Smooths)}
		if q.BehindUnseen {
			r.Limiter.Behind = equipment.NotSeen
		}
	}
	for _, s := range f.Sources {
		r.Measured = append(r.Measured, equipment.Measured{What: s.What(), File: s.File, SHA256: s.SHA256, Seconds: math.Round(1000*s.Seconds) / 1000})
	}
	return r
}

// LimiterAlone is an equipment file with nothing but the limiter and what it was measured
// from: all else is as of a typical recorder. nil if its place is not on one side of the
// converter, for which Why says why.
func (f *Found) LimiterAlone(day time.Time) *equipment.Recorder {
	all := f.Equipment(day)
	if !all.PlaceKnown() {
		return nil
	}
	return &equipment.Recorder{Limiter: all.Limiter, Measured: all.Measured,
		Assumed: []string{"all but the limiter is as of a typical recorder: only a pair was recorded"}}
}

// Between shows an estimate with its interval.
func Between(e identify.Estimate, format, unit string) string {
	return fmt.Sprintf("%s %s (%s to %s)", say.Number(format, e.Value), unit, say.Number(format, e.Low), say.Number(format, e.High))
}

// Within shows an estimate, a bound, or that nothing is known.
func Within(e identify.Estimate, unit string) string {
	switch {
	case e.Known():
		return Between(e, "%.1f", unit)
	case !math.IsNaN(e.High):
		return fmt.Sprintf("at most %s %s", say.Number("%.1f", e.High), unit)
	}
	return "not known"
}

// Rows are the figures beside the marks and the limiter.
func (f *Found) Rows() []Row {
	out := append(f.NoiseRows(), f.ClipRow(), f.WordsRow())
	if d := 100 * math.Abs(f.DC); d >= 0.1 {
		out = append(out, Row{"offset", say.Number("%.2f", 100*f.DC) + " %", "the file that has most"})
	}
	return out
}

// NoiseRows tell of noise.
func (f *Found) NoiseRows() []Row {
	if !f.HasNoise() {
		return []Row{{"noise", "not known", "record quiet at the lowest, a middle and the highest mark"}}
	}
	from := "quiet at several marks"
	return []Row{{"noise before the gain, lowest mark", Within(f.Noises.In, "dBFS"), from}, {"noise after the gain", Within(f.Noises.Out, "dBFS"), from}}
}

// ClipRow tells where it clips.
func (f *Found) ClipRow() Row {
	if f.Clip == nil {
		return Row{"clips at", "not known", "record something that clips"}
	}
	shape := string(f.Clip.Shape)
	if f.Clip.OneSided {
		shape += ", on one side only"
	}
	level := Within(f.Clip.Level, "dBFS")
	if l := f.Clip.Level; l.Known() && l.High-l.Low < 0.1 {
		level = Between(l, "%.2f", "dBFS")
	}
	return Row{"clips at", level + ", " + shape, sounds.Shown(f.ClipFrom)}
}

// WordsRow tells how long words are.
func (f *Found) WordsRow() Row {
	switch {
	case f.Bits == 0:
		return Row{"word length", "not known", "files of whole numbers tell it"}
	case f.Bits < f.Stated:
		return Row{"word length", fmt.Sprintf("%d bit", f.Bits), fmt.Sprintf("the files have %d, the lowest are never used", f.Stated)}
	}
	return Row{"word length", fmt.Sprintf("%d bit", f.Bits), "all files"}
}

// placeTitle says where a limiter acts.
var placeTitle = map[identify.Place]string{
	identify.None:      "No limiter acts",
	identify.Before:    "A limiter acts before the converter",
	identify.After:     "The limiter acts after the converter",
	identify.Both:      "A limiter acts on both sides of the converter",
	identify.Automatic: "An automatic level control, not a limiter",
	identify.Undecided: "Where a limiter acts cannot be told",
}

// smooths says what a limiter's times are the time constants of.
var smooths = map[identify.Smoothed]string{
	identify.SmoothsGain:      "its gain, smoothed in dB",
	identify.SmoothsFedBack:   "its gain, smoothed in dB, by what it gives out",
	identify.SmoothsHeld:      "its gain, smoothed in dB, peaks held",
	identify.SmoothsAmplitude: "the level that it looks at, smoothed",
	identify.SmoothsPower:     "the power that it looks at, smoothed",
}

// Limited are the words for what a pair told of a limiter.
type Limited struct {
	Title, Why string
	Law        []Row // threshold, ratio, times; empty if nothing acts
	Pair       []Row // what lies between the two recordings
	Advice     string
}

// TellLimiter puts a limiter into words.
func TellLimiter(l *identify.Limiter) (t Limited) {
	t.Title = placeTitle[l.Place]
	if l.Odds > 0 {
		t.Title += fmt.Sprintf(" (odds %s to 1)", odds(l.Odds))
	}
	if l.BehindUnseen {
		t.Title += "; whether another acts behind it was not seen"
	}
	t.Title += "."
	t.Why = strings.ToUpper(l.Why[:min(1, len(l.Why))]) + l.Why[min(1, len(l.Why)):] + "."
	if l.Threshold.Known() {
		t.Law = []Row{{Name: "threshold", Value: Between(l.Threshold, "%.1f", "dBFS")}, {Name: "ratio", Value: ratio(l.Ratio)},
			{Name: "attack", Value: attack(l.AttackMS)}, {Name: "release", Value: Between(l.ReleaseMS, "%.0f", "ms")},
			{Name: "these are of", Value: smooths[l.Smooths]},
			{Name: "deepest reduction", Value: say.Number("%.1f", l.ReductionDB) + " dB"}}
	}
	row := func(name, value string) { t.Pair = append(t.Pair, Row{Name: name, Value: value}) }
	if l.Ceiling.Found() {
		row("clips at", say.Number("%.2f", 20*math.Log10(l.Ceiling.Level))+" dBFS")
	}
	a := l.Alignment
	row("second file later by", say.Number("%.2f", 1000*a.Delay/float64(l.Rate))+" ms")
	if !a.SameTime {
		row("its clock differs by", say.Number("%.0f", 1e6*a.Drift)+" ppm")
	}
	if a.Inverted {
		row("its polarity", "is inverted")
	}
	gain := say.Number("%.1f", l.GainDB) + " dB"
	if l.GainDB >= 0.05 {
		gain = "+" + gain
	}
	row("its gain", gain)
	if l.Place == identify.After || l.Place == identify.Undecided {
		t.Advice = "Until you know better, set the gain as if there were no limiter: one that sits after the converter only turns the flattened wave down."
	}
	return t
}

// attack says how quick a limiter is, or that it does not show.
func attack(e identify.Estimate) string {
	if !e.Known() {
		return "not told: it acts at once, or looks ahead"
	}
	return Between(e, "%.2g", "ms")
}

func odds(v float64) string {
	if v >= 1e5 {
		return "over 100 000"
	}
	return fmt.Sprintf("%.0f", v)
}

func ratio(e identify.Estimate) string {
	one := func(v float64) string {
		if v >= 20 {
			return "20:1 or more"
		}
		return say.Number("%.1f", v) + ":1"
	}
	if one(e.Low) == one(e.High) {
		return one(e.Value)
	}
	return fmt.Sprintf("%s (%s to %s)", one(e.Value), one(e.Low), one(e.High))
}
