package repaircmd

import (
	"fmt"
	"io"
	"math"
	"strings"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/cmd/gainwright/internal/metercmd"
	"gainwright/cmd/gainwright/internal/picture"
	"gainwright/sim"
	"gainwright/sim/repair"
	"gainwright/sounds"
)

// repaired is the JSON of repair.
type repaired struct {
	In       string    `json:"in"`
	Out      string    `json:"out"`
	Format   string    `json:"format"`
	RateHz   int       `json:"rate_hz"`
	Channels int       `json:"channels"`
	Seconds  float64   `json:"seconds"`
	Steps    []mending `json:"treatments"`
	// FitDB is the gain that made the peaks fit, 0 for none.
	FitDB    sim.Level          `json:"fit_gain_db"`
	Outcome  string             `json:"outcome"`
	Usable   bool               `json:"usable"`
	Verdict  []string           `json:"verdict"`
	Distance *fromTruth         `json:"distance,omitempty"`
	Before   *metercmd.Measured `json:"before"`
	After    *metercmd.Measured `json:"after"`
	Report   string             `json:"report,omitempty"`

	caution string
}

type mending struct {
	Name    string               `json:"treatment"`
	Asked   string               `json:"asked"`
	Outcome repair.Outcome       `json:"outcome"`
	Usable  bool                 `json:"usable"`
	Back    string               `json:"back"`
	Lost    string               `json:"lost"`
	Numbers map[string]sim.Level `json:"numbers"`
	// AfterDB is how far the take is from the truth after this treatment, the
	// voice over what differs, where the truth is at hand.
	AfterDB *sim.Level `json:"after_db,omitempty"`
}

type fromTruth struct {
	Path     string    `json:"truth"`
	BeforeDB sim.Level `json:"before_db"`
	AfterDB  sim.Level `json:"after_db"`
	GainDB   sim.Level `json:"gain_db"`
}

// judge puts all together in plain words.
func (res *repaired) judge(list []*method) {
	worst := []repair.Outcome{repair.Nothing, repair.Done, repair.Partly, repair.EmptyTake, repair.Hopeless}
	at, mends, shaped := 0, false, ""
	known := sim.Level(math.NaN()) // distance before anything was shaped
	for i, s := range res.Steps {
		for k, o := range worst {
			if o == s.Outcome {
				at = max(at, k)
			}
		}
		res.Usable = res.Usable && s.Usable
		switch list[i].t.(type) {
		case repair.Declip, repair.Splice:
			mends = true
		case repair.HighPass, repair.Denoise, repair.Limit, repair.Compress, repair.Deliver:
			shaped = s.Name
		}
		if shaped == "" && s.AfterDB != nil {
			known = *s.AfterDB
		}
		text := sentence(s.Back, s.Lost)
		if len(res.Steps) > 1 {
			text = s.Name + ": " + text
			if s.AfterDB != nil {
				text += " " + differs("Then", float64(*s.AfterDB))
			}
		}
		res.say("%s", text)
	}
	res.Outcome = string(worst[at])
	if !mends && res.Before.ClippedTake() {
		res.Usable = false
		res.say("The recording was clipped before, and is clipped still: none of these treatments puts back what was cut off. declip guesses it, splice takes it from a second recording.")
	}
	if res.Distance != nil {
		res.judgeDistance(res.Distance, shaped, float64(known))
	}
	res.judgeUse(mends)
	res.judgePeaks()
	if res.Before.ClippedTake() {
		res.caution = "Mind your ears: clipped material sounds harsh, and restored peaks are louder. Turn the volume down before you play, and up slowly."
	}
}

// say adds to the verdict.
func (res *repaired) say(format string, a ...any) {
	res.Verdict = append(res.Verdict, fmt.Sprintf(format, a...))
}

// judgeDistance says how far the end is from the truth. shaped names the last treatment
// that changes the take on purpose, if any, and mended is the distance before it.
func (res *repaired) judgeDistance(d *fromTruth, shaped string, mended float64) {
	end, when := float64(d.AfterDB), ""
	if shaped != "" && !math.IsNaN(mended) {
		end, when = mended, ", as mended"
	}
	dist := repair.Distance{BeforeDB: float64(d.BeforeDB), AfterDB: end, GainDB: end - float64(d.BeforeDB)}
	if math.IsInf(dist.BeforeDB, 1) && math.IsInf(end, 1) {
		dist.GainDB = 0
	}
	v := dist.Verdict()
	res.say("Against the truth%s: %s", when, v.String())
	if v.Outcome != repair.EmptyTake && (shaped == "" || when != "") {
		res.Usable = v.Usable // what is known goes before what is guessed
	}
	if shaped != "" {
		text := differs("At the end", float64(d.AfterDB))
		if cli.Finite(d.AfterDB) {
			text += " That counts what a treatment does on purpose, too: a high-pass turns the phase of low sounds, levels are moved, noise is taken away."
		}
		res.say("%s", text)
	}
}

// judgeUse says whether the take can be used.
func (res *repaired) judgeUse(mends bool) {
	switch {
	case res.Outcome == string(repair.EmptyTake):
		res.Usable = false
	case res.Usable && res.Distance == nil:
		res.say("Usable, as far as the file alone can tell. Listen to the loudest places before you rely on it.")
	case res.Usable:
		res.say("Usable: what is left of the damage lies well below the voice.")
	case mends:
		res.say("Not usable where it matters, unless there is nothing else: record it again with less gain if that can be done.")
	default:
		res.say("Not mended.")
	}
}

// judgePeaks says what became of peaks above full scale.
func (res *repaired) judgePeaks() {
	switch {
	case res.FitDB != 0:
		res.say("Turned down by %s as a whole, so that the highest peak fits at %s.", picture.DB(-float64(res.FitDB), "dB"), picture.DB(fitDBFS, "dBFS"))
	case res.After.AboveFullScale > 0:
		res.say("Peaks exceed full scale by %s. The file holds them, as %s; a player does not: turn it down by that much or more before it is played or made an integer file, or use --fit.",
			picture.DB(float64(res.After.PeakDBFS), "dB"), res.Format)
	}
}

// differs says how far from the truth a take is; sdr may be infinite or undefined.
func differs(when string, sdr float64) string {
	switch {
	case math.IsNaN(sdr):
		return when + " there is no voice in the truth to compare with."
	case math.IsInf(sdr, 1):
		return when + " nothing differs from the truth but, perhaps, the level."
	case math.IsInf(sdr, -1):
		return when + " nothing is left of the truth."
	}
	return fmt.Sprintf("%s the voice lies %s above what differs from the truth.", when, picture.DB(sdr, "dB"))
}

// rows are the readings before and after.
func (res *repaired) rows() [][3]string {
	var out [][3]string
	b, a := res.Before.Rows(), res.After.Rows()
	after := map[string]string{}
	for _, r := range a {
		after[r[0]] = r[1]
	}
	seen := map[string]bool{}
	for _, r := range b {
		v, ok := after[r[0]]
		if !ok {
			v = "0"
		}
		seen[r[0]] = true
		out = append(out, [3]string{r[0], r[1], v})
	}
	for _, r := range a {
		if !seen[r[0]] {
			out = append(out, [3]string{r[0], "0", r[1]})
		}
	}
	if d := res.Distance; d != nil {
		out = append(out, [3]string{"voice over distortion", picture.DB(float64(d.BeforeDB), "dB"), picture.DB(float64(d.AfterDB), "dB")})
	}
	return out
}

func (res *repaired) print(w io.Writer) {
	if res.caution != "" {
		fmt.Fprintln(w, cli.Wrap(res.caution, 78)+"\n")
	}
	fmt.Fprintf(w, "%s: %s\n\n", sounds.Shown(res.In), res.Before.Facts())
	rows := append([][3]string{{"", "before", "after"}}, res.rows()...)
	var wide [3]int
	for _, r := range rows {
		for i := range r {
			wide[i] = max(wide[i], cli.Runes(r[i]))
		}
	}
	for _, r := range rows {
		fmt.Fprintln(w, strings.TrimRight(r[0]+strings.Repeat(" ", wide[0]-cli.Runes(r[0]))+"  "+cli.Left(r[1], wide[1])+"  "+cli.Left(r[2], wide[2]), " "))
	}
	fmt.Fprintln(w)
	for _, v := range res.Verdict {
		fmt.Fprintln(w, cli.Wrap(v, 78))
	}
	fmt.Fprintf(w, "\nWritten: %s (%s)", sounds.Shown(res.Out), res.Format)
	if res.Report != "" {
		fmt.Fprintf(w, ", %s (open it in a browser)", sounds.Shown(res.Report))
	}
	fmt.Fprintln(w)
}
