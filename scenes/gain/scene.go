package gain

import (
	"fmt"
	"gainwright/scenes/gain/past"
	"strings"

	"gainwright/scenes/bench"
	"gainwright/scenes/gain/blind"
	"gainwright/scenes/gain/cards"
	"gainwright/scenes/gain/drawer"
	"gainwright/scenes/gain/room"
	"gainwright/scenes/gain/talker"
	"gainwright/scenes/gain/waves"
	"gainwright/scenes/gain/window"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
)

// New makes the scene, as an earlier visit left it.
func New(p kit.Shell) *Scene {
	g := &Scene{shell: p, Sight: bench.Sight{Bench: p.Bench()}}
	for i, n := range bench.StripNames {
		sp := &g.strip[i]
		sp.gain = ui.NewKnob(n+"."+kit.IDStripGain, "Strip "+n+", preamp gain",
			"How much the preamp turns up. Set it before the loudest moment comes.", "preamp gain", " dB",
			kit.GainMin, kit.GainMax, bench.GainDefault[i], 1, 6, kit.KnobDBPerDP, 1)
		for k, pl := range kit.Places {
			sp.lim[k] = ui.NewChoice(n+".limiter", n+"."+kit.IDStripLimiter+string(pl), "Strip "+n+", limiter "+kit.PlaceWords[k], kit.LimiterHints[k], kit.PlaceWords[k])
		}
		sp.meter = ui.NewMeter(n+"."+kit.IDStripMeter, "Strip "+n+", level of the file", "Above full scale, hatched: what the converter was asked for and could not give.")
		g.show[i] = ui.NewChoice("show", kit.IDShow+n, "Show strip "+n, "Diagram and waves show this strip.", n)
		g.show[i].Look = ui.Tile
	}
	g.forget = ui.NewButton(kit.IDHoldReset, "Forget the loudest moment", "Clears what is held of the loudest moment so far.", "Forget", ui.Quiet, ui.NoIcon)
	g.forget.Size = ui.Small
	for i, n := range bench.StripNames {
		g.listen[i] = ui.NewChoice("listen", kit.IDListen+n, "Listen to strip "+n, "", n)
	}
	g.listen[bench.ListenSpoken] = ui.NewChoice("listen", idSpoken, "Listen to what was spoken", "", "as spoken")
	g.listen[bench.ListenMended] = ui.NewChoice("listen", idMended, room.MendedNames[0], "What the fast method guesses was cut off. “Mend it later” shows how far it is from the truth.", "mended")
	g.mend.strip = unknownStrip
	for i, w := range [numViews][4]string{
		{kit.IDView + "waves", "Waves", "The same moment at four places of the chain.", "waves"},
		{kit.IDView + "spectrum", "Spectrum", "What clipping adds to what was spoken.", "spectrum"},
		{kit.IDView + "result", "Result", "What became of the take, and what would have been better.", "result"},
		{kit.IDView + "file", "Your file", "What the recording you brought along tells of its past.", "your file"},
	} {
		g.views[i] = ui.NewChoice("view", w[0], w[1], w[2], w[3])
		g.views[i].Look = ui.Tile
	}
	g.near = ui.NewButton(idScopeNearer, "Look nearer", "Shows less of the wave, larger.", "", ui.Quiet, ui.IconMore)
	g.far = ui.NewButton(idScopeFarther, "Look from farther", "Shows more of the wave.", "", ui.Quiet, ui.IconLess)
	g.chance = ui.NewCheck(idSurprises, "Surprises", "While a take is recorded the talker laughs, coughs, gets louder or leans in unasked.", "surprises")
	for i := range bench.MaxRecipes {
		n := ui.Decimal(float64(i+1), 0)
		c := ui.NewChoice("takes", idTake+n, "Take "+n, "Makes this take again from what was performed and set.", n)
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
	g.file = past.New()
	g.matched = ui.NewCheck(kit.IDMatched, "Matched in loudness", "Plays all sources equally loud, at −23 LUFS, so that louder does not seem better.", "matched in loudness, −23 LUFS")
	g.record = ui.NewButton(kit.IDRecord, "Record", "Starts a take, and ends it.", "Record", ui.Plain, ui.IconRecord)
	g.play = ui.NewButton(kit.IDPlay, "Play the take", "Plays the take from the place chosen; again to pause.", "Play", ui.Plain, ui.IconPlay)
	g.loop = ui.NewCheck(kit.IDLoop, "Play again and again", "At the end of the take, playing begins anew.", "loop")
	g.check = ui.NewButton(kit.IDCheck, "Sound check", "The talker talks on and nothing is kept.", "Sound check", ui.Plain, ui.NoIcon)
	g.check.Size = ui.Small
	g.check.Toggle = true
	g.again = ui.NewCheck(idAgain, "Same performance again", "The next take has the last take's performance, to the sample, so that only your settings differ.", "same again")
	g.line = ui.NewTimeline(kit.IDTakeAt, "Place in the take", "Press or drag to go there.")
	g.line.Wave = g.outline
	g.loudest = ui.NewButton(kit.IDScopeLoudest, "Go to the loudest moment", "Shows the wave around the loudest moment of the take.", "loudest moment", ui.Quiet, ui.NoIcon)
	g.loudest.Size = ui.Small
	g.wave = waves.NewView(&g.Sight)
	g.cautPlay = ui.NewButton(kit.IDCautionPlay, "Play the clipped sound", "", "Play it", ui.Plain, ui.IconPlay)
	g.cautCancel = ui.NewButton(kit.IDCautionCancel, "Do not play it", "", "Not now", ui.Plain, ui.NoIcon)
	g.keep = ui.NewButton(kit.IDTakeSave, "Save the take", "One archive with the files of both strips, what was spoken, the readings and this picture.", "Save", ui.Quiet, ui.NoIcon)
	g.keep.Size = ui.Small
	g.who = talker.New(p)
	g.who.Say = g.Say
	g.status = g.who.First()
	ShowLevels(&g.d, &g.Sight)
	g.d.Opened = g.layoutOpeners
	g.win = window.New(g.Bench)
	g.drawer = drawer.New(&g.Sight, p.Relayout)
	g.cards = cards.New("view")
	g.acts = kit.Acts{}
	for _, a := range []kit.Acts{g.stripActs(), g.listenActs(), g.chanceActs(), g.takeActs(), g.lowerActs(), g.setupActs(), g.win.Acts(), g.cards.Acts(func() { g.openDrawer(drawer.None) })} {
		g.acts.Add(a)
	}
	g.stored = g.Bench.Setup()
	g.recall()
	g.stored = g.Bench.Setup()
	g.Sync()
	return g
}

// Title is the name on the tab.
func (g *Scene) Title() string { return "Set the gain" }

// ID is that of the scene's tab in the mirror.
func (g *Scene) ID() string { return kit.IDTabGain }

// Announce is the latest result, or the caution that waits for an answer.
func (g *Scene) Announce() string {
	if g.caution {
		return "Caution: strip " + bench.StripNames[min(int(g.Bench.Listening()), bench.MaxStrips-1)] + " is clipped and will sound harsh. Play it?"
	}
	return g.status
}

// Enter implements kit.Visited.
func (g *Scene) Enter() {}

// Leave lets the microphone go, which is for this scene only.
func (g *Scene) Leave() { g.who.EndLive() }

// Result is the latest result, without the caution.
func (g *Scene) Result() string { return g.status }

// Apply carries an intent out.
func (g *Scene) Apply(it ui.Intent) error {
	was, warned := g.Bench.Setup(), g.caution
	err := g.apply(it)
	if g.caution != warned && (g.cards.On || g.lent) {
		g.shell.Relayout()
	}
	if g.Bench.Setup() != was || it.ID == kit.IDCheck || g.who.Owns(it.ID) {
		// Whoever goes on working is not taken away from it.
		if n, ok := g.Bench.HushRemake(); ok && g.status == remakingWords(n) {
			g.status = "Sound check."
		}
	}
	if now := g.Bench.Setup(); now != was {
		if it.ID != kit.IDUndo && it.ID != kit.IDRedo {
			g.log.Note(was, it.ID, g.shell.Now())
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
		if rest, ok := strings.CutPrefix(it.ID, n+"."); ok {
			if ok, err := g.applySetting(i, rest, it); ok {
				return err
			}
		}
	}
	for _, f := range []func(ui.Intent) (bool, error){g.who.Apply, g.applyShared, g.blind.Apply, g.applyTakes} {
		if ok, err := f(it); ok {
			return err
		}
	}
	return fmt.Errorf("there is nothing called %q here", it.ID)
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
	g.who.Update(in.Seconds)
	reading := g.loadOn(in.Seconds)
	if t := g.Bench.Take(); t != nil && t.Done && g.wave.Known != t {
		g.wave.Known = t
		if !t.Quiet {
			g.status = g.fullResult(t)
		}
		g.wave.ShowFrame(t.Loudest)
		g.makeCard(t)
		g.showVerdict(t)
		g.shell.Relayout()
		reading = true
	}
	if _, _, ok := g.Bench.Remaking(); ok {
		reading = true
	}
	reading = g.mendOn(in.Seconds) || reading
	paint, done := g.file.GoOn(in.Seconds, g.shell.SoundOn() || g.Bench.Mode() == bench.ModeRecord)
	reading = reading || paint
	if done {
		g.looked()
	}
	reading = g.win.Update(in.Seconds, in.Hidden) || reading
	g.Sync()
	return reading
}

// Nodes tells what the pictures show.
func (g *Scene) Nodes(dst []ui.Node) []ui.Node {
	dst = append(dst,
		ui.Node{ID: kit.IDStatus, Role: ui.RoleStatus, Name: "Result", Value: g.shell.Announce(), Bounds: g.resultBox},
		ui.Node{ID: idDiagram, Role: ui.RoleImage, Name: g.d.Title, Value: g.d.Words(bench.StripNames[g.Shown]), Bounds: g.d.Box},
	)
	if g.spec.Ok && g.look == viewSpectrum && g.drawer.At == drawer.None {
		dst = append(dst, ui.Node{ID: idSpectrum, Role: ui.RoleImage, Name: "What clipping adds", Value: g.spec.Cap.Last(), Bounds: g.spec.Plot})
	}
	dst = g.who.Nodes(dst)
	if t := g.Bench.Take(); t != nil && t.Done && g.card.Of == t {
		for i := range t.N {
			dst = append(dst, ui.Node{ID: bench.StripNames[i] + "." + idStripResult, Role: ui.RoleText, Name: g.card.Words[i][0],
				Value: g.card.All[i], Bounds: g.resultBox})
		}
		if g.card.Score != "" {
			dst = append(dst, ui.Node{ID: kit.IDRulerScore, Role: ui.RoleText, Name: "What was told before", Value: g.card.Score, Bounds: g.resultBox})
		}
	}
	if g.look == viewFile {
		dst = g.file.Nodes(dst)
	}
	if !g.lent {
		dst = g.RulerNodes(dst)
	}
	for i, n := range bench.StripNames[:g.Bench.N()] {
		dst = append(dst, ui.Node{ID: n + "." + idStripOvers, Role: ui.RoleText, Name: "Strip " + n + ", overs", Value: g.stripWords(i), Bounds: g.strip[i].line})
	}
	return dst
}

// openSetup takes over the set-up of a scenario file.
func (g *Scene) openSetup(d ui.Drop) error {
	if g.Bench.Mode() == bench.ModeRecord {
		return fmt.Errorf("%s: a take is being recorded; open it again afterwards", d.Name)
	}
	was := g.Bench.Setup()
	if err := g.Bench.OpenScenario(d.Name, d.Data); err != nil {
		return err
	}
	g.log.Note(was, kit.IDSetupOpen, g.shell.Now())
	g.touched = g.shell.Now()
	g.shell.Relayout()
	g.status = "The set-up of " + d.Name + " is in place."
	return nil
}
