package plancmd

import (
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"math"
	"strings"

	"gainwright/cmd/gainwright/internal/picture"
)

//go:embed card.html.tmpl
var cardText string

var cardPage = template.Must(template.New("card").Parse(cardText))

// cardData is what the session card shows.
type cardData struct {
	Title, Place, Gain, Meter, Sure, Window, Verdict string
	Has                                              bool
	Ruler                                            *ruler
	Needs                                            []string
	Steps                                            []string
	If                                               [][2]string
	Helps                                            [][3]string
	Assumed                                          [][3]string
	Recorder                                         []string // what is assumed of the user's own
	Ears                                             []string
	Foot                                             string
}

// ruler is the gain axis with the window on it, in percent of its width.
type ruler struct {
	Low, High, Set float64
	Empty          bool
	Ticks          []rulerTick
}

type rulerTick struct {
	At    float64
	Label string
}

func (p *planned) ruler() *ruler {
	lo, hi := p.curve[0].GainDB, p.curve[len(p.curve)-1].GainDB
	at := func(g float64) float64 { return 100 * (min(max(g, lo), hi) - lo) / (hi - lo) }
	r := &ruler{Low: at(p.window.LowDB), High: at(p.window.HighDB), Empty: p.window.Empty()}
	if p.suggest != nil {
		r.Set = at(p.suggest.GainDB)
	}
	for i, q := range p.rows {
		if len(p.rows) <= 9 || i%2 == 0 {
			r.Ticks = append(r.Ticks, rulerTick{at(q.GainDB), picture.DB(math.Round(q.GainDB), "dB")})
		}
	}
	for i := range r.Ticks {
		r.Ticks[i].Label = trimZero(r.Ticks[i].Label)
	}
	return r
}

// trimZero writes "30 dB" for "30.0 dB".
func trimZero(s string) string {
	for i := range s {
		if s[i] == '.' && i+1 < len(s) && s[i+1] == '0' {
			return s[:i] + s[i+2:]
		}
	}
	return s
}

func whole(v float64, unit string) string { return trimZero(picture.DB(math.Round(v), unit)) }

// card writes the session card: one page that needs nothing else.
func (p *planned) card(w io.Writer) error {
	d := cardData{Title: p.sc.Title, Place: p.place(), Ruler: p.ruler(), Has: p.suggest != nil, Ears: p.caveats()}
	l := p.setup.Limits
	v := p.verdict()
	d.Verdict = v[0]
	if p.suggest != nil {
		q := p.suggest
		d.Gain, d.Meter, d.Window = p.gainText(q.GainDB, ""), whole(p.advice.HeldDBFS, "dBFS"), trimZero(plain(math.Round(p.window.LowDB)))+" to "+whole(p.window.HighDB, "dB")+p.windowMarks()
		d.Verdict = strings.Join(p.price(), " ")
		d.Sure = fmt.Sprintf("highest peak of a minute (%s to %s)", whole(p.spread.LowDBFS, ""), whole(p.spread.HighDBFS, "dBFS"))
		if p.advice.NoKnob {
			d.Gain = "no knob to set"
		}
		if p.advice.PadDB > 0 {
			d.Gain += fmt.Sprintf(", pad %g dB", p.advice.PadDB)
		}
		d.Steps = []string{
			fmt.Sprintf("Put the microphone %s from the mouth, with a windscreen or a little to the side, and agree with the guest to keep that distance.", length(p.setup.Chain.DistanceM)),
			fmt.Sprintf("Set the gain to %s (%s). Headphones turned down, then put them on.", d.Gain, picture.PlaceText(p.setup.Chain)),
			fmt.Sprintf("Sound check: let the guest talk for a minute, as they will talk. The highest peak that the meter held should be about %s; ordinary moments hover near %s. The meter goes before the knob.", d.Meter, whole(q.TalkPeakDBFS, "dBFS")),
			"Then ask for the best joke they know." + p.ifWords(),
			"Turn the gain down, never up, once the conversation runs; note the time when you do.",
		}
		d.If = [][2]string{
			{fmt.Sprintf("The meter holds 6 dB more than %s", d.Meter), fmt.Sprintf("a loud guest: 6 dB less gain, so that it holds near %s again", d.Meter)},
			{fmt.Sprintf("The meter holds 6 dB less than %s", d.Meter), "come nearer first; then, before you begin, up to 6 dB more gain"},
			{"Something went over", fmt.Sprintf("turn down by 6 dB at once (%s more noise), note the time, ask for it again", picture.DB(p.advice.Less6.NoiseLUFS-q.NoiseLUFS, "dB"))},
			{"The guest shouts or laughs a lot", fmt.Sprintf("stay in the lower half of the window, down to %s", p.gainText(p.window.LowDB, ""))},
			{"You hear hiss or the room", "come nearer or find a quieter room; more gain lifts both with the voice"},
		}
	}
	if p.suggest != nil && p.advice.NoKnob {
		d.Steps = []string{d.Steps[0], "There is no gain to set on this recorder. Headphones turned down, then put them on.",
			fmt.Sprintf("Sound check: let the guest talk for a minute, as they will talk. The meter should hold about %s; much more or less than that is a matter of distance.", d.Meter)}
		d.If = nil
	}
	for _, n := range p.needs {
		d.Needs = append(d.Needs, need(n))
	}
	for _, r := range p.remedies {
		if len(d.Helps) == 4 || r.GainDB < 0.5 {
			break
		}
		d.Helps = append(d.Helps, [3]string{r.Name, wider(r), windowText(r.Window)})
	}
	for _, s := range p.swings[:min(len(p.swings), 4)] {
		d.Assumed = append(d.Assumed, [3]string{s.Param.Name, value(s.Param.Value, s.Param.Unit), moves(s)})
	}
	if p.sc.Fit != nil {
		for _, a := range p.sc.Fit.Assumed {
			d.Recorder = append(d.Recorder, a+".")
		}
	}
	d.Foot = fmt.Sprintf("Planned for a chance of an over of at most %s and at most %s of noise after delivery at %s; %d simulated sessions, seed %d. The assumptions are mostly that: assumed. A sound check beats them. Made with Gainwright.",
		percent(l.Risk), picture.DB(l.NoiseLUFS, "LUFS"), picture.DB(l.DeliveryLUFS, "LUFS"), p.sessions, p.sc.Seed)
	return cardPage.Execute(w, d)
}

// ifWords says what to set after the laugh of the sound check.
func (p *planned) ifWords() string {
	var all []string
	for _, x := range p.ifs {
		all = append(all, fmt.Sprintf("%s: %s", whole(x.ReadsDBFS, "dBFS"), p.gainText(x.GainDB, "")))
	}
	if len(all) == 0 {
		return " A real laugh tells more than any count from one to ten."
	}
	return fmt.Sprintf(" What the laugh reads at %s, and the gain to set then: %s.", p.gainText(p.ifGain(), ""), strings.Join(all, "; "))
}
