package program

import (
	"fmt"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"time"

	"gainwright/lessons/model"
	"gainwright/scenes/bench"
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
	"gainwright/scenes/work"
	"gainwright/sounds"
)

// Program is the whole picture: tabs, scenes, and what concerns all of them
// (listening level, theme, size of text, notices). It has the methods of
// window.App.
type Program struct {
	host    kit.Host
	newer   newer
	tardy   late
	session *bench.Session
	out     *bench.Outlet
	monitor *sounds.Monitor
	pull    *sounds.Pull
	dev     sounds.Device
	noSound string // why there is no sound

	scenes []kit.Scene
	acts   kit.Acts
	now    int
	bar

	visits  visits
	endShow *ui.Button
	soundOn bool
	buffer  int // frames of the sound device

	voices  voices
	offer   offer // to turn the sound on
	explain explain
	finger  finger
	sheet   *sheet
	sheetOn bool
	present bool
	ideaAt  int
	footBox ink.Rect
	foot    ui.Strs

	th           ui.Theme
	textAt       int // of ui.TextScales, and 1; 0 until somebody chooses
	router       ui.Router
	cs           []ui.Control
	drawn        []ui.Control // those of them that the small panel covers, too, but not its own
	size         ink.Point    // as the scenes see it
	zoom         float32      // how much larger the picture is than that
	coarse       bool         // a finger is the pointer
	pointers     []ui.Pointer
	laid         bool
	last         float64
	started      bool
	prepared     bool  // what is performed first is made
	way          way   // through the scenes
	slow         bool  // the performance is not made in time
	gapAt        int64 // frame at which gaps was read
	gaps         int64
	due          float64 // frames of the tick still to come
	area         ink.Rect
	nodes        []ui.Node
	note         notes  // what the program itself has to say
	err          string // what went wrong last, or was saved
	errAt        float64
	changed      bool // something was done since the last frame
	pace         pace
	was          string // the last announcement
	saves        saves
	choose       asking
	perSec       ui.Num
	asked        question // that waits for an answer
	goTo         int      // 1 + the scene that is shown once the take has ended
	notifiedTabs bool     // that there is another tab

	// The clipboard's answer, while one is waited for, and what is said when it is good.
	copying    <-chan error
	onceCopied string
}

// New makes the program with the scenes that build gives, showing the first.
// A nil host is Silent.
func New(host kit.Host, build func(kit.Shell) []kit.Scene) (*Program, error) {
	if host == nil {
		host = kit.Silent{}
	}
	seed := uint64(1)
	if c, ok := host.(kit.Chancer); ok {
		seed = c.Chance() >> 11 // whole numbers that JSON keeps exact
	}
	s, err := bench.NewSession("captain", seed)
	if err != nil {
		return nil, err
	}
	p := &Program{host: host, session: s, out: bench.NewOutlet(s), zoom: 1}
	p.monitor, err = sounds.NewMonitor(p.out, bench.Rate, sounds.MonitorSettings{TrimDB: levelStart, CeilingDBFS: sounds.DefaultMonitor().CeilingDBFS, Mute: true})
	if err != nil {
		return nil, err
	}
	buffer := 2048
	dev, n, err := host.OpenSound(bench.Rate)
	if err != nil {
		p.noSound = err.Error()
	} else {
		p.dev, buffer = dev, n
	}
	p.buffer = max(buffer, 1)
	p.voices = voices{host: host, bench: s, changed: p.Relayout}
	p.pull = sounds.NewPull(p.monitor, bench.Rate, p.buffer)
	if p.dev != nil {
		if err := p.dev.Start(p.pull); err != nil {
			p.dev, p.noSound = nil, err.Error()
		}
	}
	p.sound = ui.NewButton(idSound, "Sound", "Turns the sound of this program on or off.", "Sound off", ui.Plain, ui.IconSoundOff)
	p.sound.Toggle = true
	p.level = ui.NewSlider(idLevel, "Listening level",
		"How loud you hear it. It changes no reading and no file. Start low.", levelWord, " dB", levelMin, levelMax, levelStart, 1, 6, 0)
	p.theme = ui.NewButton(idTheme, "Light or dark", "Changes between the light and the dark picture.", "", ui.Quiet, ui.IconTheme)
	p.text = ui.NewButton(idTextSize, "Size of text", "Makes all text larger, up to twice the size, then normal again.", "", ui.Quiet, ui.IconText)
	p.undo = ui.NewButton(kit.IDUndo, "Undo", "Takes the last change of a setting back.", "", ui.Quiet, ui.IconUndo)
	p.redo = ui.NewButton(kit.IDRedo, "Do again", "Makes the change again that was taken back.", "", ui.Quiet, ui.IconRedo)
	p.more = ui.NewButton(idMore, "Hand out and present", "Pictures, sounds, links; presenting; keys; again to go back.", "", ui.Quiet, ui.IconMenu)
	p.more.Toggle = true
	p.endShow = ui.NewButton(idPresent, "End the presentation", "Back to the whole bench.", "", ui.Quiet, ui.IconClose)
	p.explain = newExplain(&p.router, &p.th, p.scene, p.Relayout)
	p.bar.ask = p.explain.open
	p.offer = newOffer(&p.router, p.Relayout, func() error { return p.setSound(true) })
	p.scenes = build(p)
	for i, sc := range p.scenes {
		if _, ok := sc.(kit.Loner); ok {
			continue // the last
		}
		t := ui.NewTab("tabs", sc.ID(), sc.Title(), "", sc.Title())
		t.Checked = i == 0
		p.tabs = append(p.tabs, t)
	}
	if i, err := strconv.Atoi(host.Load(keyTextSize)); err == nil && i >= 0 && i < len(ui.TextScales) {
		p.textAt = i + 1
	}
	p.sheet = newSheet(p)
	p.acts = p.frameActs()
	p.setTheme(host.Load(keyTheme) != "light")
	p.visits = newVisits(host)
	p.way = newWay(host, p.scenes)
	first := 0
	if !p.visits.all {
		first = max(p.at(kit.IDTabFirst), 0)
	}
	if _, ok := model.ReadLink(kit.Followed(host)); ok {
		first = max(p.at(kit.IDTabLessons), 0)
	}
	if _, as := kit.AssignedBy(host); as != nil {
		first = max(p.at(kit.IDTabLessons), 0)
	}
	p.way.begin(first, p.show)
	if !p.late() {
		s.Prepare()
	}
	return p, nil
}

func (p *Program) setTheme(dark bool) {
	text := ui.TextScales[p.textSize()]
	p.th = ui.NewTheme(dark, text)
	if p.present {
		p.th = ui.HighContrast(dark, max(text, presentScale))
	}
	p.theme.Name = "Light picture"
	if !dark {
		p.theme.Name = "Dark picture"
	}
	p.text.Name = "Size of text, " + ui.Decimal(float64(text)*100, 0) + " %"
	p.laid = false
}

// Scene gives the scene shown.
func (p *Program) Scene() kit.Scene { return p.scene() }

// scaled gives in as the scenes see it.
func (p *Program) scaled(in ui.Input) ui.Input {
	if in.Size.X > 0 && in.Size.Y > 0 {
		p.zoom = enlarge(in.Size)
	}
	p.pointers = shrink(&in, p.zoom, p.pointers)
	return in
}

// Bench is the bench behind the scenes.
func (p *Program) Bench() *bench.Session { return p.session }

// Host is the world outside.
func (p *Program) Host() kit.Host { return p.host }

// Now is the time of the last frame, seconds since the program started.
func (p *Program) Now() float64 { return p.last }

// Relayout has everything laid out anew before it is drawn again.
func (p *Program) Relayout() { p.laid = false }

// Hear makes a scene's own player heard instead of the bench; nil is the bench.
func (p *Program) Hear(pl *sounds.Player) { p.out.Hear(pl) }

// Save hands out a file to be kept.
func (p *Program) Save(name string, data []byte) { p.saves = append(p.saves, save{name, data}) }

// Choose asks for a file of the kinds in accept.
func (p *Program) Choose(accept string) { p.choose = asking{accept, false} }

// ChooseMany asks for any number of files of the kinds in accept.
func (p *Program) ChooseMany(accept string) { p.choose = asking{accept, true} }

// Size is that of the picture as the scenes see it, dp.
func (p *Program) Size() ink.Point { return p.size }

// Controls lists the controls on the picture in focus order, those drawn later last.
func (p *Program) Controls() []ui.Control { return p.cs }

// Presenting reports whether a presentation is shown.
func (p *Program) Presenting() bool { return p.present }

// ShowingSheet reports whether the page of what can be handed out is shown, and the
// part of it that scrolls.
func (p *Program) ShowingSheet() (view ink.Rect, on bool) { return p.sheet.view, p.sheetOn }

// SceneOf is the scene whose tab is id, or nil.
func (p *Program) SceneOf(id string) kit.Scene {
	if i := p.at(id); i >= 0 {
		return p.scenes[i]
	}
	return nil
}

// Theme is how it looks at present.
func (p *Program) Theme() *ui.Theme { return &p.th }

// Title is the program's name.
func (p *Program) Title() string { return "Gainwright" }

// goAlong follows the user back and on. Where that would end a take it asks first, as a
// tab does, and the way gets the step back that was not gone.
func (p *Program) goAlong() {
	for i := p.way.next(p.now); i >= 0; i = p.way.next(p.now) {
		p.changed = true
		switch {
		case i == p.now:
			p.sheetOn, p.laid = false, false
		case p.mayGo(i):
			p.way.lead(i, p.show)
		default:
			p.way.mark(p.now)
		}
	}
}

// Frame advances to in.Seconds and takes what happened since the last frame.
func (p *Program) Frame(in ui.Input) (redraw bool) {
	p.advance(in.Seconds)
	p.unask()
	p.goOnTo()
	if !p.present {
		p.newer.ask(p.host, &p.offer, p.Holds, p.Leaving)
	}
	if why := p.tardy.say(p.dev, p.soundOn && p.pull.Running()); why != "" {
		p.Notify(why)
	}
	p.goAlong()
	heard, settings := hearOthers(p.host, p.scenes, p.now)
	p.changed = p.changed || heard
	if settings && !p.notifiedTabs {
		p.notifiedTabs = true
		p.Notify(tabsWords)
	}
	if p.prepared { // the picture comes first
		p.keep(in.Seconds)
		p.voices.goOn(in.Seconds, p.soundOn)
	}
	p.copied()
	in = p.scaled(in)
	if in.Size != p.size && in.Size.X > 0 && in.Size.Y > 0 {
		p.size = in.Size
		p.setTheme(p.th.Dark)
	}
	if in.Coarse != p.coarse {
		p.coarse, p.laid = in.Coarse, false
	}
	redraw = p.changed || !p.laid || len(in.Pointers)+len(in.Keys)+len(in.Drops) > 0 || p.was != p.Announce()
	// A take that is only looked at stands still.
	moves := p.out.BenchMoves()
	p.changed, p.was = false, p.Announce()
	p.layout()
	p.sync()
	focus := p.router.Focused()
	if len(in.Drops) > 0 {
		p.err = "" // what went wrong before does not speak of this file
	}
	p.changed = p.finger.take(&in, p.cs, p.scene(), &p.explain) || p.changed
	for _, it := range p.router.Update(&in, p.cs) {
		p.try(it)
	}
	if f := p.router.Focused(); f != focus && f != "" && len(in.Keys) > 0 {
		p.reveal(f)
	}
	if p.offer.escaped(in.Keys) {
		p.try(ui.Intent{ID: idSoundNo, Do: ui.DoPress})
		p.router.Unused = p.router.Unused[:0]
	}
	for _, k := range p.router.Unused {
		p.shortcut(k)
	}
	if w := p.router.WheelLeft; w != 0 {
		if e := &p.explain; !e.on {
			p.scene().Scroll(-w * 60)
		} else if e.scroll.By(-w * 60) {
			p.laid = false
		}
	}
	if p.scene().Update(&in) {
		moves = true
	}
	calmer, ok := p.host.(kit.Calmer)
	redraw = p.pace.step(ok && calmer.Calm(), moves, redraw, in.Seconds)
	if p.err != "" && p.last > p.errAt+noticeSeconds {
		p.err = ""
		redraw = true
	}
	p.sync()
	return redraw
}

// late reports whether the first picture comes before the first sound: in a browser
// both are made in one thread, and its sound opens after the picture.
func (p *Program) late() bool { return runtime.GOOS == "js" && p.dev != nil }

// advance moves the session on by the time passed, unless a sound device does.
func (p *Program) advance(now float64) {
	if !p.started {
		p.started, p.last = true, now
		if p.late() {
			return
		}
	} else if !p.prepared {
		p.last = now
		p.session.Prepare()
	}
	p.prepared = true
	// A picture that stood still for long (a hidden tab) does not catch up.
	dt := min(max(now-p.last, 0), 0.25)
	p.last = now
	p.due += dt * bench.Rate
	n := int(p.due)
	p.due -= float64(n)
	p.pull.Tick(n)
	p.session.Tick()
	// Where frames take long, what is made in one is more, too.
	slice := min(max(time.Duration(dt*0.4*float64(time.Second)), work.SlicePlaying), work.SliceMost)
	if p.soundOn {
		slice = work.SlicePlaying
	}
	p.session.RemakeFor(slice, p.Breathe)
	// More than a twentieth of two seconds missing is heard as gaps.
	v := p.session.View()
	if p.session.Mode() == bench.ModeReview {
		// Nothing is performed that could have gaps.
		p.slow, p.gapAt, p.gaps = false, v.Frame, v.Dropout
	}
	if v.Frame-p.gapAt >= 2*bench.Rate {
		p.slow = v.Dropout-p.gaps > (v.Frame-p.gapAt)/20
		p.gapAt, p.gaps = v.Frame, v.Dropout
	}
}

func (p *Program) scene() kit.Scene {
	if p.sheetOn {
		return p.sheet
	}
	return p.scenes[p.now]
}

// at is the place of the scene whose tab is id, −1 if there is none.
func (p *Program) at(id string) int {
	return slices.IndexFunc(p.scenes, func(sc kit.Scene) bool { return sc.ID() == id })
}

// Go carries an intent out in the scene whose tab is to, and shows it.
func (p *Program) Go(to string, it ui.Intent) error {
	i := p.at(to)
	if i < 0 {
		return fmt.Errorf("there is no scene %q", to)
	}
	if err := p.scenes[i].Apply(it); err != nil {
		return err
	}
	p.show(i)
	return nil
}

// try carries an intent out and shows what went wrong.
func (p *Program) try(it ui.Intent) {
	p.err = ""
	if err := p.Apply(it); err != nil {
		p.Fail(err)
	}
}

// Fail shows what went wrong.
func (p *Program) Fail(err error) { p.Notify(err.Error()) }

// Notify shows what happened.
func (p *Program) Notify(words string) { p.err, p.errAt = words, p.last }

// Copy implements Shell.
func (p *Program) Copy(text, said string) {
	p.copying, p.onceCopied = p.host.Copy(text), said
}

func (p *Program) copied() {
	select {
	case err := <-p.copying:
		p.copying = nil
		if err != nil {
			p.Fail(err)
			return
		}
		p.Notify(p.onceCopied)
	default: // not yet, or nothing was asked
	}
}

func (p *Program) shortcut(k ui.KeyPress) {
	if k.Ctrl && !k.Alt {
		switch k.Key {
		case "z":
			p.try(ui.Intent{ID: kit.IDUndo, Do: ui.DoPress})
		case "Z", "y":
			p.try(ui.Intent{ID: kit.IDRedo, Do: ui.DoPress})
		}
		return
	}
	if k.Alt {
		return
	}
	if p.present {
		switch k.Key {
		case "ArrowRight", "PageDown", " ", "Enter":
			p.changed = true
			p.goIdea(1)
			return
		case "ArrowLeft", "PageUp", "Backspace":
			p.changed = true
			p.goIdea(-1)
			return
		case "Escape":
			p.try(ui.Intent{ID: idPresent, Do: ui.DoPress})
			return
		}
	}
	switch k.Key {
	case "z":
		p.try(ui.Intent{ID: kit.IDUndo, Do: ui.DoPress})
		return
	case "Z", "y", "Y":
		p.try(ui.Intent{ID: kit.IDRedo, Do: ui.DoPress})
		return
	case "Escape":
		if p.sheetOn {
			p.try(ui.Intent{ID: idMore, Do: ui.DoPress})
			return
		}
	}
	if sc, ok := p.scene().(kit.Keyed); ok {
		if it, ok := sc.Key(k); ok {
			p.try(it)
			return
		}
	}
	switch k.Key {
	case "r", "R":
		p.try(ui.Intent{ID: kit.IDRecord, Do: ui.DoPress})
	case "p", "P", " ":
		p.try(ui.Intent{ID: kit.IDPlay, Do: ui.DoPress})
	case "PageDown":
		p.scene().Scroll(p.area.H * 0.8)
	case "PageUp":
		p.scene().Scroll(-p.area.H * 0.8)
	}
}

// Apply carries an intent out.
func (p *Program) Apply(it ui.Intent) error {
	p.changed = true
	if it.Do == ui.DoFocus {
		if it.ID != "" && !p.canFocus(it.ID) {
			return fmt.Errorf("%q cannot take the focus", it.ID)
		}
		p.router.SetFocus(it.ID)
		p.reveal(it.ID)
		return nil
	}
	if err := p.check(it); err != nil {
		return err
	}
	if d, is := p.dev.(sounds.Queued); is && it.Do == ui.DoPress {
		// Much of the picture may become another: sound for the time that takes.
		d.Breathe(pressFrames)
	}
	p.asks(it)
	if ok, err := p.acts.Apply(it); ok {
		return err
	}
	err := p.scene().Apply(it)
	p.sync() // the next intent may be about a control that was not there before
	return err
}

// frameActs are what the frame's own controls do.
func (p *Program) frameActs() kit.Acts {
	a := kit.Acts{
		idMore:        kit.Press(func() { p.explain.set(false); p.sheetOn, p.laid = !p.sheetOn, false }),
		idPresent:     kit.Press(func() { p.setPresent(!p.present) }),
		idPresentNext: kit.Press(func() { p.goIdea(1) }),
		idPresentLast: kit.Press(func() { p.goIdea(-1) }),
		idSound:       kit.Try(func() error { return p.setSound(!p.soundOn) }),
		idSoundYes:    kit.Try(func() error { return p.offer.answer(true) }),
		idSoundNo:     kit.Try(func() error { return p.offer.answer(false) }),
		idLevel:       p.setLevel,
		idTheme:       kit.Press(p.toggleTheme),
		idTextSize:    kit.Press(p.nextTextSize),
	}
	for _, id := range []string{kit.IDUndo, kit.IDRedo} {
		a[id] = func(it ui.Intent) error { return p.scenes[p.now].Apply(it) }
	}
	for i, sc := range p.scenes {
		a[sc.ID()] = kit.Press(func() {
			if p.mayGo(i) {
				p.show(i)
			}
		})
	}
	a.Add(p.sheet.acts)
	a.Add(p.explain.acts())
	return a
}

// setLevel sets how loud one hears.
func (p *Program) setLevel(it ui.Intent) error {
	v, err := kit.Number(it, p.level.Value, levelStart, 1, levelMin, levelMax)
	if err != nil {
		return err
	}
	m := p.monitor.Settings()
	m.TrimDB = v
	return p.monitor.Set(m)
}

// What the host keeps of the frame.
const (
	keyTheme    = "theme"
	keyTextSize = "text_size"
)

func (p *Program) toggleTheme() {
	dark := !p.th.Dark
	p.setTheme(dark)
	p.host.Store(keyTheme, map[bool]string{true: "dark", false: "light"}[dark])
}

// textSize is which of ui.TextScales is shown.
func (p *Program) textSize() int { return ui.TextFor(p.textAt-1, p.size, p.zoom) }

func (p *Program) nextTextSize() {
	at := (p.textSize() + 1) % len(ui.TextScales)
	p.textAt = at + 1
	p.setTheme(p.th.Dark)
	p.host.Store(keyTextSize, strconv.Itoa(at))
}

// reveal brings a control that scrolls into view.
func (p *Program) reveal(id string) {
	for _, c := range p.cs {
		if b := c.Common(); b.ID == id && !b.Hidden && b.Clip.W > 0 {
			if strings.HasPrefix(id, idExplain) {
				p.laid = !p.explain.scroll.Reveal(b.Bounds) && p.laid
				return
			}
			p.scene().Reveal(b.Bounds)
		}
	}
}

// check refuses what a control on screen would refuse.
func (p *Program) check(it ui.Intent) error {
	p.sync() // what was done a moment ago may have changed what can be done
	for _, c := range p.cs {
		if b := c.Common(); b.ID == it.ID && b.Disabled && !b.Hidden {
			if b.Why != "" {
				return fmt.Errorf("%s: %s", b.Name, b.Why)
			}
			return fmt.Errorf("%s cannot be used now", b.Name)
		}
	}
	return nil
}

func (p *Program) canFocus(id string) bool {
	for _, n := range p.Semantics() {
		if n.ID == id {
			return !n.Disabled && (n.Focus || n.Role == ui.RoleRadio || n.Role == ui.RoleTab)
		}
	}
	return false
}

func (p *Program) show(i int) {
	p.explain.set(false)
	p.sheetOn = false
	if i != p.now {
		p.offer.drop()
		p.out.Hear(nil) // a scene with sounds of its own asks to be heard
		if sc, ok := p.scenes[p.now].(kit.Visited); ok {
			sc.Leave()
		}
		p.visits.seen(p.scenes[p.now])
		if sc, ok := p.scenes[i].(kit.Visited); ok {
			sc.Enter()
		}
	}
	went := i != p.now
	p.now = i
	if went {
		p.way.mark(i)
	}
	for k, t := range p.tabs {
		t.Checked = k == i
	}
	p.laid = false
}

// SoundOn reports whether anything is heard.
func (p *Program) SoundOn() bool { return p.soundOn }

// ShowAll implements kit.Shell.
func (p *Program) ShowAll() {
	p.visits.showAll()
	p.show(0)
}

// Audibly implements kit.Shell.
func (p *Program) Audibly(caution string, do func() error) error {
	switch {
	case p.dev == nil || !p.soundOn && p.offer.asked:
		return do() // nothing is heard
	case p.soundOn && caution == "":
		return do()
	}
	p.offer.ask(!p.soundOn, caution, do)
	return nil
}

func (p *Program) setSound(on bool) error {
	if on && p.dev == nil {
		return fmt.Errorf("no sound: %s; the meters and pictures go on without it", p.noSound)
	}
	p.soundOn, p.offer.asked = on, true
	p.offer.drop()
	m := p.monitor.Settings()
	m.Mute = !on
	return p.monitor.Set(m)
}

// queue is what the sound device tells of its queue, where it does.
func (p *Program) queue() (q sounds.Queue, ok bool) {
	if d, is := p.dev.(sounds.Queued); is {
		return d.Queue()
	}
	return q, false
}

// Hurried reports whether the sound is close to breaking off: then pictures, which
// take most of the time where there is no graphics processor, can wait.
func (p *Program) Hurried() bool {
	q, _ := p.queue()
	return p.soundOn && q.Short
}

// pressFrames are made ahead when a button is pressed: 40 ms.
const pressFrames = bench.Rate / 25

// Breathe lets the sound go on in the middle of a picture.
func (p *Program) Breathe() {
	if d, is := p.dev.(sounds.Queued); is {
		d.Breathe(0)
	}
}

// Counters tell how the sound goes, for tests and whoever looks for a fault.
func (p *Program) Counters() map[string]float64 {
	st := p.pull.Stats()
	q, _ := p.queue()
	c := map[string]float64{
		"sound_breaks": float64(q.Breaks), "sound_lost_ms": q.Lost.Seconds() * 1000, "sound_longest_ms": q.Longest.Seconds() * 1000, "sound_dropped_ms": q.Dropped.Seconds() * 1000,
		"sound_depth_frames": float64(q.Depth), "sound_low_frames": float64(q.Low),
		"sound_frames": float64(st.Frames), "sound_busy_s": st.Busy.Seconds(), "sound_late_pulls": float64(st.Late),
		"performance_missing_frames": float64(p.session.View().Dropout), "sound_by_device": 0,
	}
	if p.pull.Running() {
		c["sound_by_device"] = 1
	}
	return c
}

// sync brings the controls up to what they show.
func (p *Program) sync() {
	p.level.Value = p.monitor.Settings().TrimDB
	p.sound.On = p.soundOn
	p.sound.Label, p.sound.Icon = "Sound off", ui.IconSoundOff
	p.more.On = p.sheetOn
	back, forth := 0, 0
	if u, ok := p.scenes[p.now].(kit.Undoer); ok {
		back, forth = u.Undos()
	}
	p.undo.Disabled, p.undo.Why = back == 0, "nothing was changed here"
	p.redo.Disabled, p.redo.Why = forth == 0, "nothing was taken back here"
	for i, t := range p.tabs {
		t.Checked = i == p.now && !p.sheetOn
	}
	if p.soundOn {
		p.sound.Label, p.sound.Icon = "Sound on", ui.IconSound
	}
	if plain := p.visits.alone(p.scene()); plain != p.bar.plain {
		p.bar.plain, p.laid = plain, false
	}
	p.bar.heard, p.bar.paged = p.soundOn, p.sheetOn
	sp, ok := p.scene().(kit.Sparing)
	p.bar.sparing = ok && sp.Sparing()
	p.bar.sync()
	p.note.sync(toldBySound(p.soundOn, p.dev, p.pull.Running()), p.slow, p.scene().Announce(), p.last)
	p.cs = p.cs[:0]
	for _, t := range p.tabs {
		p.cs = append(p.cs, t)
	}
	p.cs = append(p.cs, p.undo, p.redo, p.sound, p.level, p.text, p.theme, p.explain.open, p.more)
	if p.present {
		p.cs = append(p.cs[:0], p.endShow)
	}
	n := len(p.cs)
	p.cs = append(append(p.cs, p.scene().Controls()...), p.offer.yes, p.offer.no)
	p.drawn = append(p.drawn[:0], p.cs...)
	p.cs = p.explain.over(p.cs, n)
}

func (p *Program) layout() {
	if p.laid {
		return
	}
	p.laid = true
	th := &p.th
	r := ink.Rect{W: p.size.X, H: p.size.Y}
	if p.present {
		p.layoutShow(r)
		return
	}
	p.bar.fit(th, p.size, p.coarse)
	p.bar.layout(th, &r, p.Title())
	p.sync()
	p.offer.layout(th, &r)
	p.area = r
	p.scene().Layout(th, r)
	p.explain.layout(th, r, p.bar.narrow || p.size.X < narrowDP)
}

// layoutShow lays a presentation out: the scene, and a line with its keys.
func (p *Program) layoutShow(r ink.Rect) {
	// As large as the picture bears, in the steps that there are.
	text := min(max(ui.TextScales[p.textSize()], presentScale), max(1, float32(int(r.H/400*4))/4), max(1, float32(int(r.W/390*4))/4))
	p.th = ui.HighContrast(p.th.Dark, text)
	th := &p.th
	p.offer.layout(th, &r)
	foot := ui.Bottom(&r, max(44, th.Row(ui.Small)+14))
	foot = ui.Pad(foot, 20, 0)
	b := ui.Right(&foot, ui.Square(th))
	p.endShow.Bounds = ui.Pad(b, 0, (b.H-min(b.H, 44))/2)
	ui.Right(&foot, 10)
	p.footBox = foot
	p.name = ink.Rect{}
	p.area = r
	p.scene().Layout(th, r)
}

// drawFoot writes what the keys do, and before it what was last to say.
func (p *Program) drawFoot(l *ink.List) {
	th := &p.th
	st := th.Style(ui.Small, ink.Regular, ink.Left, th.SayDim)
	if s := p.err; s != "" {
		st.Color = th.SayCeiling
		l.TextIn(p.footBox, ui.Fit(st, p.footBox.W, s), st)
		return
	}
	of := p.placeIdea()
	s := p.foot.Get([6]int64{int64(p.ideaAt), int64(p.footBox.W), int64(th.Text * 100), int64(p.now), int64(of)}, func() string {
		return footWords(p.scene(), p.ideaAt, of, st, p.footBox.W)
	})
	l.TextIn(p.footBox, s, st)
}

// Draw appends the whole picture to an empty list.
func (p *Program) Draw(l *ink.List) {
	th := &p.th
	l.Fill(ink.Rect{W: p.size.X, H: p.size.Y}, 0, th.Ground)
	p.scene().Draw(l, th)
	p.offer.draw(l, th)
	if p.present {
		p.drawFoot(l)
		p.router.Draw(l, th, p.cs)
		if p.zoom != 1 {
			zoomList(l, p.zoom)
		}
		return
	}
	p.bar.drawNarrow(l, th)
	if p.name.W > 0 {
		l.TextIn(p.name, p.heading(), th.Style(ui.Title, ink.Bold, ink.Left, th.Say))
	}
	p.router.Draw(l, th, p.drawn)
	if p.explain.on {
		p.explain.draw(l, th)
	}
	if p.zoom != 1 {
		zoomList(l, p.zoom)
	}
}

// heading is what stands at the top: the program's name, or the scene's where its tab
// has no room for all of it.
func (p *Program) heading() string {
	if !p.narrow || p.plain {
		return p.Title()
	}
	short := tabWords[p.scene().ID()]
	if p.sheetOn {
		short = "Menu"
	}
	return ui.Fit(p.th.Style(ui.Title, ink.Bold, ink.Left, p.th.Say), p.name.W, p.scene().Title(), short, "")
}

// Semantics lists what can be reached or told, in focus order.
func (p *Program) Semantics() []ui.Node {
	p.nodes = p.explain.nodes(p.scene().Nodes(ui.Semantics(p.nodes[:0], p.cs)))
	if p.zoom != 1 {
		for i := range p.nodes {
			p.nodes[i].Bounds = zoomRect(p.nodes[i].Bounds, p.zoom)
		}
	}
	return p.nodes
}

// Focused is the control that has the keyboard focus.
func (p *Program) Focused() string { return p.router.Focused() }

// Announce is the latest thing to be spoken.
func (p *Program) Announce() string {
	if p.err != "" {
		return p.err
	}
	if p.offer.on {
		return p.offer.said()
	}
	s := p.scene().Announce()
	if n := p.note.over(s, p.last); n != "" {
		return n
	}
	return s
}

// Said is what Announce says, but for what the screen shows elsewhere; failed tells
// that it is no result.
func (p *Program) Said() (words string, failed bool) {
	if p.err == "" && p.note.over(p.scene().Announce(), p.last) == "" {
		if s, ok := p.scene().(kit.Resulted); ok {
			return s.Result(), false
		}
	}
	return p.Announce(), p.err != ""
}

// WantsFile reports, once for each request, that a file is to be chosen, or any number.
func (p *Program) WantsFile() (accept string, many, ok bool) { return p.choose.take() }

// NextSave hands out a file to be kept that has not been handed out yet.
func (p *Program) NextSave() (name string, data []byte, ok bool) { return p.saves.next() }

// FileSaved tells where a file went.
func (p *Program) FileSaved(name, where string, err error) {
	if err != nil {
		p.Notify(fmt.Sprintf("%s was not saved: %v", name, err))
		return
	}
	p.Notify(name + " saved: " + where)
}
