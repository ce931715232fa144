package gain

import (
	"gainwright/scenes/bench"
	"gainwright/scenes/gain/blind"
	"gainwright/scenes/gain/drawer"
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
)

// ideaWords are the sentence that goes with each idea.
var ideaWords = [numIdeas]string{
	ideaDiagram:  "Where the wave meets a ceiling, what is above it is lost for good.",
	ideaWaves:    "A limiter behind the converter turns flat tops down. It does not make them whole.",
	ideaSpectrum: "Flat tops sound harsh: they add tones that nobody spoke.",
	ideaStrips:   "The same performance, and only the settings differ.",
	ideaResult:   "What was kept, what was lost, and what would have been better.",
}

// Ideas is how many the scene can be split into.
func (g *Scene) Ideas() int { return numIdeas - 1 }

// ShowIdea shows one of them.
func (g *Scene) ShowIdea(i int) {
	g.idea = i + 1
	g.drawer.At = drawer.None
	if g.blind.Open {
		g.blind.Close()
	}
	g.shell.Relayout()
}

// IdeaKeys names the keys.
func (g *Scene) IdeaKeys() []string {
	return []string{"R record", "P play", "L louder", "H laugh", "I lean in", "C cough", "T talk", "1–4 strip", "↑ ↓ gain"}
}

// Key gives the intent that a key stands for.
func (g *Scene) Key(k ui.KeyPress) (ui.Intent, bool) {
	press := func(id string) (ui.Intent, bool) { return ui.Intent{ID: id, Do: ui.DoPress}, true }
	switch k.Key {
	case "t", "T":
		return press(g.who.Event("talk"))
	case "l", "L":
		return press(g.who.Event("louder"))
	case "h", "H":
		return press(g.who.Event("laugh"))
	case "i", "I":
		return press(g.who.Event("lean_in"))
	case "c", "C":
		return press(g.who.Event("cough"))
	case "m", "M":
		return press(kit.IDMatched)
	case "0":
		return press(idSpoken)
	case "9":
		return press(idMended)
	case "1", "2", "3", "4":
		return press(kit.IDListen + bench.StripNames[k.Key[0]-'1'])
	case "x", "X":
		return press(blind.IDHearX)
	case "f", "F":
		return press(kit.IDHoldReset)
	case "v", "V":
		next := (int(g.look) + 1) % len(g.views)
		if lowerView(next) == viewFile && !g.file.There() {
			next = 0
		}
		return press(g.views[next].ID)
	case "+":
		return press(idScopeNearer)
	case "-":
		return press(idScopeFarther)
	case "Escape":
		if g.drawer.At != drawer.None {
			return press(kit.IDDrawerClose)
		}
		if g.caution {
			return press(kit.IDCautionCancel)
		}
	case "ArrowUp", "ArrowDown":
		if g.idea != ideaAll {
			d := 1.0
			if k.Key == "ArrowDown" {
				d = -1
			}
			return ui.Intent{ID: bench.StripNames[g.Shown] + "." + kit.IDStripGain, Do: ui.DoNudge, Value: d}, true
		}
	}
	return ui.Intent{}, false
}

// layoutIdea gives one panel all the room.
func (g *Scene) layoutIdea(th *ui.Theme, area ink.Rect) {
	g.scroll, g.content = 0, 0
	g.view, g.wide = ink.Rect{}, true
	g.d.Box, g.waves, g.transport = ink.Rect{}, ink.Rect{}, ink.Rect{}
	g.listenBox, g.who.Box, g.noteBox = ink.Rect{}, ink.Rect{}, ink.Rect{}
	r := ui.Pad(area, 20, 10)
	st := th.Style(ui.Big, ink.Bold, ink.Left, th.Say)
	g.resultBox = ui.Top(&r, g.capP.Height(ideaWords[g.idea], st, r.W, th.Row(ui.Big)))
	ui.Top(&r, 10)
	switch g.idea {
	case ideaDiagram:
		g.d.Box = r
		g.layoutDiagram(th)
	case ideaStrips:
		n := g.Bench.N()
		cols := min(n, max(1, int(r.W/(300*th.Text))))
		rows := (n + cols - 1) / cols
		h := (r.H - float32(rows-1)*kit.GapDP) / float32(rows)
		for i := range n {
			g.strip[i].compact = h < g.stripHeight(th)
			row := ink.Rect{X: r.X, Y: r.Y + float32(i/cols)*(h+kit.GapDP), W: r.W, H: h}
			g.layoutStrip(th, i, ui.Column(row, i%cols, cols, kit.GapDP))
		}
	default:
		g.waves = r
		g.layoutWaves(th)
	}
	g.clip(ink.Rect{})
}

func (g *Scene) drawIdea(l *ink.List, th *ui.Theme) {
	g.capP.Draw(l, g.resultBox, ideaWords[g.idea], th.Style(ui.Big, ink.Bold, ink.Left, th.Say), th.Row(ui.Big))
	switch g.idea {
	case ideaDiagram:
		kit.Panel(l, th, g.d.Box)
		g.d.Draw(l, th)
	case ideaStrips:
		for i := range g.Bench.N() {
			g.drawStrip(l, th, i)
		}
	default:
		g.drawWaves(l, th)
	}
}
