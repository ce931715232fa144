package plancmd

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/cmd/gainwright/internal/picture"
	"gainwright/sim"
	"gainwright/sim/plan"
	"gainwright/sim/say"
)

// place says what the plan is for, in a line.
func (p *planned) place() string {
	c := &p.setup.Chain
	mic, rec := fmt.Sprintf("a microphone of %g mV/Pa", c.Microphone.SensitivityMVPerPa), "a recorder"
	if p.sc.Fit != nil {
		rec = "your own recorder"
	}
	for _, m := range plan.Microphones() {
		if m.On(*c) == *c {
			mic = m.Title
		}
	}
	for _, r := range plan.Recorders() {
		if p.sc.Fit == nil && r.On(*c) == *c {
			rec = r.Title
		}
	}
	guest := "a guest"
	if q, ok := p.setup.Model.Preset(); ok {
		guest = q.Title
	}
	return fmt.Sprintf("%s, %s, %s from %s, %s, %s, room %s", guest, span(p.setup.Model.Minutes), length(c.DistanceM), mic, rec, picture.PlaceText(*c), picture.DB(c.Room.NoiseDBA, "dBA"))
}

func span(minutes float64) string { return fmt.Sprintf("%.3g min", minutes) }

func length(m float64) string {
	if m < 1 {
		return fmt.Sprintf("%.3g cm", 100*m)
	}
	return fmt.Sprintf("%.3g m", m)
}

// percent writes a chance so that small ones keep their meaning.
func percent(v float64) string {
	switch {
	case v == 0:
		return "0 %"
	case v < 0.0005:
		return "under 0.05 %"
	case v < 0.1:
		return fmt.Sprintf("%.2g %%", 100*v)
	case v > 0.9995 && v < 1:
		return "over 99.9 %"
	}
	return fmt.Sprintf("%.0f %%", 100*v)
}

// odds says a chance in words.
func (p *planned) odds(risk float64) string {
	switch n := math.Round(1 / risk); {
	case risk == 0:
		return fmt.Sprintf("none of %d simulated sessions goes over", p.sessions)
	case n <= 1:
		return "nearly every session goes over"
	case risk > 0.4:
		return fmt.Sprintf("%s of all sessions go over", percent(risk))
	default:
		return fmt.Sprintf("one session in %.0f goes over (%s)", n, percent(risk))
	}
}

// told is what a host does with the answer: the meter first, the knob after it.
func (p *planned) told() []string {
	a := &p.advice
	held := whole(a.HeldDBFS, "dBFS")
	var out []string
	sure := ""
	if lo, hi := p.spread.LowDBFS, p.spread.HighDBFS; !math.IsInf(lo, 0) && !math.IsInf(hi, 0) && !math.IsNaN(lo+hi) {
		sure = fmt.Sprintf(" It is as sure as the assumptions: with all of them drawn from what is plausible, eight plans of ten say %s to %s.", whole(lo, ""), whole(hi, "dBFS"))
	}
	hover := fmt.Sprintf("ordinary moments hover near %s", whole(a.TalkPeakDBFS, "dBFS"))
	switch {
	case a.NoKnob:
		out = append(out, fmt.Sprintf("This recorder has no knob to set: two ranges into a float file hold what the preamp lets through. The meter should hold about %s in a minute of talk; %s.", held, hover))
	case p.heard.any:
		out = append(out, fmt.Sprintf("Set %s. The meter then holds about %s in a minute of this guest's talk; %s.%s", p.setting(a.GainDB, "the gain to "), held, hover, sure))
	default:
		out = append(out,
			fmt.Sprintf("Let the guest talk for a minute, as they will talk. The highest peak that the meter held should be about %s; %s.%s", held, hover, sure),
			fmt.Sprintf("For an ordinary guest %s. The meter goes before the knob.", p.nearly(a.GainDB)))
	}
	if k := p.knob(); k != nil && !a.NoKnob {
		if s := k.Find(p.at(a.GainDB)); s.Low < s.High {
			out = append(out, fmt.Sprintf("How loud a sound reaches full scale on your recorder is known that well only: in nine cases of ten the mark lies from %s.", cli.MarksText(s)))
		}
	}
	if a.PadDB > 0 {
		out = append(out, fmt.Sprintf("That is with a pad of %s switched in: without one the knob would have to go below 0 dB.", whole(a.PadDB, "dB")))
	}
	if a.AtMost {
		out = append(out, fmt.Sprintf("More than that would be safe, but is more than %s.", p.knobEnds()))
	}
	return append(out, p.price()...)
}

// price says what the setting risks and what more headroom would cost.
func (p *planned) price() []string {
	a := &p.advice
	out := []string{fmt.Sprintf("At that setting %s, by more than %d dB %s. The noise after delivery lies at %s.",
		p.odds(a.Risk), plan.MuchDB, strings.TrimPrefix(p.odds(a.RiskMuch), "one session in "), picture.DB(a.NoiseLUFS, "LUFS"))}
	if m := a.RiskMuch; m > 0 && m <= 0.4 && math.Round(1/m) > 1 {
		out[0] = fmt.Sprintf("At that setting %s, one in %.0f by more than %d dB (%s). The noise after delivery lies at %s.",
			p.odds(a.Risk), math.Round(1/m), plan.MuchDB, percent(m), picture.DB(a.NoiseLUFS, "LUFS"))
	}
	if !a.NoKnob {
		out = append(out, fmt.Sprintf("3 dB more headroom: %s, %s more noise; 6 dB more: %s, %s.", percent(a.Less3.Risk), picture.DB(a.Less3.NoiseLUFS-a.NoiseLUFS, "dB"),
			percent(a.Less6.Risk), picture.DB(a.Less6.NoiseLUFS-a.NoiseLUFS, "dB")))
	}
	if a.KnockRisk > 0 {
		out = append(out, fmt.Sprintf("Beside that, in %s of sessions a knock, pop or click goes over (near, without a screen; assumed). A knock of 5 ms that is cut does no harm.", percent(a.KnockRisk)))
	}
	return out
}

// givesWay names what goes over first at the window's upper end, or at the gain set.
func (p *planned) givesWay() string {
	g := p.window.HighDB
	if math.IsInf(g, 0) {
		g = p.own.GainDB
	}
	_, at := p.setup.Ceiling(g)
	switch at {
	case sim.AtMicrophone:
		return "microphone"
	case sim.AtPreamp:
		return "preamp"
	case sim.AtFile:
		return "file"
	}
	return "converter"
}

// verdict is the answer in a few sentences.
func (p *planned) verdict() []string {
	w, l := p.window, p.setup.Limits
	limits := fmt.Sprintf("a chance of at most %s that anything goes over and at most %s of noise after delivery", percent(l.Risk), picture.DB(l.NoiseLUFS, "LUFS"))
	switch {
	case p.suggest != nil:
		return append(p.told(), fmt.Sprintf("The gain window reaches from %s to %s%s, for %s.", picture.DB(w.LowDB, "dB"), picture.DB(w.HighDB, "dB"), p.windowMarks(), limits))
	case !w.Empty():
		return []string{"Nothing in this conversation can go over at any gain."}
	}
	out := []string{fmt.Sprintf("There is no gain for %s.", limits)}
	switch {
	case math.IsInf(w.HighDB, -1):
		out = append(out, "The microphone itself is too weak for what it would hear: its own ceiling is passed whatever the gain. Take more distance or another microphone.")
	case math.IsInf(w.LowDB, 1):
		out = append(out, "No gain is quiet enough: the room or the microphone alone is louder than that once speech has its level.")
	default:
		out = append(out, fmt.Sprintf("For the noise it takes %s or more, for the risk %s or less: they miss each other by %s.", picture.DB(w.LowDB, "dB"), picture.DB(w.HighDB, "dB"), picture.DB(-w.WidthDB(), "dB")))
	}
	return out
}

// need says one change in words.
func need(n plan.Need) string {
	from, to := value(n.From, n.Unit), value(n.To, n.Unit)
	switch n.Key {
	case "distance_m":
		from, to = length(n.From), length(n.To)
	}
	return fmt.Sprintf("%s: %s instead of %s", n.Name, to, from)
}

// value writes an assumption's value with its unit.
func value(v float64, unit string) string {
	if unit == "" {
		return strings.TrimSpace(fmt.Sprintf("%.3g %%", 100*v))
	}
	return say.Number("%g", math.Round(v*100)/100) + " " + unit
}

// plain is a number without a unit, with a real minus sign.
func plain(v float64) string { return strings.TrimSpace(picture.DB(v, "")) }

// rangeText is an assumption's plausible range, with its unit once.
func rangeText(p plan.Param) string {
	low, _ := strings.CutSuffix(value(p.Low, p.Unit), " "+p.Unit)
	return low + " to " + value(p.High, p.Unit)
}

// wider says what a remedy does to the window.
func wider(r plan.Remedy) string {
	switch {
	case math.IsInf(r.GainDB, 1) && !r.Window.Empty():
		return "opens it"
	case math.IsInf(r.GainDB, -1):
		return "closes it"
	case math.Abs(r.GainDB) < 0.05:
		return "nothing"
	}
	return cli.SignedDB(r.GainDB)
}

func windowText(w plan.Window) string {
	if w.Empty() {
		return "no gain"
	}
	return plain(w.LowDB) + " to " + picture.DB(w.HighDB, "dB")
}

// fill turns rows into lines of equal columns; the first is on the left, numbers
// stand on the right where right says so.
func fill(rows [][]string, right []bool) []string {
	widths := make([]int, len(rows[0]))
	for _, r := range rows {
		for i, c := range r {
			widths[i] = max(widths[i], cli.Runes(c))
		}
	}
	var out []string
	for _, r := range rows {
		line := ""
		for i, c := range r {
			if i > 0 {
				line += "  "
			}
			if right[i] {
				line += cli.Left(c, widths[i])
			} else {
				line += c + strings.Repeat(" ", widths[i]-cli.Runes(c))
			}
		}
		out = append(out, strings.TrimRight(line, " "))
	}
	return out
}

// zone says where a gain lies.
func (p *planned) zone(q plan.Point) string {
	quiet, safe := q.NoiseLUFS <= p.setup.Limits.NoiseLUFS, q.Risk <= p.setup.Limits.Risk
	switch {
	case quiet && safe:
		return "in the window"
	case safe:
		return "too noisy"
	case quiet:
		return "too risky"
	}
	return "too noisy and too risky"
}

func (p *planned) gainRows() [][]string {
	rows := [][]string{{"gain", "talk holds", "chance of an over", "by 3 dB", "noise after delivery", ""}}
	k := p.knob()
	row := func(q plan.Point, word string) {
		if k != nil {
			word = strings.TrimPrefix(word+", ", ", ") + p.markWords(k, q.GainDB)
		}
		rows = append(rows, []string{picture.DB(q.GainDB, "dB"), picture.DB(q.HeldPeakDBFS, "dBFS"), percent(q.Risk),
			percent(q.RiskMuch), picture.DB(q.NoiseLUFS, "LUFS"), word})
	}
	all := slices.Clone(p.rows)
	words := map[float64]string{}
	insert := func(q plan.Point, word string) {
		for i := range all {
			if math.Abs(all[i].GainDB-q.GainDB) < 0.05 {
				words[all[i].GainDB] = word
				return
			}
		}
		words[q.GainDB] = word
		all = append(all, q)
	}
	if p.suggest != nil {
		insert(*p.suggest, "suggested")
	}
	insert(p.own, "set in the scenario")
	slices.SortFunc(all, func(a, b plan.Point) int {
		if a.GainDB < b.GainDB {
			return -1
		}
		return 1
	})
	for _, q := range all {
		z := p.zone(q)
		if w := words[q.GainDB]; w != "" {
			z = w + ", " + z
		}
		row(q, z)
	}
	return rows
}

func (p *planned) describe(w io.Writer) {
	fmt.Fprintf(w, "%s, strip %s: %s\n\n", p.sc.Title, p.strip, p.place())
	if p.sc.Fit != nil {
		cli.WriteRecorder(w, p.sc, 90, false)
		fmt.Fprintln(w)
	}
	if p.heard.any {
		for _, s := range p.heard.words() {
			fmt.Fprintln(w, cli.Wrap(s, 90))
		}
		fmt.Fprintln(w)
	}
	for _, s := range p.verdict() {
		fmt.Fprintln(w, cli.Wrap(s, 90))
	}
	if len(p.needs) > 0 {
		fmt.Fprintln(w, "\nAny one of these alone would open the window:")
		for _, n := range p.needs {
			fmt.Fprintln(w, "  "+need(n))
		}
	} else if p.window.Empty() {
		fmt.Fprintln(w, "No single change within reason opens the window; see below what helps, and combine.")
	}
	if len(p.ifs) > 0 {
		fmt.Fprintln(w, "\nThe laugh of the sound check, read on the meter at "+p.gainText(p.ifGain(), " of gain")+":")
		for _, l := range fill(p.ifRows(), []bool{true, true, true}) {
			fmt.Fprintln(w, "  "+l)
		}
	}
	fmt.Fprintln(w)
	for _, l := range fill(p.gainRows(), []bool{true, true, true, true, true, false}) {
		fmt.Fprintln(w, l)
	}
	var kinds []string
	by := p.result.ByKind()
	for k := plan.Talk; k <= plan.Cough; k++ {
		if v := by[k.String()]; v > 0 {
			kinds = append(kinds, fmt.Sprintf("%s %s", k, percent(v)))
		}
	}
	fmt.Fprintf(w, "\nThe loudest moment of a session is: %s. What gives way first: the %s.\n", strings.Join(kinds, ", "), p.givesWay())
	if p.setup.Chain.InputLimiter.On {
		fmt.Fprintln(w, cli.Wrap(fmt.Sprintf("The limiter before the converter (%g dBFS, attack %g ms) lets the loudest moment be %s louder before it goes over: a laugh %s, a cough %s.",
			p.setup.Chain.InputLimiter.ThresholdDBFS, p.setup.Chain.InputLimiter.AttackMS, picture.DB(p.setup.ReliefDB(p.result), "dB"), picture.DB(p.setup.Relief(plan.OpenLaugh), "dB"), picture.DB(p.setup.Relief(plan.Cough), "dB")), 90))
	}
	fmt.Fprintln(w, "\nWhat would widen the window, the most helpful first")
	rows := [][]string{{"change", "wider by", "window then", "quietest safe noise"},
		{"as it is", "", windowText(p.window), picture.DB(p.setup.QuietestLUFS(p.window, p.result), "LUFS")}}
	for _, r := range p.remedies {
		rows = append(rows, []string{r.Name, wider(r), windowText(r.Window), picture.DB(r.NoiseLUFS, "LUFS")})
	}
	for _, l := range fill(rows, []bool{false, true, true, true}) {
		fmt.Fprintln(w, "  "+l)
	}
	fmt.Fprintln(w, "\nAssumptions; the first matter most: how far the reading to aim at moves between low and high")
	rows = [][]string{{"assumption", "value", "from low to high", "moves it by", "standing", "source"}}
	for _, s := range p.swings {
		rows = append(rows, []string{s.Param.Name, value(s.Param.Value, s.Param.Unit), rangeText(s.Param), moves(s), string(s.Param.Standing), s.Param.Source})
	}
	for _, a := range append(p.setup.Limits.Params(), p.setup.Model.Params()...) {
		if a.Low == a.High {
			rows = append(rows, []string{a.Name, value(a.Value, a.Unit), "", "", string(a.Standing), a.Source})
		}
	}
	for _, l := range fill(rows, []bool{false, true, true, true, false, false}) {
		fmt.Fprintln(w, "  "+l)
	}
	fmt.Fprintln(w)
	for _, s := range p.caveats() {
		fmt.Fprintln(w, cli.Wrap(s, 90))
	}
}

func moves(s plan.Swing) string {
	if math.IsInf(s.SpanDB(), 0) {
		return "without end"
	}
	return picture.DB(s.SpanDB(), "dB")
}

// caveats is what the plan leaves out, and the word about ears.
func (p *planned) caveats() []string {
	out := []string{"Not counted in the risk: the breath of p and b on a close microphone (use a windscreen, or speak past it), knocks, and anybody but this one guest."}
	if p.setup.Chain.Microphone.Proximity {
		out = append(out, "Nor is the bass rise of a close microphone, which this scenario turns on: leave a few decibels more.")
	}
	return append(out, earsNote)
}

const earsNote = "Mind your ears: turn headphones down before you open a microphone, and up slowly. For how loud and how long is safe, follow local rules and qualified people."
