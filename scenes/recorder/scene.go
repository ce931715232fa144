package recorder

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"gainwright/scenes/bench"
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
	"gainwright/scenes/work"
	"gainwright/sounds"
	"gainwright/sounds/equipment"
	"gainwright/sounds/series"
)

// kinds are what a recording can be, in the words of the series.
var kinds = [...]string{"quiet", "plugged", "steps", "loud", "off", "on", "pair", "anchor"}

var kindLabels = [...]string{"quiet", "plugged", "steps", "loud", "limiter off", "limiter on", "pair, 2 channels", "anchor"}

// anchors are the levels that can be known.
var anchors = [...]struct{ id, label, name string }{
	{"none", "none", "No level in dB SPL is known"},
	{"talk", "talk at 1 m", "Known level: somebody who talks in an ordinary way one metre away, 60 dB SPL"},
	{"meter", "sound level meter", "Known level: a sound level meter beside the microphone"},
	{"calibrator", "calibrator", "Known level: an acoustic calibrator on the microphone"},
}

// Scene is "Your recorder". Recordings are read one after the other, beside the screen;
// after each everything is summed up anew.
type Scene struct {
	shell kit.Shell
	acts  kit.Acts
	cs    []ui.Control

	marks            *kit.TextField
	sheet, open      *ui.Button
	stop, forget     *ui.Button
	isKind           [len(kinds)]*ui.Choice
	mark             *kit.TextField
	reread, out      *ui.Button
	anchor           [len(anchors)]*ui.Choice
	level            *kit.Field
	save, use, unuse *ui.Button
	lesson           *ui.Button     // on the limiter
	fit              *equipment.Fit // of the recorder that is in use; nil: none was put into use here
	files            []*entry
	numbered         int
	chosen           *entry
	is               int // of kinds, −1: nothing is said
	isMark           string
	anchorAt         int
	levels           [len(anchors)]float64 // by anchor, dB SPL
	found            *series.Found
	made             struct { // the equipment file of what was found
		of *series.Found
		is *equipment.Recorder
	}
	pairs   *series.Pairs
	stale   bool // found is of other recordings or another anchor
	job     *work.Task
	took    func(err error)
	reading *entry // by the job
	pace    work.Pace
	status  string
	strong  bool
	store   store
	learnt  *equipment.Recorder // what is kept in the archive
	hear    hear
	pane    pane
	show    kit.Slides
	pointer ink.Point
}

// New makes the scene.
func New(p kit.Shell) *Scene {
	s := &Scene{shell: p, pairs: new(series.Pairs), is: -1, status: "Nothing is known yet: drop recordings of the series here.", levels: [len(anchors)]float64{0, 60, 72, 94}}
	s.marks = kit.NewTextField(idMarks, "Marks of your knob at which sounds are recorded", "Ascending, with commas between; every second mark will do. Number marks that have no number.", 1, 120)
	text := ""
	for i, m := range series.Marks {
		if i > 0 {
			text += ", "
		}
		text += series.Mark(m)
	}
	s.marks.SetText(text)
	s.sheet = ui.NewButton(idSheet, "Save the page that leads through the series, and its sounds", "An archive (zip): a page to print or to keep on a phone, and test sounds (WAV) to play at the recorder. Turn the loudspeaker down before you play them, and up slowly.", "Save page and sounds", ui.Plain, ui.NoIcon)
	s.open = ui.NewButton(kit.IDFileOpen, "Choose recordings of the series", "WAV, FLAC, Ogg Vorbis or MP3, many at once and in any order; you can also drop them anywhere. An equipment file (YAML) is put to use.", "Choose recordings", ui.Plain, ui.IconFile)
	s.stop = ui.NewButton(idStop, "Stop reading", "Gives up what is being read; what was read before stays.", "Stop", ui.Plain, ui.NoIcon)
	s.forget = ui.NewButton(idForget, "Take all recordings out", "Begins anew.", "Take all out", ui.Quiet, ui.NoIcon)
	for i, k := range kinds {
		s.isKind[i] = ui.NewChoice(groupIs, idIs+k, "It is: "+kindLabels[i], "", kindLabels[i])
		s.isKind[i].Look = ui.Tile
	}
	s.mark = kit.NewTextField(idIsMark, "The knob's mark at which it was made", "A number from 0 to 102.3, with at most one decimal.", 1, 8)
	s.reread = ui.NewButton(idReread, "Read it as that", "Reads the recording again as what was said of it.", "Read it so", ui.Plain, ui.NoIcon)
	s.out = ui.NewButton(idDrop, "Take this recording out", "What it told no longer counts.", "Take it out", ui.Quiet, ui.NoIcon)
	for i, a := range anchors {
		s.anchor[i] = ui.NewChoice(groupAnchor, idAnchor+a.id, a.name, "How loud a sound reaches full scale is told by a level that is known.", a.label)
		s.anchor[i].Look = ui.Tile
	}
	s.level = kit.NewField(idLevel, "The level that is known", "As the meter read it while a tone of the steps or the recording named anchor was made, or as the calibrator states it.", "the level", " dB SPL", 30, 120, 72, 0.5, 1)
	s.save = ui.NewButton(idSave, "Save the equipment file", "What is known of the recorder, as gainwright recorder learn writes it (YAML).", "Save equipment file", ui.Plain, ui.NoIcon)
	s.use = ui.NewButton(idUse, "Use it everywhere", "“Set the gain”, “Plan the session” and “Practice” then run on this recorder, at later visits in this browser, too; knobs say its marks beside dB.", "Use it everywhere", ui.Plain, ui.NoIcon)
	s.unuse = ui.NewButton(idUnuse, "Use it no more", "Forgets the recorder that the bench runs on; the strips stay as they are.", "Use it no more", ui.Quiet, ui.NoIcon)
	s.lesson = ui.NewButton(idLesson, "Take the lesson on this limiter", "“Where does your limiter sit?” in “Lessons”, with the limiter that your pair told of in place of the ferry crew's.", "Take the lesson on it", ui.Plain, ui.NoIcon)
	for _, b := range []*ui.Button{s.sheet, s.open, s.stop, s.forget, s.reread, s.out, s.save, s.use, s.unuse, s.lesson} {
		b.Size = ui.Small
	}
	s.hear = newHear(p)
	s.acts = s.sceneActs()
	s.sync()
	return s
}

// Title is the name on the tab.
func (s *Scene) Title() string { return "Your recorder" }

// ID is that of the scene's tab in the mirror.
func (s *Scene) ID() string { return kit.IDTabRecorder }

// Announce is the caution that waits for an answer, or the latest result.
func (s *Scene) Announce() string { return s.hear.deck.Announce(s.status) }

// Result is what came of the last step.
func (s *Scene) Result() string { return s.status }

// FootY is where the deck begins.
func (s *Scene) FootY() float32 { return s.hear.deck.Top() }

// Controls lists the controls in focus order.
func (s *Scene) Controls() []ui.Control {
	if s.cs != nil {
		return s.cs
	}
	if s.fresh() {
		s.cs = append(s.cs, s.marks, s.sheet)
	}
	s.cs = append(s.cs, s.open, s.stop, s.forget)
	bad, good := s.sorted()
	for _, e := range append(bad, good...) {
		s.cs = append(s.cs, e.row)
		if e == s.chosen {
			s.cs = append(s.cs, s.chosenControls()...)
		}
	}
	if s.chosen == nil {
		s.cs = append(s.cs, s.chosenControls()...)
	}
	if !s.fresh() {
		s.cs = append(s.cs, s.marks, s.sheet)
	}
	s.cs = append(s.cs, s.save, s.use, s.unuse, s.lesson)
	for _, c := range s.anchor {
		s.cs = append(s.cs, c)
	}
	s.cs = append(s.cs, s.level)
	s.cs = append(s.cs, s.hear.controls()...)
	s.sync()
	return s.cs
}

// fresh tells whether nothing was brought along yet: then what there is to play comes
// first.
func (s *Scene) fresh() bool { return len(s.files) == 0 }

// chosenControls say by hand what a recording is.
func (s *Scene) chosenControls() (cs []ui.Control) {
	for _, c := range s.isKind {
		cs = append(cs, c)
	}
	return append(cs, s.mark, s.reread, s.out)
}

// sorted are the recordings that could not be used, and the others.
func (s *Scene) sorted() (bad, good []*entry) {
	for _, e := range s.files {
		if e.why != "" {
			bad = append(bad, e)
		} else {
			good = append(good, e)
		}
	}
	return bad, good
}

// known tells whether anything is.
func (s *Scene) known() bool { return s.found != nil && !s.found.Nothing() }

// stands is what the parts of the series stand by.
func (s *Scene) stands() standing {
	st := standing{wanted: s.marks.Text(), anchor: s.anchorAt > 0}
	if s.known() {
		st.found = s.found
	}
	return st
}

const (
	whyNothing = "nothing is known yet"
	whyBusy    = "recordings are being read"
)

// sync brings the controls up to the state.
func (s *Scene) sync() {
	kit.Hide(s.job == nil, s.stop)
	kit.Hide(len(s.files) == 0 && s.learnt == nil, s.forget)
	c := s.chosen
	for i, k := range s.isKind {
		k.Hidden, k.Checked = c == nil, s.is == i
	}
	kit.Hide(c == nil, s.mark, s.reread, s.out)
	_, err := s.told()
	s.reread.Disabled, s.reread.Why = err != nil, ""
	if err != nil {
		s.reread.Why = err.Error()
	}
	for i, a := range s.anchor {
		a.Checked = s.anchorAt == i
	}
	s.level.Hidden = s.anchorAt < 2
	s.level.Value, s.level.Min, s.level.Max, s.level.Default = s.levels[s.anchorAt], 30, 120, 72
	if s.anchorAt == 3 {
		s.level.Min, s.level.Max, s.level.Default = 70, 130, 94
	}
	s.level.From, s.level.To = s.level.Min, s.level.Max
	r, saves, uses := s.equipment(), whyNothing, whyNothing
	if r != nil {
		saves = "no more than the word length is known, and a file of that would change nothing"
		uses = "the gain between the marks is not known: record the steps"
	}
	kit.Refuse(r == nil || r.Bare(), saves, s.save)
	kit.Refuse(r == nil || len(r.Marks) == 0, uses, s.use)
	kit.Hide(s.shell.Bench().Recorder() == nil, s.unuse)
	kit.Hide(!s.known() || s.found.Limiter == nil, s.lesson)
	kit.Refuse(!s.lessonHas(), "the lesson wants a limiter that is known to act before or after the converter", s.lesson)
	_, share := s.progress()
	for _, e := range s.files {
		r := e.row
		r.now, r.share = e == s.reading, share
		r.under, r.bad, r.On = e.words(r.now, share), e.why != "", e == c
	}
	s.hear.sync()
	s.show.Sync(s.cs)
}

// progress is what is being done, and how much of it is done.
func (s *Scene) progress() (string, float64) {
	if s.job == nil {
		return "", 0
	}
	return s.job.Progress()
}

// told is what is said by hand of the chosen recording.
func (s *Scene) told() (series.Told, error) {
	if s.chosen == nil {
		return series.Told{}, errors.New("choose a recording first")
	}
	if s.is < 0 {
		return series.Told{}, errors.New("say first what it is")
	}
	return series.ParseTold(kinds[s.is] + "," + s.isMark)
}

// anchorFlag is the level that is known.
func (s *Scene) anchorFlag() series.Anchor {
	text := ""
	switch k := anchors[s.anchorAt].id; k {
	case "talk":
		text = k
	case "meter", "calibrator":
		text = fmt.Sprintf("%s=%g", k, s.levels[s.anchorAt])
	}
	a, err := series.ParseAnchor(text)
	if err != nil {
		panic("recorder: " + err.Error()) // the level's control keeps its range
	}
	return a
}

// Update takes recordings in and carries the work on.
func (s *Scene) Update(in *ui.Input) bool {
	s.shell.Hear(s.hear.deck.Player)
	for _, p := range in.Pointers {
		s.pointer = p.At
	}
	changed := false
	if len(in.Drops) > 0 {
		s.add(in.Drops)
		changed = true
	}
	changed = s.tend() || changed
	if s.job == nil {
		s.next()
	}
	if s.job != nil {
		changed = s.pace.Run(s.job, in.Seconds, s.hear.deck.Playing()) || changed
		if s.job.Finished() {
			err, took := s.job.Err, s.took
			s.job, s.took, s.reading = nil, nil, nil
			took(err)
			s.cs = nil
			s.shell.Relayout()
			changed = true
		}
	}
	s.sync()
	return changed || s.hear.deck.Playing()
}

// start begins work; took takes over what it made, or the error that it ended with.
func (s *Scene) start(do func(h *work.Context) error, took func(err error)) {
	s.job = work.Start(do)
	s.took = took
	s.shell.Relayout()
}

// giveUp ends the work going on.
func (s *Scene) giveUp() {
	if s.job != nil {
		s.job.Cancel()
		s.job, s.took, s.reading = nil, nil, nil
	}
}

// next begins what is to be done next, if anything is.
func (s *Scene) next() {
	for _, e := range s.files {
		if e.waits() {
			s.read(e)
			return
		}
	}
	if s.stale {
		s.sum()
		return
	}
	if s.keepNext() {
		return
	}
	if do, took := s.hear.next(s.found); do != nil {
		s.start(do, func(err error) {
			if err != nil && !errors.Is(err, context.Canceled) {
				s.shell.Fail(err)
			}
			took(err)
			s.cs = nil
		})
	}
}

// read reads a recording and sums up.
func (s *Scene) read(e *entry) {
	known := map[string]string{}
	var list []*series.Reading
	for _, o := range s.files {
		if o.reading != nil {
			known[o.reading.SHA256] = sounds.Shown(o.drop.Name)
			list = append(list, o.reading)
		}
	}
	var got *series.Reading
	var sum summed
	anchor, pairs := s.anchorFlag(), s.pairs.Clone()
	s.reading = e
	s.start(func(h *work.Context) (err error) {
		if got, err = e.read(h, known); err != nil {
			return err
		}
		sum.Found, err = pairs.Sum(h, append(slices.Clone(list), got), anchor, &progress{h: h, stage: "summing up", from: 0.9})
		return err
	}, func(err error) {
		switch {
		case errors.Is(err, context.Canceled):
			e.why = "reading was given up; press, to say what it is and read it again"
		case err != nil && got == nil:
			e.fail(err)
			if errors.Is(err, series.ErrNoSlate) && s.chosen == nil {
				s.choose(e)
			}
		case err != nil:
			e.fail(err)
		default:
			e.reading, s.found, s.pairs, s.stale = got, sum.Found, pairs, false
		}
		s.tell()
	})
}

// summed is a sum under way.
type summed struct{ *series.Found }

// sum sums up anew.
func (s *Scene) sum() {
	var list []*series.Reading
	for _, o := range s.files {
		if o.reading != nil {
			list = append(list, o.reading)
		}
	}
	s.stale = false
	var sum summed
	anchor, pairs := s.anchorFlag(), s.pairs.Clone()
	s.start(func(h *work.Context) (err error) {
		sum.Found, err = pairs.Sum(h, list, anchor, &progress{h: h, stage: "summing up"})
		return err
	}, func(err error) {
		if err != nil {
			if !errors.Is(err, context.Canceled) {
				s.shell.Fail(err)
			}
			return
		}
		s.found, s.pairs = sum.Found, pairs
		s.tell()
	})
}

// tell says how things stand.
func (s *Scene) tell() {
	read, bad := 0, 0
	for _, e := range s.files {
		if e.reading != nil {
			read++
		} else if e.why != "" {
			bad++
		}
	}
	s.strong = true
	s.status = counted(read, "recording is read", "recordings are read") + "."
	if n := s.waiting(); n > 0 {
		s.status = fmt.Sprintf("%d of %s read.", read+bad, counted(read+bad+n, "recording is", "recordings are"))
	} else if w := s.stands().missing(); w != "" && read > 0 {
		s.status += " " + w
	}
	if bad > 0 {
		s.status += fmt.Sprintf(" %d could not be used: see the list.", bad)
	}
	if len(s.files) == 0 && s.learnt == nil {
		s.status, s.strong = "Nothing is known yet: drop recordings of the series here.", false
	}
}

var errTaking = errors.New("a take is being recorded in “Set the gain”; end it first")

// useIt puts the bench on the recorder that was found, and with it what asks the bench.
func (s *Scene) useIt() error { return s.putToUse(s.equipment()) }

func (s *Scene) putToUse(r *equipment.Recorder) error {
	if s.shell.Bench().Mode() == bench.ModeRecord {
		return errTaking
	}
	fit, err := s.shell.Bench().UseRecorder(r)
	if err != nil {
		return err
	}
	s.fit = fit
	s.status, s.strong = "“Set the gain”, “Plan the session” and “Practice” run on this recorder now. What is assumed of it stands in the notes.", true
	s.shell.Relayout()
	return nil
}

func (s *Scene) useNoMore() error {
	s.fit = nil
	s.status, s.strong = "The recorder is no longer used; the strips stay as they are.", false
	s.shell.Relayout()
	return s.shell.Bench().KnowRecorder(nil)
}

// equipmentFile is what is handed out.
func (s *Scene) equipmentFile() error {
	r := s.equipment()
	data, err := r.Write()
	if err != nil {
		return err
	}
	s.shell.Save("my-recorder.yaml", data)
	s.status, s.strong = "The equipment file "+r.Said(), false
	s.shell.Relayout()
	return nil
}
