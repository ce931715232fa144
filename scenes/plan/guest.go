package plan

import (
	"gainwright/scenes/bench"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
)

// mostYou bounds how many voices are offered as the guest.
const mostYou = 4

// guest is who the guest is: anybody, or the learner, as heard in a voice that is kept,
// which counts as a sound check in which they sat.
type guest struct {
	who []*ui.Choice // anybody first
	try *ui.Button
	is  *bench.Voice
	has [2]int // what was shown: so many voices, and the offer
}

func (g *guest) make() {
	c := ui.NewChoice(groupWho, idAny, "The guest may be anybody", "Nothing of the guest is known before the sound check.", "any guest")
	c.Look = ui.Tile
	g.who = []*ui.Choice{c}
	for range mostYou {
		c := ui.NewChoice(groupWho, kit.IDPlanYou, "", "Your own talk and laugh count as a sound check with this guest.", "")
		c.Look = ui.Tile
		g.who = append(g.who, c)
	}
	g.try = ui.NewButton(idTry, "Try it with your own voice", "Record a few lines and a laugh in “Your voice”; then you can be the guest. It stays in this browser.", "try it with your own voice", ui.Quiet, ui.NoIcon)
	g.try.Size = ui.Small
}

// sync brings the choices up, and reports whether there are others.
func (g *guest) sync(sh kit.Shell) (moved bool) {
	names := sh.Voices().Names()
	kit.Hide(len(names) == 0 && g.is == nil, g.who[0])
	g.who[0].Checked = g.is == nil
	for i, c := range g.who[1:] {
		if c.Hidden = i >= len(names); c.Hidden {
			continue
		}
		if id := kit.IDPlanYou + names[i]; c.ID != id {
			c.ID, c.Name, c.Label = id, "The guest is you: "+names[i], "you: "+kit.Short(names[i])
		}
		c.Checked = g.is != nil && g.is.Perf.Name == names[i]
	}
	g.try.Hidden = !kit.MayTry(sh)
	has := [2]int{len(names), int(kit.Bit(g.try.Hidden))}
	moved, g.has = has != g.has, has
	return moved
}

// words say what is known of the guest.
func (g *guest) words() string {
	if g.is == nil {
		return ""
	}
	r := g.is.Look
	s := "Your talk: " + ui.Decimal(r.TalkDBSPL, 0) + " dB SPL at 1 m"
	if !r.Placed {
		s += ", if it is ordinary"
	}
	if d := r.LaughOverTalkDB; d == d {
		s += ". Your laugh: peak " + ui.Decimal(d, 1) + " dB over talk"
	} else {
		s += ". No laugh was recorded"
	}
	return s + ". It counts as one sound check."
}

// flow puts it among the words on the left.
func (g *guest) flow(f *kit.Flow, th *ui.Theme) {
	var cs []*ui.Choice
	for _, c := range g.who {
		if !c.Hidden {
			cs = append(cs, c)
		}
	}
	if len(cs) > 0 {
		f.Chips(cs)
		f.Gap(2)
	}
	if w := g.words(); w != "" {
		f.Tiny(w)
		f.Gap(2)
	}
	if !g.try.Hidden {
		f.Buttons(max(30, th.Row(ui.Small)+10), g.try)
		f.Gap(2)
	}
}
