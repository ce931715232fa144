package recordercmd

import (
	"fmt"
	"io"
	"math"
	"time"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/cmd/gainwright/internal/metercmd"
	"gainwright/sim"
	"gainwright/sim/identify"
	"gainwright/sim/say"
	"gainwright/sounds"
	"gainwright/sounds/equipment"
)

type markJSON struct {
	Mark   float64   `json:"mark"`
	Gain   sim.Level `json:"gain_db"`
	Low    sim.Level `json:"gain_db_low"`
	High   sim.Level `json:"gain_db_high"`
	Full   sim.Level `json:"full_scale_db_spl"`
	FullLo sim.Level `json:"full_scale_db_spl_low"`
	FullHi sim.Level `json:"full_scale_db_spl_high"`
}

type noiseJSON struct {
	In    sim.Level `json:"input_dbfs_at_lowest_mark"`
	InLo  sim.Level `json:"input_dbfs_at_lowest_mark_low"`
	InHi  sim.Level `json:"input_dbfs_at_lowest_mark_high"`
	Out   sim.Level `json:"output_dbfs"`
	OutLo sim.Level `json:"output_dbfs_low"`
	OutHi sim.Level `json:"output_dbfs_high"`
}

type clipJSON struct {
	Level    sim.Level      `json:"level_dbfs"`
	Low      sim.Level      `json:"level_dbfs_low"`
	High     sim.Level      `json:"level_dbfs_high"`
	Shape    identify.Shape `json:"shape"`
	OneSided bool           `json:"one_sided"`
}

type sourceJSON struct {
	What    string  `json:"what"`
	File    string  `json:"file"`
	SHA256  string  `json:"sha256"`
	Seconds float64 `json:"seconds"`
}

type learntJSON struct {
	Marks      []markJSON        `json:"marks"`
	Noise      *noiseJSON        `json:"noise"`
	Clip       *clipJSON         `json:"clip"`
	Limiter    *metercmd.Limiter `json:"limiter"`
	WordLength int               `json:"word_length_bits"`
	DC         sim.Level         `json:"dc_percent"`
	Measured   []sourceJSON      `json:"measured"`
	Notes      []string          `json:"notes"`
	Assumed    []string          `json:"assumed"`
}

func level(e identify.Estimate) (v, lo, hi sim.Level) {
	return sim.Level(e.Value), sim.Level(e.Low), sim.Level(e.High)
}

func (l *learnt) json() *learntJSON {
	j := &learntJSON{Marks: []markJSON{}, WordLength: l.bits, DC: sim.Level(100 * l.dcMost), Notes: append([]string{}, l.notes...), Assumed: l.assumed(), Measured: []sourceJSON{}}
	for _, m := range l.gains.Marks {
		k := markJSON{Mark: m.Mark}
		k.Gain, k.Low, k.High = level(m.Gain)
		k.Full, k.FullLo, k.FullHi = level(l.fullScale(m))
		j.Marks = append(j.Marks, k)
	}
	if l.hasNoise() {
		n := &noiseJSON{}
		n.In, n.InLo, n.InHi = level(l.noises.In)
		n.Out, n.OutLo, n.OutHi = level(l.noises.Out)
		j.Noise = n
	}
	if l.clip != nil {
		c := &clipJSON{Shape: l.clip.Shape, OneSided: l.clip.OneSided}
		c.Level, c.Low, c.High = level(l.clip.Level)
		j.Clip = c
	}
	if l.limiter != nil {
		j.Limiter = metercmd.NewLimiter(l.limiter)
	}
	for _, s := range l.sources {
		j.Measured = append(j.Measured, sourceJSON{s.what, s.path, s.sum, s.seconds})
	}
	return j
}

func (l *learnt) hasNoise() bool {
	return !math.IsNaN(l.noises.In.High) || !math.IsNaN(l.noises.Out.High)
}

// assumed is what was not measured.
func (l *learnt) assumed() []string {
	out := []string{"microphone, gain and converter are not told apart: what is stated is of all three together"}
	if len(l.gains.Marks) > 1 {
		out = append(out, "between marks the gain follows a smooth rising curve")
	}
	if !l.anchor.Known() {
		return append(out, "no level in dB SPL is known: how loud a sound reaches full scale is open")
	}
	switch l.anchorBy.kind {
	case "talk":
		out = append(out, fmt.Sprintf("ordinary talk is %.0f dB SPL at 1 m; people differ by %.0f dB either way", talkDBSPL, talkWithin))
	case "meter":
		out = append(out, fmt.Sprintf("the sound level meter is right within %.0f dB", meterWithin))
	default:
		out = append(out, fmt.Sprintf("the calibrator fits the microphone, and is right within %.0f dB", calibratorWithin))
	}
	return out
}

// equipment is the file.
func (l *learnt) equipment() *equipment.Recorder {
	of := func(e identify.Estimate) *equipment.Interval { return equipment.Of(e.Value, e.Low, e.High) }
	r := &equipment.Recorder{Learnt: time.Now().Format(time.DateOnly), WordLength: l.bits, Assumed: l.assumed()}
	for _, m := range l.gains.Marks {
		r.Marks = append(r.Marks, equipment.Mark{Mark: m.Mark, Gain: of(m.Gain), FullScale: of(l.fullScale(m))})
	}
	if l.anchor.Known() {
		r.Anchor = &equipment.Anchor{Kind: l.anchorBy.kind, Level: l.anchorBy.level, Mark: l.anchorM}
	}
	if l.hasNoise() {
		r.Noise = &equipment.Noise{Input: of(l.noises.In), Output: of(l.noises.Out)}
	}
	if l.clip != nil {
		r.Clip = &equipment.Clip{Level: of(l.clip.Level), Shape: string(l.clip.Shape), OneSided: l.clip.OneSided}
	}
	if q := l.limiter; q != nil {
		r.Limiter = &equipment.Limiter{Place: string(q.Place), Odds: math.Round(q.Odds), Stretches: q.Stretches,
			Threshold: of(q.Threshold), Ratio: of(q.Ratio), Attack: of(q.AttackMS), Release: of(q.ReleaseMS)}
	}
	for _, s := range l.sources {
		r.Measured = append(r.Measured, equipment.Measured{What: s.what, File: s.path, SHA256: s.sum, Seconds: math.Round(1000*s.seconds) / 1000})
	}
	return r
}

// within shows an estimate, a bound, or that nothing is known.
func within(e identify.Estimate, unit string) string {
	switch {
	case e.Known():
		return metercmd.Between(e, "%.1f", unit)
	case !math.IsNaN(e.High):
		return fmt.Sprintf("at most %s %s", say.Number("%.1f", e.High), unit)
	}
	return "not known"
}

// rows are the figures beside the marks and the limiter, and what each rests on.
func (l *learnt) rows() (out [][3]string) {
	add := func(name, value, from string) { out = append(out, [3]string{name, value, from}) }
	noiseFrom := "quiet at several marks"
	if l.hasNoise() {
		add("noise before the gain, lowest mark", within(l.noises.In, "dBFS"), noiseFrom)
		add("noise after the gain", within(l.noises.Out, "dBFS"), noiseFrom)
	} else {
		add("noise", "not known", "record quiet at the lowest, a middle and the highest mark")
	}
	if l.clip != nil {
		shape := string(l.clip.Shape)
		if l.clip.OneSided {
			shape += ", on one side only"
		}
		add("clips at", within(l.clip.Level, "dBFS")+", "+shape, sounds.Shown(l.clipBy))
	} else {
		add("clips at", "not known", "record something that clips")
	}
	switch {
	case l.bits == 0:
		add("word length", "not known", "files of whole numbers tell it")
	case l.bits < l.stated:
		add("word length", fmt.Sprintf("%d bit", l.bits), fmt.Sprintf("the files have %d, the lowest are never used", l.stated))
	default:
		add("word length", fmt.Sprintf("%d bit", l.bits), "all files")
	}
	if d := 100 * math.Abs(l.dcMost); d >= 0.1 {
		add("offset", say.Number("%.2f", 100*l.dcMost)+" %", "the file that has most")
	}
	return out
}

func (l *learnt) print(w io.Writer) {
	if len(l.gains.Marks) > 0 {
		fmt.Fprintln(w, "mark    gain over the lowest        full scale is reached by")
		for _, m := range l.gains.Marks {
			fmt.Fprintf(w, "%-7s %-27s %s\n", mark(m.Mark), within(m.Gain, "dB"), within(l.fullScale(m), "dB SPL"))
		}
	} else {
		fmt.Fprintln(w, "Gain between marks: not known; record the tone at several marks.")
	}
	fmt.Fprintln(w)
	for _, r := range l.rows() {
		fmt.Fprintf(w, "%s: %s [%s]\n", r[0], r[1], r[2])
	}
	fmt.Fprintln(w)
	if l.limiter != nil {
		fmt.Fprintf(w, "From %s:\n", l.pairBy)
		for _, line := range metercmd.PairLines(l.limiter, l.limiter.Rate) {
			fmt.Fprintln(w, line)
		}
	} else {
		fmt.Fprintln(w, "The limiter: not known; record the pair.")
	}
	for _, n := range l.notes {
		fmt.Fprintln(w, cli.Wrap("- Note: "+n+".", 78))
	}
	for _, a := range l.assumed() {
		fmt.Fprintln(w, cli.Wrap("- Assumed: "+a+".", 78))
	}
}
