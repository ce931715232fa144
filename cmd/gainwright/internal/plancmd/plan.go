// Package plancmd is the command plan: where to set the gain for a session, as text,
// pictures, JSON and a card to print.
package plancmd

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/cmd/gainwright/internal/picture"
	"gainwright/sim"
	"gainwright/sim/plan"
	"gainwright/sounds"
	"gainwright/sounds/scenario"
)

// Sessions that are simulated: enough for a risk of 5 % to within ±0.3 %.
const (
	planSessions  = 20_000
	leastSessions = 1000
)

// planFlags change a scenario for the planner.
type planFlags struct {
	cli.Settings
	strip, mic, class, minutes, risk, noise string
	guest, heard, check, marks              string
	sessions                                int
}

// New is the command plan.
func New() *cobra.Command {
	var (
		p   planFlags
		out cli.OutputFlags
	)
	cmd := &cobra.Command{
		Use:   "plan [SCENARIO]",
		Short: "Plan a session: where to set the gain, the risk of an over, the cost of headroom",
		Long: `Plan a session before the guest is there. The answer is one number that a meter shows:
the highest peak that it should hold in a minute of the guest's talk. With it: what the
knob is for this chain, how likely anything goes over and goes over by more than 3 dB,
how sure that is when every assumption is drawn from what is plausible, what 3 and 6 dB
more headroom cost, what would help, and which assumption matters most.

The conversation is simulated many times as a random series of utterances, laughs of
three classes, outbursts and coughs, with people who move; the noise comes from the same
chain that records. Every assumption is listed with its standing, and can be changed in
the scenario's section plan or with --set plan.KEY=VALUE.

A sound check beats the assumptions. Tell what the meter held with --heard, or give the
recording of the check with --check, which looks for talk and laughs in it; --gain is the
gain it was made at. The plan then is for this guest, and says what to set if the next
laugh reads so much.

SCENARIO is the name of a built-in scenario or a YAML file, of which the first strip
counts unless --strip names one; without it, a guest a hand's width from a dynamic
microphone in a quiet room, with a handheld recorder. Nothing is written unless --out
names a directory: it gets pictures of the curves (plan.png) and of what matters
(assumptions.png), the numbers (plan.json) and a card for the session (card.html) that
prints on one page.

With an equipment file of your own recorder the plan says where to set its knob, by its
own marks, between which marks that lies in nine cases of ten, and what was assumed of
what the file does not tell.

Microphones and recorders, with figures typical of their class:
` + gearList(),
		Example: `  gainwright plan
  gainwright plan --distance 0.15 --mic condenser --minutes 90
  gainwright plan --guest lively --recorder limiter --risk 1%
  gainwright plan --recorder my-recorder.yaml
  gainwright plan --heard talk=-22,laugh=-9,gain=40
  gainwright plan --check check.wav --gain 40
  gainwright plan my-session.yaml --strip B --out friday
  gainwright plan --set plan.open_laugh.level_db=14 --set room.noise_dba=40 --json`,
		Args: cli.Args(cobra.MaximumNArgs(1), "takes one scenario at most"),
		RunE: func(cmd *cobra.Command, a []string) error {
			if err := out.Check(); err != nil {
				return err
			}
			sc, err := p.load(strings.Join(a, ""))
			if err != nil {
				return err
			}
			st, err := p.apply(sc)
			if err != nil {
				return err
			}
			h, err := p.hear(cmd.Context(), st)
			if err != nil {
				return err
			}
			return planSession(cmd, sc, st, p.sessions, h, &out)
		},
	}
	p.addTo(cmd)
	out.AddTo(cmd, "`DIR` for pictures, numbers and the card (without it nothing is written)")
	return cmd
}

// addTo adds the flags that say what is planned.
func (p *planFlags) addTo(cmd *cobra.Command) {
	f := cmd.Flags()
	f.StringArrayVar(&p.Sets, "set", nil, "change any setting or assumption: `PATH=VALUE`, as in plan.laughs_per_hour=12; repeat at will")
	f.StringVar(&p.strip, "strip", "", "which strip of the scenario: its `NAME` (the first)")
	f.StringVar(&p.mic, "mic", "", "class of the microphone: `NAME`")
	f.StringVar(&p.Recorder, "recorder", "", "class of the recorder, or your own: a `NAME`, or the equipment file that \"recorder learn\" wrote (.yaml)")
	f.StringVar(&p.Distance, "distance", "", "from the talker to the microphone, in metres (`M`)")
	f.StringVar(&p.guest, "guest", "", "the kind of conversation: calm, ordinary or lively: `NAME` (ordinary)")
	f.StringVar(&p.heard, "heard", "", "what the meter held in a sound check: `talk=DBFS,laugh=DBFS[,gain=DB]`; laugh may repeat, asked= is a laugh on request")
	f.StringVar(&p.check, "check", "", "recording of a sound check, made at --gain: `FILE`")
	f.StringVar(&p.marks, "marks", "", "where in it: `talk=FROM-TO,laugh=FROM-TO` in seconds (found by itself)")
	f.StringVar(&p.minutes, "minutes", "", "length of the session: `MIN` (60)")
	f.StringVar(&p.risk, "risk", "", "largest chance of an over in the session that you accept: `SHARE`, as 0.05 or 5% (5%)")
	f.StringVar(&p.noise, "noise", "", "most noise after delivery that you accept: `LUFS` (-60)")
	f.IntVar(&p.sessions, "sessions", planSessions, "how many sessions are simulated: `N`")
	f.StringVar(&p.Seed, "seed", "", "`N` of all chance: the same seed, the same numbers")
	p.AddStrip(cmd)
	p.AddMark(cmd)
}

// load finds what is planned for; --recorder is a class of recorders, or a file.
func (p *planFlags) load(name string) (*scenario.Scenario, error) {
	if r := p.Recorder; !strings.ContainsAny(r, `./\`) {
		p.class, p.Recorder = r, ""
	}
	sc, err := p.Load(name)
	if err == nil && name == "" {
		sc.Title = "One guest, one take"
	}
	return sc, err
}

func gearList() string {
	var b strings.Builder
	for _, m := range plan.Microphones() {
		fmt.Fprintf(&b, "  --mic %-16s %s: %g mV/Pa, up to %g dB SPL\n", m.Name, m.Title, m.SensitivityMVPerPa, m.MaxSPLDB)
	}
	for _, r := range plan.Recorders() {
		fmt.Fprintf(&b, "  --recorder %-11s %s: noise %g dBu, full scale %+g dBu\n", r.Name, r.Title, r.Preamp.EINDBu, r.Converter.FullScaleDBu)
	}
	return strings.ReplaceAll(strings.TrimRight(b.String(), "\n"), " -1", " −1")
}

// apply changes sc, the gear first so that --set has the last word, and picks the
// strip.
func (p *planFlags) apply(sc *scenario.Scenario) (*scenario.Strip, error) {
	if p.sessions < leastSessions || p.sessions > plan.MaxSessions {
		return nil, cli.Usagef("--sessions: %d is out of range: %d to %d", p.sessions, leastSessions, plan.MaxSessions)
	}
	if p.mic != "" {
		var names []string
		found := false
		for _, m := range plan.Microphones() {
			names = append(names, m.Name)
			if m.Name == p.mic {
				found = true
				sc.Each(func(c *sim.Chain) {
					*c = m.On(*c)
					if m.WornM > 0 {
						c.DistanceM = m.WornM
					}
				})
			}
		}
		if !found {
			return nil, cli.Usagef("--mic: there is no %q: there are %s", p.mic, strings.Join(names, ", "))
		}
	}
	if p.class != "" {
		var names []string
		found := false
		for _, r := range plan.Recorders() {
			names = append(names, r.Name)
			if r.Name == p.class {
				found = true
				sc.Each(func(c *sim.Chain) { *c = r.On(*c) })
			}
		}
		if !found {
			return nil, cli.Usagef("--recorder: there is no %q: there are %s, or your own: the name of an equipment file, as in my-recorder.yaml", p.class, strings.Join(names, ", "))
		}
	}
	risk := p.risk
	if num, ok := strings.CutSuffix(strings.TrimSpace(risk), "%"); ok {
		v, err := strconv.ParseFloat(strings.TrimSpace(num), 64)
		if err != nil {
			return nil, cli.Usagef("--risk: want a share, as 0.05 or 5%%, not %q", p.risk)
		}
		risk = strconv.FormatFloat(v/100, 'g', -1, 64)
	}
	if p.guest != "" { // first, so that --set has the last word
		if err := sc.Plan.Model.SetPreset(p.guest); err != nil {
			return nil, cli.Usagef("--guest: %v", err)
		}
	}
	if err := p.Settings.Apply(sc); err != nil {
		return nil, err
	}
	for _, f := range []struct{ flag, path, value string }{
		{"--minutes", "plan.minutes", p.minutes}, {"--risk", "plan.risk", risk}, {"--noise", "plan.noise_lufs", p.noise},
	} {
		if f.value == "" {
			continue
		}
		if err := sc.Set(f.path, f.value); err != nil {
			if e, ok := err.(*scenario.Error); ok {
				for i := range e.Faults {
					e.Faults[i].Name = f.flag
				}
			}
			return nil, err
		}
	}
	st := &sc.Strips[0]
	if p.strip != "" {
		if st = sc.Strip(p.strip); st == nil {
			return nil, cli.Usagef("--strip: there is no strip %q: there are %s", p.strip, strings.Join(sc.StripNames(), ", "))
		}
	}
	return st, nil
}

// planned is a plan that was made.
type planned struct {
	sc       *scenario.Scenario
	strip    string
	setup    plan.Setup
	sessions int
	result   *plan.Result
	window   plan.Window
	rows     []plan.Point // around the window, in steps that people use
	curve    []plan.Point // for the picture
	own      plan.Point   // at the gain that is set
	heard    heard
	spread   plan.Spread
	ifs      []plan.IfLaugh
	advice   plan.Advice
	suggest  *plan.Point // advice.Point; nil if there is none
	lower    plan.Point  // 6 dB below the suggestion
	remedies []plan.Remedy
	needs    []plan.Need
	swings   []plan.Swing
}

// makePlan computes everything. w may be silent.
func makePlan(ctx context.Context, sc *scenario.Scenario, st *scenario.Strip, sessions int, h *heard, w *cli.Watch) (*planned, error) {
	defer w.Done()
	p := &planned{sc: sc, strip: st.Name, sessions: sessions, heard: *h, setup: plan.Setup{Chain: st.Chain, Model: sc.Plan.Model, Limits: sc.Plan.Limits}}
	s := &p.setup
	if k := sc.Knob(); k != nil {
		s.Knob.LowDB, s.Knob.HighDB = k.Range(st.Chain)
	}
	if err := s.Prepare(ctx); err != nil {
		return nil, err
	}
	if h.any {
		if h.hasGain {
			s.Chain.Preamp.GainDB = h.gain // that is what is set now
		}
		h.tell(s)
		if err := s.Prepare(ctx); err != nil {
			return nil, err
		}
	}
	simulate := func(c plan.Conversation) (*plan.Result, error) {
		return plan.Simulate(ctx, c, sessions, sc.Seed, w.At)
	}
	w.Begin("simulating sessions")
	r, err := simulate(s.Conversation())
	if err != nil {
		return nil, err
	}
	p.result, p.window = r, s.Window(r)
	p.own = s.At(s.Chain.Preamp.GainDB, r)
	center := p.own.GainDB
	if a, ok := s.Advise(r); ok && !math.IsInf(p.window.HighDB, 0) {
		p.advice = a
		p.suggest = &p.advice.Point
		center = a.GainDB
	}
	// The table reaches over both ends of the window, as far as they are finite.
	lo, hi := center, center
	for _, v := range []float64{p.window.LowDB, p.window.HighDB} {
		if !math.IsInf(v, 0) {
			lo, hi = min(lo, v), max(hi, v)
		}
	}
	step := 3.0
	for (hi-lo+9)/step > 14 {
		step *= 2
	}
	lo, hi = math.Floor((lo-3)/step)*step, math.Ceil((hi+6)/step)*step
	p.rows = s.Curve(r, lo, hi, step)
	p.curve = s.Curve(r, lo, hi, 0.25)
	quarter := func(c plan.Conversation) (*plan.Result, error) {
		return plan.Simulate(ctx, c, max(sessions/4, 500), sc.Seed, nil)
	}
	if err := p.ifLaughs(ctx, quarter); err != nil {
		return nil, err
	}
	w.Begin("drawing all assumptions")
	if p.spread, err = s.Spread(ctx, min(max(sessions/125, 32), 4*plan.SpreadDraws), min(max(sessions/10, 100), plan.SpreadSessions), sc.Seed, w.At); err != nil {
		return nil, err
	}
	w.Begin("trying changes")
	if p.remedies, err = s.Remedies(ctx, r, simulate); err != nil {
		return nil, err
	}
	if p.needs, err = s.Needs(ctx, r, simulate); err != nil {
		return nil, err
	}
	at := p.own.GainDB
	if p.suggest != nil {
		at = p.suggest.GainDB
	}
	w.Begin("varying assumptions")
	few := min(max(sessions/10, 250), 20_000)
	p.swings, err = s.Sensitivity(ctx, at, func(c plan.Conversation) (*plan.Result, error) {
		return plan.Simulate(ctx, c, few, sc.Seed, nil)
	}, w.At)
	return p, err
}

func planSession(cmd *cobra.Command, sc *scenario.Scenario, st *scenario.Strip, sessions int, h *heard, out *cli.OutputFlags) error {
	ctx := cmd.Context()
	// What is in the way of writing shows before the work begins.
	write := func(*planned) (map[string]string, string, error) { return nil, "", nil }
	if out.Dir != "" {
		outs, err := cli.OpenOutputs(out.Dir, out.Force)
		if err != nil {
			return err
		}
		defer outs.Abort()
		names := []string{"plan." + out.Picture, "assumptions." + out.Picture, "card.html", "plan.json"}
		files := make([]*cli.OutFile, len(names))
		for i, n := range names {
			if files[i], err = cli.Create(outs, n); err != nil {
				return err
			}
		}
		write = func(p *planned) (map[string]string, string, error) {
			for i, draw := range []func(io.Writer) error{
				func(w io.Writer) error { return p.picture().Draw(w, out.Picture) },
				func(w io.Writer) error { return p.tornado().Draw(w, out.Picture) },
				p.card,
				func(w io.Writer) error { return cli.WriteJSON(w, p.json()) },
			} {
				var b bytes.Buffer
				if err := draw(&b); err != nil {
					return nil, "", err
				}
				if _, err := files[i].Write(b.Bytes()); err != nil {
					return nil, "", err
				}
			}
			if err := ctx.Err(); err != nil {
				return nil, "", err
			}
			if err := outs.Commit(); err != nil {
				return nil, "", err
			}
			return cli.ListFiles(outs), fmt.Sprintf("Written to %s: %s\nThe card prints on one page: open %s in a browser.\n",
				sounds.Shown(out.Dir), strings.Join(outs.Names(), ", "), sounds.Shown(outs.Path("card.html"))), nil
		}
	}
	p, err := makePlan(ctx, sc, st, sessions, h, cli.NewWatch(cmd.ErrOrStderr(), out.Quiet))
	if err != nil {
		return err
	}
	files, note, err := write(p)
	if err != nil {
		return err
	}
	switch {
	case out.JSON:
		j := p.json()
		j.Files = files
		return cli.WriteJSON(cmd.OutOrStdout(), j)
	case out.Quiet:
		return nil
	}
	var b bytes.Buffer
	p.describe(&b)
	b.WriteString(note)
	_, err = cmd.OutOrStdout().Write(b.Bytes())
	return err
}

func (p *planned) picture() *picture.Plan {
	pic := &picture.Plan{
		Title: "Plan · " + p.sc.Title, Line: p.place(), Curve: p.curve, Window: p.window, Limits: p.setup.Limits,
		SuggestDB: math.NaN(), OwnDB: p.own.GainDB,
	}
	if p.suggest != nil {
		pic.SuggestDB = p.suggest.GainDB
	}
	return pic
}

func (p *planned) tornado() *picture.Swings {
	return &picture.Swings{Title: "Plan · " + p.sc.Title, Line: p.place(), HeldDBFS: p.window.HighHeldDBFS, Swings: p.swings}
}

// planResult is the JSON of plan.
type planResult struct {
	Title    string             `json:"title"`
	Strip    string             `json:"strip"`
	Seed     uint64             `json:"seed"`
	Sessions int                `json:"sessions"`
	Window   plan.Window        `json:"window"`
	Guest    string             `json:"guest,omitempty"` // the preset
	Suggest  *suggested         `json:"suggested,omitempty"`
	If       []plan.IfLaugh     `json:"if_the_laugh_reads,omitempty"`
	Heard    *heardResult       `json:"heard,omitempty"`
	Now      plan.Point         `json:"at_the_gain_set"`
	First    string             `json:"gives_way_first"`
	ReliefDB float64            `json:"limiter_relief_db"`
	ByKind   map[string]float64 `json:"loudest_moment_by_kind"`
	Curve    []plan.Point       `json:"curve"`
	Remedies []plan.Remedy      `json:"remedies"`
	Needs    []plan.Need        `json:"needs,omitempty"`
	Swings   []plan.Swing       `json:"sensitivity"`
	Limits   []plan.Param       `json:"limits"`
	Assumed  []plan.Param       `json:"assumptions"`
	Settings sim.Chain          `json:"settings"`
	Gear     *cli.Recorder      `json:"recorder,omitempty"`
	Files    map[string]string  `json:"files,omitempty"`
}

// suggested is the setting in JSON: its figures are its own.
type suggested struct {
	plan.Point
	// What the meter should hold, whole dBFS, and the interval from drawing all
	// assumptions: one plan in ten lies lower, one in ten higher.
	Held     sim.Level  `json:"held_peak_dbfs"`
	HeldLow  sim.Level  `json:"held_peak_low_dbfs"`
	HeldHigh sim.Level  `json:"held_peak_high_dbfs"`
	PadDB    float64    `json:"pad_db,omitempty"` // to switch in for that gain
	NoKnob   bool       `json:"no_knob,omitempty"`
	Less3    plan.Point `json:"less_3db"`
	Less6    plan.Point `json:"less_6db"`
	// Where that is on the user's own knob, and where the window's ends are.
	Knob     *cli.KnobAt `json:"knob,omitempty"`
	KnobLow  *cli.KnobAt `json:"knob_low,omitempty"`
	KnobHigh *cli.KnobAt `json:"knob_high,omitempty"`
}

// heardResult is what a sound check told.
type heardResult struct {
	TalkDBFS  float64    `json:"talk_dbfs"`
	LaughDBFS []float64  `json:"laugh_dbfs,omitempty"`
	AskedDBFS []float64  `json:"asked_laugh_dbfs,omitempty"`
	GainDB    float64    `json:"gain_db"`
	File      string     `json:"file,omitempty"`
	Found     []found    `json:"found,omitempty"`
	Guest     plan.Guest `json:"guest"`
}

func (p *planned) suggestion() *suggested {
	if p.suggest == nil {
		return nil
	}
	a := &p.advice
	out := &suggested{Point: a.Point, Held: sim.Level(a.HeldDBFS), HeldLow: sim.Level(p.spread.LowDBFS), HeldHigh: sim.Level(p.spread.HighDBFS),
		PadDB: a.PadDB, NoKnob: a.NoKnob, Less3: a.Less3, Less6: a.Less6}
	if k := p.knob(); k != nil {
		out.Knob, out.KnobLow, out.KnobHigh = p.knobAt(k, a.GainDB), p.knobAt(k, p.window.LowDB), p.knobAt(k, p.window.HighDB)
	}
	return out
}

func (p *planned) heardJSON() *heardResult {
	h := &p.heard
	if !h.any {
		return nil
	}
	return &heardResult{h.talk, h.laughs, h.asked, h.gain, h.file, h.found, p.setup.Guest()}
}

func (p *planned) json() planResult {
	guest, _ := p.setup.Model.Preset()
	return planResult{
		Guest: guest.Name, If: p.ifs, Heard: p.heardJSON(),
		Title: p.sc.Title, Strip: p.strip, Seed: p.sc.Seed, Sessions: p.sessions,
		Window: p.window, Suggest: p.suggestion(), Now: p.own, First: p.givesWay(), ReliefDB: p.setup.ReliefDB(p.result),
		ByKind: p.result.ByKind(), Curve: p.rows, Remedies: p.remedies, Needs: p.needs, Swings: p.swings,
		Limits: p.setup.Limits.Params(), Assumed: p.setup.Model.Params(), Settings: p.setup.Chain, Gear: cli.NewRecorder(p.sc),
	}
}
