package scenes

import (
	"gainwright/scenes/ink"
	"gainwright/scenes/ui"
)

// Presented is a Scene that can be shown one idea at a time.
type Presented interface {
	// Ideas is how many ideas there are; ShowIdea shows one of them, counted from
	// 0, alone, and the whole scene again for −1.
	Ideas() int
	ShowIdea(i int)
	// IdeaKeys names the keys that the scene understands meanwhile.
	IdeaKeys() []string
}

// Keyed is a Scene with keys of its own, for when no control wants them.
type Keyed interface {
	Key(k KeyPress) (Intent, bool)
}

// presentScale is how much larger text is in a presentation.
const presentScale = 1.5

// setPresent begins or ends a presentation.
func (p *Program) setPresent(on bool) {
	pr, ok := p.scenes[p.now].(Presented)
	p.present = on
	p.sheetOn = false
	p.router.SetFocus("")
	if ok {
		p.ideaAt = 0
		if on {
			pr.ShowIdea(0)
		} else {
			pr.ShowIdea(-1)
		}
	}
	p.setTheme(p.th.Dark)
}

// goIdea shows the next idea, or the one before.
func (p *Program) goIdea(d int) {
	pr, ok := p.scenes[p.now].(Presented)
	if !ok || !p.present {
		return
	}
	n := pr.Ideas()
	p.ideaAt = (p.ideaAt + d + n) % n
	pr.ShowIdea(p.ideaAt)
	p.laid = false
}

// ideaWords are the sentence that goes with each idea.
var ideaWords = [numIdeas]string{
	ideaDiagram:  "Where the wave meets a ceiling, what is above it is lost for good.",
	ideaWaves:    "A limiter behind the converter turns flat tops down. It does not make them whole.",
	ideaSpectrum: "Flat tops sound harsh: they add tones that nobody spoke.",
	ideaStrips:   "The same performance, and only the settings differ.",
	ideaResult:   "What was kept, what was lost, and what would have been better.",
}

// Ideas is how many the scene can be split into.
func (g *gainScene) Ideas() int { return numIdeas - 1 }

// ShowIdea shows one of them.
func (g *gainScene) ShowIdea(i int) {
	g.idea = i + 1
	g.drawer.at = noDrawer
	if g.blind.open {
		g.blind.close()
	}
	g.p.Relayout()
}

// IdeaKeys names the keys.
func (g *gainScene) IdeaKeys() []string {
	return []string{"R record", "P play", "L louder", "H laugh", "I lean in", "C cough", "T talk", "1–4 strip", "↑ ↓ gain"}
}

// Key gives the wish that a key stands for.
func (g *gainScene) Key(k KeyPress) (Intent, bool) {
	press := func(id string) (Intent, bool) { return Intent{ID: id, Do: ui.DoPress}, true }
	switch k.Key {
	case "t", "T":
		return press("event.talk")
	case "l", "L":
		return press("event.louder")
	case "h", "H":
		return press("event.laugh")
	case "i", "I":
		return press("event.lean_in")
	case "c", "C":
		return press("event.cough")
	case "m", "M":
		return press("listen.matched")
	case "0":
		return press("listen.spoken")
	case "9":
		return press("listen.mended")
	case "1", "2", "3", "4":
		return press("listen." + stripNames[k.Key[0]-'1'])
	case "x", "X":
		return press("blind.hear_x")
	case "f", "F":
		return press("hold.reset")
	case "v", "V":
		next := (int(g.look) + 1) % len(g.views)
		if lowerView(next) == viewFile && !g.file.there() {
			next = 0
		}
		return press(g.views[next].ID)
	case "+":
		return press("scope.nearer")
	case "-":
		return press("scope.farther")
	case "Escape":
		if g.drawer.at != noDrawer {
			return press("drawer.close")
		}
		if g.caution {
			return press("caution.cancel")
		}
	case "ArrowUp", "ArrowDown":
		if g.idea != ideaAll {
			d := 1.0
			if k.Key == "ArrowDown" {
				d = -1
			}
			return Intent{ID: stripNames[g.shown] + ".gain_db", Do: ui.DoNudge, Value: d}, true
		}
	}
	return Intent{}, false
}

// layoutIdea gives one panel all the room.
func (g *gainScene) layoutIdea(th *ui.Theme, area ink.Rect) {
	g.scroll, g.content = 0, 0
	g.view, g.wide = ink.Rect{}, true
	g.d.box, g.waves, g.transport = ink.Rect{}, ink.Rect{}, ink.Rect{}
	g.listenBox, g.talkerBox, g.noteBox = ink.Rect{}, ink.Rect{}, ink.Rect{}
	r := ui.Pad(area, 20, 10)
	st := th.Style(ui.Big, ink.Bold, ink.Left, th.Say)
	g.resultBox = ui.Top(&r, g.capP.Height(ideaWords[g.idea], st, r.W, th.Row(ui.Big)))
	ui.Top(&r, 10)
	switch g.idea {
	case ideaDiagram:
		g.d.box = r
		g.layoutDiagram(th)
	case ideaStrips:
		n := g.s.N()
		cols := min(n, max(1, int(r.W/(300*th.Text))))
		rows := (n + cols - 1) / cols
		h := (r.H - float32(rows-1)*gapDP) / float32(rows)
		for i := range n {
			g.strip[i].compact = h < g.stripHeight(th)
			row := ink.Rect{X: r.X, Y: r.Y + float32(i/cols)*(h+gapDP), W: r.W, H: h}
			g.layoutStrip(th, i, ui.Column(row, i%cols, cols, gapDP))
		}
	default:
		g.waves = r
		g.layoutWaves(th)
	}
	g.clip(ink.Rect{})
}

func (g *gainScene) drawIdea(l *ink.List, th *ui.Theme) {
	g.capP.Draw(l, g.resultBox, ideaWords[g.idea], th.Style(ui.Big, ink.Bold, ink.Left, th.Say), th.Row(ui.Big))
	switch g.idea {
	case ideaDiagram:
		g.d.draw(l, th)
	case ideaStrips:
		for i := range g.s.N() {
			g.drawStrip(l, th, i)
		}
	default:
		g.drawWaves(l, th)
	}
}
