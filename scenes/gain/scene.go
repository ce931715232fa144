package gain

import (
	"fmt"
	"strings"

	"gainwright/scenes/bench"
	"gainwright/scenes/gain/blind"
	"gainwright/scenes/gain/diagram"
	"gainwright/scenes/gain/drawer"
	"gainwright/scenes/gain/waves"
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
	"gainwright/scenes/work"
	"gainwright/sim"
	"gainwright/sounds"
	"gainwright/sounds/voice"
)

const (
	fileMin, fileMax = 40, 110
	litFrames        = 3 * bench.Rate / 4
)

// What the lower panel shows, where no drawer is open.
type lowerView uint8

const (
	viewWaves lowerView = iota
	viewSpectrum
	viewResult
	viewFile
	numViews
)

// What a presentation shows; ideaAll is the whole bench.
const (
	ideaAll = iota
	ideaDiagram
	ideaWaves
	ideaSpectrum
	ideaStrips
	ideaResult
	numIdeas
)

// Scene is "Set the gain": the level diagram, the wave at four taps, two
// strips, what to listen to, the talker, the take.
type Scene struct {
	shell kit.Shell
	bench.Sight

	cs           []ui.Control
	acts         kit.Acts
	strip        [bench.MaxStrips]stripPanel
	show         [bench.MaxStrips]*ui.Choice
	forget       *ui.Button
	listen       [bench.NumListen]*ui.Choice
	drawer       *drawer.Drawer
	look         lowerView
	views        [numViews]*ui.Choice
	near         *ui.Button // zooms in
	far          *ui.Button
	chance       *ui.Check
	spec         *waves.Spectrum
	card         resultCard
	blind        *blind.Run
	mend         mending
	file         fileReport
	log          undoLog
	stored       bench.Setup // as the host has it
	storedTakes  string      // as the host has them
	storedRev    int         // of the session's recipes
	touched      float64     // when it was changed
	idea         int
	takes        []*ui.Choice // of this visit
	afterCaution func() error
	capP         ui.Para
	matched      *ui.Check
	talkers      []*ui.Choice
	titles       []string // of the talkers, by their order
	events       []*ui.Button
	open         *ui.Button
	record       *ui.Button
	play         *ui.Button
	loop         *ui.Check
	check        *ui.Button
	again        *ui.Check
	sameOn       bool
	line         *ui.Timeline
	loudest      *ui.Button
	wave         *waves.View

	// The caution before clipped sound.
	caution              bool
	warned               *bench.Take // the take that was warned of
	cautPlay, cautCancel *ui.Button
	keep                 *ui.Button // saves the take
	level                *ui.Slider // of a recording that is performed

	overBins  int
	overTake  *bench.Take
	overShown int
	overs     []ui.Span

	// Where things are.
	wide, tight, listenRow       bool
	area, view                   ink.Rect
	waves, transport             ink.Rect
	listenBox, talkerBox         ink.Rect
	resultBox, noteBox, clockBox ink.Rect
	content                      float32
	scroll                       float32
	size                         struct{ w, h float32 }

	// While a lesson has the bench nothing is remembered for another visit, and the
	// strips may have names of its own.
	lent  bool
	names [bench.MaxStrips]string
	said  string // the result that stood there

	status string
	load   *work.Loading
	lit    [5]int64 // frame until which an event's button shows that it was pressed
	d      diagram.Diagram
	t      gainText
}

type stripPanel struct {
	compact bool
	box     ink.Rect
	title   ink.Rect
	line    ink.Rect // overs
	noise   ink.Rect
	label   ink.Rect // above the limiter's choices
	gain    *ui.Knob
	lim     [3]*ui.Choice
	meter   *ui.Meter
}

func New(p kit.Shell) *Scene {
	g := &Scene{shell: p, Sight: bench.Sight{Bench: p.Bench()}}
	for i, n := range bench.StripNames {
		sp := &g.strip[i]
		sp.gain = ui.NewKnob(n+".gain_db", "Strip "+n+", preamp gain",
			"How much the preamp turns up. Set it before the loudest moment comes.", "preamp gain", " dB",
			kit.GainMin, kit.GainMax, bench.GainDefault[i], 1, 6, kit.KnobDBPerDP, 1)
		for k, pl := range kit.Places {
			sp.lim[k] = ui.NewChoice(n+".limiter", n+".limiter."+string(pl), "Strip "+n+", limiter "+kit.PlaceWords[k], kit.LimiterHints[k], kit.PlaceWords[k])
		}
		sp.meter = ui.NewMeter(n+".meter", "Strip "+n+", level of the file", "Above full scale, hatched: what the converter was asked for and could not give.")
		g.show[i] = ui.NewChoice("show", "show."+n, "Show strip "+n, "Diagram and waves show this strip.", n)
		g.show[i].Look = ui.Tile
	}
	g.forget = ui.NewButton("hold.reset", "Forget the loudest moment", "Clears what is held of the loudest moment so far.", "Forget", ui.Quiet, ui.NoIcon)
	g.forget.Size = ui.Small
	for i, n := range bench.StripNames {
		g.listen[i] = ui.NewChoice("listen", "listen."+n, "Listen to strip "+n, "", n)
	}
	g.listen[bench.ListenSpoken] = ui.NewChoice("listen", "listen.spoken", "Listen to what was spoken", "", "as spoken")
	g.listen[bench.ListenMended] = ui.NewChoice("listen", "listen.mended", mendedNames[0], "What the fast method guesses was cut off. “Mend it later” shows how far it is from the truth.", "mended")
	g.mend.strip = unknownStrip
	for i, w := range [numViews][4]string{
		{"view.waves", "Waves", "The same moment at four places of the chain.", "waves"},
		{"view.spectrum", "Spectrum", "What clipping adds to what was spoken.", "spectrum"},
		{"view.result", "Result", "What became of the take, and what would have been better.", "result"},
		{"view.file", "Your file", "What the recording you brought along tells of its past.", "your file"},
	} {
		g.views[i] = ui.NewChoice("view", w[0], w[1], w[2], w[3])
		g.views[i].Look = ui.Tile
	}
	g.near = ui.NewButton("scope.nearer", "Look nearer", "Shows less of the wave, larger.", "", ui.Quiet, ui.IconMore)
	g.far = ui.NewButton("scope.farther", "Look from farther", "Shows more of the wave.", "", ui.Quiet, ui.IconLess)
	g.chance = ui.NewCheck("surprises", "Surprises", "While a take is recorded the talker laughs, coughs, gets louder or leans in unasked.", "surprises")
	for i := range bench.MaxRecipes {
		n := ui.Decimal(float64(i+1), 0)
		c := ui.NewChoice("takes", "take."+n, "Take "+n, "Makes this take again from what was performed and set.", n)
		c.Look = ui.Tile
		g.takes = append(g.takes, c)
	}
	g.spec = waves.NewSpectrum()
	g.blind = blind.New(g.Bench)
	g.blind.Say, g.blind.Moved, g.blind.Play = g.Say, p.Relayout, g.startPlay
	g.blind.Warns = func(l bench.Listen, then func() error) bool {
		if !g.clippedUnwarned(l) {
			return false
		}
		g.caution, g.afterCaution = true, then
		return true
	}
	g.file = newFileReport()
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
	for i, e := range bench.Events {
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
	g.check.Toggle = true
	g.again = ui.NewCheck("again", "Same performance again", "The next take has the last take's performance, to the sample, so that only your settings differ.", "same again")
	g.line = ui.NewTimeline("take.at_s", "Place in the take", "Press or drag to go there.")
	g.line.Wave = g.outline
	g.loudest = ui.NewButton("scope.loudest", "Go to the loudest moment", "Shows the wave around the loudest moment of the take.", "loudest moment", ui.Quiet, ui.NoIcon)
	g.loudest.Size = ui.Small
	g.wave = waves.NewView(&g.Sight)
	g.cautPlay = ui.NewButton("caution.play", "Play the clipped sound", "", "Play it", ui.Plain, ui.IconPlay)
	g.cautCancel = ui.NewButton("caution.cancel", "Do not play it", "", "Not now", ui.Plain, ui.NoIcon)
	g.keep = ui.NewButton("take.save", "Save the take", "One archive with the files of both strips, what was spoken, the readings and this picture.", "Save", ui.Quiet, ui.NoIcon)
	g.keep.Size = ui.Small
	g.level = ui.NewSlider("file.level_db", "Level of the recording", "How loud the loudest second of the recording is, 1 m in front of the mouth: 62 dB is normal talk, 75 loud, 82 a shout (ANSI S3.5).",
		"level at 1 m", " dB SPL", fileMin, fileMax, sounds.LoudSpeechDBSPL, 1, 6, 0)
	g.status = "Sound check: " + g.titles[0] + " talks."
	g.d.V, g.d.Opened = &g.Sight, g.layoutOpeners
	g.drawer = drawer.New(&g.Sight, p.Relayout)
	g.acts = kit.Acts{}
	for _, a := range []kit.Acts{g.stripActs(), g.listenActs(), g.talkerActs(), g.takeActs(), g.lowerActs(), g.setupActs()} {
		g.acts.Add(a)
	}
	g.stored = g.Bench.Setup()
	g.recall()
	g.stored = g.Bench.Setup()
	g.Sync()
	return g
}

var eventNames = [5]string{"Talk normally", "Talk louder", "Laugh", "Lean in to the microphone", "Cough"}

var eventHints = [5]string{
	"Back to ordinary talk at the usual distance.",
	"An eighth of the way from quiet talk to a shout, and stays there.",
	"Laughs once, a good deal louder than the talk.",
	"Comes within 3 cm of the microphone for a while.",
	"Coughs once.",
}

// noStripWords say that a take has no strip i; made once.
func noStripWords(number, i int) string {
	return "take " + ui.Decimal(float64(number), 0) + " has no strip " + bench.StripNames[i]
}

// title is what strip i is called on its panel.
func (g *Scene) title(i int) string {
	if n := g.names[i]; n != "" {
		return bench.StripNames[i] + ": " + n
	}
	return bench.StripTitles[i]
}

// Title is the name on the tab.
func (g *Scene) Title() string { return "Set the gain" }

// ID is the tab's.
func (g *Scene) ID() string { return "tab.gain" }

// Announce is the latest result, or the caution that waits for an answer.
func (g *Scene) Announce() string {
	if g.caution {
		return "Caution: strip " + bench.StripNames[min(int(g.Bench.Listening()), bench.MaxStrips-1)] + " is clipped and will sound harsh. Play it?"
	}
	return g.status
}

// Result is the latest result, without the caution.
func (g *Scene) Result() string { return g.status }

// Sync brings all controls up to the session's state.
func (g *Scene) Sync() {
	if g.Shown >= g.Bench.N() || g.Absent(g.Shown) {
		g.Shown = 0
	}
	now := state{Setup: g.Bench.Setup(), mode: g.Bench.Mode(), take: g.Bench.Take(), whole: g.idea == ideaAll}
	now.done = now.take != nil && now.take.Done
	now.recording = now.mode == bench.ModeRecord
	now.lower = g.drawer.At == drawer.None && g.lowerShown()
	for i := range g.strip {
		g.syncStrip(&now, i)
	}
	g.forget.Hidden = !now.whole
	g.forget.Disabled, g.forget.Why = now.mode != bench.ModeCheck, "it belongs to the take"
	g.syncListen(&now)
	g.syncLower(&now)
	g.syncRecipes(&now)
	g.syncTalker(&now)
	g.syncTransport(&now)
	g.syncLine(&now)
	g.drawer.Openers[drawer.Strips].Hidden = !now.whole
	g.drawer.Sync(g.idea == ideaAll || g.idea == ideaDiagram, g.lowerShown())
}

var noTakeWords = []string{"No take yet. Set the gain while the talker talks, then record. The loudest moment is still to come.",
	"No take yet. Set the gain, then record.", "No take yet."}

// remakeWords tell how far take n is with being made again.
func (g *Scene) remakeWords(n int, part float64) []string {
	s := g.t.remade.Get([6]int64{int64(n), ui.Q(part*100, 0)}, func() string {
		return fmt.Sprintf("%s %s %%", remakingWords(n), ui.Decimal(part*100, 0))
	})
	if len(g.t.remadeLine) == 0 {
		g.t.remadeLine = []string{""}
	}
	g.t.remadeLine[0] = s
	return g.t.remadeLine
}

func remakingWords(n int) string { return fmt.Sprintf("Take %d is being made again.", n) }

// lowerShown reports whether the lower panel is on the picture.
func (g *Scene) lowerShown() bool {
	return g.idea == ideaAll || g.idea == ideaWaves || g.idea == ideaSpectrum || g.idea == ideaResult
}

// takeNames are what the choice of a take is called; made once.
func takeNames(n int) (id, label, name string) {
	if n >= len(takeWords) {
		n = len(takeWords) - 1
	}
	w := &takeWords[n]
	return w[0], w[1], w[2]
}

var takeWords = func() (w [1000][3]string) {
	for i := range w {
		n := ui.Decimal(float64(i), 0)
		w[i] = [3]string{"take." + n, n, "Take " + n}
	}
	return w
}()

var voiceNames = func() (n []string) {
	for _, t := range voice.Talkers() {
		n = append(n, t.Name)
	}
	return n
}()

// bench.OverSpans keeps the list of overs of the strip shown up to date.
func (g *Scene) overSpans(t *bench.Take) []ui.Span {
	k := g.of(t)
	if g.overTake != t || g.overShown != k {
		g.overTake, g.overShown, g.overBins, g.overs = t, k, 0, g.overs[:0]
	}
	g.overs, g.overBins = t.OverSpans(g.overs, k, g.overBins)
	return g.overs
}

// of is the strip of a take to show: it may have fewer than the bench.
func (g *Scene) of(t *bench.Take) int { return min(g.Shown, t.N-1) }

func (g *Scene) outline(from, to float64) (lo, hi float32) {
	if t := g.Bench.Take(); t != nil {
		lo, hi, _ = t.Outline(g.of(t), from, to)
	}
	return lo, hi
}

// Controls lists the controls in focus order.
func (g *Scene) Controls() []ui.Control {
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
	add(g.drawer.Openers[drawer.Strips])
	add(g.forget)
	for _, c := range g.drawer.All {
		if c != ui.Control(g.drawer.Openers[drawer.Strips]) {
			add(c)
		}
	}
	for _, c := range g.views {
		add(c)
	}
	add(g.far)
	add(g.near)
	add(g.wave)
	add(g.loudest)
	for _, c := range g.takes {
		add(c)
	}
	for _, c := range g.file.controls() {
		add(c)
	}
	for _, c := range g.listen {
		add(c)
	}
	add(g.matched)
	for _, c := range g.blind.Controls() {
		add(c)
	}
	add(g.record)
	add(g.play)
	add(g.loop)
	add(g.check)
	add(g.again)
	add(g.chance)
	add(g.line)
	add(g.keep)
	add(g.cautPlay)
	add(g.cautCancel)
	return g.cs
}

// Apply carries an intent out.
func (g *Scene) Apply(it ui.Intent) error {
	was := g.Bench.Setup()
	err := g.apply(it)
	if g.Bench.Setup() != was || it.ID == "check" || strings.HasPrefix(it.ID, "event.") || strings.HasPrefix(it.ID, "talker.") {
		// Whoever goes on working is not taken away from it.
		if n, ok := g.Bench.HushRemake(); ok && g.status == remakingWords(n) {
			g.status = "Sound check."
		}
	}
	if now := g.Bench.Setup(); now != was {
		if it.ID != "undo" && it.ID != "redo" {
			g.log.note(was, it.ID, g.shell.Now())
		}
		g.touched = g.shell.Now()
		if now.N != was.N {
			g.shell.Relayout()
		}
	}
	g.Sync()
	return err
}

func (g *Scene) apply(it ui.Intent) error {
	if ok, err := g.acts.Apply(it); ok {
		return err
	}
	for i, n := range bench.StripNames[:g.Bench.N()] {
		if rest, ok := strings.CutPrefix(it.ID, n+"."); ok && rest != "lock" {
			if ok, err := g.applyStrip(i, rest, it); ok {
				return err
			}
		}
	}
	for _, f := range []func(ui.Intent) (bool, error){g.applyShared, g.applyStrips, g.blind.Apply, g.applyTakes} {
		if ok, err := f(it); ok {
			return err
		}
	}
	return fmt.Errorf("there is nothing called %q here", it.ID)
}

func (g *Scene) set(i int, c sim.Chain) error {
	if c == g.Bench.Chain(i) {
		return nil
	}
	g.Shown = i
	playing := g.Bench.Playing()
	if playing {
		// What is played stays; the new settings count for the next take.
		g.Bench.Stop()
	}
	return g.Bench.SetChain(i, c)
}

// listenTo changes what is heard; going over to clipped sound while the take
// plays asks first.
func (g *Scene) listenTo(l bench.Listen) {
	g.Bench.SetListen(l)
	if g.Bench.Playing() && g.clippedUnwarned(l) {
		g.Bench.Stop()
		g.caution = true
	}
}

// clippedUnwarned reports whether a sound of the take is clipped, and nobody has
// been warned of this take yet.
func (g *Scene) clippedUnwarned(l bench.Listen) bool {
	t := g.Bench.Take()
	return t != nil && t.Done && l <= bench.ListenD && int(l) < t.N && t.Readings[l].Overs > 0 && g.warned != t
}

func (g *Scene) toggleRecord() error {
	g.caution, g.afterCaution = false, nil
	g.blind.Close()
	if g.Bench.Mode() == bench.ModeRecord {
		g.Bench.Stop()
		return nil
	}
	again := g.sameOn && g.Bench.Take() != nil && g.Bench.Take().Done
	if err := g.Bench.Record(again); err != nil {
		return err
	}
	g.status = fmt.Sprintf("Recording take %d.", g.Bench.Take().Number)
	return nil
}

func (g *Scene) togglePlay() error {
	if g.Bench.Playing() {
		g.Bench.Stop()
		return nil
	}
	t := g.Bench.Take()
	if t == nil || !t.Done {
		return g.Bench.Play()
	}
	if g.clippedUnwarned(g.Bench.Listening()) {
		g.caution = true
		return nil
	}
	return g.startPlay()
}

func (g *Scene) startPlay() error {
	if err := g.shell.StartSound(); err != nil {
		return err
	}
	g.review()
	return g.Bench.Play()
}

// review goes from the sound check to the take, if there is one, and says what became
// of it.
func (g *Scene) review() {
	if t := g.Bench.Take(); t != nil && t.Done && g.Bench.Mode() == bench.ModeCheck {
		g.Bench.SetMode(bench.ModeReview)
		g.Bench.HearTake()
		g.status = g.resultWords(t)
	}
}

// Update takes dropped files and notices that a take has ended.
func (g *Scene) Update(in *ui.Input) bool {
	for _, d := range in.Drops {
		if low := strings.ToLower(d.Name); strings.HasSuffix(low, ".yaml") || strings.HasSuffix(low, ".yml") {
			if err := g.openSetup(d); err != nil {
				g.shell.Fail(err)
			}
			continue
		}
		if err := g.drop(d); err != nil {
			g.shell.Fail(err)
		}
	}
	reading := g.loadOn(in.Seconds)
	if t := g.Bench.Take(); t != nil && t.Done && g.wave.Known != t {
		g.wave.Known = t
		if !t.Quiet {
			g.status = g.fullResult(t)
		}
		g.wave.Follow(t.Loudest)
		g.card.make(t)
		g.shell.Relayout()
		reading = true
	}
	if _, _, ok := g.Bench.Remaking(); ok {
		reading = true
	}
	reading = g.mendOn(in.Seconds) || reading
	paint, done := g.file.goOn(in.Seconds, g.shell.SoundOn() || g.Bench.Mode() == bench.ModeRecord)
	reading = reading || paint
	if done {
		g.looked()
	}
	g.Sync()
	return reading
}

// TakeResult says in plain words what became of a take.
func TakeResult(t *bench.Take) string {
	var b strings.Builder
	fmt.Fprintf(&b, "Take %d, %s s: ", t.Number, ui.Decimal(t.Seconds(), 1))
	for i, r := range t.Readings[:t.N] {
		if i > 0 {
			b.WriteString("; ")
		}
		b.WriteString("strip " + bench.StripNames[i] + " ")
		b.WriteString(overWords(r))
	}
	if t.Full {
		fmt.Fprintf(&b, ". It ended by itself: a take has at most %d s", bench.MaxTakeSeconds)
	}
	return b.String() + "."
}

func (g *Scene) fullResult(t *bench.Take) string {
	return g.t.full.Get([6]int64{t.ID}, func() string { return TakeResult(t) })
}

// briefResult is TakeResult in few words.
func (g *Scene) briefResult(t *bench.Take) string {
	return g.t.brief.Get([6]int64{t.ID}, func() string {
		words := make([]string, t.N)
		for i, r := range t.Readings[:t.N] {
			words[i] = bench.StripNames[i] + " no overs"
			if r.Overs > 0 {
				words[i] = fmt.Sprintf("%s %d overs", bench.StripNames[i], r.Overs)
			}
		}
		return fmt.Sprintf("Take %d: %s.", t.Number, strings.Join(words, ", "))
	})
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
func (g *Scene) Nodes(dst []ui.Node) []ui.Node {
	dst = append(dst,
		ui.Node{ID: "status", Role: ui.RoleStatus, Name: "Result", Value: g.shell.Announce(), Bounds: g.resultBox},
		ui.Node{ID: "diagram", Role: ui.RoleImage, Name: "Where the level sits", Value: g.d.Told(), Bounds: g.d.Box},
	)
	if g.spec.Ok && g.look == viewSpectrum && g.drawer.At == drawer.None {
		dst = append(dst, ui.Node{ID: "spectrum", Role: ui.RoleImage, Name: "What clipping adds", Value: g.spec.Cap.Last(), Bounds: g.spec.Plot})
	}
	if t := g.Bench.Take(); t != nil && t.Done && g.card.of == t {
		for i := range t.N {
			dst = append(dst, ui.Node{ID: bench.StripNames[i] + ".result", Role: ui.RoleText, Name: g.card.words[i][0],
				Value: g.card.all[i], Bounds: g.resultBox})
		}
	}
	if g.look == viewFile {
		dst = g.file.nodes(dst)
	}
	for i, n := range bench.StripNames[:g.Bench.N()] {
		dst = append(dst, ui.Node{ID: n + ".overs", Role: ui.RoleText, Name: "Strip " + n + ", overs", Value: g.stripWords(i), Bounds: g.strip[i].line})
	}
	return dst
}

// openSetup takes over the set-up of a scenario file.
func (g *Scene) openSetup(d ui.Drop) error {
	if g.Bench.Mode() == bench.ModeRecord {
		return fmt.Errorf("%s: a take is being recorded; open it again afterwards", d.Name)
	}
	was := g.Bench.Setup()
	p, err := bench.FromScenario(d.Name, d.Data, was)
	if err != nil {
		return err
	}
	if err := g.Bench.SetSetup(p); err != nil {
		return err
	}
	g.log.note(was, "setup.open", g.shell.Now())
	g.touched = g.shell.Now()
	g.shell.Relayout()
	g.status = "The set-up of " + d.Name + " is in place."
	return nil
}
