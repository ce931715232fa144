package mine

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"gainwright/scenes/bench"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
	"gainwright/scenes/work"
	"gainwright/sounds/own"
)

// stage is how far one is.
type stage uint8

const (
	atStart stage = iota // nothing is asked for yet
	atAsk                // the browser's question stands
	atSteps              // one step after the other is recorded
	atCard               // the performance is there
)

// placing is by what the level of talk is placed.
var placings = [...]struct{ id, label, name string }{
	{"ordinary", "my talk is ordinary", "The level of talk: ordinary, 60 dB SPL at 1 m, more or less"},
	{"measured", "I measured it", "The level of talk: as a sound level meter read it"},
}

// placed is where the level of talk is placed: as in own.Performance.
type placed struct{ louderDB, measuredDBSPL float64 }

// Scene is "Your voice".
type Scene struct {
	shell kit.Shell
	acts  kit.Acts
	cs    []ui.Control

	ask, file          *ui.Button
	stop               *ui.Button
	begin, back, skip  *ui.Button
	again              *ui.Button
	anew, keep, delete *ui.Button
	wav, perform, plan *ui.Button
	name               *kit.TextField
	placed             [len(placings)]*ui.Choice
	louder, level      *kit.Field
	kept               []*ui.Button
	names              []string // kept's

	stage  stage
	rec    recording
	mine   *own.Performance
	spoken *own.Performance // the one that was recorded at this visit: the device stands as it stood
	read   *own.Reading
	card   own.Verdict
	log    bench.UndoLog[placed]
	saved  string // the name under which it is kept as it is, or empty
	store  store
	job    *work.Task
	took   func(err error)
	pace   work.Pace
	deck   *kit.Deck
	status string
	strong bool
	pane   pane
}

// New makes the scene.
func New(p kit.Shell) *Scene {
	s := &Scene{shell: p, status: "Nothing has been asked of your microphone."}
	s.ask = ui.NewButton(idAsk, "Ask for my microphone", "The browser asks you first. Headphones first, turned low.", "Ask for my microphone", ui.Plain, ui.NoIcon)
	s.file = ui.NewButton(kit.IDFileOpen, "Bring a recording of yourself", "WAV, FLAC, Ogg Vorbis, MP3 or what the browser reads: some talk, then a laugh. Or a voice that was saved here. You can also drop it anywhere.", "Bring a recording", ui.Plain, ui.IconFile)
	s.stop = ui.NewButton(idStop, "Switch the microphone off", "What was recorded stays; you can go on later.", "Microphone off", ui.Quiet, ui.NoIcon)
	s.begin = ui.NewButton(idBegin, "Begin this step", "", "Begin", ui.Plain, ui.NoIcon)
	s.back = ui.NewButton(idBack, "Do the step before again", "What was recorded in it is replaced.", "The step before again", ui.Quiet, ui.NoIcon)
	s.skip = ui.NewButton(idSkip, "Leave this step out", "", "Leave it out", ui.Quiet, ui.NoIcon)
	s.again = ui.NewButton(idAgain, "Record the laugh again", "Asks for the microphone once more, for the laugh alone; all else stays. Not for a voice that was brought or kept: the microphone may stand elsewhere now.", "The laugh again", ui.Quiet, ui.NoIcon)
	s.anew = ui.NewButton(idAnew, "Begin anew", "What is not kept is gone then.", "Begin anew", ui.Quiet, ui.NoIcon)
	s.name = kit.NewTextField(idName, "A name for this voice", "1 to 40 characters.", 1, 40)
	s.keep = ui.NewButton(idKeep, "Keep it in this browser", "Here only, until you delete it or clear this site's data.", "Keep it in this browser", ui.Plain, ui.NoIcon)
	s.delete = ui.NewButton(idDelete, "Delete it from this browser", "", "Delete it", ui.Quiet, ui.NoIcon)
	s.wav = ui.NewButton(idWAV, "Save it as WAV", "A WAV file that also says where talk and laugh are: bring it here again, on any computer.", "Save as WAV", ui.Plain, ui.NoIcon)
	s.perform = ui.NewButton(idPerform, "Be the guest: perform it on the bench", "“Set the gain” then hears you instead of a built-in talker.", "Be the guest", ui.Plain, ui.NoIcon)
	s.plan = ui.NewButton(idPlan, "Plan the session with this guest", "“Plan the session” then counts your talk and your laugh as a sound check.", "Plan for this guest", ui.Plain, ui.NoIcon)
	for i, c := range placings {
		s.placed[i] = ui.NewChoice(groupPlaced, idPlaced+c.id, c.name, "", c.label)
		s.placed[i].Look = ui.Tile
	}
	s.louder = kit.NewField(idLouder, "I talk louder than most by", "Below 0: quieter than most. All pressures move with it.", "louder than most", " dB", -own.MostLouderDB, own.MostLouderDB, 0, 0.5, 1)
	s.level = kit.NewField(idLevel, "Level of my talk, measured at 1 m", "As a sound level meter reads it while you talk in an ordinary way, one metre from your lips.", "my talk at 1 m", " dB SPL", 30, 110, own.OrdinaryDBSPL, 0.5, 1)
	s.deck = kit.NewDeck(p, "what you record is heard here", "nothing yet")
	for _, b := range []*ui.Button{s.file, s.stop, s.back, s.skip, s.again, s.anew, s.keep, s.delete, s.wav} {
		b.Size = ui.Small
	}
	s.acts = s.sceneActs()
	s.sync()
	return s
}

// Title is the name on the tab.
func (s *Scene) Title() string { return "Your voice" }

// ID is that of the scene's tab in the mirror.
func (s *Scene) ID() string { return kit.IDTabVoice }

// Announce is the caution that waits for an answer, or the latest thing that happened.
func (s *Scene) Announce() string { return s.deck.Announce(s.status) }

// Result is what came of the last step.
func (s *Scene) Result() string { return s.status }

// FootY is where the deck begins.
func (s *Scene) FootY() float32 { return s.deck.Top() }

// Enter looks what is kept.
func (s *Scene) Enter() { s.shell.Voices().Look() }

// Leave lets the microphone go: nobody who has gone elsewhere expects to be heard.
func (s *Scene) Leave() {
	if s.rec.mic != nil {
		s.letGo("The microphone is off, since you left; what was recorded is still here.")
	}
	s.deck.Player.Pause()
}

// Sparing tells that no unit stands here before the performance does.
func (s *Scene) Sparing() bool { return s.stage != atCard }

// listener is the way to a microphone, nil where there is none.
func (s *Scene) listener() kit.Listener {
	l, _ := s.shell.Host().(kit.Listener)
	return l
}

// Controls lists the controls in focus order.
func (s *Scene) Controls() []ui.Control {
	if s.cs != nil {
		return s.cs
	}
	s.cs = append(s.cs, s.begin, s.skip, s.back, s.stop, s.ask, s.file)
	for _, b := range s.kept {
		s.cs = append(s.cs, b)
	}
	s.cs = append(s.cs, s.again, s.perform, s.plan, s.name, s.keep, s.delete, s.wav)
	for _, c := range s.placed {
		s.cs = append(s.cs, c)
	}
	s.cs = append(s.cs, s.louder, s.level, s.anew)
	s.cs = append(s.cs, s.deck.Controls()...)
	s.sync()
	return s.cs
}

// sync brings the controls up to the state.
func (s *Scene) sync() {
	kit.Hide(s.stage != atStart && !(s.stage == atSteps && s.rec.mic == nil) || s.listener() == nil, s.ask)
	kit.Hide(s.stage != atStart, s.file)
	kit.Refuse(s.job != nil, "a recording is being looked at", s.file)
	kit.Hide(s.rec.mic == nil, s.stop)
	for _, b := range s.kept {
		b.Hidden = s.stage != atStart
	}
	s.syncSteps()
	card := s.stage != atCard
	kit.Hide(card || s.mine == nil || s.mine != s.spoken || s.listener() == nil, s.again)
	kit.Refuse(s.job != nil, "a recording is being looked at", s.again)
	kit.Hide(card || !s.shell.Has(kit.IDTabPlan), s.plan)
	kit.Hide(card, s.perform, s.name, s.wav, s.anew)
	_, keeps := s.shell.Host().(kit.Archivist)
	kit.Hide(card || !keeps, s.keep)
	kit.Hide(card || s.saved == "", s.delete)
	kit.Hide(card || s.mine == nil || s.mine.MeasuredDBSPL != 0, s.louder)
	kit.Hide(card || s.mine == nil || s.mine.MeasuredDBSPL == 0, s.level)
	for i, c := range s.placed {
		c.Hidden = card
		c.Checked = s.mine != nil && (s.mine.MeasuredDBSPL != 0) == (i == 1)
	}
	if s.mine != nil {
		s.name.SetText(s.mine.Name)
		s.louder.Value = s.mine.LouderDB
		if s.mine.MeasuredDBSPL != 0 {
			s.level.Value = s.mine.MeasuredDBSPL
		}
		kit.Refuse(s.saved == s.mine.Name, "it is kept already", s.keep)
		if s.mine.Name == "" {
			kit.Refuse(true, own.ErrNoName.Error(), s.keep)
		}
		kit.Refuse(s.mine.Name == "", own.ErrNoName.Error(), s.wav, s.perform, s.plan)
	}
	s.deck.Sync()
}

// Update takes in what the microphone brings, files, and the archive's answers.
func (s *Scene) Update(in *ui.Input) bool {
	s.shell.Hear(s.deck.Player)
	for _, p := range in.Pointers {
		s.pane.pointer = p.At
	}
	changed := false
	if len(in.Drops) > 0 {
		s.drop(in.Drops[0])
		changed = true
	}
	changed = s.listen() || changed
	changed = s.answers() || changed
	if !slices.Equal(s.names, s.shell.Voices().Names()) {
		s.listKept()
		changed = true
	}
	if s.job != nil {
		changed = s.pace.Run(s.job, in.Seconds, s.deck.Playing()) || changed
		if s.job.Finished() {
			err, took := s.job.Err, s.took
			s.job, s.took = nil, nil
			took(err)
			s.relay()
			changed = true
		}
	}
	s.sync()
	return changed || s.deck.Playing()
}

// relay has everything laid out anew.
func (s *Scene) relay() {
	s.cs = nil
	s.shell.Relayout()
}

// say tells what happened.
func (s *Scene) say(words string, strong bool) { s.status, s.strong = words, strong }

// look measures a performance beside the screen, unless that was done, and then shows it.
func (s *Scene) look(p *own.Performance, r *own.Reading, saved string) {
	var card own.Verdict
	s.say("Looking at what was recorded.", false)
	s.work(func(h *work.Context) (err error) {
		h.Report("measuring", .1)
		if r == nil {
			if r, err = p.Look(); err != nil {
				return err
			}
		}
		h.Report("looking for what shaped it", .5)
		if err := h.Err(); err != nil {
			return err
		}
		card = p.Judge()
		return nil
	}, func(err error) {
		if err != nil {
			s.failed(err)
			return
		}
		s.show(p, r, card, saved)
	})
}

// failed tells why nothing came of it.
func (s *Scene) failed(err error) {
	if !errors.Is(err, context.Canceled) {
		s.shell.Fail(err)
	}
	if s.mine == nil && s.stage != atSteps {
		s.stage = atStart
	}
}

func (s *Scene) work(do func(h *work.Context) error, took func(err error)) {
	if s.job != nil {
		s.job.Cancel()
	}
	s.job, s.took = work.Start(do), took
	s.relay()
}

// show shows a performance.
func (s *Scene) show(p *own.Performance, r *own.Reading, card own.Verdict, saved string) {
	if p != s.mine {
		s.log = bench.UndoLog[placed]{}
	}
	s.mine, s.read, s.card, s.saved, s.stage = p, r, card, saved, atCard
	x := make([]float64, len(p.Samples))
	clipped := false
	for i, v := range p.Samples {
		x[i] = float64(v)
		clipped = clipped || v >= 1 || v <= -1
	}
	gain := bench.ListenLUFS - r.TalkDBFS
	if top := max(r.TalkPeakDBFS, nan(r.LaughPeakDBFS), nan(r.HeyPeakDBFS)); top+gain > -1 {
		gain = -1 - top
	}
	s.deck.Load(true, kit.NewTrack("your voice", x, gain, clipped))
	s.say(r.Distance(), true)
	s.pane.page.Scroll = 0
	s.relay()
}

// nan is v, or −∞ for what there is not.
func nan(v float64) float64 {
	if math.IsNaN(v) {
		return math.Inf(-1)
	}
	return v
}

// drop takes a recording that was brought along: a voice that was saved here, or talk and
// a laugh that are found in it.
func (s *Scene) drop(d ui.Drop) {
	if s.rec.mic != nil {
		s.shell.Fail(errors.New("the microphone is open: switch it off first"))
		return
	}
	s.say("Reading "+d.Name+".", false)
	var p *own.Performance
	s.work(func(h *work.Context) (err error) {
		p, err = readVoice(h, d)
		return err
	}, func(err error) {
		if err != nil {
			s.failed(fmt.Errorf("%s: %w", d.Name, err))
			return
		}
		s.look(p, nil, "")
	})
}

// toPlan plans for it as the guest, kept or not.
func (s *Scene) toPlan() error {
	p := *s.mine // the name and where it is placed may change
	v, err := bench.NewVoice(&p, s.read)
	if err != nil {
		return err
	}
	s.shell.Voices().Lend(v)
	return s.shell.Go(kit.IDTabPlan, ui.Intent{ID: kit.IDPlanYou + p.Name, Do: ui.DoPress})
}

// toBench has the bench perform it.
func (s *Scene) toBench() error {
	b := s.shell.Bench()
	if b.Mode() == bench.ModeRecord {
		return errors.New("a take is being recorded in “Set the gain”; end it first")
	}
	if err := b.PerformOwn(s.mine, s.read); err != nil {
		return err
	}
	return s.shell.Go(kit.IDTabGain, ui.Intent{ID: kit.IDCheck, Do: ui.DoPress})
}
