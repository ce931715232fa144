package practice

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"strconv"
	"strings"

	"gainwright/lessons/names"
	"gainwright/lessons/practice"
	"gainwright/lessons/take"
	"gainwright/scenes/bench"
	"gainwright/scenes/gain"
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/stage"
	"gainwright/scenes/ui"
	"gainwright/scenes/work"
	"gainwright/sim"
	"gainwright/sounds/equipment"
	voices "gainwright/sounds/own"
)

// Scene is "Practice": guest after guest. Each says something for a sound
// check, over and over; the gain is set by that; then the conversation happens, and
// a score, a sentence of advice and the next guest's difficulty come of it.
type Scene struct {
	shell kit.Shell
	g     *gain.Scene
	stage *stage.Stage
	seed  uint64
	draw  func() uint64

	pr    *practice.Practice
	guest practice.Guest
	own   *equipment.Recorder // that the guests sit at; nil: of a class
	who   *stage.Who
	you   *voices.Guest // who sits there in the stranger's place, or nil
	out   *practice.Outcomes
	hist  practice.History
	check *take.Speech
	// Another tab has stored its practice; what was not entered for that.
	foreign, unentered bool
	job                *work.Task
	doing              string
	took               func(err error)
	again              bool // the guest is to be shown again once the work is done
	sure               bool // forgetting was asked for once
	status             string

	acts     kit.Acts
	ours     kit.Acts // what of the bench is the guest's business
	cs       []ui.Control
	talk     *ui.Button
	next     *ui.Button
	forget   *ui.Button
	look     *ui.Check // the pictures in place of the words
	pictures bool

	area, foot ink.Rect
	tight      bool     // the page has a head
	head       ink.Rect // what the choice leaves of the rooms' head
	rooms      stage.Rooms
	pane       kit.Scroller
	stretch    float32 // what the plot of the scores is higher for room to spare
	strip      ink.Rect
	f          kit.Flow
	bars       []kit.Bar
	plot       ink.Rect
	pts        []ink.Point
	verdicts   []stage.Verdict
	why        ui.Para
	pointer    ink.Point
	live       string // the panel's live line, as laid out
}

const (
	practiceGainMax = 65 // what a practice accepts, dB
	practiceGain    = 20 // where the knob goes by itself, dB
	// Of the history so many guests are kept, and so many are drawn.
	maxHistory = 300
	plotGuests = 24
)

const storeKey = "practice"

// storedPractice is what the host keeps.
type storedPractice struct {
	Seed    uint64           `json:"seed"`
	History practice.History `json:"history"`
}

// New makes the scene beside g, whose bench it borrows.
func New(p kit.Shell, g *gain.Scene) *Scene {
	s := &Scene{shell: p, g: g, stage: stage.NewStage(p, g), draw: func() uint64 { return rand.Uint64N(1_000_000) }}
	s.talk = ui.NewButton(idTalk, "Start the conversation", "It happens once. What you change while it rolls counts.", "Start the conversation", ui.Plain, ui.IconRecord)
	s.next = ui.NewButton(idNext, "Next guest", "", "Next guest", ui.Plain, ui.NoIcon)
	s.forget = ui.NewButton(idForget, "Forget the history", "All scores are dropped and the guests are easy again; asks once more.", "Forget the history", ui.Quiet, ui.NoIcon)
	s.forget.Size = ui.Small
	s.look = ui.NewCheck(idPictures, "Levels and waves", "Shows them in place of the words.", "pictures")
	s.who = stage.NewWho(p, stage.WhoIDs{Group: whoIs, Other: idOther, You: idYou, Try: idTry}, "The guest is a stranger", "a stranger")
	s.acts, s.ours = s.sceneActs(), s.benchActs()
	s.status = "The first guest is on the way."
	return s
}

// Title is the name on the tab.
func (s *Scene) Title() string { return "Practice" }

// ID is that of the scene's tab in the mirror.
func (s *Scene) ID() string { return kit.IDTabPractice }

// Announce is the latest thing to be told.
func (s *Scene) Announce() string {
	if s.g.Cautions() {
		return s.g.Announce()
	}
	return s.status
}

// Result is what the foot of the bench says.
func (s *Scene) Result() string {
	if s.job != nil || s.stage.Rolling() {
		return s.status
	}
	return s.g.Result()
}

// Enter sits the guest down; Leave gives the bench back.
func (s *Scene) Enter() {
	s.stage.Enter()
	switch {
	case s.job != nil:
		s.again = true // whatever it is, the practice is not to be touched meanwhile
	case s.pr == nil:
		s.start()
	default:
		s.sitDown()
	}
}

// sitDown shows the guest, at the user's own recorder where the bench knows one.
func (s *Scene) sitDown() {
	if own := s.shell.Bench().Recorder(); own != s.own && s.out == nil {
		s.own = own
		if err := s.pr.On(own); err != nil {
			s.shell.Fail(fmt.Errorf("practice goes on without your recorder: %w", err))
			_ = s.pr.On(nil) // without one it always was
		}
	}
	s.sit()
}

// secretWords stand where the window is not shown yet.
const secretWords = "the window shows when the conversation is over"

// Leave is called when another scene is shown.
func (s *Scene) Leave() {
	if s.stage.Rolling() {
		// The conversation happens once, so it counts as it would have gone on.
		s.stage.Abort()
		s.count()
	}
	for _, c := range s.g.Controls() {
		b := c.Common()
		b.Disabled, b.Why = false, ""
	}
	s.g.Sync()
	s.stage.Leave()
}

// start goes on where the history ends.
func (s *Scene) start() {
	var kept storedPractice
	if text := s.shell.Host().Load(storeKey); text == "" || json.Unmarshal([]byte(text), &kept) != nil {
		kept = storedPractice{Seed: s.draw()}
	}
	pr, err := practice.New(kept.Seed, kept.History, nil)
	if err != nil {
		kept = storedPractice{Seed: s.draw()}
		if pr, err = practice.New(kept.Seed, kept.History, nil); err != nil {
			s.shell.Fail(err)
			return
		}
	}
	s.pr, s.seed, s.own = pr, kept.Seed, nil
	s.sitDown()
}

// sit shows the guest who is there.
func (s *Scene) sit() {
	s.guest, s.hist = s.pr.Guest(), s.pr.History()
	s.shell.Relayout()
	s.pane.Scroll, s.pictures = 0, false
	s.setBench()
	if s.out != nil {
		return
	}
	s.check = nil
	s.stage.Show(nil)
	s.work("The guest sits down", func(h *work.Context) (err error) {
		s.check, err = s.pr.Speech(h, false)
		return err
	}, func(err error) {
		if err != nil {
			s.shell.Fail(err)
			return
		}
		s.perform()
		s.announce()
	})
}

// perform gives the sound check, over and over.
func (s *Scene) perform() {
	if s.check == nil || s.out != nil || !s.stage.Lent() {
		return
	}
	if err := s.stage.Loop(s.check.X); err != nil {
		s.shell.Fail(err)
		return
	}
	s.g.Say("Sound check: " + s.guest.Title + ".")
}

// setBench shows the guest's chain.
func (s *Scene) setBench() {
	sc := s.pr.Bench()
	b := s.shell.Bench()
	c := sc.Strips[0].Chain
	if b.N() != 1 || b.Talker() != s.guest.Talker {
		if err := s.stage.Put([]sim.Chain{c}, s.guest.Talker); err != nil {
			s.shell.Fail(err)
			return
		}
		s.perform()
	}
	if c != b.Chain(0) {
		if err := b.SetChain(0, c); err != nil {
			s.shell.Fail(err)
		}
	}
}

// announce introduces the guest.
func (s *Scene) announce() { s.status = s.introduction() }

func (s *Scene) introduction() string {
	g := s.guest
	mic := "a dynamic vocal microphone"
	if g.Condenser {
		mic = "a small condenser"
	}
	if s.own != nil {
		mic = "the microphone of your own recorder"
	}
	return fmt.Sprintf("Guest %d, level %d of %d. %s %s. %s cm from %s, in a room of %s dBA.",
		g.Number, g.Level, practice.MaxLevel, g.Title, g.Says, ui.Decimal(g.DistanceM*100, 0), mic, ui.Decimal(g.RoomDBA, 0))
}

// work does something beside the screen; nobody may touch the practice meanwhile.
func (s *Scene) work(doing string, do func(h *work.Context) error, took func(err error)) {
	s.doing, s.took = doing, took
	s.job = work.Start(do)
	s.shell.Relayout()
}

// Controls lists the controls in focus order.
func (s *Scene) Controls() []ui.Control {
	if s.cs == nil {
		s.cs = append([]ui.Control{s.look, s.talk, s.next, s.forget}, s.who.Controls()...)
	}
	return append(s.cs[:len(s.cs):len(s.cs)], s.g.Controls()...)
}

// sync brings the controls up to the state.
func (s *Scene) sync() {
	rolling := s.stage.Rolling()
	busy := s.job != nil
	off := func(b *ui.Base, why string) { b.Disabled, b.Why = why != "", why }
	wait := ""
	if busy {
		wait = s.doing
	}
	s.talk.Hidden, s.next.Hidden = s.out != nil, s.out == nil
	s.talk.On, s.talk.Label, s.talk.Icon, s.talk.Name = rolling, "Start the conversation", ui.IconRecord, "Start the conversation"
	if rolling {
		s.talk.Label, s.talk.Icon, s.talk.Name = "Break off", ui.IconStop, "Break off; it counts as it would have gone on"
	}
	off(&s.talk.Base, wait)
	off(&s.next.Base, wait)
	s.syncWho(wait, rolling)
	s.look.Hidden, s.look.On = s.rooms.Head.W == 0, s.pictures
	s.forget.Hidden = len(s.hist.Played) == 0 || s.rooms.Words.W == 0
	s.forget.Label = "Forget the history"
	if s.sure {
		s.forget.Label = "Really forget it?"
	}
	switch {
	case rolling:
		off(&s.forget.Base, errRolls.Error())
	default:
		off(&s.forget.Base, wait)
	}
	// The bench. What the sound check is for is not told before it has been tried.
	if s.out == nil {
		s.g.FixWindow(nil, nil)
		s.g.KeepWindow(secretWords)
	} else {
		s.g.FixWindow(&s.out.Hour.Setup, &s.out.Hour.Window)
		s.g.KeepWindow("")
	}
	for _, c := range s.g.Controls() {
		b := c.Common()
		b.Disabled, b.Why = false, ""
	}
	s.g.Sync()
	for _, c := range s.g.Controls() {
		b := c.Common()
		if why := s.locked(b.ID); why != "" {
			off(b, why)
		}
	}
}

// Apply carries an intent out.
func (s *Scene) Apply(it ui.Intent) error {
	err := s.apply(it)
	s.sync()
	return err
}

// set changes a setting; while the conversation rolls it is remembered as a change.
func (s *Scene) set(key string, v any) error {
	if s.out != nil {
		return practice.ErrTalked
	}
	now := any(s.shell.Bench().Chain(0).Preamp.GainDB)
	if key == names.LimiterPlace {
		now = string(s.shell.Bench().Chain(0).Place())
	}
	if v == now {
		return nil
	}
	if !s.stage.Rolling() {
		if err := s.pr.Apply(key, v); err != nil {
			return err
		}
		s.setBench()
		return nil
	}
	// What the conversation began with stays with the practice; the bench is turned.
	c := s.shell.Bench().Chain(0)
	switch x := v.(type) {
	case float64:
		c.Preamp.GainDB = x
	case string:
		c = c.WithPlace(sim.LimiterPlace(x))
	}
	if err := s.shell.Bench().SetChain(0, c); err != nil {
		return err
	}
	s.stage.Note(key, v)
	return nil
}

// toggle starts the conversation, or breaks it off.
func (s *Scene) toggle() error {
	if s.out != nil {
		return practice.ErrTalked
	}
	if s.stage.Rolling() {
		s.shell.Bench().Stop()
		s.status = "Broken off: it counts as it would have gone on."
		return nil
	}
	var sp *take.Speech
	s.g.DropCaution()
	s.work("The guest takes a breath", func(h *work.Context) (err error) {
		sp, err = s.pr.Speech(h, true)
		return err
	}, func(err error) {
		if s.again || !s.stage.Lent() {
			return // the scene was left meanwhile: the guest sits down anew
		}
		if err == nil {
			err = s.stage.Perform(sp)
		}
		if err != nil {
			s.shell.Fail(err)
			return
		}
		s.status = "The conversation rolls."
	})
	return nil
}

// count scores the conversation: what it read, or, where it was broken off, what it
// would have read.
func (s *Scene) count() {
	var o *practice.Outcomes
	m, overs, whole := s.stage.Readings()
	changes := s.stage.Changes()
	s.work("The conversation is counted", func(h *work.Context) (err error) {
		if whole {
			o, err = s.pr.Talked(h, m[0], overs[0], changes...)
			return err
		}
		o, err = s.pr.Talk(h, changes...)
		return err
	}, func(err error) {
		if err != nil {
			s.shell.Fail(err)
			return
		}
		s.out, s.hist = o, s.pr.History()
		s.store()
		s.pictures, s.pane.Scroll = false, 0
		s.status = s.verdict()
	})
}

func (s *Scene) store() {
	if s.foreign {
		s.unentered = true
		return
	}
	h := s.hist
	if n := len(h.Played); n > maxHistory {
		h.Played = h.Played[n-maxHistory:]
	}
	if b, err := json.Marshal(storedPractice{s.seed, h}); err == nil {
		s.shell.Host().Store(storeKey, string(b))
	}
}

// verdict is the outcome in words.
func (s *Scene) verdict() string {
	o := s.out
	return fmt.Sprintf("%s of 100. %s %s", ui.Decimal(o.Score, 0), o.Advice, s.levelWords())
}

func (s *Scene) levelWords() string {
	o := s.out
	switch {
	case s.guest.Own != "":
		return "Your own voice sat there, whose laugh you know: the next stranger has level " + strconv.Itoa(o.Level) + " as before."
	case o.Level > s.guest.Level:
		return "The next guest is harder, level " + strconv.Itoa(o.Level) + "."
	case o.Level < s.guest.Level:
		return "The next guest is easier, level " + strconv.Itoa(o.Level) + "."
	}
	return "The next guest has level " + strconv.Itoa(o.Level) + " again."
}

// Update goes on with what is worked out, and follows the conversation.
func (s *Scene) Update(in *ui.Input) bool {
	for _, p := range in.Pointers {
		s.pointer = p.At
	}
	moved := false
	for _, d := range in.Drops {
		s.shell.Fail(fmt.Errorf("%s: recordings are performed in “Set the gain”", d.Name))
		moved = true
	}
	if s.pr == nil {
		s.stage.Enter()
		s.start()
	}
	if s.job != nil {
		s.job.Run(work.SliceQuiet)
		moved = true
		if s.job.Finished() {
			j, took := s.job, s.took
			s.job = nil
			took(j.Err)
			if s.again && s.job == nil {
				s.again = false
				s.sit()
			}
			s.shell.Relayout()
		}
	}
	quiet := *in
	quiet.Drops = nil
	moved = s.g.Update(&quiet) || moved
	if ended, _ := s.stage.Update(); ended {
		s.count()
	}
	s.sync()
	if w := s.liveWords(); w != s.live {
		s.live = w
		s.shell.Relayout()
		moved = true
	}
	return moved || s.stage.Rolling()
}

// liveWords is what the meter says while the guest talks.
func (s *Scene) liveWords() string {
	v := s.shell.Bench().View()
	switch {
	case s.pr == nil || s.job != nil || s.out != nil:
		return ""
	case s.stage.Rolling():
		return fmt.Sprintf("%d overs so far", v.Strip[0].Overs)
	case s.shell.Bench().Mode() != bench.ModeCheck:
		return ""
	}
	r := v.Strip[0].Readings
	if t := float64(r.TalkPeakDBFS); !math.IsNaN(t) && !math.IsInf(t, 0) {
		return fmt.Sprintf("Talk peaks at %s dBFS, the loudest so far at %s dBFS.", ui.Decimal(t, 0), ui.Decimal(float64(r.PeakDBFS), 0))
	}
	return "Listen to the sound check."
}

// momentWords names the moments of the conversation that told.
func (s *Scene) momentWords() string {
	sp := s.stage.Speech
	if sp == nil {
		return ""
	}
	var out []string
	for i, w := range stage.Moments(sp.Marks, sp.Moves, s.guest.DistanceM) {
		if w != "" {
			out = append(out, fmt.Sprintf("%s at %s s", w, ui.Decimal(sp.Marks[i].StartS, 1)))
		}
	}
	return strings.Join(out, ", ")
}
