package plan

import (
	"fmt"
	"math"
	"strings"

	"gainwright/scenes/bench"
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
	"gainwright/scenes/work"
	"gainwright/sim/plan"
)

// told is what a host is told: the setting, how sure it is, and what a laugh in the sound
// check would make of it.
type told struct {
	plan.Advice
	ok     bool // there is something to tell
	known  bool // spread and laughs are up to date
	spread plan.Spread
	laughs []plan.IfLaugh
	mark   string // where the advice is on the user's own knob
	ruler  *kit.Ruler
	ticks  [bench.MaxStrips + 1]kit.RulerTick
}

// newRuler is the ruler of the plan: for the hour, which is what is planned.
func newRuler() *kit.Ruler {
	r := kit.NewRuler()
	kit.Hide(true, r.For[0], r.For[1])
	return r
}

var ruleWords = func() [2]string {
	ru := plan.Rules()[0]
	span := "talk at " + ui.Decimal(ru.LowDBFS, 0) + "…" + ui.Decimal(ru.HighDBFS, 0) + " dBFS"
	return [2]string{span + " (" + ru.Source + ")", span}
}()

// layout puts the ruler at the top of area and returns the rest.
func (t *told) layout(th *ui.Theme, area ink.Rect) ink.Rect {
	top := ui.Top(&area, kit.RulerRoom(th, area.H)+6)
	top.H -= 6
	t.ruler.Layout(th, ui.Pad(top, 12, 0))
	return area
}

// sync brings the ruler up to a set-up, its window and what stands on the bench.
func (t *told) sync(s *plan.Setup, res *plan.Result, win plan.Window, b *bench.Session) {
	r := t.ruler
	r.Quiet, r.Risky, r.Edge, r.Rule, r.RuleTo = math.NaN(), math.NaN(), 0, math.NaN(), math.NaN()
	r.Lead = [3]string{}
	r.Ticks = t.ticks[:0]
	own := s.Chain
	own.Preamp.GainDB = t.GainDB
	t.mark = b.MarkAt(own)
	for i := range b.N() {
		c := b.Chain(i)
		at := kit.RulerTick{Name: bench.StripNames[i], Said: "On the bench strip " + bench.StripNames[i], Gain: c.Preamp.GainDB}
		// Of another chain this window says nothing.
		c.Preamp.GainDB = s.Chain.Preamp.GainDB
		at.Mute = c != s.Chain
		r.Ticks = append(r.Ticks, at)
	}
	r.Ticks = append(r.Ticks, kit.RulerTick{Name: "P", Said: "The plan", Gain: s.Chain.Preamp.GainDB})
	if res == nil {
		return
	}
	ru := plan.Rules()[0]
	r.Rule, r.RuleTo, r.RuleWords = s.HeldGain(ru.LowDBFS), s.HeldGain(ru.HighDBFS), ruleWords
	r.Between(win.LowDB, win.HighDB, 0)
	if e := win.HighToDB - win.HighDB; e > 0 && !math.IsInf(e, 0) {
		r.Edge = e
	}
	switch {
	case !t.ok:
		r.Lead[0] = "no gain keeps both"
	case t.NoKnob:
		r.Lead[0], r.Lead[1] = "no knob to set", "a float recorder holds it"
	default:
		r.Lead[0] = "for the hour: " + ui.Decimal(t.GainDB, 0) + " dB"
		r.Lead[1] = "talk's held peak " + ui.Decimal(t.HeldDBFS, 0) + " dBFS"
		if t.known && !math.IsInf(t.spread.LowDBFS, 0) && !math.IsInf(t.spread.HighDBFS, 0) {
			r.Lead[2] = "likely " + ui.Decimal(t.spread.LowDBFS, 0) + "…" + ui.Decimal(t.spread.HighDBFS, 0) + " dBFS"
		}
	}
}

// sentence is what a host does: the meter goes before the knob.
func (t *told) sentence() string {
	held := ui.Decimal(t.HeldDBFS, 0) + "\u00a0dBFS"
	s := fmt.Sprintf("Let the guest talk for a minute, as they will talk. The highest peak that the meter held should be about %s; for an ordinary guest the knob is then near %s\u00a0dB.", held, ui.Decimal(t.GainDB, 0))
	if t.mark != "" {
		s = strings.TrimSuffix(s, ".") + ", which is " + t.mark + " of your recorder."
	}
	switch {
	case t.NoKnob:
		return "This recorder has no knob to set: the meter should hold about " + held + " in a minute of talk."
	case t.PadDB > 0:
		s += fmt.Sprintf(" That is with a pad of %s\u00a0dB.", ui.Decimal(t.PadDB, 0))
	case t.TooQuiet:
		s += " The knob ends before the noise is low enough."
	}
	return s
}

// sureWords say how sure that is; empty while it is being worked out.
func (t *told) sureWords() string {
	if !t.known || !t.ok || math.IsInf(t.spread.LowDBFS, 0) || math.IsInf(t.spread.HighDBFS, 0) {
		return ""
	}
	return fmt.Sprintf("With every assumption drawn from what is plausible, eight plans of ten say %s to %s\u00a0dBFS.", ui.Decimal(t.spread.LowDBFS, 0), ui.Decimal(t.spread.HighDBFS, 0))
}

// priceWords say what more headroom would cost.
func (t *told) priceWords() string {
	if !t.ok || t.NoKnob {
		return ""
	}
	less := func(p plan.Point) string {
		return fmt.Sprintf("%s\u00a0%% and %s\u00a0dB more noise", percent(p.Risk), ui.Decimal(p.NoiseLUFS-t.NoiseLUFS, 1))
	}
	return fmt.Sprintf("3\u00a0dB more headroom: %s; 6\u00a0dB: %s.", less(t.Less3), less(t.Less6))
}

// laughWords are a line of “if the laugh reads …, set …”.
func laughWords(l plan.IfLaugh) (reads, set string) {
	return "laugh reads " + ui.Decimal(l.ReadsDBFS, 0) + "\u00a0dBFS", "set " + ui.Decimal(l.GainDB, 0) + "\u00a0dB, talk " + ui.Decimal(l.HeldDBFS, 0)
}

// list sets what a laugh in the sound check would make of the setting.
func (t *told) list(th *ui.Theme, f *kit.Flow, s *plan.Setup) {
	if !t.ok || t.NoKnob {
		f.Note("There is no setting for a laugh to move.")
		return
	}
	f.Note(fmt.Sprintf("A sound check is evidence. With the knob at %s\u00a0dB and talk held at %s\u00a0dBFS, ask for a laugh:", ui.Decimal(t.GainDB, 0), ui.Decimal(s.HeldDBFS(t.GainDB), 0)))
	f.Gap(6)
	if !t.known {
		f.Note("Being worked out.")
		return
	}
	for _, l := range t.laughs {
		reads, set := laughWords(l)
		st := th.Style(ui.Small, ink.Bold, ink.Right, th.Say)
		w := ink.Measure(set, st) + 2
		f.Pieces = append(f.Pieces, kit.Piece{Box: ink.Rect{X: f.X + f.Width - w, Y: f.Y, W: w, H: th.Row(ui.Small)}, S: set, St: st})
		full := f.Width
		f.Width -= w + 10
		f.Say(reads, ui.Small, ink.Regular, th.Say)
		f.Width = full
		f.Gap(3)
	}
	f.Gap(4)
	f.Tiny("Talk is the highest peak then held in a minute, dBFS. In “Set the gain” the sound check does this by itself while the guest talks and laughs.")
}

// sure works out how sure the setting is, and what a laugh would make of it.
func (t *told) sure(h *work.Context, s plan.Setup) (sp plan.Spread, laughs []plan.IfLaugh, err error) {
	sp, err = s.Spread(h, plan.SpreadDraws, plan.SpreadSessions, planSeed, h.Span("", 0, 0.8))
	if err != nil || !t.ok || t.NoKnob {
		return sp, nil, err
	}
	laughs, err = s.IfLaughs(h, t.GainDB, s.HeldDBFS(t.GainDB), func(c plan.Conversation) (*plan.Result, error) {
		return plan.InSlices(h, c, planSwings, planSeed, nil)
	})
	return sp, laughs, err
}
