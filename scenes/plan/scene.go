package plan

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"gainwright/scenes/bench"
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
	"gainwright/scenes/work"
	"gainwright/sim"
	"gainwright/sim/plan"
	"gainwright/sounds/equipment"
)

// Scene is "Plan the session": the risk of an over and the noise after
// delivery against gain, the window between them, what would widen it, which
// assumption matters, and every assumption to change.
//
// A change of equipment or place shows at once: the simulated sessions stay what
// they are. A change of the conversation is simulated anew, beside the screen.
type Scene struct {
	shell kit.Shell
	setup plan.Setup
	mic   int
	rec   int

	// What is known, and of which set-up.
	res      *plan.Result
	stale    bool // res belongs to another conversation
	win      plan.Window
	curve    []plan.Point
	at       plan.Point // at the gain looked at
	needs    []plan.Need
	remedies []plan.Remedy
	swings   []plan.Swing
	coarse   *plan.Result   // few sessions, for comparisons
	known    [numKnown]bool // what is up to date, by planHelps and so on
	ready    bool           // the limiter's relief is known
	measured map[sim.InputLimiter]bool
	job      *work.Task
	took     func() // takes over what the job has found
	doing    string // what the job is about
	shown    int    // percent of it that is on screen
	problem  string // why there is nothing to show

	acts    kit.Acts
	cs      []ui.Control
	mics    []*ui.Choice
	recs    []*ui.Choice
	ownRec  *ui.Choice
	own     *equipment.Recorder // that the bench knew last
	places  [3]*ui.Choice
	guests  []*ui.Choice // kinds of conversation
	guest   guest        // who that is: anybody, or the learner
	show    kit.Slides
	viewWas planView // before the presentation
	told    told
	views   [numPlanViews]*ui.Choice
	view    planView
	main    []*kit.Field // in front
	all     []*kit.Field // every assumption, and the limits
	byKey   map[string]*kit.Field
	gain    *planCursor
	gainOn  bool // somebody chose the gain; else it follows the window
	use     *ui.Button
	reset   *ui.Button

	wide                     bool
	area                     ink.Rect
	leftBox, midBox, listBox ink.Rect
	left, list, page         kit.Scroller
	lf, vf, rf               kit.Flow // words on the left, of the verdict, of the list
	listTop                  float32
	plots                    planPlots
	pointer                  ink.Point
	status                   string
}

func New(p kit.Shell) *Scene {
	s := &Scene{shell: p, byKey: map[string]*kit.Field{}, measured: map[sim.InputLimiter]bool{}}
	s.setup = plan.Setup{Chain: sim.Default(), Model: plan.Default(), Limits: plan.DefaultLimits()}
	for _, m := range plan.Microphones() {
		c := ui.NewChoice(groupMicrophone, idMicrophone+m.Name, "Microphone: "+m.Title,
			fmt.Sprintf("%s mV/Pa, at most %s dB SPL. Figures typical of the class; a data sheet says more.", ui.Decimal(m.SensitivityMVPerPa, 1), ui.Decimal(m.MaxSPLDB, 0)), m.Name)
		c.Look = ui.Tile
		s.mics = append(s.mics, c)
	}
	for _, r := range plan.Recorders() {
		c := ui.NewChoice(groupRecorder, idRecorder+r.Name, "Recorder: "+r.Title,
			fmt.Sprintf("Full scale %s dBu, input noise %s dBu, converter %s dBA. Figures typical of the class.", ui.Decimal(r.Converter.FullScaleDBu, 0), ui.Decimal(r.Preamp.EINDBu, 0), ui.Decimal(r.Converter.DynamicRangeDBA, 0)), recorderWords[r.Name])
		if c.Label == "" {
			c.Label = r.Name
		}
		c.Look = ui.Tile
		s.recs = append(s.recs, c)
	}
	s.ownRec = ui.NewChoice(groupRecorder, idOwn, "Recorder: yours", "As its equipment file tells, which “Your recorder” makes of test recordings.", "yours")
	s.ownRec.Look = ui.Tile
	for i, pl := range kit.Places {
		s.places[i] = ui.NewChoice(groupLimiter, idLimiter+string(pl), "Limiter: "+kit.PlaceWords[i], kit.LimiterHints[i], [3]string{"off", "before conv.", "after conv."}[i])
		s.places[i].Look = ui.Tile
	}
	for _, p := range plan.Presets() {
		c := ui.NewChoice(groupGuest, idGuest+p.Name, "Guest: "+p.Title, "How much is laughed, how loudly, and how often somebody gets loud.", p.Name)
		c.Look = ui.Tile
		s.guests = append(s.guests, c)
	}
	s.guest.make()
	for i, v := range planViewWords {
		s.views[i] = ui.NewChoice(groupView, idView+v.id, v.name, v.hint, v.label)
		s.views[i].Look = ui.Tile
	}
	s.told.ruler = newRuler()
	s.fields()
	s.gain = newPlanCursor(s)
	s.use = ui.NewButton(idUse, "Take this gain to “Set the gain”",
		"Strip A there gets this gain and the planned equipment and place, strip B the same 12 dB lower, as a safety track.", "Use this gain", ui.Plain, ui.NoIcon)
	s.reset = ui.NewButton(idReset, "All as at the start", "Takes every assumption and setting back.", "All as at the start", ui.Quiet, ui.NoIcon)
	s.reset.Size = ui.Small
	s.acts = s.sceneActs()
	s.note()
	s.sync()
	return s
}

// fields makes a control for every number.
func (s *Scene) fields() {
	add := func(f *kit.Field) { s.byKey[strings.TrimPrefix(f.ID, idOf)] = f }
	add(kit.NewField(idOf+keyDistance, "Distance from mouth to microphone", "Half of it is 6 dB more voice.", "distance to the mouth", " cm", 2, 200, 8, 1, 0))
	s.byKey[keyDistance].To = 60
	add(kit.NewField(idOf+keyRoom, "Noise of the room", "20 a studio, 30 a quiet room at night, 40 a room with a fan, 50 a kitchen (common practice, no source).", "noise of the room", " dBA", 0, 80, 32, 1, 0))
	s.byKey[keyRoom].From, s.byKey[keyRoom].To = 15, 60
	for _, p := range s.params() {
		unit := p.Unit
		if unit != "" {
			unit = " " + unit
		}
		span := p.High - p.Low
		if span == 0 {
			span = max(math.Abs(p.Value)/2, 1)
		}
		from, to := max(p.Min, p.Low-span/2), min(p.Max, p.High+span/2)
		step := kit.NiceStep(to - from)
		scale := 1.0
		switch p.Key {
		case keyRisk:
			scale, unit, from, to, step = 100, " %", 0, 0.3, 0.005
		case keyNoise:
			from, to, step = -80, -40, 1
		case "delivery_lufs":
			from, to, step = -31, -10, 1
		case "minutes":
			from, to, step = 5, 180, 5
		case "laughs_per_hour":
			from, to, step = 0, 80, 1
		case "talk_level_db":
			from, to, step = 50, 80, 0.5
		}
		if strings.HasSuffix(p.Key, "share") {
			scale, unit = 100, " %"
		}
		f := kit.NewField(idOf+p.Key, kit.Capital(p.Name), "", p.Name, unit, p.Min*scale, p.Max*scale, p.Value*scale, step*scale, kit.DigitsOf(step*scale))
		f.From, f.To = from*scale, to*scale
		if p.High > p.Low {
			f.Low, f.High = p.Low*scale, p.High*scale
		}
		f.Note = "Source: " + p.Source + "."
		if strings.HasPrefix(p.Source, "assumed") || p.Standing == plan.Yours {
			f.Note = kit.Capital(p.Source) + "."
		}
		add(f)
		s.all = append(s.all, f)
	}
	for _, k := range planMain {
		s.main = append(s.main, s.byKey[k])
	}
}

func (s *Scene) params() []plan.Param {
	return append(s.setup.Model.Params(), s.setup.Limits.Params()...)
}

// Title is the name on the tab.
func (s *Scene) Title() string { return "Plan the session" }

// ID is that of the scene's tab in the mirror.
func (s *Scene) ID() string { return kit.IDTabPlan }

// Announce is the latest result.
func (s *Scene) Announce() string { return s.status }

// sync brings the controls up to the state.
func (s *Scene) sync() {
	for i, c := range s.mics {
		c.Checked = i == s.mic
	}
	for i, c := range s.recs {
		c.Checked = i == s.rec
	}
	s.ownRec.Checked, s.ownRec.Hidden = s.rec == len(s.recs), s.own == nil
	place := s.setup.Chain.Place()
	for i, c := range s.places {
		c.Checked = kit.Places[i] == place
	}
	kind, _ := s.setup.Model.Preset()
	for i, p := range plan.Presets() {
		s.guests[i].Checked = p.Name == kind.Name
	}
	s.guest.sync(s.shell)
	s.told.sync(&s.setup, s.res, s.win, s.shell.Bench())
	for i, c := range s.views {
		c.Checked = planView(i) == s.view
	}
	s.byKey[keyDistance].Value = s.setup.Chain.DistanceM * 100
	s.byKey[keyRoom].Value = s.setup.Chain.Room.NoiseDBA
	for _, p := range s.params() {
		s.byKey[p.Key].Value = p.Value * planScale(p.Key)
	}
	for _, f := range s.all {
		if !slices.Contains(s.main, f) {
			f.Hidden = s.view != planAssumptions
		}
	}
	s.gain.Value = s.setup.Chain.Preamp.GainDB
	s.use.Disabled, s.use.Why = s.res == nil, "the sessions are still being simulated"
	s.show.Sync(s.Controls())
}

// Controls lists the controls in focus order.
func (s *Scene) Controls() []ui.Control {
	if s.cs != nil {
		return s.cs
	}
	add := func(c ui.Control) { s.cs = append(s.cs, c) }
	for _, c := range s.mics {
		add(c)
	}
	for _, c := range s.recs {
		add(c)
	}
	add(s.ownRec)
	for _, c := range s.places {
		add(c)
	}
	for _, c := range s.guests {
		add(c)
	}
	for _, c := range s.guest.who {
		add(c)
	}
	add(s.guest.try)
	for _, f := range s.main {
		add(f)
	}
	add(s.reset)
	add(s.gain)
	add(s.use)
	for _, c := range s.views {
		add(c)
	}
	for _, f := range s.all {
		if !slices.Contains(s.main, f) {
			add(f)
		}
	}
	return s.cs
}

// Apply carries an intent out.
func (s *Scene) Apply(it ui.Intent) error {
	err := s.apply(it)
	s.sync()
	return err
}

// chain changes the equipment.
func (s *Scene) chain(c sim.Chain) error {
	if err := c.Validate(); err != nil {
		return err
	}
	again := c.DistanceM != s.setup.Chain.DistanceM // moving about is in centimetres
	s.setup.Chain = c
	s.changed(again)
	return nil
}

// changed drops what no longer holds: the conversation itself, if again, else only
// what follows from it.
func (s *Scene) changed(again bool) {
	if s.job != nil {
		s.job.Cancel()
		s.job = nil
	}
	s.known[planHelps], s.known[planSpread], s.known[planSure] = false, false, false
	s.told.known = false
	if again {
		s.stale, s.known[planCurves] = true, false
	}
	s.prepare()
	if s.ready && !s.stale && s.res != nil {
		s.take()
	}
	s.note()
}

// prepare readies the set-up at once if that takes no measuring.
func (s *Scene) prepare() {
	s.ready = false
	c := &s.setup.Chain
	if c.InputLimiter.On && !s.measured[c.InputLimiter] {
		return
	}
	if err := s.setup.Prepare(context.Background()); err != nil {
		s.problem = err.Error()
		return
	}
	s.ready, s.problem = true, ""
}

// next begins what is still missing, one thing at a time: the most telling first.
func (s *Scene) next() {
	if !s.ready && s.problem == "" {
		s.prepare() // at the start, where no other scene has to wait for it
	}
	t := s.setup
	start := func(what string, do func(h *work.Context) error, took func()) {
		s.doing, s.took = what, took
		s.job = work.Start(do)
	}
	switch {
	case s.problem != "":
	case !s.ready:
		start("measuring what the limiter lets through", func(h *work.Context) error { return t.Prepare(h) }, func() {
			s.measured[t.Chain.InputLimiter] = true
			s.prepare()
			if !s.stale && s.res != nil {
				s.take()
			}
		})
	case s.res == nil || s.stale:
		var r *plan.Result
		start("simulating", func(h *work.Context) (err error) {
			r, err = plan.InSlices(h, t.Conversation(), planCoarse, planSeed, func(p float64) { h.Report("", p) })
			return err
		}, func() {
			s.res, s.coarse, s.stale = r, r, false
			s.take()
		})
	case !s.known[planHelps]:
		var rem []plan.Remedy
		var need []plan.Need
		r := s.coarse
		start("trying what would help", func(h *work.Context) (err error) {
			n := 0.0
			rerun := func(c plan.Conversation) (*plan.Result, error) {
				n++
				return plan.InSlices(h, c, planCoarse, planSeed, func(p float64) { h.Report("", min((n-1+p)/8, 1)) })
			}
			rem, err = t.Remedies(h, r, rerun)
			if err == nil {
				need, err = t.Needs(h, r, rerun)
			}
			return err
		}, func() {
			s.remedies, s.needs, s.known[planHelps] = rem, need, true
			s.shell.Relayout()
		})
	case !s.known[planCurves]:
		var r *plan.Result
		start("refining", func(h *work.Context) (err error) {
			r, err = plan.InSlices(h, t.Conversation(), planFine, planSeed, func(p float64) { h.Report("", p) })
			return err
		}, func() {
			s.res, s.known[planCurves] = r, true
			s.take()
		})
	case !s.known[planSpread]:
		var sw []plan.Swing
		start("finding what matters most", func(h *work.Context) (err error) {
			sw, err = t.Sensitivity(h, t.Chain.Preamp.GainDB, func(c plan.Conversation) (*plan.Result, error) {
				return plan.InSlices(h, c, planSwings, planSeed, nil)
			}, func(p float64) { h.Report("", p) })
			return err
		}, func() {
			s.swings, s.known[planSpread] = sw, true
			s.shell.Relayout()
		})
	case !s.known[planSure]:
		var sp plan.Spread
		var laughs []plan.IfLaugh
		told := s.told
		start("finding how sure that is", func(h *work.Context) (err error) {
			sp, laughs, err = told.sure(h, t)
			return err
		}, func() {
			s.told.spread, s.told.laughs, s.told.known, s.known[planSure] = sp, laughs, true, true
			s.told.sync(&s.setup, s.res, s.win, s.shell.Bench())
			s.shell.Relayout()
		})
	}
}

// take works out window and curves from the sessions there are.
func (s *Scene) take() {
	s.win = s.setup.Window(s.res)
	s.curve = s.setup.Curve(s.res, kit.GainMin, kit.GainMax, planGainStep)
	s.told.Advice, s.told.ok = s.setup.Advise(s.res)
	if !s.gainOn {
		s.setup.Chain.Preamp.GainDB = s.suggestion()
	}
	s.look()
	s.shell.Relayout()
}

// look reads the curves at the gain looked at.
func (s *Scene) look() {
	if s.res != nil {
		s.at = s.setup.At(s.setup.Chain.Preamp.GainDB, s.res)
		s.shell.Relayout()
	}
	s.note()
}

// suggestion is the gain to begin with, within what the knob offers.
func (s *Scene) suggestion() float64 {
	if s.res == nil {
		return bench.GainDefault[1]
	}
	g := s.win.HighDB // with an empty window, safety first: noise can be turned down a little, an over cannot
	if a, ok := s.setup.Advise(s.res); ok && a.PadDB == 0 {
		g = a.GainDB
	}
	if math.IsInf(g, 0) || math.IsNaN(g) {
		return bench.GainDefault[1]
	}
	return min(max(math.Floor(g), kit.GainMin), kit.GainMax)
}

// note says the result in words.
func (s *Scene) note() { s.status = s.verdict() }

// verdict is the window in a sentence.
func (s *Scene) verdict() string {
	w := s.win
	switch {
	case s.problem != "":
		return s.problem
	case s.res == nil:
		return "Simulating sessions."
	case math.IsInf(w.HighDB, -1):
		return "No gain is safe: the microphone itself gives way. Another microphone, or more distance."
	case math.IsInf(w.LowDB, 1):
		return "No gain is quiet enough: what is heard is the room or the microphone, not the preamp."
	case w.Empty():
		return fmt.Sprintf("No gain keeps both limits: quiet enough from %s on, safe up to %s. The window lacks %s dB.", gainWord(w.LowDB), gainWord(w.HighDB), ui.Decimal(-w.WidthDB(), 1))
	case math.IsInf(w.HighDB, 1):
		return fmt.Sprintf("Any gain from %s on: nothing can go over.", gainWord(w.LowDB))
	case w.HighDB < kit.GainMin:
		return fmt.Sprintf("Safe below %s only: less than this knob offers. A pad at the preamp, or more distance.", gainWord(w.HighDB))
	}
	if s.told.ok {
		return s.told.sentence()
	}
	return fmt.Sprintf("Set the gain between %s and %s.", gainWord(max(w.LowDB, kit.GainMin)), gainWord(w.HighDB))
}

// reading says what the gain looked at means.
func (s *Scene) reading() string {
	if s.res == nil {
		return ""
	}
	a := s.at
	if math.IsInf(a.NoiseLUFS, 0) || math.IsNaN(a.NoiseLUFS) {
		return ""
	}
	return fmt.Sprintf("At %s the meter should hold about %s\u00a0dBFS in a minute of talk. %s. Noise after delivery: %s\u00a0LUFS.",
		gainWord(a.GainDB), ui.Decimal(a.HeldPeakDBFS, 0), s.riskWords(), ui.Decimal(a.NoiseLUFS, 1))
}

// riskWords says how likely an over is.
func (s *Scene) riskWords() string {
	a := s.at
	span := fmt.Sprintf("%s to %s\u00a0%%", percent(a.RiskLow), percent(a.RiskHigh))
	switch {
	case a.Risk == 0:
		return fmt.Sprintf("None of %d sessions went over (at most %s\u00a0%%)", len(s.res.PeakDB), percent(a.RiskHigh))
	case a.Risk >= 0.995:
		return "Nearly every session goes over"
	}
	much := ""
	if a.RiskMuch > 0 && a.RiskMuch < 0.995 {
		much = fmt.Sprintf(", one in %s by more than %d\u00a0dB", oneIn(a.RiskMuch), plan.MuchDB)
	}
	return fmt.Sprintf("One session in %s goes over (%s\u00a0%%; %s)%s", oneIn(a.Risk), percent(a.Risk), span, much)
}

// takeOver sets up the bench of "Set the gain" as planned.
func (s *Scene) takeOver() error {
	b := s.shell.Bench()
	if b.Mode() == bench.ModeRecord {
		return fmt.Errorf("a take is being recorded in “Set the gain”; end it first")
	}
	a, safe := s.setup.Chain, s.setup.Chain
	safe.Preamp.GainDB = max(kit.GainMin, a.Preamp.GainDB-plan.SafetyDB)
	for i, c := range []sim.Chain{a, safe} {
		if err := b.SetChain(i, c); err != nil {
			return err
		}
	}
	return s.shell.Go(kit.IDTabGain, ui.Intent{ID: kit.IDSetupPlanned, Do: ui.DoSet,
		Text: fmt.Sprintf("From the plan: strip A at %s, strip B %s lower as a safety track. In a minute of talk the meter of A should hold about %s dBFS.",
			gainWord(a.Preamp.GainDB), gainWord(a.Preamp.GainDB-safe.Preamp.GainDB), ui.Decimal(s.at.HeldPeakDBFS, 0))})
}

// Update carries work beside the screen on, and remembers where the pointer is.
func (s *Scene) Update(in *ui.Input) bool {
	for _, p := range in.Pointers {
		s.pointer = p.At
	}
	moved := s.guest.sync(s.shell)
	if moved {
		s.shell.Relayout()
	}
	s.followOwn()
	if s.job != nil {
		d := work.SliceQuiet / 2
		if in.Hidden {
			d = work.SliceQuiet
		}
		s.job.Run(d)
		_, share := s.job.Progress()
		if p := int(share * 100); p != s.shown {
			s.shown, moved = p, true
		}
		if s.job.Finished() {
			j := s.job
			s.job = nil
			switch {
			case j.Gone:
			case j.Err != nil:
				s.problem = j.Err.Error()
			default:
				s.took()
			}
			s.note()
			s.sync()
			moved = true
		}
	}
	if s.job == nil {
		s.next()
		moved = moved || s.job != nil
	}
	return moved
}

// Scroll moves the column under the pointer.
func (s *Scene) Scroll(dy float32) {
	p := &s.page
	if s.wide {
		p = &s.list
		if s.pointer.X < s.left.View.Right() {
			p = &s.left
		}
	}
	if p.By(dy) {
		s.Layout(s.shell.Theme(), s.area)
	}
}

// Reveal scrolls until r can be seen.
func (s *Scene) Reveal(r ink.Rect) {
	p := &s.page
	if s.wide {
		switch {
		case s.left.Holds(r):
			p = &s.left
		case s.list.Holds(r):
			p = &s.list
		default:
			return
		}
	}
	if p.Reveal(r) {
		s.Layout(s.shell.Theme(), s.area)
	}
}
