package repaircmd

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/sim"
	"gainwright/sim/repair"
)

// A methodParam is one thing that can be set of a treatment. Its range is that of
// the treatment's Validate; a test holds the two together.
type methodParam struct {
	Key  string    `json:"key"`
	Unit string    `json:"unit,omitempty"`
	Help string    `json:"help"`
	Lo   sim.Level `json:"least"`
	Hi   sim.Level `json:"most"` // +Inf where there is none
	Def  string    `json:"default"`

	words []string                                   // what it may be, if it is not a number
	set   func(m *method, v float64, w string) error // puts it into the treatment
}

// A methodKind is a treatment as it can be asked for.
type methodKind struct {
	Name   string        `json:"name"`
	Help   string        `json:"help"`
	Long   string        `json:"long_files"` // how it copes with them
	Params []methodParam `json:"parameters"`

	start func() method
}

// A method is a treatment with its settings.
type method struct {
	kind  string
	given map[string]bool
	t     repair.Treatment
}

func num(key, unit, help string, lo, hi, def float64, set func(m *method, v float64)) methodParam {
	return methodParam{Key: key, Unit: unit, Help: help, Lo: sim.Level(lo), Hi: sim.Level(hi), Def: strconv.FormatFloat(def, 'g', -1, 64),
		set: func(m *method, v float64, _ string) error { set(m, v); return nil }}
}

// change edits the treatment of type T in m.
func change[T repair.Treatment](edit func(t *T, v float64)) func(m *method, v float64) {
	return func(m *method, v float64) {
		t := m.t.(T)
		edit(&t, v)
		m.t = t
	}
}

func begins(kind string, t repair.Treatment) func() method {
	return func() method { return method{kind: kind, given: map[string]bool{}, t: t} }
}

const streamed = "streamed: any length"

// methodKinds are the treatments, in the order of a usual repair.
var methodKinds = func() []methodKind {
	lim, comp, hp, dn, del, sp := repair.DefaultLimit(), repair.DefaultCompress(), repair.DefaultHighPass(), repair.DefaultDenoise(), repair.DefaultDeliver(), repair.DefaultSplice(nil)
	return []methodKind{
		{"declip", "Fills clipped tops with a guess that fits what is left of the wave. Samples that were not clipped stay as they are, to the last bit, unless a limiter is undone; where estimates do not agree, or peaks come out higher than is likely, less is added.",
			"in stretches of up to a minute, cut where nothing is clipped: any length", []methodParam{
				{Key: "effort", Help: "time against quality; --quality says the same", Def: "best", words: []string{"fast", "balanced", "best"},
					set: func(m *method, _ float64, w string) error {
						e, err := repair.ParseEffort(w)
						d := m.t.(repair.Declip)
						d.Effort = e
						m.t = d
						return err
					}},
				{Key: "ceiling_dbfs", Unit: "dBFS", Help: "takes every sample at this level or beyond as clipped, instead of searching", Lo: -120, Hi: 60, Def: "found",
					set: func(m *method, v float64, _ string) error {
						d := m.t.(repair.Declip)
						d.KnownCeiling, d.CeilingDBFS = true, v
						m.t = d
						return nil
					}},
				{Key: "gain_reduction", Help: "what becomes of a limiter's after the clipping, where the tops tell it: keep turns it back for the guess and puts it on again, undo leaves it out, ignore does not look for it", Def: "keep", words: repair.Reductions,
					set: func(m *method, _ float64, w string) error {
						r, err := repair.ParseReduction(w)
						d := m.t.(repair.Declip)
						d.Reduction = r
						m.t = d
						return err
					}},
			}, begins("declip", repair.Declip{})},
		{"splice", "Puts clipped passages in from a safety track, a second recording of the same sound with less gain (--splice FILE): finds gain and delay, and cross-fades.",
			"in stretches of up to a minute, each matched by itself, so that two clocks may drift apart: any length", []methodParam{
				num("max_delay_ms", "ms", "how far the tracks may be apart, either way", 0, 500, sp.MaxDelayMS, change(func(t *repair.Splice, v float64) { t.MaxDelayMS = v })),
				num("fade_ms", "ms", "cross-fade at each end of a passage", 0, 50, sp.FadeMS, change(func(t *repair.Splice, v float64) { t.FadeMS = v })),
			}, begins("splice", sp)},
		{"high-pass", "Takes away what lies below a voice: rumble, handling, wind.", streamed, []methodParam{
			num("frequency_hz", "Hz", "where it is 3 dB down", 10, 1000, hp.FrequencyHz, change(func(t *repair.HighPass, v float64) { t.FrequencyHz = v })),
			num("slope_db", "dB an octave", "12 or 24", 12, 24, float64(hp.SlopeDB), change(func(t *repair.HighPass, v float64) {
				if t.SlopeDB = int(v); float64(t.SlopeDB) != v {
					t.SlopeDB = 0 // neither 12 nor 24
				}
			})),
		}, begins("high-pass", hp)},
		{"noise-reduction", "Takes steady noise down, learnt from the quietest tenth of the take, each channel for itself.",
			"read three times, in a stream: any length", []methodParam{
				num("reduction_db", "dB", "the most by which anything is turned down", 0, 40, dn.ReductionDB, change(func(t *repair.Denoise, v float64) { t.ReductionDB = v })),
			}, begins("noise-reduction", dn)},
		{"compressor", "Narrows the range of levels above a threshold. Flat tops stay flat.", streamed, []methodParam{
			num("threshold_dbfs", "dBFS", "where it begins", -80, 0, comp.ThresholdDBFS, change(func(t *repair.Compress, v float64) { t.ThresholdDBFS = v })),
			num("ratio", ":1", "dB in for one dB out; inf for a limiter", 1, math.Inf(1), float64(comp.Ratio), change(func(t *repair.Compress, v float64) { t.Ratio = sim.Ratio(v) })),
			num("knee_db", "dB", "width of the bend", 0, 24, comp.KneeDB, change(func(t *repair.Compress, v float64) { t.KneeDB = v })),
			num("attack_ms", "ms", "time constant of turning down", 0, 500, comp.AttackMS, change(func(t *repair.Compress, v float64) { t.AttackMS = v })),
			num("release_ms", "ms", "time constant of coming back", 1, 5000, comp.ReleaseMS, change(func(t *repair.Compress, v float64) { t.ReleaseMS = v })),
			num("make_up_db", "dB", "gain afterwards", -24, 48, comp.MakeUpDB, change(func(t *repair.Compress, v float64) { t.MakeUpDB = v })),
		}, begins("compressor", comp)},
		{"limiter", "Holds peaks at a ceiling. It turns a flattened wave down, and no more.", streamed, []methodParam{
			num("ceiling_dbfs", "dBFS", "what no sample passes, with look-ahead", -60, 0, lim.CeilingDBFS, change(func(t *repair.Limit, v float64) { t.CeilingDBFS = v })),
			num("look_ahead_ms", "ms", "how early it turns down; 0 to use the attack", 0, 20, lim.LookAheadMS, change(func(t *repair.Limit, v float64) { t.LookAheadMS = v })),
			num("attack_ms", "ms", "time constant of turning down, without look-ahead", 0, 500, lim.AttackMS, change(func(t *repair.Limit, v float64) { t.AttackMS = v })),
			num("release_ms", "ms", "time constant of coming back", 1, 5000, lim.ReleaseMS, change(func(t *repair.Limit, v float64) { t.ReleaseMS = v })),
		}, begins("limiter", lim)},
		{"gain", "Turns the take up or down. Nothing is clipped by it.", streamed, []methodParam{
			num("gain_db", "dB", "by how much", -120, 120, 0, change(func(t *repair.Gain, v float64) { t.GainDB = v })),
		}, begins("gain", repair.Gain{})},
		{"turn-down", "Turns the take down so that its highest peak fits under a ceiling, and leaves one alone that fits already.", "read twice, in a stream: any length", []methodParam{
			num("ceiling_dbfs", "dBFS", "what no sample passes", -60, 0, 0, change(func(t *repair.TurnDown, v float64) { t.CeilingDBFS = v })),
		}, begins("turn-down", repair.TurnDown{})},
		{"delivery", "Brings the take to a loudness under a true-peak ceiling (ITU-R BS.1770).", "read a few times, in a stream: any length", []methodParam{
			{Key: "loudness_lufs", Unit: "LUFS", Help: "of the whole", Lo: -50, Hi: -5, Def: "-19, in stereo -16",
				set: func(m *method, v float64, _ string) error {
					d := m.t.(repair.Deliver)
					d.LoudnessLUFS = v
					m.t = d
					return nil
				}},
			num("ceiling_dbtp", "dBTP", "what no true peak passes", -20, 0, del.CeilingDBTP, change(func(t *repair.Deliver, v float64) { t.CeilingDBTP = v })),
			num("limit_db", "dB", "by how much peaks may be limited to get there", 0, 20, del.LimitDB, change(func(t *repair.Deliver, v float64) { t.LimitDB = v })),
		}, begins("delivery", del)},
	}
}()

func methodNames() []string {
	var out []string
	for _, k := range methodKinds {
		out = append(out, k.Name)
	}
	return out
}

// parseMethod reads "name" or "name:key=value,key=value".
func parseMethod(text string) (*method, error) {
	name, rest, more := strings.Cut(text, ":")
	name = strings.TrimSpace(name)
	i := slices.IndexFunc(methodKinds, func(k methodKind) bool { return k.Name == name })
	if i < 0 {
		return nil, cli.Usagef("--method: there is no treatment %q%s", name, meant(name, methodNames(), "there are "))
	}
	k := &methodKinds[i]
	m := k.start()
	if !more {
		return &m, nil
	}
	var keys []string
	for _, p := range k.Params {
		keys = append(keys, p.Key)
	}
	for _, part := range strings.Split(rest, ",") {
		key, value, ok := strings.Cut(part, "=")
		key, value = strings.TrimSpace(key), strings.TrimSpace(value)
		if !ok || key == "" || value == "" {
			return nil, cli.Usagef("--method %s: %q is not key=value", name, part)
		}
		at := slices.Index(keys, key)
		if at < 0 {
			return nil, cli.Usagef("--method %s: there is no parameter %q%s", name, key, meant(key, keys, "there are "))
		}
		if m.given[key] {
			return nil, cli.Usagef("--method %s: %s is given twice", name, key)
		}
		m.given[key] = true
		p := &k.Params[at]
		v := 0.0
		if p.words != nil {
			if !slices.Contains(p.words, value) {
				return nil, cli.Usagef("--method %s: %s: there is no %q%s", name, key, value, meant(value, p.words, "there are "))
			}
		} else {
			var err error
			if v, err = strconv.ParseFloat(strings.ReplaceAll(value, "−", "-"), 64); err != nil || math.IsNaN(v) {
				return nil, cli.Usagef("--method %s: %s: %q is not a number", name, key, value)
			}
			if v < float64(p.Lo) || v > float64(p.Hi) {
				return nil, cli.Usagef("--method %s: %s: %s is out of range: %s", name, key, strings.TrimSpace(value+" "+p.Unit), p.span())
			}
		}
		if err := p.set(&m, v, value); err != nil {
			return nil, cli.Usagef("--method %s: %s: %v", name, key, err)
		}
	}
	if err := m.t.Validate(); err != nil {
		return nil, cli.Usagef("--method %v", err)
	}
	return &m, nil
}

func (p *methodParam) span() string {
	switch {
	case p.words != nil:
		return strings.Join(p.words, ", ")
	case math.IsInf(float64(p.Hi), 1):
		return fmt.Sprintf("%g to inf", float64(p.Lo))
	}
	return strings.TrimSpace(fmt.Sprintf("%g to %g %s", float64(p.Lo), float64(p.Hi), p.Unit))
}

// listMethods explains the treatments.
func listMethods(w io.Writer) {
	fmt.Fprintln(w, "Treatments, for --method NAME or --method NAME:KEY=VALUE,KEY=VALUE:")
	for _, k := range methodKinds {
		fmt.Fprintf(w, "\n%s\n", k.Name)
		for _, line := range strings.Split(cli.Wrap(k.Help, 76), "\n") {
			fmt.Fprintln(w, "  "+line)
		}
		for i := range k.Params {
			p := &k.Params[i]
			fmt.Fprintf(w, "    %-15s %s (%s; default %s)\n", p.Key, p.Help, p.span(), p.Def)
		}
		for _, line := range strings.Split(cli.Wrap("Long files: "+k.Long+".", 76), "\n") {
			fmt.Fprintln(w, "  "+line)
		}
	}
}

// meant suggests the nearest of a list, or gives it.
func meant(word string, list []string, all string) string {
	best, least := "", len(word)/2+1
	for _, l := range list {
		if strings.HasPrefix(l, word) && word != "" {
			return ": did you mean " + l + "?"
		}
		if d := edits(word, l); d < least {
			best, least = l, d
		}
	}
	if best != "" {
		return ": did you mean " + best + "?"
	}
	return ": " + all + strings.Join(list, ", ")
}

// edits counts the letters to change, add or leave out between two words.
func edits(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := 1; i <= len(a); i++ {
		diag := row[0]
		row[0] = i
		for j := 1; j <= len(b); j++ {
			d := diag
			if a[i-1] != b[j-1] {
				d++
			}
			diag = row[j]
			row[j] = min(d, row[j]+1, row[j-1]+1)
		}
	}
	return row[len(b)]
}
