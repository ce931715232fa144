package lesson

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"strings"

	"gainwright/lessons/builtin"
	"gainwright/lessons/format"
	"gainwright/lessons/model"
	"gainwright/lessons/names"
	"gainwright/lessons/run"
	"gainwright/lessons/take"
	"gainwright/scenes/gain"
	"gainwright/scenes/kit"
	"gainwright/scenes/stage"
	"gainwright/scenes/ui"
	"gainwright/scenes/work"
)

// New makes the scene beside g, whose bench it borrows.
func New(p kit.Shell, g *gain.Scene) *Scene {
	s := &Scene{shell: p, g: g, stage: stage.NewStage(p, g), unread: builtin.Names(), chosen: -1,
		draw: func() uint64 { return rand.Uint64N(1_000_000) }}
	s.open = ui.NewButton(idOpen, "Open a lesson of your own", "A lesson file (YAML) that a trainer has written; you can also drop it here.", "Open a lesson file", ui.Plain, ui.IconFile)
	s.open.Size = ui.Small
	s.name = kit.NewTextField(idName, "Your name, for the result", "Stands in the result that you hand in, and in its file's name. Without one the result carries a random name.", 1, 60)
	s.name.Empty = "a name for the result, if you like"
	s.name.SetText(p.Host().Load("student"))
	s.back = ui.NewButton(idList, "All lessons", "Leaves the lesson; it goes on here another time.", "All lessons", ui.Quiet, ui.NoIcon)
	s.back.Size = ui.Small
	s.next = ui.NewButton(idNext, "Next step", "", "Next", ui.Plain, ui.NoIcon)
	s.commit = ui.NewButton(idCommit, "Commit the answer", "It stands: it cannot be changed afterwards.", "Commit", ui.Plain, ui.NoIcon)
	s.record = ui.NewButton(idRecord, "Record the take", recordHint, "Record", ui.Plain, ui.IconRecord)
	s.giveUp = ui.NewButton(idGiveUp, "Give up this task", "Goes on without it; it counts as missed.", "Give up", ui.Quiet, ui.NoIcon)
	s.giveUp.Size = ui.Small
	s.anew = ui.NewButton(idAnew, "Begin anew", "Another guest, other quantities; this result is dropped unless you have saved it.", "Begin anew", ui.Quiet, ui.NoIcon)
	s.anew.Size = ui.Small
	s.forget, s.way = newForget(), newWay()
	s.save = ui.NewButton(idSave, "Save the result", saveHint, "Save the result", ui.Plain, ui.NoIcon)
	s.more = ui.NewCheck(idReadings, "All readings", "Shows every reading of the last take.", "all readings")
	s.look = ui.NewCheck(idPictures, "Levels and waves", "Shows them in place of the words.", "pictures")
	s.write = kit.NewTextField(idText, "Your answer", "", 1, 500)
	s.who = stage.NewWho(p, stage.WhoIDs{Group: groupWho, Other: idTalker, You: idYou, Try: idTry}, "The lesson’s talker talks", "the talker")
	s.acts, s.listActs = s.lessonActs(), s.actsOfList()
	s.deck = kit.NewDeck(p)
	for _, c := range s.deck.Controls() {
		b := c.Common()
		b.ID = idLesson + b.ID
	}
	if own := p.Host().Load("lesson.own"); own != "" {
		name, text, _ := strings.Cut(own, "\n")
		if l, err := format.Parse(name, []byte(text)); err == nil {
			s.add(l, true)
		}
	}
	_ = s.addPair(p.Host().Load(pairKept)) // of no use if it was none
	s.assign()
	s.stock()
	s.sync()
	return s
}

// add puts a lesson into the list; one's own come first.
func (s *Scene) add(l *model.Lesson, own bool) *lessonItem {
	it := &lessonItem{l: l, own: own}
	it.card = &kit.CardButton{Base: ui.Base{ID: idBegin + l.ID}}
	if own {
		it.card.ID = idBegin + "own." + l.ID
	}
	if i := slices.IndexFunc(s.items, func(o *lessonItem) bool { return o.card.ID == it.card.ID }); i >= 0 {
		s.items[i] = it
	} else if k := s.owned(); own {
		s.items = slices.Insert(s.items, k, it)
		if k >= maxOwnLessons {
			s.items = slices.Delete(s.items, 0, 1)
		}
	} else {
		s.items = append(s.items, it)
	}
	it.stand(s.given.kept(s.shell.Host(), it.l))
	return it
}

func (s *Scene) owned() int {
	n := 0
	for _, it := range s.items {
		if it.own {
			n++
		}
	}
	return n
}

// Title is the name on the tab.
func (s *Scene) Title() string { return "Lessons" }

// ID is that of the scene's tab in the mirror.
func (s *Scene) ID() string { return kit.IDTabLessons }

// Announce is the latest thing to be told.
func (s *Scene) Announce() string {
	if s.item != nil {
		if s.deck.Caution {
			return s.deck.Announce("")
		}
		if s.g.Cautions() {
			return s.g.Announce()
		}
	}
	return s.status
}

// Result is what the foot of the bench says: the step itself stands beside it.
func (s *Scene) Result() string {
	if s.item == nil || s.job != nil || s.stage.Rolling() {
		return s.status
	}
	return s.g.Result()
}

// Enter is called when the scene is shown, Leave before another is.
func (s *Scene) Enter() {
	if s.item != nil {
		s.stage.Enter()
		if s.job == nil { // else once the work is done
			s.setBench()
		}
	}
}

// Leave is called when another scene is shown.
func (s *Scene) Leave() {
	s.stopTake()
	s.deck.Player.Pause()
	s.store()
	if s.item != nil {
		s.unlockBench()
	}
	s.stage.Leave()
}

// begin begins a lesson, or goes on with it.
func (s *Scene) begin(it *lessonItem, anew bool) error {
	o := run.Options{Student: strings.TrimSpace(s.name.Text())}
	var r *run.Runner
	var err error
	if text := s.given.kept(s.shell.Host(), it.l); text != "" && !anew {
		r, err = run.Resume(it.l, []byte(text), o)
	}
	if r == nil { // none, or of no use
		o.Seed = s.draw()
		if r, err = run.NewRunner(it.l, o); err != nil {
			return err
		}
	}
	s.item, s.r, s.foreign = it, r, false
	s.whoAnew()
	s.stage.Enter()
	s.arrive()
	s.dirty = true
	s.store()
	return nil
}

// arrive shows the present step.
func (s *Scene) arrive() {
	s.show.Restart()
	s.reply, s.chosen, s.waves, s.blind, s.showAll = "", -1, nil, false, false
	s.pictures, s.tocome, s.sounded, s.deck.Blind = false, false, 0, false
	s.deck.Load(true)
	s.shell.Hear(nil)
	s.step.Scroll = 0
	s.shown = shown{}
	s.view()
	s.build()
	s.setBench()
	s.showStrip()
	s.announceStep()
}

// announceStep says where one is.
func (s *Scene) announceStep() {
	v := &s.v
	if v.State == run.Finished {
		s.status = outcome(s.r, s.item.l)
		return
	}
	s.status = fmt.Sprintf("Step %d of %d. %s. %s", v.Number, v.Of, model.KindTitle(v.Step.Kind), kit.PlainWords(v.Text))
}

// goOn shows and keeps where the lesson is now, unless it was refused to go there.
func (s *Scene) goOn(err error) error {
	if err != nil {
		return err
	}
	s.dirty = true
	s.given.over = s.given.over || s.r.State() == run.Finished
	s.arrive()
	s.reviewed()
	s.store()
	return nil
}

// build makes the controls of the present step.
func (s *Scene) build() {
	s.cs, s.answers, s.sets, s.heard, s.trials = nil, nil, nil, nil, nil
	st := s.v.Step
	if st == nil {
		return
	}
	for i, c := range s.v.Choices {
		a := &kit.AnswerRow{Base: ui.Base{ID: idAnswer + model.Letter(i), Name: kit.PlainSpans(c)}, Text: kit.PlainSpans(c), Letter: model.Letter(i)}
		a.Next = func(dir int) string {
			n := len(s.answers)
			return s.answers[((i+dir)%n+n)%n].ID
		}
		s.answers = append(s.answers, a)
	}
	s.write.SetText("")
	s.write.Unit, s.write.Lines, s.write.Most = "", 1, 500
	s.write.Empty = "your answer"
	switch q := st.Question; {
	case st.Kind == model.Explain:
		s.write.Lines, s.write.Most, s.write.Empty = 5, 5000, "in your own words"
	case q != nil && q.Number != nil:
		s.write.Unit, s.write.Most, s.write.Empty = q.Number.Unit, 24, "a number"
	}
	for _, c := range s.v.Controls {
		s.sets = append(s.sets, newSet(c))
	}
	s.heard, s.trials = soundsOf(st)
}

// Controls lists the controls in focus order.
func (s *Scene) Controls() []ui.Control {
	if s.item == nil {
		cs := []ui.Control{s.open, s.name, s.way.begin}
		for _, it := range s.items {
			cs = append(cs, it.card)
		}
		return cs
	}
	if s.cs == nil {
		add := func(c ui.Control) { s.cs = append(s.cs, c) }
		add(s.back)
		add(s.look)
		for _, c := range s.who.Controls() {
			add(c)
		}
		for _, a := range s.answers {
			add(a)
		}
		add(s.write)
		for _, set := range s.sets {
			switch {
			case set.field != nil:
				add(set.field)
			case set.check != nil:
				add(set.check)
			}
			for _, c := range set.places {
				add(c)
			}
		}
		for _, c := range s.heard {
			add(c)
		}
		for _, c := range s.deck.Controls() {
			add(c)
		}
		for _, b := range s.trials {
			add(b)
		}
		add(s.more)
		add(s.record)
		add(s.commit)
		add(s.next)
		add(s.way.begin)
		add(s.giveUp)
		add(s.name)
		add(s.save)
		add(s.anew)
		add(s.forget)
	}
	if s.show.Alone() {
		return s.cs
	}
	return append(s.cs[:len(s.cs):len(s.cs)], s.g.Controls()...)
}

func (s *Scene) trial() (strip string, ok bool) {
	if s.r == nil || s.job != nil {
		return "", false
	}
	return s.r.Trial()
}

// Apply carries an intent out.
func (s *Scene) Apply(it ui.Intent) error {
	err := s.apply(it)
	s.sync()
	return err
}

// assign has the lesson that the host has the user take, if it has one, be the only one.
func (s *Scene) assign() {
	if s.given.by, s.given.as = kit.AssignedBy(s.shell.Host()); s.given.by == nil {
		return
	}
	s.unread, s.items = nil, nil
	s.name.SetText(s.given.as.Student)
	s.open.Hidden = true
	s.back.Name, s.back.Label, s.back.Hint = "Leave the lesson", "Leave", "Back to your course; the lesson goes on here another time."
	s.anew.Hint = "Another guest, other quantities."
	s.add(s.given.as.Lesson, false)
}

// stock adds the site's lessons; one that has the name of a built-in one stands for it.
func (s *Scene) stock() {
	if s.given.by != nil {
		return // that one alone
	}
	var err error
	if s.came, err = readCame(s.shell.Host()); err != nil {
		s.shell.Fail(err)
	}
	for _, l := range s.came.lessons {
		s.unread = slices.DeleteFunc(s.unread, func(n string) bool { return n == l.ID })
		it := s.add(l, false)
		it.sites = true
		it.stand(s.given.kept(s.shell.Host(), l))
	}
}

// beginLinked begins the lesson that a link names, or goes on with it, at the first
// picture.
func (s *Scene) beginLinked() bool {
	l := s.came.follow()
	if l == nil || s.item != nil {
		return false
	}
	if err := keepKey(s.shell.Host(), l); err != nil {
		s.shell.Fail(err)
	}
	if l.Name != "" {
		s.name.SetText(l.Name)
		s.shell.Host().Store("student", l.Name)
	}
	it := called(s.items, l.Lesson)
	if b := takeBuiltin(&s.unread, l.Lesson, it); b != nil {
		it = s.add(b, false)
	}
	if it == nil {
		s.shell.Fail(fmt.Errorf("the link opens a lesson %q, which is not here", l.Lesson))
		return true
	}
	if draw := s.draw; l.Seed != nil {
		s.draw = func() uint64 { return *l.Seed }
		defer func() { s.draw = draw }()
	}
	other, err := putAside(s.shell.Host(), it.l, l.Seed)
	if err == nil {
		err = s.begin(it, false)
	}
	if err != nil {
		s.shell.Fail(err)
	} else if other != nil {
		s.shell.Notify(fmt.Sprintf("This lesson was begun here with the seed %d, too: a link with that seed goes on with it.", *other))
	}
	return true
}

// beginAssigned begins it, or goes on with it, at the first picture.
func (s *Scene) beginAssigned() bool {
	if s.given.by == nil || s.given.begun {
		return false
	}
	s.given.begun = true
	if err := s.begin(s.items[0], false); err != nil {
		s.shell.Fail(err)
	} else if s.given.as.Notice != "" {
		s.shell.Notify(s.given.as.Notice)
	}
	return true
}

// closeLesson goes back to the list, or to where the lesson was assigned.
func (s *Scene) closeLesson() {
	s.stopTake()
	s.deck.Player.Pause()
	s.shell.Hear(nil)
	s.dirty = s.dirty || s.given.by != nil
	s.store()
	if s.given.by != nil {
		s.given.by.Leave()
		return
	}
	s.unlockBench()
	s.stage.Leave()
	it := s.item
	s.item, s.r, s.cs = nil, nil, nil
	s.show.Restart()
	it.stand(s.given.kept(s.shell.Host(), it.l))
	s.status = it.l.Title + ": " + it.card.State + "."
	if it.asked != nil {
		s.status = ""
	}
	s.shell.Relayout()
}

// set changes a setting of the lesson's bench.
func (s *Scene) set(key string, v any) error {
	if s.stage.Rolling() {
		if !s.v.Step.Riding {
			return errors.New("in this step the settings stay as they are while the take rolls")
		}
		return s.ride(key, v)
	}
	if err := s.r.Apply(key, v); err != nil {
		return err
	}
	s.dirty = true
	s.setBench()
	return nil
}

// ride changes a setting while the take rolls. What the take began with stays with the
// lesson: the bench is turned, and the change is the take's.
func (s *Scene) ride(key string, v any) error {
	v, err := s.r.Allowed(key, v)
	if err != nil || v == s.valueOf(key) {
		return err
	}
	if err := names.Put(s.scn, key, v); err != nil {
		return fmt.Errorf("%s: %s", key, names.FaultText(err))
	}
	s.putChains()
	s.stage.Note(key, v)
	return nil
}

// answer commits the answer chosen or written.
func (s *Scene) answer() error {
	text := strings.TrimSpace(s.write.Text())
	if len(s.answers) > 0 {
		if s.chosen < 0 {
			return errors.New("choose an answer first")
		}
		text = s.answers[s.chosen].Letter
	} else if text == "" {
		return errors.New("write an answer first")
	}
	reply, err := s.r.Answer(text)
	if err != nil {
		return err
	}
	s.dirty = true
	s.reply = reply
	s.view()
	s.tocome = true
	if s.v.Asked { // another try
		s.chosen = -1
		s.write.SetText("")
		s.status = kit.PlainWords(reply)
		return nil
	}
	s.store()
	s.status = "Committed."
	if reply != "" {
		s.status = kit.PlainWords(reply)
	}
	if s.v.Step.Asks() {
		word := "Not right. "
		if s.here().Verdict == run.Right {
			word = "Right. "
		}
		s.status = word + kit.PlainWords(reply)
	}
	return nil
}

// hear makes one of the sounds heard.
func (s *Scene) hear(name string) error {
	if len(s.waves) == 0 {
		return errors.New("the sounds are being made")
	}
	blind := name == "trial"
	if blind {
		n, ok := s.r.Trial()
		if !ok {
			return errors.New("all trials are answered")
		}
		name = n
	}
	for i, w := range s.waves {
		if w.Name == name {
			s.blind, s.deck.Blind = blind, blind
			s.deck.Choose(i)
			s.shell.Relayout()
			return nil
		}
	}
	return fmt.Errorf("there is no sound %q", name)
}

// makeSounds asks for what a step compares, or works out.
func (s *Scene) makeSounds() {
	var ws []*take.Wave
	s.work(map[bool]string{true: "The sounds are being made", false: "The plan is being worked out"}[s.v.Step.Hears()], func(h *work.Context) (err error) {
		if err = s.r.Work(h); err == nil && s.v.Step.Hears() {
			ws, err = s.r.Sounds(h)
		}
		return err
	}, func(err error) {
		if err != nil {
			s.shell.Fail(err)
			return
		}
		s.waves = ws
		s.view() // what was mended can be read now, and the step be left
		if len(ws) == 0 {
			s.dirty, s.tocome, s.status = true, true, kit.PlainWords(strings.Join(s.v.Feedback, " "))
			return
		}
		s.deck.Load(true, tracksOf(ws)...)
	})
}

// saveResult hands the result out.
func (s *Scene) saveResult() error {
	s.r.Rename(model.ReadName(s.name.Text()))
	k, _ := s.key(s.r.Progress().Student)
	res, err := s.r.Result(k)
	if err != nil {
		return err
	}
	b, err := res.Marshal()
	if err != nil {
		return err
	}
	s.dirty = true
	s.store()
	s.shell.Save(resultFile(res), b)
	if s.status, err = s.item.saveRecorder(s.shell, resultFile(res), s.status); err != nil {
		return err
	}
	return s.saveVoice(strings.TrimSuffix(resultFile(res), filepath.Ext(resultFile(res))) + "-voice.wav")
}

// Update takes lesson files, goes on with what is worked out, and follows the take.
func (s *Scene) Update(in *ui.Input) bool {
	for _, p := range in.Pointers {
		s.pointer = p.At
	}
	moved := false
	var rest []ui.Drop
	for _, d := range in.Drops {
		switch strings.ToLower(filepath.Ext(d.Name)) {
		case ".yaml", ".yml":
			if s.stage.Rolling() {
				s.shell.Fail(fmt.Errorf("%s: a take is being recorded; open it again afterwards", d.Name))
				break
			}
			if s.given.by != nil {
				s.shell.Fail(fmt.Errorf("%s: this page is for the lesson of your course", d.Name))
				break
			}
			s.take(d)
		default:
			s.shell.Fail(fmt.Errorf("%s: a lesson file ends in .yaml; recordings are performed in “Set the gain”", d.Name))
		}
		moved = true
	}
	if len(s.unread) > 0 {
		name := s.unread[0]
		s.unread = s.unread[1:]
		if l, err := builtin.Load(name); err != nil {
			s.shell.Fail(err)
		} else {
			s.add(l, false)
		}
		s.shell.Relayout()
		moved = true
	}
	moved = s.beginAssigned() || s.beginLinked() || moved
	if s.item == nil {
		return moved
	}
	if s.job != nil {
		d := work.SliceQuiet
		if s.deck.Playing() {
			d = work.SlicePlaying
		}
		s.job.Run(d)
		moved = true
		if s.job.Finished() {
			j, took := s.job, s.took
			s.job = nil
			took(j.Err)
			if s.job == nil && s.r != nil && !s.stage.Rolling() {
				s.setBench()
			}
			s.shell.Relayout()
		}
	}
	if s.r != nil {
		s.fetchVoice()
	}
	if s.job == nil && s.r != nil && s.r.Lacks() == "" && (s.v.State == run.Listening && len(s.waves) == 0 || s.r.Owes()) {
		s.makeSounds()
	}
	moved = s.lookAt() || moved
	s.listen(in.Seconds)
	quiet := *in
	quiet.Drops = rest
	moved = s.g.Update(&quiet) || moved
	moved = s.updateTake() || moved
	if s.dirty && in.Seconds > s.storeAt {
		s.storeAt = in.Seconds + 2
		s.store()
	}
	s.sync()
	return moved || s.deck.Playing()
}

// addPair puts the lesson on the limiter of an equipment file into the list.
func (s *Scene) addPair(text string) error {
	l, r, err := onPair(text)
	if err == nil {
		it := s.add(l, true)
		it.on = r
		it.stand(s.given.kept(s.shell.Host(), l))
	}
	return err
}

// beginPair begins it.
func (s *Scene) beginPair(text string) error {
	if s.given.by != nil {
		return errors.New("this page is for the lesson of your course")
	}
	if err := s.addPair(text); err != nil {
		return err
	}
	if s.item != nil {
		s.closeLesson()
	}
	s.shell.Host().Store(pairKept, text)
	i := slices.IndexFunc(s.items, func(x *lessonItem) bool { return x.on != nil })
	return s.begin(s.items[i], false)
}

// take reads a lesson file of one's own.
func (s *Scene) take(d ui.Drop) {
	s.faults = nil
	if isEquipment(d) {
		if err := s.beginPair(string(d.Data)); err != nil {
			s.shell.Fail(fmt.Errorf("%s: %w", d.Name, err))
		}
		return
	}
	l, err := format.Parse(d.Name, d.Data)
	if err != nil {
		s.faults = strings.Split(strings.TrimSpace(err.Error()), "\n")
		s.shell.Fail(fmt.Errorf("%s has %s", d.Name, countFaults(len(s.faults))))
		if s.item != nil {
			s.closeLesson()
		}
		s.shell.Relayout()
		return
	}
	s.shell.Host().Store("lesson.own", d.Name+"\n"+string(d.Data))
	s.add(l, true)
	s.status = "Added: " + l.Title + "."
	for _, n := range l.Notes {
		s.faults = append(s.faults, n.Error())
	}
	if s.item == nil {
		s.list.Scroll = 0
	}
	s.shell.Relayout()
}
