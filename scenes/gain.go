package scenes

import (
	"fmt"
	"strings"

	"gainwright/scenes/ink"
	"gainwright/scenes/ui"
	"gainwright/sim"
	"gainwright/sounds"
	"gainwright/sounds/voice"
)

const (
	gainMin, gainMax = 0, 70
	knobDBPerDP      = 0.2
	fileMin, fileMax = 40, 110
	litFrames        = 3 * Rate / 4
)

var (
	stripLabels = [2]string{"strip A", "strip B"}
	stripNames  = [2]string{"A", "B"}
	gainDefault = [2]float64{52, 40}
	places      = [3]sim.LimiterPlace{sim.LimiterOff, sim.LimiterBefore, sim.LimiterAfter}
	placeWords  = [3]string{"off", "before converter", "after converter"}
)

// gainScene is "Set the gain": the level diagram, the wave at four taps, two
// strips, what to listen to, the talker, the take.
type gainScene struct {
	p *Program
	s *Session

	shown   int // the strip that diagram and waves show
	cs      []ui.Control
	strip   [2]stripPanel
	show    [2]*ui.Choice
	forget  *ui.Button
	listen  [3]*ui.Choice
	matched *ui.Check
	talkers []*ui.Choice
	titles  []string // of the talkers, by their order
	events  []*ui.Button
	open    *ui.Button
	record  *ui.Button
	play    *ui.Button
	loop    *ui.Check
	check   *ui.Button
	again   *ui.Check
	sameOn  bool
	line    *ui.Timeline
	loudest *ui.Button
	wave    *waveView

	// The caution before clipped sound.
	caution              bool
	warned               int // number of the take that was warned of
	cautPlay, cautCancel *ui.Button
	keep                 *ui.Button // saves the take
	level                *ui.Slider // of a recording that is performed

	overBins  int
	overTake  *Take
	overShown int
	overs     []ui.Span

	// Where things are.
	wide, tight                  bool
	area, view                   ink.Rect
	diagram, waves, transport    ink.Rect
	listenBox, talkerBox         ink.Rect
	resultBox, noteBox, clockBox ink.Rect
	content                      float32
	scroll                       float32
	size                         struct{ w, h float32 }

	status string
	load   *loading
	lit    [5]int64 // frame until which an event's button shows that it was pressed
	d      diagramText
	t      gainText
}

type stripPanel struct {
	box   ink.Rect
	title ink.Rect
	line  ink.Rect // overs
	noise ink.Rect
	label ink.Rect // above the limiter's choices
	gain  *ui.Knob
	lim   [3]*ui.Choice
	meter *ui.Meter
}

func newGainScene(p *Program) *gainScene {
	g := &gainScene{p: p, s: p.session}
	for i, n := range stripNames {
		sp := &g.strip[i]
		sp.gain = ui.NewKnob(n+".gain_db", "Strip "+n+", preamp gain",
			"How much the preamp turns up. Set it before the loudest moment comes.", "preamp gain", " dB",
			gainMin, gainMax, gainDefault[i], 1, 6, knobDBPerDP, 1)
		for k, pl := range places {
			sp.lim[k] = ui.NewChoice(n+".limiter", n+".limiter."+string(pl), "Strip "+n+", limiter "+placeWords[k], limiterHints[k], placeWords[k])
		}
		sp.meter = ui.NewMeter(n+".meter", "Strip "+n+", level of the file", "Above full scale, hatched: what the converter was asked for and could not give.")
		g.show[i] = ui.NewChoice("show", "show."+n, "Show strip "+n, "Diagram and waves show this strip.", n)
		g.show[i].Look = ui.Tile
	}
	g.forget = ui.NewButton("hold.reset", "Forget the loudest moment", "Clears what is held of the loudest moment so far.", "Forget", ui.Quiet, ui.NoIcon)
	g.forget.Size = ui.Small
	for i, w := range []struct{ id, name, label string }{
		{"listen.A", "Listen to strip A", "A"}, {"listen.B", "Listen to strip B", "B"}, {"listen.spoken", "Listen to what was spoken", "as spoken"},
	} {
		g.listen[i] = ui.NewChoice("listen", w.id, w.name, "", w.label)
	}
	g.matched = ui.NewCheck("listen.matched", "Matched in loudness", "Plays all sources equally loud, at −23 LUFS, so that louder does not seem better.", "matched in loudness, −23 LUFS")
	for _, t := range voice.Talkers() {
		name := t.Name
		if t.Name != "captain" {
			name = strings.ToUpper(name[:1]) + name[1:]
		}
		c := ui.NewChoice("talker", "talker."+t.Name, t.Title, t.About, name)
		c.Look = ui.Tile
		g.talkers = append(g.talkers, c)
		g.titles = append(g.titles, t.Title)
	}
	for i, e := range Events {
		b := ui.NewButton("event."+e, eventNames[i], eventHints[i], strings.ReplaceAll(e, "_", " "), ui.Strike, ui.NoIcon)
		b.Size = ui.Small
		g.events = append(g.events, b)
	}
	g.open = ui.NewButton("file.open", "Perform a recording of your own", "WAV, FLAC, Ogg Vorbis or MP3; you can also drop it anywhere.", "your file…", ui.Quiet, ui.IconFile)
	g.open.Size = ui.Small
	g.record = ui.NewButton("record", "Record", "Starts a take, and ends it.", "Record", ui.Plain, ui.IconRecord)
	g.play = ui.NewButton("play", "Play the take", "Plays the take from the place chosen; again to pause.", "Play", ui.Plain, ui.IconPlay)
	g.loop = ui.NewCheck("loop", "Play again and again", "At the end of the take, playing begins anew.", "loop")
	g.check = ui.NewButton("check", "Sound check", "The talker talks on and nothing is kept.", "Sound check", ui.Plain, ui.NoIcon)
	g.check.Size = ui.Small
	g.again = ui.NewCheck("again", "Same performance again", "The next take has the last take's performance, to the sample, so that only your settings differ.", "same performance again")
	g.line = ui.NewTimeline("take.at_s", "Place in the take", "Press or drag to go there.")
	g.line.Empty = []string{"No take yet. Set the gain while the talker talks, then record. The loudest moment is still to come.",
		"No take yet. Set the gain, then record.", "No take yet."}
	g.line.Wave = g.outline
	g.loudest = ui.NewButton("scope.loudest", "Go to the loudest moment", "Shows the wave around the loudest moment of the take.", "loudest moment", ui.Quiet, ui.NoIcon)
	g.loudest.Size = ui.Small
	g.wave = newWaveView(g)
	g.cautPlay = ui.NewButton("caution.play", "Play the clipped sound", "", "Play it", ui.Plain, ui.IconPlay)
	g.cautCancel = ui.NewButton("caution.cancel", "Do not play it", "", "Not now", ui.Plain, ui.NoIcon)
	g.keep = ui.NewButton("take.save", "Save the take", "One archive with the files of both strips, what was spoken, the readings and this picture.", "Save", ui.Quiet, ui.NoIcon)
	g.keep.Size = ui.Small
	g.level = ui.NewSlider("file.level_db", "Level of the recording", "How loud the loudest second of the recording is, 1 m in front of the mouth: 62 dB is normal talk, 75 loud, 82 a shout (ANSI S3.5).",
		"level at 1 m", " dB SPL", fileMin, fileMax, sounds.LoudSpeechDBSPL, 1, 6, 0)
	g.status = "Sound check: " + g.titles[0] + " talks."
	g.sync()
	return g
}

var limiterHints = [3]string{
	"No limiter.",
	"An analogue limiter on the preamp's output: it turns peaks down before the converter can run out of codes.",
	"A digital limiter behind the converter: it turns down what the converter has already cut off.",
}

var eventNames = [5]string{"Talk normally", "Talk louder", "Laugh", "Lean in to the microphone", "Cough"}

var eventHints = [5]string{
	"Back to ordinary talk at the usual distance.",
	"An eighth of the way from quiet talk to a shout, and stays there.",
	"Laughs once, a good deal louder than the talk.",
	"Comes within 3 cm of the microphone for a while.",
	"Coughs once.",
}

// Title is the name on the tab.
func (g *gainScene) Title() string { return "Set the gain" }

// ID is the tab's.
func (g *gainScene) ID() string { return "tab.gain" }

// Announce is the latest result, or the caution that waits for an answer.
func (g *gainScene) Announce() string {
	if g.caution {
		return "Caution: strip " + stripNames[min(int(g.s.Listening()), 1)] + " is clipped and will sound harsh. Play it?"
	}
	return g.status
}

func (g *gainScene) result() string { return g.status }

// sync brings all controls up to the session's state.
func (g *gainScene) sync() {
	s := g.s
	v := s.View()
	mode := s.Mode()
	for i := range g.strip {
		sp := &g.strip[i]
		c := s.Chain(i)
		sp.gain.Value = c.Preamp.GainDB
		for k, pl := range places {
			sp.lim[k].Checked = c.Place() == pl
		}
		sv := &v.Strip[i]
		sp.meter.Level, sp.meter.Hold, sp.meter.Wanted = decibel(sv.Meter), decibel(sv.MeterHold), decibel(sv.MeterWanted)
		if mode == ModeReview {
			sp.meter.Level = sp.meter.Axis[0].DB
			if t := s.Take(); t != nil && t.Done {
				sp.meter.Hold = float64(t.Readings[i].PeakDBFS)
				sp.meter.Wanted = decibel(sv.Demand)
			}
		}
		g.show[i].Checked = g.shown == i
	}
	for i, l := range g.listen {
		l.Checked = s.Listening() == Listen(i)
	}
	g.matched.On = s.Matched()
	file := s.File() != nil
	for i, t := range voiceNames {
		g.talkers[i].Checked = !file && s.Talker() == t
	}
	g.level.Hidden = !file
	if file {
		g.level.Value = s.File().LevelDB
	}
	for i, b := range g.events {
		b.Hidden = file
		b.On = v.Frame < g.lit[i] || Events[i] == "lean_in" && s.Leaning()
		b.Disabled, b.Why = file, "a recording is performed; choose a talker first"
		if mode == ModeReview {
			b.Disabled, b.Why = true, "nobody is talking; start the sound check or record"
		}
		if mode == ModeRecord && s.again != nil {
			b.Disabled, b.Why = true, "the last performance is given again as it was"
		}
	}
	take := s.Take()
	done := take != nil && take.Done
	g.record.On, g.record.Label, g.record.Icon = mode == ModeRecord, "Record", ui.IconRecord
	if mode == ModeRecord {
		g.record.Label, g.record.Icon = "Stop", ui.IconStop
	}
	g.play.Label, g.play.Icon, g.play.On = "Play", ui.IconPlay, s.Playing()
	if s.Playing() {
		g.play.Label, g.play.Icon = "Pause", ui.IconPause
	}
	g.play.Disabled, g.play.Why = !done || mode == ModeRecord, "record something first"
	g.loop.On = s.Loop()
	g.check.On = mode == ModeCheck
	g.check.Disabled, g.check.Why = mode == ModeRecord, "a take is being recorded"
	g.again.On = g.sameOn
	g.again.Disabled, g.again.Why = !done || mode == ModeRecord, "record something first"
	g.loudest.Disabled, g.loudest.Why = !done || mode == ModeRecord, "record something first"
	g.open.Disabled, g.open.Why = mode == ModeRecord, "a take is being recorded"
	for _, t := range g.talkers {
		t.Disabled, t.Why = mode == ModeRecord, "a take is being recorded"
	}
	g.forget.Disabled, g.forget.Why = mode != ModeCheck, "it belongs to the take"

	g.line.Min, g.line.Max, g.line.Value = 0, 0, 0
	g.line.Marks, g.line.Overs = nil, nil
	g.line.Growing = mode == ModeRecord
	if take != nil && take.Frames() > 0 {
		g.line.Max = take.Seconds()
		if !done && g.line.Max < 10 {
			g.line.Max = 10
		}
		g.line.Label = stripLabels[g.shown]
		g.line.Value = min(s.Place(), g.line.Max)
		g.line.Marks = take.Marks
		g.line.Overs = g.overSpans(take)
	}
	g.line.Disabled, g.line.Why = !done || mode == ModeRecord, "record something first"
	g.line.Hidden = g.caution
	g.keep.Hidden = g.caution
	g.keep.Disabled, g.keep.Why = !done || mode == ModeRecord, "record something first"
	g.cautPlay.Hidden, g.cautCancel.Hidden = !g.caution, !g.caution
	g.wave.sync()
}

var voiceNames = func() (n []string) {
	for _, t := range voice.Talkers() {
		n = append(n, t.Name)
	}
	return n
}()

// overSpans keeps the list of overs of the strip shown up to date.
func (g *gainScene) overSpans(t *Take) []ui.Span {
	if g.overTake != t || g.overShown != g.shown {
		g.overTake, g.overShown, g.overBins, g.overs = t, g.shown, 0, g.overs[:0]
	}
	g.overs, g.overBins = t.overSpans(g.overs, g.shown, g.overBins)
	return g.overs
}

func (g *gainScene) outline(from, to float64) (lo, hi float32) {
	if t := g.s.Take(); t != nil {
		lo, hi, _ = t.Outline(g.shown, from, to)
	}
	return lo, hi
}

// Controls lists the controls in focus order.
func (g *gainScene) Controls() []ui.Control {
	if g.cs != nil {
		return g.cs
	}
	add := func(c ui.Control) { g.cs = append(g.cs, c) }
	for i := range g.strip {
		sp := &g.strip[i]
		add(sp.gain)
		for _, c := range sp.lim {
			add(c)
		}
		add(sp.meter)
	}
	for _, c := range g.talkers {
		add(c)
	}
	for _, c := range g.events {
		add(c)
	}
	add(g.level)
	add(g.open)
	for _, c := range g.show {
		add(c)
	}
	add(g.forget)
	add(g.wave)
	add(g.loudest)
	for _, c := range g.listen {
		add(c)
	}
	add(g.matched)
	add(g.record)
	add(g.play)
	add(g.loop)
	add(g.check)
	add(g.again)
	add(g.line)
	add(g.keep)
	add(g.cautPlay)
	add(g.cautCancel)
	return g.cs
}

// Apply carries an intent out.
func (g *gainScene) Apply(it Intent) error {
	err := g.apply(it)
	g.sync()
	return err
}

func (g *gainScene) apply(it Intent) error {
	s := g.s
	for i, n := range stripNames {
		rest, ok := strings.CutPrefix(it.ID, n+".")
		if !ok {
			continue
		}
		c := s.Chain(i)
		if place, ok := strings.CutPrefix(rest, "limiter."); ok {
			for _, pl := range places {
				if string(pl) == place {
					return g.set(i, c.WithPlace(pl))
				}
			}
		}
		if rest == "gain_db" {
			v, err := numeric(it, c.Preamp.GainDB, gainDefault[i], 1, gainMin, gainMax)
			if err != nil {
				return err
			}
			c.Preamp.GainDB = v
			return g.set(i, c)
		}
	}
	if t, ok := strings.CutPrefix(it.ID, "talker."); ok {
		for i, n := range voiceNames {
			if n == t {
				if s.Mode() == ModeRecord {
					return fmt.Errorf("the talker cannot change while a take is recorded")
				}
				s.StartCheck()
				g.status = "Sound check: " + g.titles[i] + " talks."
				return s.SetTalker(n)
			}
		}
	}
	if e, ok := strings.CutPrefix(it.ID, "event."); ok {
		for i, n := range Events {
			if n == e {
				err := s.Trigger(e)
				if err == nil {
					g.lit[i] = s.View().Frame + litFrames
				}
				return err
			}
		}
	}
	switch it.ID {
	case "show.A", "show.B":
		g.shown = int(it.ID[5] - 'A')
	case "listen.A", "listen.B":
		g.shown = int(it.ID[7] - 'A')
		s.SetListen(Listen(g.shown))
	case "listen.spoken":
		s.SetListen(ListenSpoken)
	case "listen.matched":
		s.SetMatched(!s.Matched())
	case "hold.reset":
		s.ClearHold()
	case "record":
		return g.toggleRecord()
	case "play":
		return g.togglePlay()
	case "loop":
		s.SetLoop(!s.Loop())
	case "check":
		s.Stop()
		s.StartCheck()
		g.caution = false
		g.status = "Sound check."
	case "again":
		g.sameOn = !g.sameOn
	case "take.at_s":
		t := s.Take()
		if t == nil || !t.Done {
			return fmt.Errorf("there is no take yet")
		}
		v, err := numeric(it, s.Place(), 0, 0.1, 0, t.Seconds())
		if err != nil {
			return err
		}
		if s.Mode() == ModeCheck {
			s.setMode(ModeReview)
		}
		s.Seek(v)
		g.wave.follow(int64(v * Rate))
	case "scope.loudest":
		if t := s.Take(); t != nil && t.Done {
			if s.Mode() == ModeCheck {
				s.setMode(ModeReview)
			}
			g.wave.follow(t.Loudest)
		}
	case "scope.span_ms":
		v, err := numeric(it, g.wave.spanMS, 12, 2, 2, 60)
		if err != nil {
			return err
		}
		g.wave.spanMS = v
	case "scope.at_ms":
		return g.wave.set(it)
	case "file.open":
		g.p.choose = ".wav,.flac,.ogg,.mp3"
	case "file.level_db":
		f := s.File()
		if f == nil {
			return fmt.Errorf("no recording is performed")
		}
		v, err := numeric(it, f.LevelDB, sounds.LoudSpeechDBSPL, 1, fileMin, fileMax)
		if err != nil {
			return err
		}
		return s.SetFileLevel(v)
	case "take.save":
		return g.save()
	case "caution.play":
		if !g.caution {
			return fmt.Errorf("there is nothing to answer")
		}
		g.caution = false
		g.warned = s.Take().Number
		return g.startPlay()
	case "caution.cancel":
		g.caution = false
	default:
		return fmt.Errorf("there is nothing called %q here", it.ID)
	}
	return nil
}

func (g *gainScene) set(i int, c sim.Chain) error {
	if c == g.s.Chain(i) {
		return nil
	}
	g.shown = i
	playing := g.s.Playing()
	if playing {
		// What is played stays; the new settings count for the next take.
		g.s.Stop()
	}
	return g.s.SetChain(i, c)
}

func (g *gainScene) toggleRecord() error {
	g.caution = false
	if g.s.Mode() == ModeRecord {
		g.s.Stop()
		return nil
	}
	again := g.sameOn && g.s.Take() != nil && g.s.Take().Done
	if err := g.s.Record(again); err != nil {
		return err
	}
	g.status = fmt.Sprintf("Recording take %d.", g.s.Take().Number)
	return nil
}

func (g *gainScene) togglePlay() error {
	if g.s.Playing() {
		g.s.Stop()
		return nil
	}
	t := g.s.Take()
	if t == nil || !t.Done {
		return g.s.Play()
	}
	if l := g.s.Listening(); l != ListenSpoken && t.Readings[l].Overs > 0 && g.warned != t.Number {
		g.caution = true
		return nil
	}
	return g.startPlay()
}

func (g *gainScene) startPlay() error {
	if !g.p.soundOn && g.p.dev != nil {
		if err := g.p.setSound(true); err != nil {
			return err
		}
	}
	return g.s.Play()
}

// Update takes dropped files and notices that a take has ended.
func (g *gainScene) Update(in *Input) bool {
	for _, d := range in.Drops {
		if err := g.drop(d); err != nil {
			g.p.fail(err)
		}
	}
	reading := g.load != nil
	g.loadOn()
	if t := g.s.Take(); t != nil && t.Done && g.wave.known != t {
		g.wave.known = t
		g.status = TakeResult(t)
		g.wave.follow(t.Loudest)
		reading = true
	}
	g.sync()
	return reading
}

// TakeResult says in plain words what became of a take.
func TakeResult(t *Take) string {
	var b strings.Builder
	fmt.Fprintf(&b, "Take %d, %s s: ", t.Number, ui.Decimal(t.Seconds(), 1))
	for i, r := range t.Readings {
		if i > 0 {
			b.WriteString("; ")
		}
		b.WriteString("strip " + stripNames[i] + " ")
		b.WriteString(overWords(r))
	}
	if t.Full {
		fmt.Fprintf(&b, ". It ended by itself: a take has at most %d s", MaxTakeSeconds)
	}
	return b.String() + "."
}

func overWords(r sim.Readings) string {
	if r.Overs == 0 {
		return "no overs, " + ui.Decimal(float64(r.HeadroomDB), 1) + " dB left"
	}
	n := "overs"
	if r.Overs == 1 {
		n = "over"
	}
	return fmt.Sprintf("%d %s, longest %s ms", r.Overs, n, ui.Decimal(float64(r.LongestOverMS), 1))
}

// Nodes tells what the pictures show.
func (g *gainScene) Nodes(dst []Node) []Node {
	dst = append(dst,
		Node{ID: "status", Role: RoleStatus, Name: "Result", Value: g.p.Announce(), Bounds: g.resultBox},
		Node{ID: "diagram", Role: RoleImage, Name: "Where the level sits", Value: g.diagramWords(), Bounds: g.diagram},
	)
	for i, n := range stripNames {
		dst = append(dst, Node{ID: n + ".overs", Role: RoleText, Name: "Strip " + n + ", overs", Value: g.stripWords(i), Bounds: g.strip[i].line})
	}
	return dst
}
