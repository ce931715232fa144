package gain

import (
	"errors"
	"fmt"
	"strings"

	"gainwright/scenes/bench"
	"gainwright/scenes/gain/cards"
	"gainwright/scenes/gain/drawer"
	"gainwright/scenes/gain/waves"
	"gainwright/scenes/kit"
	"gainwright/scenes/qr"
	"gainwright/scenes/ui"
	"gainwright/sim"
)

var (
	errNoRecording = errors.New("no recording was brought along")
	errNoTakeYet   = errors.New("there is no take yet")
)

// strip refuses a strip that is not there, or not in the take that is shown.
func (g *Scene) hasStrip(i int) error {
	switch {
	case i >= g.Bench.N():
		return fmt.Errorf("there is no strip %s", bench.StripNames[i])
	case g.Absent(i):
		return errors.New(noStripWords(g.Bench.Take().Number, i))
	}
	return nil
}

func (g *Scene) stripActs() kit.Acts {
	a := kit.Acts{g.forget.ID: kit.Press(g.Bench.ClearHold)}
	for i, c := range g.show {
		a[c.ID] = kit.Try(func() error {
			if err := g.hasStrip(i); err != nil {
				return err
			}
			g.Shown = i
			return nil
		})
	}
	for i := range g.strip {
		a[g.strip[i].gain.ID] = g.onBench(i, func(it ui.Intent) error { return g.setGain(i, it) })
		for k, pl := range kit.Places {
			a[g.strip[i].lim[k].ID] = g.onBench(i, kit.Try(func() error { return g.set(i, g.Bench.Chain(i).WithPlace(pl)) }))
		}
		a[bench.StripNames[i]+"."+drawer.IDStripLock] = g.onBench(i, kit.Try(func() error { return g.toggleLock(i) }))
	}
	a[drawer.IDAdd] = kit.Try(func() error { return g.addStrip(false) })
	a[drawer.IDSafety] = kit.Try(func() error { return g.addStrip(true) })
	a[drawer.IDRemove] = kit.Try(g.removeStrip)
	a[drawer.IDCopyStrip] = kit.Try(func() error { return g.copyShown(func(dst, src *sim.Chain) { *dst = *src }) })
	a[drawer.IDCopyStation] = kit.Try(func() error {
		return g.copyShown(func(dst, src *sim.Chain) { drawer.CopyStation(dst, src, g.drawer.At) })
	})
	return a
}

// setGain sets the gain of strip i.
func (g *Scene) setGain(i int, it ui.Intent) error {
	c := g.Bench.Chain(i)
	v, err := kit.Number(it, c.Preamp.GainDB, bench.GainDefault[i], 1, kit.GainMin, kit.GainMax)
	if err != nil {
		return err
	}
	c.Preamp.GainDB = v
	return g.set(i, c)
}

// onBench is what a control of strip i does while there is that strip.
func (g *Scene) onBench(i int, do func(ui.Intent) error) func(ui.Intent) error {
	return func(it ui.Intent) error {
		if i >= g.Bench.N() {
			return fmt.Errorf("there is no strip %s", bench.StripNames[i])
		}
		return do(it)
	}
}

func (g *Scene) listenActs() kit.Acts {
	a := kit.Acts{
		g.listen[bench.ListenSpoken].ID: kit.Try(func() error { return g.listenTo(bench.ListenSpoken) }),
		g.listen[bench.ListenMended].ID: kit.Try(func() error {
			if !g.Bench.HasMended() {
				return fmt.Errorf("nothing is mended: %s", g.listen[bench.ListenMended].Why)
			}
			g.review()
			return g.listenTo(bench.ListenMended)
		}),
		g.matched.ID: kit.Press(func() { g.Bench.SetMatched(!g.Bench.Matched()) }),
	}
	for i, c := range g.listen[:bench.ListenSpoken] {
		a[c.ID] = kit.Try(func() error {
			if err := g.hasStrip(i); err != nil {
				return err
			}
			g.Shown = i
			return g.listenTo(bench.Listen(i))
		})
	}
	return a
}

func (g *Scene) chanceActs() kit.Acts { return kit.Acts{g.chance.ID: kit.Try(g.toggleSurprises)} }

func (g *Scene) toggleSurprises() error {
	set := g.Bench.Setup()
	set.Surprise = !set.Surprise
	return g.Bench.SetSetup(set)
}

func (g *Scene) takeActs() kit.Acts {
	return kit.Acts{
		g.record.ID:     kit.Try(g.toggleRecord),
		g.play.ID:       kit.Try(g.togglePlay),
		g.loop.ID:       kit.Press(func() { g.Bench.SetLoop(!g.Bench.Loop()) }),
		g.check.ID:      kit.Press(g.startCheck),
		g.again.ID:      kit.Press(func() { g.sameOn = !g.sameOn }),
		g.line.ID:       g.seek,
		g.keep.ID:       kit.Try(g.save),
		g.cautPlay.ID:   kit.Try(g.playClipped),
		g.cautCancel.ID: kit.Press(g.DropCaution),
	}
}

func (g *Scene) startCheck() {
	g.blind.Close()
	g.Bench.Stop()
	g.Bench.StartCheck()
	g.caution = false
	g.status = "Sound check."
}

func (g *Scene) seek(it ui.Intent) error {
	t := g.Bench.Take()
	if t == nil || !t.Done {
		return errNoTakeYet
	}
	v, err := kit.Number(it, g.Bench.Place(), 0, 0.1, 0, t.Seconds())
	if err != nil {
		return err
	}
	g.review()
	g.Bench.Seek(v)
	g.wave.ShowFrame(int64(v * bench.Rate))
	return nil
}

// playClipped plays what the caution is about.
func (g *Scene) playClipped() error {
	if !g.caution {
		return errors.New("there is nothing to answer")
	}
	g.caution = false
	g.warned = g.Bench.Take()
	if f := g.afterCaution; f != nil {
		g.afterCaution = nil
		return f()
	}
	return g.startPlay()
}

func (g *Scene) lowerActs() kit.Acts {
	a := kit.Acts{
		g.near.ID:        kit.Press(func() { g.wave.Zoom(-1) }),
		g.far.ID:         kit.Press(func() { g.wave.Zoom(1) }),
		g.wave.ID:        g.wave.Set,
		kit.IDScopeSpan:  g.setSpan,
		g.loudest.ID:     kit.Press(g.toLoudest),
		g.drawer.Shut.ID: kit.Press(func() { g.openDrawer(drawer.None) }),
		g.file.Mend.ID: kit.Try(func() error {
			if !g.file.There() {
				return errNoRecording
			}
			return g.mendFile()
		}),
		g.file.Stop.ID: kit.Try(g.stopReading),
	}
	for i, c := range g.file.Which {
		a[c.ID] = kit.Try(func() error { return g.chooseChannel(i) })
	}
	for i, c := range g.file.Place {
		a[c.ID] = kit.Try(func() error { return g.choosePlace(i) })
	}
	for st, c := range g.drawer.Openers {
		a[c.ID] = kit.Try(func() error { return g.toggleDrawer(sim.Station(st)) })
	}
	for i, c := range g.views {
		a[c.ID] = kit.Try(func() error {
			if lowerView(i) == viewFile && !g.file.There() {
				return errNoRecording
			}
			g.look, g.verdict.opened, g.cards.At = lowerView(i), false, cards.Lower
			g.openDrawer(drawer.None)
			return nil
		})
	}
	return a
}

func (g *Scene) openDrawer(st sim.Station) {
	g.drawer.At = st
	g.shell.Relayout()
}

// toggleDrawer opens the panel of a station, or closes it.
func (g *Scene) toggleDrawer(st sim.Station) error {
	if st != drawer.Strips && !g.Has(st) {
		return fmt.Errorf("strip %s has no %s switched on", bench.StripNames[g.Shown], strings.ToLower(drawer.Titles[st]))
	}
	if g.drawer.At == st {
		st = drawer.None
	}
	g.openDrawer(st)
	return nil
}

func (g *Scene) toLoudest() {
	if t := g.Bench.Take(); t != nil && t.Done {
		g.review()
		g.wave.ShowFrame(t.Loudest)
	}
}

func (g *Scene) setSpan(it ui.Intent) error {
	if it.Do == ui.DoNudge {
		g.wave.Zoom(it.Value)
		return nil
	}
	v, err := kit.Number(it, g.wave.SpanMS, 12, 1, waves.SpanMin, max(g.wave.SpanMax(), waves.SpanWindow))
	if err == nil {
		g.wave.SpanMS = v
	}
	return err
}

func (g *Scene) stopReading() error {
	if g.file.Job == nil && g.load == nil {
		return errors.New("nothing is being read")
	}
	g.stopFile()
	g.status = "Reading " + g.file.Drop.Name + " was stopped."
	g.shell.Relayout()
	return nil
}

// applyTakes shows an earlier take of this visit, by its number.
func (g *Scene) applyTakes(it ui.Intent) (ok bool, err error) {
	n, ok := strings.CutPrefix(it.ID, idTake)
	if !ok || n == "" || n[0] < '0' || n[0] > '9' {
		return false, nil
	}
	for _, r := range g.Bench.Recipes() {
		if ui.Decimal(float64(r.Number), 0) != n {
			continue
		}
		if t := g.Bench.Take(); t != nil && t.Number == r.Number && t.Done {
			g.review()
			return true, nil
		}
		g.blind.Close() // it was of another take
		g.status = remakingWords(r.Number)
		return true, g.who.With(&r, g.Bench.Remake)
	}
	return true, fmt.Errorf("there is no take %s", n)
}

func (g *Scene) setupActs() kit.Acts {
	a := kit.Acts{
		kit.IDUndo:         kit.Try(func() error { return g.goBack(&g.log.Past, &g.log.Future, "there is nothing to undo") }),
		kit.IDRedo:         kit.Try(func() error { return g.goBack(&g.log.Future, &g.log.Past, "there is nothing to do again") }),
		kit.IDSetupLink:    kit.Try(g.copyLink),
		kit.IDSetupCode:    kit.Try(g.saveCode),
		kit.IDSetupSave:    kit.Try(g.saveSetup),
		kit.IDSetupOpen:    kit.Press(func() { g.shell.Choose(".yaml,.yml") }),
		kit.IDSetupReset:   kit.Try(func() error { return g.Bench.SetSetup(bench.StartSetup(g.Bench.Setup().Talker)) }),
		kit.IDSaveSpoken:   kit.Try(func() error { return g.saveWAV(bench.ListenSpoken) }),
		kit.IDSetupPlanned: func(it ui.Intent) error { g.status = it.Text; return nil },
	}
	for i, n := range bench.StripNames {
		a[kit.IDSave+n] = kit.Try(func() error { return g.saveWAV(bench.Listen(i)) })
	}
	return a
}

// goBack takes the newest set-up of from.
func (g *Scene) goBack(from, to *[]bench.Setup, none string) error {
	set, ok := g.log.Step(from, to, g.Bench.Setup())
	if !ok {
		return errors.New(none)
	}
	g.shell.Relayout()
	return g.Bench.SetSetup(set)
}

func (g *Scene) copyLink() error {
	link, public, err := g.link()
	if err != nil {
		return err
	}
	said := "The link is on the clipboard: whoever follows it has this set-up."
	if !public {
		said = "The link is on the clipboard. It is good on this computer only, while the program runs: for others, save the set-up as a file."
	}
	g.shell.Copy(link, said)
	return nil
}

// saveCode hands the link out as a picture.
func (g *Scene) saveCode() error {
	link, public, err := g.link()
	if err != nil {
		return err
	}
	if !public {
		return errors.New("the link is good on this computer only; save the set-up as a file")
	}
	b, err := qr.PNG(link)
	if err != nil {
		return err
	}
	g.shell.Save("gainwright-link.png", b)
	return nil
}

func (g *Scene) saveSetup() error {
	b, err := g.Bench.Scenario()
	if err != nil {
		return err
	}
	g.shell.Save("gainwright-setup.yaml", b)
	return nil
}

// Undos tells how many changes can be taken back, and made again.
func (g *Scene) Undos() (back, forth int) { return len(g.log.Past), len(g.log.Future) }
