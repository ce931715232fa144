package window

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"

	"gainwright/scenes/bench"
	"gainwright/scenes/gain/result"
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
	"gainwright/scenes/work"
	"gainwright/sim"
	"gainwright/sim/plan"
	"gainwright/sim/plan/ear"
)

// settleSeconds is for how long nothing may have changed before it is worked out how sure
// the answer is, which takes longest.
const settleSeconds = 4

// View is the ruler of a bench. All methods are for the screen's goroutine and return at
// once; what is worked out beside it shows when it is there, and what was known stays until
// then.
type View struct {
	Ruler *kit.Ruler
	b     *bench.Session

	secret  string
	shown   int
	forTake bool
	chosen  bool // by hand
	have    asked
	level   int // of what is had: 0 nothing, 1 coarse, 2 fine, 3 how sure it is
	is      [bench.MaxStrips]answer
	spread  plan.Spread
	sure    bool
	job     *work.Task
	doing   asked
	took    func()
	since   float64 // when what is asked changed
	asked   asked
	rev     int
	mode    bench.Mode
	fixed   *plan.Ruler // somebody else's
	sureing bool        // the job is about how sure the answer is
	ticks   [bench.MaxStrips]kit.RulerTick
	words   [6]ui.Strs
	laid    bool
}

// New is the ruler of a bench of which nothing is known yet.
func New(b *bench.Session) *View {
	v := &View{Ruler: kit.NewRuler(), b: b, rev: -1}
	v.Ruler.Lead[0] = ""
	return v
}

// Acts are what its switch does.
func (v *View) Acts() kit.Acts {
	return kit.Acts{
		kit.IDRulerTake: kit.Try(func() error {
			if v.Most(v.shown) != v.Most(v.shown) {
				return errors.New("there is no take of these settings yet; record one first")
			}
			v.forTake = true
			return nil
		}),
		kit.IDRulerHour: kit.Press(func() { v.forTake = false }),
	}
}

// Layout puts the ruler at the top of area and returns the rest. Where there is hardly
// room for the take it is left out.
func (v *View) Layout(th *ui.Theme, area ink.Rect) ink.Rect {
	if v.laid = area.H >= 200*th.Text; !v.laid {
		return area
	}
	kit.Hide(false, v.Ruler.For[0], v.Ruler.For[1])
	top := ui.Top(&area, kit.RulerRoom(th, area.H)+6)
	top.H -= 6
	v.Ruler.Layout(th, ui.Pad(top, 12, 0))
	return area
}

// Hide takes the ruler off the picture.
func (v *View) Hide() { v.laid = false }

// Draw draws it.
func (v *View) Draw(l *ink.List, th *ui.Theme) {
	if v.laid {
		v.Ruler.Draw(l, th)
	}
}

// Nodes tells it.
func (v *View) Nodes(dst []ui.Node) []ui.Node {
	if v.laid {
		dst = append(dst, v.Ruler.Node())
	}
	return dst
}

// Keep keeps the window to itself for a reason; "" shows it again.
func (v *View) Keep(why string) { v.secret = why }

// Secret tells why the window is not shown; "" where it is.
func (v *View) Secret() string { return v.secret }

// ask is what is to be known now.
func (v *View) ask() asked {
	a := asked{n: v.b.N()}
	for i := range a.n {
		a.chain[i] = v.b.Chain(i)
		if !plan.NoKnob(a.chain[i]) {
			a.chain[i].Preamp.GainDB = 0
		}
	}
	if rev := v.b.HeardRev(); rev == v.rev {
		a.check, a.takes = v.asked.check, v.asked.takes
		return a
	} else {
		v.rev = rev
	}
	check, takes := v.b.Heard()
	a.check, a.takes = ear.Coarse(check), ear.Coarse(takes)
	if a.check.Utterances < heardEnough {
		a.check = plan.Heard{}
	}
	if a.takes.Utterances < heardEnough {
		a.takes = plan.Heard{}
	}
	return a
}

// heardEnough is how many utterances tell how loud somebody talks.
const heardEnough = 4

// Update goes on with what is worked out. It reports whether the picture has changed.
func (v *View) Update(now float64, hidden bool) (moved bool) {
	if m := v.b.Mode(); m != v.mode {
		if m == bench.ModeRecord {
			v.tell(v.b.Take())
		}
		v.mode = m
	}
	if a := v.ask(); a != v.asked {
		v.asked, v.since = a, now
	}
	if j := v.job; j != nil {
		if v.doing.chain != v.asked.chain || v.doing.n != v.asked.n || v.sureing && v.doing != v.asked {
			j.Cancel()
		}
		d := work.SlicePlaying
		if hidden {
			d = work.SliceQuiet
		}
		j.Run(d)
		if !j.Finished() {
			return false
		}
		v.job = nil
		if !j.Gone && j.Err == nil && v.fixed == nil {
			v.took()
			moved = true
		}
	}
	if v.fixed == nil {
		v.next(now)
	}
	return moved
}

// next begins what is missing.
func (v *View) next(now float64) {
	a := v.asked
	level := v.level
	if v.have != a && level > 0 {
		level = 1 // better an answer a little later that stays than two
	}
	start := func(do func(h *work.Context) error, took func()) {
		v.doing, v.took, v.sureing, v.job = a, took, level == 2, work.Start(do)
	}
	simulated := func(sessions, to int) {
		var out [4]answer
		start(func(h *work.Context) (err error) {
			out, err = answers(h, a, sessions)
			return err
		}, func() { v.is, v.have, v.level, v.sure = out, a, to, false })
	}
	switch {
	case level == 0:
		simulated(coarse, 1)
	case level == 1:
		simulated(fine, 2)
	case level == 2 && now >= v.since+settleSeconds && v.secret == "":
		of := v.is[min(v.shown, a.n-1)]
		var sp plan.Spread
		start(func(h *work.Context) (err error) {
			sp, err = spreadOf(h, of.setup)
			return err
		}, func() {
			v.level = 3
			if v.have == a {
				v.spread, v.sure = sp, !math.IsInf(sp.LowDBFS, 0) && !math.IsInf(sp.HighDBFS, 0)
			}
		})
	}
}

func spreadOf(ctx context.Context, s plan.Setup) (plan.Spread, error) {
	return s.Spread(ctx, plan.SpreadDraws, plan.SpreadSessions, seed, nil)
}

// Hour is the window of strip i for the hour; nil while it is not known, or secret.
func (v *View) Hour(i int) *plan.Ruler {
	if v.level == 0 || v.secret != "" || i >= v.have.n {
		return nil
	}
	return &v.is[i].Ruler
}

// Most is the most that the take allowed strip i, whole dB; NaN where there is no take of
// these settings, but for the gain.
func (v *View) Most(i int) float64 {
	t := v.b.Take()
	if t == nil || !t.Done || i >= t.N || i >= v.b.N() {
		return math.NaN()
	}
	c := t.End[i]
	c.Preamp.GainDB = v.b.Chain(i).Preamp.GainDB
	if c != v.b.Chain(i) {
		return math.NaN()
	}
	return result.Most(t.End[i], t.Readings[i], t.Levels[i][sim.AtMicOut].Peak)
}

// Sync brings the ruler up to the state, for the strip that is shown.
func (v *View) Sync(shown int) {
	r := v.Ruler
	v.shown = min(shown, v.b.N()-1)
	i := v.shown
	r.Secret = v.secret
	r.Most = v.Most(i)
	none := r.Most != r.Most
	v.forTake = v.forTake && !none
	r.For[0].Checked, r.For[1].Checked = v.forTake, !v.forTake
	kit.Hide(!v.laid, r.For[0], r.For[1])
	kit.Refuse(none, "record a take first", r.For[0])
	r.Quiet, r.Risky, r.Edge = math.NaN(), math.NaN(), 0
	known := v.level > 0 && i < v.have.n
	if known {
		r.Between(v.is[i].LowDB, v.is[i].HighDB, v.is[i].edge)
		v.rule()
	}
	if v.forTake {
		r.Risky, r.Edge = r.Most, 0
	}
	r.Ticks = v.ticks[:0]
	for k := range v.b.N() {
		t := kit.RulerTick{Name: bench.StripNames[k], Said: bench.StripTitles[k], Gain: v.b.Chain(k).Preamp.GainDB}
		if known && k != i && k < v.have.n && v.have.chain[k] != v.have.chain[i] {
			t.Own, t.Quiet, t.Risky = true, v.is[k].LowDB, v.is[k].HighDB
			if v.forTake {
				t.Risky = v.Most(k)
			}
		}
		r.Ticks = append(r.Ticks, t)
	}
	v.lead(known)
}

// Fix shows a window that somebody else has worked out, of all strips, and notes it in the
// take that is there as what was told; nil is the bench's own again.
func (v *View) Fix(s *plan.Setup, r *plan.Ruler) {
	if r == v.fixed {
		return
	}
	v.fixed = r
	if r == nil {
		v.level, v.have, v.sure = 0, asked{}, false
		return
	}
	for i := range v.is {
		v.is[i] = answer{Ruler: *r, setup: *s, edge: max(0, r.HighToDB-r.HighDB)}
	}
	v.level, v.have.n, v.sure = 1, bench.MaxStrips, false
	if t := v.b.Take(); t != nil {
		v.tell(t)
	}
}

// rule marks where the published rule of thumb would have the gain.
func (v *View) rule() {
	ru, s := plan.Rules()[0], &v.is[v.shown].setup
	v.Ruler.Rule, v.Ruler.RuleTo = s.HeldGain(ru.LowDBFS), s.HeldGain(ru.HighDBFS)
	v.Ruler.RuleWords = RuleWords
}

// RuleWords are what stands at the published rule of thumb: whole, and in brief.
var RuleWords = func() [2]string {
	ru := plan.Rules()[0]
	span := "talk at " + ui.Decimal(ru.LowDBFS, 0) + "…" + ui.Decimal(ru.HighDBFS, 0) + " dBFS"
	title, _, _ := strings.Cut(ru.Source, ",")
	return [2]string{span + " (" + ru.Source + ")", span + " (" + title + ")"}
}()

// lead is what stands beside the scale.
func (v *View) lead(known bool) {
	r := v.Ruler
	r.Lead = [3]string{}
	if !known || v.secret != "" {
		return
	}
	a := &v.is[v.shown]
	switch {
	case v.forTake:
		r.Lead[0] = v.words[0].Get([6]int64{1, ui.Q(r.Most, 0)}, func() string {
			return "this take: at most " + ui.Decimal(r.Most, 0) + " dB"
		})
		r.Lead[1] = "one laugh is not an hour of them"
	case a.NoKnob:
		r.Lead[0], r.Lead[1] = "no knob to set", "a float recorder holds it"
	case math.IsNaN(a.SuggestDB) && !math.IsInf(a.HighDB, 0):
		// Safety first: noise can be turned down a little, an over cannot.
		r.Lead[0] = v.words[4].Get([6]int64{ui.Q(math.Floor(a.HighDB), 0)}, func() string {
			return "the hour: at most " + ui.Decimal(math.Floor(a.HighDB), 0) + " dB"
		})
		r.Lead[1] = "no safe gain is quiet enough"
	case math.IsNaN(a.SuggestDB):
		r.Lead[0], r.Lead[1] = "no gain keeps both", "see “Plan the session”"
	default:
		r.Lead[0] = v.words[1].Get([6]int64{ui.Q(a.SuggestDB, 0)}, func() string { return "for the hour: " + ui.Decimal(a.SuggestDB, 0) + " dB" })
		r.Lead[1] = v.words[2].Get([6]int64{ui.Q(a.SuggestHeld, 0)}, func() string {
			return "talk's held peak " + ui.Decimal(a.SuggestHeld, 0) + " dBFS"
		})
		if v.sure {
			r.Lead[2] = v.words[3].Get([6]int64{ui.Q(v.spread.LowDBFS, 0), ui.Q(v.spread.HighDBFS, 0)}, func() string {
				return "likely " + ui.Decimal(v.spread.LowDBFS, 0) + "…" + ui.Decimal(v.spread.HighDBFS, 0) + " dBFS"
			})
		} else if v.have.check.Talked() || v.fixed != nil {
			r.Lead[2] = "by what was heard so far"
		} else {
			r.Lead[2] = "nobody was heard yet"
		}
	}
}

// Band is where talk's held peak belongs on strip i's meter; NaN where that is not known
// or not to be told.
func (v *View) Band(i int) (low, high float64) {
	h := v.Hour(i)
	if h == nil || h.NoKnob || h.Empty() {
		return math.NaN(), math.NaN()
	}
	return h.LowHeldDBFS, h.HighHeldDBFS
}

// BandWords name the band.
const BandWords = "talk's held peak belongs"

// tell notes in a take that begins what was told until now.
func (v *View) tell(t *bench.Take) {
	for i := range t.N {
		if v.level == 0 || i >= v.have.n {
			continue
		}
		a := &v.is[i]
		told := bench.Told{Known: true, LowDB: a.LowDB, HighDB: a.HighDB, EdgeDB: a.edge, SuggestDB: a.SuggestDB, FullDB: a.setup.HeldGain(0)}
		for _, x := range []float64{told.LowDB, told.HighDB, told.EdgeDB, told.SuggestDB, told.FullDB} {
			if a.NoKnob || math.IsNaN(x) || math.IsInf(x, 0) {
				told = bench.Told{}
			}
		}
		t.Told[i] = told
	}
}

// Score sets what was told before the take beside fixed rules: what would have come of
// each on strip i. It is empty where nothing was told, or nothing can be said.
func (v *View) Score(t *bench.Take, i int) string {
	told := &t.Told[i]
	most := result.Most(t.End[i], t.Readings[i], t.Levels[i][sim.AtMicOut].Peak)
	if !told.Known || v.secret != "" || math.IsNaN(most) {
		return ""
	}
	say := func(gain float64) string {
		if over := math.Ceil(gain - most); over > 0 {
			return ui.Decimal(over, 0) + " dB over"
		}
		return "nothing lost"
	}
	s := fmt.Sprintf("In this take: as told before, %s dB: %s. Talk's held peak by a fixed rule:", ui.Decimal(told.SuggestDB, 0), say(told.SuggestDB))
	for k, rule := range plan.FixedDBFS {
		if k > 0 {
			s += ";"
		}
		s += fmt.Sprintf(" %s dBFS, %s", ui.Decimal(rule, 0), say(told.FullDB+rule))
	}
	return s + "."
}
