package mend

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"

	"gainwright/scenes/bench"
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
	"gainwright/scenes/work"
	"gainwright/sim"
	"gainwright/sim/repair"
	"gainwright/sounds"
	"gainwright/sounds/codec"
)

// Scene is "Mend it later": a take, a stack of treatments, what they bring,
// and beside it the take that had less gain.
type Scene struct {
	shell kit.Shell
	d     *kit.Deck
	w     *kit.Scope
	acts  kit.Acts
	cs    []ui.Control

	source  []*ui.Choice // take A to D, the built-in one
	open    *ui.Button
	on      [7]*ui.Check
	up      [7]*ui.Button
	down    [7]*ui.Button
	effort  []*ui.Choice
	unlimit *ui.Check
	listen  [4]*ui.Choice
	matched *ui.Check
	moment  *ui.Button
	cancel  *ui.Button
	keep    *ui.Button

	order   mendOrder
	take    *mendTake
	from    string      // the source of take, as its ID
	seen    *bench.Take // the last take of the bench that was looked at
	figs    [4]mendFigures
	clean   []float64 // the lower take, brought up and cleaned
	res     *mendResult
	cache   map[string][]float64
	given   bool // the work was cancelled and waits to be asked for
	inStep  bool // matched in loudness
	job     *work.Task
	pace    work.Pace
	done    func() // takes over what job made
	load    *work.Loading
	status  string
	strong  bool
	verdict [2]string

	show kit.Slides
	l    mendLayout
	t    mendTexts
}

func New(p kit.Shell) *Scene {
	s := &Scene{shell: p, inStep: true, cache: map[string][]float64{}, status: "Choose a take."}
	s.d = kit.NewDeck(p, "There is no take yet.", "No take yet.")
	s.w = kit.NewScope()
	s.order.kinds = [7]int{0, 1, 2, 3, 4, 5, 6}
	s.order.on[kindDeclip] = true
	s.order.effort = repair.Balanced
	if work.Sliced {
		s.order.effort = repair.Fast
	}
	for i := range bench.StripNames {
		n := bench.StripNames[i]
		c := ui.NewChoice(groupSource, idSource+n, "The last take, strip "+n, "What was recorded last in the scene “Set the gain”.", "take, strip "+n)
		s.source = append(s.source, c)
	}
	s.source = append(s.source, ui.NewChoice(groupSource, idBuiltin, "The captain laughs, clipped", "A built-in take with too much gain.", "the captain laughs"))
	for _, c := range s.source {
		c.Look = ui.Tile
	}
	s.open = ui.NewButton(kit.IDFileOpen, "Mend a recording of your own", "WAV, FLAC, Ogg Vorbis or MP3; you can also drop it anywhere.", "your file…", ui.Quiet, ui.IconFile)
	s.open.Size = ui.Small
	for i, k := range mendKinds {
		s.on[i] = ui.NewCheck(idKind+k.id, k.name, k.hint, k.words[0])
		s.up[i] = ui.NewButton(idKind+k.id+idUp, k.name+": earlier", "Moves this treatment before the one above it.", "", ui.Quiet, ui.NoIcon)
		s.down[i] = ui.NewButton(idKind+k.id+idDown, k.name+": later", "Moves this treatment after the one below it.", "", ui.Quiet, ui.NoIcon)
	}
	for _, e := range efforts {
		c := ui.NewChoice(groupEffort, idEffort+e.String(), "Declip, effort: "+e.String(), "More work mostly, not always, comes nearer to what was spoken.", e.String())
		c.Look = ui.Tile
		s.effort = append(s.effort, c)
	}
	s.unlimit = ui.NewCheck(idUnlimit, "Undo the limiter", "The clipped tops tell a gain that moved after them, as a limiter's does. It is turned back for the guess and, unless this is on, put on again.", "undo the limiter")
	for i, w := range mendTracks {
		c := ui.NewChoice(groupListen, idListen+w.id, w.name, "", w.label)
		c.Look = ui.Tile
		s.listen[i] = c
	}
	s.listen[mendLower].Hint = "The same performance recorded with 12 dB less gain, brought up again and its noise taken down."
	s.matched = ui.NewCheck(kit.IDMatched, "Matched in loudness", "Plays all equally loud, at −23 LUFS, so that louder does not seem better.", "matched in loudness, −23 LUFS")
	s.moment = ui.NewButton(kit.IDScopeLoudest, "Go to the loudest moment", "Shows the wave around the loudest moment.", "loudest moment", ui.Quiet, ui.NoIcon)
	s.moment.Size = ui.Small
	s.cancel = ui.NewButton(idCancel, "Cancel", "Gives up the work going on.", "Cancel", ui.Plain, ui.NoIcon)
	s.cancel.Size = ui.Small
	s.keep = ui.NewButton(idSave, "Save the mended sound", "A 32-bit float WAV file, so that restored peaks fit.", "Save", ui.Quiet, ui.NoIcon)
	s.keep.Size = ui.Small
	s.d.Choose(0)
	s.acts = s.sceneActs()
	s.sync()
	return s
}

// FootY is where the deck begins.
func (s *Scene) FootY() float32 { return s.d.Top() }

// Title is the name on the tab.
func (s *Scene) Title() string { return "Mend it later" }

// ID is that of the scene's tab in the mirror.
func (s *Scene) ID() string { return kit.IDTabMend }

// Announce is the caution that waits for an answer, or the latest result.
func (s *Scene) Announce() string { return s.d.Announce(s.status) }

// Result is what came of the last step.
func (s *Scene) Result() string { return s.status }

// Controls lists the controls in focus order.
func (s *Scene) Controls() []ui.Control {
	if s.cs != nil {
		return s.cs
	}
	s.cs = append(s.cs, s.w, s.moment)
	for _, c := range s.source {
		s.cs = append(s.cs, c)
	}
	s.cs = append(s.cs, s.open)
	for i := range mendKinds {
		s.cs = append(s.cs, s.on[i], s.up[i], s.down[i])
	}
	for _, c := range s.effort {
		s.cs = append(s.cs, c)
	}
	s.cs = append(s.cs, s.unlimit)
	for _, c := range s.listen {
		s.cs = append(s.cs, c)
	}
	s.cs = append(s.cs, s.matched, s.keep, s.cancel)
	s.cs = append(s.cs, s.d.Controls()...)
	return s.cs
}

// lastTake is the bench's finished take, or nil.
func (s *Scene) lastTake() *bench.Take {
	if t := s.shell.Bench().Take(); t != nil && t.Done && t.Frames() >= mendShortest && s.shell.Bench().Mode() != bench.ModeRecord {
		return t
	}
	return nil
}

const whyNoMend = "there is no take yet"

func (s *Scene) sync() {
	t := s.lastTake()
	strips := 0
	if t != nil {
		strips = takeStrips(t)
	}
	for i, c := range s.source[:len(s.source)-1] {
		c.Hidden = i >= max(2, strips)
		c.Disabled, c.Why = i >= strips, "record a take in the scene “Set the gain” first"
	}
	for _, c := range s.source {
		c.Checked = s.from == c.ID
	}
	ready := s.take != nil
	for i := range mendKinds {
		s.on[i].On = s.order.on[i]
		s.on[i].Disabled, s.on[i].Why = !ready, whyNoMend
		at := s.place(i)
		s.up[i].Disabled, s.up[i].Why = !ready || at == 0, "it is the first"
		s.down[i].Disabled, s.down[i].Why = !ready || at == len(mendKinds)-1, "it is the last"
	}
	if ready && s.take.safety == nil {
		s.on[kindSplice].Disabled, s.on[kindSplice].Why = true, "there is no second track with less gain"
		s.on[kindSplice].On = false
	}
	for i, e := range efforts {
		s.effort[i].Checked = s.order.effort == e
		s.effort[i].Disabled, s.effort[i].Why = !ready || !s.order.on[kindDeclip], "declip is not on"
	}
	s.unlimit.On, s.unlimit.Hidden = s.order.unlimit, !s.ridden()
	s.unlimit.Disabled, s.unlimit.Why = !s.ridden() || !s.order.on[kindDeclip], "declip is not on"
	if !s.ridden() {
		s.unlimit.Why = "no gain is known to have moved after the clipping"
	}
	for i, c := range s.listen {
		c.Checked = s.d.At == i
		c.Disabled, c.Why = !ready, whyNoMend
	}
	if ready {
		if s.take.truth == nil {
			s.listen[mendSpoken].Disabled, s.listen[mendSpoken].Why = true, "nobody knows what was spoken: the file is all there is"
		}
		if s.take.lower == nil {
			s.listen[mendLower].Disabled, s.listen[mendLower].Why = true, "it takes the performance, and there is only its file"
		}
		if s.res == nil {
			s.listen[mendMended].Disabled, s.listen[mendMended].Why = true, "it is not mended yet"
		}
	}
	s.matched.On = s.inStep
	s.keep.Disabled, s.keep.Why = s.res == nil, "it is not mended yet"
	busy := s.job != nil || s.load != nil
	s.cancel.Hidden = !busy && !s.given
	s.cancel.Label, s.cancel.Name = "Cancel", "Cancel"
	if !busy && s.given {
		s.cancel.Label, s.cancel.Name = "Mend", "Mend it now"
	}
	s.w.Disabled, s.w.Why = !ready, whyNoMend
	s.moment.Disabled, s.moment.Why = !ready, whyNoMend
	s.d.Sync()
	s.show.Sync(s.Controls())
}

// ridden reports whether the tops of the take tell a gain that moved after the clipping.
func (s *Scene) ridden() bool { return s.take != nil && s.take.clips.Ride != nil }

// place is where kind k stands in the stack.
func (s *Scene) place(k int) int {
	for i, v := range s.order.kinds {
		if v == k {
			return i
		}
	}
	return -1
}

// active is the stack that counts for the take: without what it cannot have.
func (s *Scene) active() mendOrder {
	o := s.order
	if s.take == nil || s.take.safety == nil {
		o.on[kindSplice] = false
	}
	o.unlimit = o.unlimit && s.ridden()
	return o
}

// Update reads files, works on in slices and takes over what is finished.
func (s *Scene) Update(in *ui.Input) bool {
	s.shell.Hear(s.d.Player)
	changed := false
	for _, d := range in.Drops {
		if err := s.drop(d); err != nil {
			s.shell.Fail(err)
		}
	}
	if t := s.lastTake(); t != nil && t != s.seen && s.load == nil {
		// A new take comes first, the strip with the most overs of it.
		s.seen = t
		worst := 0
		for i := range takeStrips(t) {
			if t.Readings[i].Overs > t.Readings[worst].Overs {
				worst = i
			}
		}
		s.fail(s.choose(s.source[worst].ID))
	} else if s.from == "" && s.load == nil {
		s.fail(s.choose(idBuiltin))
	}
	if s.load != nil {
		changed = s.read(in.Seconds)
	}
	if s.job == nil && s.load == nil && s.take != nil && !s.given && (s.res == nil || s.res.order.key(len(s.res.order.steps())) != s.active().key(len(s.active().steps()))) {
		s.mend()
	}
	if s.job != nil {
		changed = s.pace.Run(s.job, in.Seconds, s.d.Playing()) || changed
		if s.job.Finished() {
			changed = true
			err, done := s.job.Err, s.done
			s.job, s.done = nil, nil
			switch {
			case err == nil:
				done()
			case !errors.Is(err, context.Canceled):
				s.fail(err)
				s.given = true
			}
		}
	}
	s.sync()
	return changed || s.d.Playing()
}

func (s *Scene) fail(err error) {
	if err != nil {
		s.shell.Fail(err)
	}
}

// choose takes a source.
func (s *Scene) choose(id string) error {
	var make func(h *work.Context) (*mendTake, error)
	if id == idBuiltin {
		make = builtinTake
	} else {
		t := s.lastTake()
		strip := strings.Index("ABCD", strings.TrimPrefix(id, idSource))
		if t == nil || strip < 0 || strip >= takeStrips(t) {
			return fmt.Errorf("record a take in the scene “Set the gain” first")
		}
		m, pressure, c := takeExcerpt(t, strip)
		make = func(h *work.Context) (*mendTake, error) { return m, m.alongside(h, c, pressure) }
	}
	s.start(id, make)
	return nil
}

// start gives up what goes on and makes a take ready.
func (s *Scene) start(id string, make func(h *work.Context) (*mendTake, error)) {
	s.drop0()
	s.from, s.take, s.res, s.clean = id, nil, nil, nil
	s.figs = [4]mendFigures{}
	clear(s.cache)
	s.d.Load(true)
	s.status, s.strong = "The take is made ready.", false
	s.verdict = [2]string{}
	var m *mendTake
	var figs [4]mendFigures
	var clean []float64
	s.job = work.Start(func(h *work.Context) (err error) {
		if m, err = make(h); err != nil {
			return err
		}
		if m.clips, err = (repair.Declip{}).FindContext(h, m.x); err != nil {
			return err
		}
		h.Report("measuring", 0.7)
		figs[mendRecorded] = figuresOf(m.x, m.truth)
		if m.truth != nil {
			figs[mendSpoken] = figuresOf(m.truth, m.truth)
		}
		if err := h.Err(); err != nil {
			return err
		}
		if m.lower != nil {
			clean, _, err = work.Treat(h, repair.DefaultDenoise(), m.lower, h.Span("the take with less gain", 0.8, 1))
			if err != nil {
				return err
			}
			for i := range clean { // up again by what it had less
				clean[i] *= sim.DB(mendLowerDB).Lin()
			}
			figs[mendLower] = figuresOf(clean, m.truth)
		}
		return nil
	})
	s.done = func() {
		s.take, s.figs, s.clean = m, figs, clean
		s.shell.Relayout() // what is known of the limiter has a row, or has none
		s.w.Load(int64(len(m.x)), m.loudest)
		s.given = false
		s.sounds(true)
		if m.truth == nil && s.d.At == mendSpoken || s.d.At == mendMended || m.lower == nil && s.d.At == mendLower {
			s.d.Choose(mendRecorded)
		}
	}
}

// drop0 gives up the work going on.
func (s *Scene) drop0() {
	if s.job != nil {
		s.job.Cancel()
		s.job, s.done = nil, nil
	}
}

// drop begins to read a file that was dropped in or chosen.
func (s *Scene) drop(d ui.Drop) error {
	r, err := work.OpenDrop(d)
	if err != nil {
		return err
	}
	channels := r.Info().Channels
	r.Close()
	s.drop0()
	if s.load != nil {
		s.load.Job.Cancel()
	}
	l := &work.Loading{Name: d.Name + work.ChannelWords(d, channels)}
	l.Job = work.Start(func(h *work.Context) error {
		if d.AtS == 0 {
			at, err := loudestMoment(h, d)
			if err != nil {
				return err
			}
			d.AtS = at
		}
		return l.Read(h, d, max(2*mendSeconds(), 30))
	})
	s.load = l
	s.status, s.strong = "Reading "+d.Name+".", false
	if channels == 2 && d.Channel == 0 {
		s.status += " Its two channels are mixed; to mend one of them, bring it to the scene “Set the gain”, choose there, and come back with it."
	}
	return nil
}

// loudestMoment looks for the highest sample of a recording, s.
func loudestMoment(h *work.Context, d ui.Drop) (float64, error) {
	r, err := work.OpenDrop(d)
	if err != nil {
		return 0, err
	}
	defer r.Close()
	in := r.Info()
	src := sounds.Mono(r, in.Channels, work.PickChannel(d))
	block := sounds.NewBlock(1, 4096)
	at, peak, pos := int64(0), 0.0, int64(0)
	for {
		n, err := src.Read(block)
		for i, v := range block[0][:n] {
			if v = math.Abs(v); v > peak {
				at, peak = pos+int64(i), v
			}
		}
		pos += int64(n)
		if errors.Is(err, io.EOF) {
			return float64(at) / float64(in.Rate), nil
		}
		if err != nil {
			return 0, err
		}
		if in.Frames > 0 {
			h.Report("reading", 0.5*float64(pos)/float64(in.Frames))
		}
		if err := h.Err(); err != nil {
			return 0, err
		}
	}
}

// read takes a file being read a step further and reports whether the picture
// changes.
func (s *Scene) read(now float64) bool {
	l := s.load
	paint := s.pace.Run(l.Job, now, s.d.Playing())
	if !l.Job.Finished() {
		return paint
	}
	s.load = nil
	if err := l.Job.Err; err != nil {
		s.fail(err)
		return true
	}
	if len(l.Mono) < mendShortest {
		s.fail(fmt.Errorf("%s is too short: at least half a second is needed", l.Name))
		return true
	}
	s.start("file", func(h *work.Context) (*mendTake, error) {
		at, peak := 0, float32(0)
		for i, v := range l.Mono {
			if v = max(v, -v); v > peak {
				at, peak = i, v
			}
		}
		if peak == 0 {
			return nil, fmt.Errorf("%s is silent", l.Name)
		}
		n := min(len(l.Mono), int(mendSeconds()*bench.Rate))
		from := max(0, min(at-n/2, len(l.Mono)-n))
		m := &mendTake{title: l.Name, x: make([]float64, n)}
		for i := range m.x {
			m.x[i] = float64(l.Mono[from+i])
		}
		m.find()
		return m, nil
	})
	return true
}

// mend starts the work on the stack as it is set, from the longest beginning of
// it that has been done before.
func (s *Scene) mend() {
	o, m := s.active(), s.take
	steps := o.steps()
	y, begun := m.x, 0
	for n := len(steps); n > 0; n-- {
		if c, ok := s.cache[o.key(n)]; ok {
			y, begun = c, n
			break
		}
	}
	res := &mendResult{order: o}
	made := map[string][]float64{}
	s.job = work.Start(func(h *work.Context) error {
		for i := begun; i < len(steps); i++ {
			lo, hi := float64(i-begun)/float64(len(steps)-begun+1), float64(i-begun+1)/float64(len(steps)-begun+1)
			z, rep, err := work.Treat(h, mendKinds[steps[i]].make(m, o), y, h.Span(strings.ToLower(mendKinds[steps[i]].name), lo, hi))
			if err != nil {
				return err
			}
			y = z
			res.reports = append(res.reports, rep)
			made[o.key(i+1)] = y
		}
		h.Report("measuring", 0.95)
		res.y = y
		res.fig = figuresOf(y, m.truth)
		return h.Err()
	})
	s.done = func() {
		for k, v := range made {
			s.cache[k] = v
		}
		for k := range s.cache { // some memory is enough
			if len(s.cache) <= 12 {
				break
			}
			if _, now := made[k]; !now {
				delete(s.cache, k)
			}
		}
		s.res = res
		s.figs[mendMended] = res.fig
		s.sounds(false)
		s.judge()
	}
}

// sounds loads what can be listened to.
func (s *Scene) sounds(fresh bool) {
	m := s.take
	mended, clipped := m.x, m.harsh()
	if s.res != nil {
		mended = s.res.y
	}
	spoken, lower := m.truth, s.clean
	if spoken == nil {
		spoken = m.x
	}
	if lower == nil {
		lower = m.x
	}
	s.d.Load(fresh,
		kit.NewTrack("as spoken", spoken, 0, m.truth == nil && clipped),
		kit.NewTrack("as recorded", m.x, 0, clipped),
		kit.NewTrack("mended", mended, 0, clipped),
		kit.NewTrack("12 dB less gain, brought up", lower, 0, s.clean == nil && clipped))
	s.gains()
}

// gains sets how loud each is played.
func (s *Scene) gains() {
	for i, f := range s.figs {
		db := 0.0
		if i == mendLower && !s.inStep {
			db = -mendLowerDB // as it is in its file
		}
		if s.inStep && f.ok && !math.IsInf(f.lufs, 0) && !math.IsNaN(f.lufs) {
			db = bench.ListenLUFS - f.lufs
		}
		s.d.Gain(i, db)
	}
}

// judge puts what the stack brought into words.
func (s *Scene) judge() {
	m, r := s.take, s.res
	s.strong = true
	if len(r.order.steps()) == 0 {
		s.status = "Nothing is on: the take is as it was recorded."
		s.verdict = [2]string{"Choose what to do to the take.", s.lowerWords()}
		if !m.harsh() {
			s.verdict[0] = "Nothing was cut off in this take: there is nothing to mend."
		}
		return
	}
	if m.truth != nil {
		d := repair.Distance{BeforeDB: s.figs[mendRecorded].sdr, AfterDB: r.fig.sdr}
		d.GainDB = d.AfterDB - d.BeforeDB
		if math.IsInf(d.BeforeDB, 1) && math.IsInf(d.AfterDB, 1) {
			d.GainDB = 0
		}
		v := d.Verdict()
		s.verdict = [2]string{v.String(), s.lowerWords()}
		switch {
		case !r.order.on[kindDeclip]:
		case m.clips.Ride != nil && r.order.unlimit:
			s.verdict[0] += unlimitedWords
		case m.clips.Ride != nil:
			s.verdict[0] += limitedWords
		case m.over > 0 && m.clips.Samples == 0:
			s.verdict[0] = "Declip found no flat tops: what the converter cut off was bent or moved afterwards. " + v.Back
		}
		switch {
		case d.GainDB >= 0.5:
			s.status = "Mended: " + ui.Decimal(d.GainDB, 1) + " dB nearer to what was spoken."
		case d.GainDB < -0.05:
			s.status = "Treated: " + ui.Decimal(-d.GainDB, 1) + " dB further from what was spoken."
		default:
			s.status = "Treated: as far from what was spoken as before."
		}
		return
	}
	words := ""
	for _, rep := range r.reports {
		// Declipping's verdict matters most, else the last one's.
		if words == "" || rep.Treatment == (repair.Declip{}).Name() || !r.order.on[kindDeclip] {
			words = rep.Verdict.String()
		}
	}
	s.verdict = [2]string{words, "What was spoken is not known, so nothing here can say how near the result comes to it."}
	s.status = "Treated."
	if s.order.on[kindDeclip] && m.clips.Samples > 0 {
		s.status = fmt.Sprintf("Treated: %s flat tops were filled with a guess.", kit.Grouped(len(m.clips.Runs)))
	}
	if m.clips.Samples == 0 {
		s.status = "Treated; no flat tops were found in this file."
	}
}

// What is said of a limiter's gain, behind the distance from the truth, which had none.
const (
	limitedWords   = " The limiter that came after the clipping is still on it, and is part of that distance."
	unlimitedWords = " The limiter that came after the clipping is undone, as far as the tops tell it."
)

func (s *Scene) lowerWords() string {
	if s.clean == nil {
		return ""
	}
	a, b := s.figs[mendLower].sdr, s.figs[mendMended].sdr
	if !s.figs[mendMended].ok {
		b = s.figs[mendRecorded].sdr
	}
	w := "With 12 dB less gain the same take, brought up and cleaned, has its error " + ui.Decimal(a, 1) + " dB below the voice"
	if a > b+0.5 {
		return w + ": " + ui.Decimal(a-b, 1) + " dB better than the mended one."
	}
	return w + "."
}

// Apply carries an intent out.
func (s *Scene) Apply(it ui.Intent) error {
	err := s.apply(it)
	s.sync()
	return err
}

// save hands out the mended sound.
func (s *Scene) save() error {
	if s.res == nil {
		return fmt.Errorf("it is not mended yet")
	}
	b, err := codec.WAVBytes(bench.Rate, [][]float64{s.res.y}, codec.Float32)
	if err != nil {
		return err
	}
	s.shell.Save("gainwright-mended.wav", b)
	return nil
}

// Nodes tells what the pictures and the table show.
func (s *Scene) Nodes(dst []ui.Node) []ui.Node {
	dst = s.show.Nodes(dst)
	dst = append(dst,
		ui.Node{ID: kit.IDStatus, Role: ui.RoleStatus, Name: "Result", Value: s.shell.Announce(), Bounds: s.d.Result},
		ui.Node{ID: idVerdict, Role: ui.RoleText, Name: "Verdict", Value: strings.TrimSpace(s.verdict[0] + " " + s.verdict[1]), Bounds: s.l.words},
		ui.Node{ID: idPicture, Role: ui.RoleImage, Name: "The wave as recorded, mended, and with less gain", Value: s.pictureWords(), Bounds: s.l.picture},
	)
	for i, n := range mendTracks {
		if f := s.figs[i]; f.ok {
			dst = append(dst, ui.Node{ID: idFigures + n.id, Role: ui.RoleText, Name: "Figures, " + s.listen[i].Label, Value: f.String(), Bounds: s.l.table})
		}
	}
	return dst
}

func (s *Scene) pictureWords() string {
	if s.take == nil {
		return whyNoMend
	}
	return fmt.Sprintf("%s: %d clipped passages, %s %% of the samples; at %s ms.", s.take.title, len(s.take.clips.Runs),
		ui.Decimal(100*s.take.clips.Share, 1), ui.Decimal(s.w.MS(), 0))
}

// Scroll moves the column.
func (s *Scene) Scroll(dy float32) {
	if s.l.Scrolled(dy) {
		s.Layout(s.shell.Theme(), s.l.Area)
	}
}

// Reveal scrolls until r can be seen.
func (s *Scene) Reveal(r ink.Rect) {
	if dy := s.l.Reveal(r); dy != 0 {
		s.Scroll(dy)
	}
}
