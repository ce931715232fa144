package first

import (
	"fmt"
	"strings"

	"gainwright/lessons/take"
	"gainwright/scenes/bench"
	"gainwright/scenes/diagram"
	"gainwright/scenes/gain"
	"gainwright/scenes/gain/result"
	"gainwright/scenes/gain/waves"
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/stage"
	"gainwright/scenes/ui"
	"gainwright/scenes/work"
	"gainwright/sim"
	"gainwright/sounds/scenario"
	"gainwright/sounds/voice"
)

// Scene is "First guest". One guest talks, and one knob is turned; what becomes of the
// take comes in as it is needed.
type Scene struct {
	shell  kit.Shell
	stage  *stage.Stage
	takes  *take.Bench
	steps  []Step
	sc     *scenario.Scenario
	who    voice.Talker
	at     int // step
	open   bool
	check  *take.Speech // said over and over
	speech *take.Speech // what is recorded
	job    *work.Task   // that makes both
	wanted bool         // the take is to begin once it is made
	warned *bench.Take
	fresh  float64 // when the highest bar begins anew, the gain having come to rest
	status string
	end    [2]ending // of the take shown, by strip

	acts  kit.Acts
	cs    []ui.Control
	gain  *ui.Knob
	meter *ui.Meter
	rec   *ui.Button
	press map[string]*ui.Button // by its word in the steps
	line  []*ui.Button          // in their order

	sight [2]bench.Sight
	wave  [2]*waves.View
	d     diagram.Diagram

	area ink.Rect
	lay  layout
}

// ending is what became of a strip, in words.
type ending struct {
	good       bool
	head, lost string
	kind       string // of ends
}

// The strips: the learner's, and one that follows it, bench.SafetyDB lower.
const (
	mine = iota
	lower
)

// New makes the scene beside g, whose bench it borrows. What is said and done in it is
// read when somebody comes (Enter), since most visits never do.
func New(p kit.Shell, g *gain.Scene) *Scene {
	s := &Scene{shell: p, stage: stage.NewStage(p, g), takes: take.NewBench()}
	s.gain = ui.NewKnob(idGain, "Preamp gain", "How much the preamp turns up. Drag, or use the arrow keys.", "gain", " dB",
		kit.GainMin, kit.GainMax, bench.GainDefault[mine], 1, 6, kit.KnobDBPerDP, 0)
	s.meter = ui.NewMeter(idMeter, "Level of the recording", "The highest bar stays until the knob is turned. Above full scale, hatched: what was lost.")
	s.meter.Large = true
	btn := func(id, name, hint, label string, look ui.Look, icon ui.Icon) *ui.Button {
		b := ui.NewButton(id, name, hint, label, look, icon)
		b.Size = ui.Strong
		return b
	}
	s.rec = btn(idGo, "Record", "The take ends by itself.", "Record", ui.Plain, ui.IconRecord)
	s.press = map[string]*ui.Button{
		"record": s.rec,
		"hear":   btn(idHear, "Hear it", "Plays the laugh as it was recorded; again to stop.", "Hear it", ui.Plain, ui.IconPlay),
		"other":  btn(idOther, "Hear it 12 dB lower", "The same laugh, equally loud, as the lower strip recorded it; again to stop.", "Hear it", ui.Plain, ui.IconPlay),
		"again":  btn(idAgain, "Try again, same laugh", "Back to the knob; she will say and laugh the very same.", "Try again, same laugh", ui.Plain, ui.NoIcon),
		"next":   btn(idNext, "Go on", "", "", ui.Plain, ui.NoIcon),
		"voice":  btn(idVoice, "Try it with your own voice", "Record a few lines and a laugh; then you can be the guest. Nothing leaves this computer.", "Try it with your own voice", ui.Plain, ui.NoIcon),
		"all":    btn(idAll, "Show everything", "All strips, stations and scenes, from now on at every visit.", "Show everything", ui.Quiet, ui.NoIcon),
	}
	for _, w := range presses {
		s.line = append(s.line, s.press[w])
	}
	for i := range s.sight {
		s.sight[i] = bench.Sight{Bench: p.Bench(), Shown: i}
		s.wave[i] = waves.NewView(&s.sight[i])
		s.wave[i].SpanMS = 15
	}
	gain.ShowLevels(&s.d, &s.sight[mine])
	s.acts = s.sceneActs()
	return s
}

// read reads steps and take, once.
func (s *Scene) read() {
	if s.sc != nil {
		return
	}
	var err error
	if s.steps, s.sc, err = load(); err == nil {
		s.who, err = voice.Find(s.sc.Source.Talker)
	}
	if err != nil {
		panic("first: " + err.Error()) // a test reads what is embedded
	}
	start := s.sc.Strips[0].Chain.Preamp.GainDB
	s.gain.Value, s.gain.Default = start, start
}

// Sparing reports that no unit stands on the picture that would have to be explained: those
// come with the diagram.
func (s *Scene) Sparing() bool { return !s.step().shows("levels") }

// Title is what the scene is called; ID is what shows it. It has no tab.
func (s *Scene) Title() string { return "First guest" }

// ID is that of the intent that shows the scene.
func (s *Scene) ID() string { return kit.IDTabFirst }

// Alone implements kit.Loner: all else stays away until the last step.
func (s *Scene) Alone() bool { return !s.open }

// step is where one is.
func (s *Scene) step() *Step { return &s.steps[s.at] }

// Announce is what to do, or what became of it.
func (s *Scene) Announce() string { return s.status }

// Rolls says what leaving does to the take.
func (s *Scene) Rolls() string {
	if s.stage.Rolling() {
		return "give the take up"
	}
	return ""
}

// Enter sits the guest down and begins at the first step.
func (s *Scene) Enter() {
	s.read()
	s.stage.Enter()
	s.open, s.wanted, s.warned = false, false, nil
	a := s.sc.Strips[0].Chain
	if err := s.stage.Put([]sim.Chain{a, a}, s.who.Name); err != nil {
		s.shell.Fail(err)
	}
	b := s.shell.Bench()
	set := b.Setup()
	set.Safety[lower] = 1 + mine
	set.SyncSafety()
	if err := b.SetSetup(set); err != nil {
		s.shell.Fail(err)
	}
	b.SetListen(bench.ListenA)
	s.fresh = s.shell.Now() + handover
	s.to(0)
	s.loop()
	if s.speech != nil || s.job != nil {
		return
	}
	s.job = work.Start(func(h *work.Context) (err error) {
		p := take.Performed{Talker: s.who.Name, Script: talkOf(s.sc.Source.Script), Seed: s.sc.Seed, Strips: s.sc.Strips}
		check, err := s.takes.Speech(h, &p)
		if err != nil {
			return err
		}
		p.Script = s.sc.Source.Script
		speech, err := s.takes.Speech(h, &p)
		if err == nil {
			s.check, s.speech = check, speech
		}
		return err
	})
}

// talkOf is what of a script is said.
func talkOf(all voice.Script) (out voice.Script) {
	for _, e := range all {
		if e.Text != "" {
			out = append(out, e)
		}
	}
	return append(out, voice.Event{Do: "pause", OverS: 0.6})
}

// loop has the guest talk for the sound check, as soon as that is made.
func (s *Scene) loop() {
	if s.check == nil {
		return // she talks of something else until then
	}
	if err := s.stage.Loop(s.check.X); err != nil {
		s.shell.Fail(err)
	}
	s.fresh = s.shell.Now() + handover
}

// Leave gives the bench back.
func (s *Scene) Leave() {
	if s.stage.Rolling() {
		s.stage.Abort()
	}
	s.stage.Leave()
}

// to goes to a step.
func (s *Scene) to(i int) {
	s.at = min(max(i, 0), len(s.steps)-1)
	st := s.step()
	s.open = s.open || st.shows("scenes")
	s.status = s.words()
	if n := st.Note; n != "" {
		s.status += " " + n
	}
	s.lay.scroll.Scroll = 0
	s.shell.Relayout()
}

// words are what the step says; what becomes of the take may decide.
func (s *Scene) words() string {
	st := s.step()
	say := st.Say
	if w := st.After[s.end[mine].kind]; w != "" && say == "" {
		say = s.filled(w)
	}
	if st.shows("other") {
		w := st.Other["other_whole"]
		switch {
		case !s.end[lower].good:
			w = st.Other["other_lost"]
		case s.end[mine].good:
			w = st.Other["other_too"]
		}
		say = strings.TrimSpace(say + " " + w)
	}
	return say
}

// filled puts the figures of strip A into a sentence.
func (s *Scene) filled(w string) string {
	t := s.shell.Bench().Take()
	if t == nil || !t.Done {
		return w
	}
	head := float64(t.Readings[mine].HeadroomDB)
	return strings.NewReplacer("{over}", ui.Decimal(-head, 0), "{left}", ui.Decimal(head, 0)).Replace(w)
}

// heads say in two or three words what became of a strip.
var heads = map[string]string{"lost": "Too hot", "close": "A close call", "low": "Very low", "whole": "Well set"}

// closeDB and lowDB of headroom are as little and as much as may be left (our own choice:
// in this take the laugh is 16 dB over talk).
const (
	closeDB = 3
	lowDB   = 16
)

// kindOf is what became of a strip, as the steps call it.
func kindOf(r sim.Readings) string {
	switch head := float64(r.HeadroomDB); {
	case r.Overs > 0:
		return "lost"
	case head < closeDB:
		return "close"
	case head > lowDB:
		return "low"
	}
	return "whole"
}

// judge says what became of the strips of a take.
func (s *Scene) judge(t *bench.Take) {
	for i := range s.end {
		r := t.Readings[i]
		kind := kindOf(r)
		s.end[i] = ending{good: r.Overs == 0, head: heads[kind], lost: result.LostWords(r), kind: kind}
		s.wave[i].ShowFrame(t.Loudest)
	}
}

// roll begins the take, or ends it.
func (s *Scene) roll() error {
	b := s.shell.Bench()
	if s.stage.Rolling() {
		b.Stop()
		return nil
	}
	if s.step().Press[0] != "record" {
		return fmt.Errorf("there is a take; try again for another one")
	}
	if s.speech == nil {
		s.wanted = true
		s.status = s.who.Title + " takes a breath."
		return nil
	}
	s.wanted = false
	if err := s.stage.Perform(s.speech); err != nil {
		return err
	}
	s.to(s.at + 1)
	return nil
}

// ended goes on with what became of the take; one that was broken off does not count.
func (s *Scene) ended(whole bool) {
	if !whole {
		s.stage.Show(nil)
		s.shell.Bench().StartCheck()
		s.to(s.at - 1)
		s.status = "The take was broken off before the laugh. " + s.status
		return
	}
	s.judge(s.shell.Bench().Take())
	s.to(s.at + 1)
	e := &s.end[mine]
	s.status = e.head + ". " + e.lost + " " + s.status
}

// again goes back to the knob.
func (s *Scene) again() error {
	if s.stage.Rolling() {
		return errRolls
	}
	s.shell.Bench().Stop()
	s.shell.Bench().StartCheck()
	s.fresh = s.shell.Now() + rest
	s.to(at(s.steps, "again"))
	return nil
}

// ready goes on once what is performed is made.
func (s *Scene) ready(err error) {
	if err == nil && s.stage.Lent() {
		if s.loop(); s.wanted {
			err = s.roll()
		}
	}
	if err != nil {
		s.shell.Fail(err)
	}
}

// Update follows the take.
func (s *Scene) Update(in *ui.Input) bool {
	for _, d := range in.Drops {
		s.shell.Fail(fmt.Errorf("%s: recordings are performed in “Set the gain”", d.Name))
	}
	moved := s.stage.Rolling()
	if j := s.job; j != nil {
		j.Run(work.SliceQuiet)
		if j.Finished() {
			s.job, moved = nil, true
			s.ready(j.Err)
		}
	}
	if s.fresh > 0 && in.Seconds >= s.fresh {
		s.fresh = 0
		s.shell.Bench().ClearHold()
	}
	if ended, whole := s.stage.Update(); ended {
		s.ended(whole)
		moved = true
	}
	s.sync()
	return moved
}
