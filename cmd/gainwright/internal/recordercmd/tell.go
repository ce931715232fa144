package recordercmd

import (
	"fmt"
	"io"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/cmd/gainwright/internal/metercmd"
	"gainwright/sim"
	"gainwright/sim/identify"
	"gainwright/sounds/series"
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

// learnt is what the files told, as this command tells it.
type learnt struct{ *series.Found }

func (l *learnt) json() *learntJSON {
	j := &learntJSON{Marks: []markJSON{}, WordLength: l.Bits, DC: sim.Level(100 * l.DC), Notes: append([]string{}, l.Notes...), Assumed: l.Assumed(), Measured: []sourceJSON{}}
	for _, m := range l.Gains.Marks {
		k := markJSON{Mark: m.Mark}
		k.Gain, k.Low, k.High = level(m.Gain)
		k.Full, k.FullLo, k.FullHi = level(l.FullScale(m))
		j.Marks = append(j.Marks, k)
	}
	if l.HasNoise() {
		n := &noiseJSON{}
		n.In, n.InLo, n.InHi = level(l.Noises.In)
		n.Out, n.OutLo, n.OutHi = level(l.Noises.Out)
		j.Noise = n
	}
	if l.Clip != nil {
		c := &clipJSON{Shape: l.Clip.Shape, OneSided: l.Clip.OneSided}
		c.Level, c.Low, c.High = level(l.Clip.Level)
		j.Clip = c
	}
	if l.Limiter != nil {
		j.Limiter = metercmd.NewLimiter(l.Limiter)
	}
	for _, s := range l.Sources {
		j.Measured = append(j.Measured, sourceJSON{s.What(), s.File, s.SHA256, s.Seconds})
	}
	return j
}

func (l *learnt) print(w io.Writer) {
	if len(l.Gains.Marks) > 0 {
		fmt.Fprintln(w, "mark    gain over the lowest        full scale is reached by")
		for _, m := range l.Gains.Marks {
			fmt.Fprintf(w, "%-7s %-27s %s\n", series.Mark(m.Mark), series.Within(m.Gain, "dB"), series.Within(l.FullScale(m), "dB SPL"))
		}
	} else {
		fmt.Fprintln(w, "Gain between marks: not known; record the tone at several marks.")
	}
	fmt.Fprintln(w)
	for _, r := range l.Rows() {
		fmt.Fprintf(w, "%s: %s [%s]\n", r.Name, r.Value, r.From)
	}
	fmt.Fprintln(w)
	if l.Limiter != nil {
		fmt.Fprintf(w, "From %s:\n", l.PairBy())
		for _, line := range metercmd.PairLines(l.Limiter) {
			fmt.Fprintln(w, line)
		}
	} else {
		fmt.Fprintln(w, "The limiter: not known; record the pair.")
	}
	for _, n := range l.Notes {
		fmt.Fprintln(w, cli.Wrap("- Note: "+n+".", 78))
	}
	for _, a := range l.Assumed() {
		fmt.Fprintln(w, cli.Wrap("- Assumed: "+a+".", 78))
	}
}
