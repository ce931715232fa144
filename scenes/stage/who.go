package stage

import (
	"errors"
	"slices"
	"strings"

	"gainwright/scenes/bench"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
	"gainwright/scenes/work"
	"gainwright/sounds/own"
)

// mostYou bounds how many voices are offered.
const mostYou = 4

// Who is the choice of who gives the takes: the guest that a lesson or practice has, or the
// learner with a voice that is kept.
type Who struct {
	// Is is the name of the voice that gives them, "" for the guest.
	Is string

	shell kit.Shell
	ids   WhoIDs
	cs    []*ui.Choice // the guest first
	try   *ui.Button
	was   [2]int // what was offered: so many voices, and to record one
}

// WhoIDs are the IDs of its controls; You is what begins those of the voices, each with its name.
type WhoIDs struct{ Group, Other, You, Try string }

// NewWho makes it; the guest is called other, by name and, shortly, on its tile.
func NewWho(sh kit.Shell, ids WhoIDs, other, label string) *Who {
	w := &Who{shell: sh, ids: ids}
	for i := range 1 + mostYou {
		c := ui.NewChoice(ids.Group, ids.Other, other, "", label)
		if i > 0 {
			c = ui.NewChoice(ids.Group, ids.You, "", "Your own voice gives the takes: your talk, your laugh and your shout, as loud as they are.", "")
		}
		c.Look, c.Hidden = ui.Tile, true
		w.cs = append(w.cs, c)
	}
	w.try = ui.NewButton(ids.Try, "Be the guest yourself", "Record a few lines and a laugh in “Your voice”; then you can be the guest. It stays in this browser.", "try it with your own voice", ui.Quiet, ui.NoIcon)
	w.try.Size, w.try.Hidden = ui.Small, true
	return w
}

// Controls lists them.
func (w *Who) Controls() (cs []ui.Control) {
	for _, c := range w.cs {
		cs = append(cs, c)
	}
	return append(cs, w.try)
}

// Sync brings them up; shown tells whether there is a choice here, why for what reason it
// cannot be made now.
func (w *Who) Sync(shown bool, why string) {
	names := w.shell.Voices().Names()
	kit.Hide(!shown || len(names) == 0 && w.Is == "", w.cs[0])
	w.cs[0].Checked = w.Is == ""
	for i, c := range w.cs[1:] {
		if c.Hidden = !shown || i >= len(names); i >= len(names) {
			continue
		}
		if id := w.ids.You + names[i]; c.ID != id {
			c.ID, c.Name, c.Label = id, "The guest is you: "+names[i], "you: "+kit.Short(names[i])
		}
		c.Checked = w.Is == names[i]
	}
	kit.Hide(!shown || !kit.MayTry(w.shell), w.try)
	for _, c := range w.Controls() {
		kit.Refuse(why != "", why, c)
	}
	if was := [2]int{len(names), int(kit.Bit(w.try.Hidden))}; was != w.was {
		w.was = was
		w.shell.Relayout()
	}
}

// Flow places what is shown, and reports whether there was anything.
func (w *Who) Flow(f *kit.Flow, th *ui.Theme) bool {
	var cs []*ui.Choice
	for _, c := range w.cs {
		if !c.Hidden {
			cs = append(cs, c)
		}
	}
	if len(cs) > 0 {
		f.Chips(cs)
		f.Gap(4)
	}
	if !w.try.Hidden {
		f.Buttons(max(30, th.Row(ui.Small)+10), w.try)
		f.Gap(4)
	}
	return len(cs) > 0 || !w.try.Hidden
}

// Apply carries an intent out; ok is false if it is about none of these. choose is told the
// name of the voice that is to give the takes, "" for the guest.
func (w *Who) Apply(it ui.Intent, choose func(name string) error) (ok bool, err error) {
	name, you := strings.CutPrefix(it.ID, w.ids.You)
	switch {
	case you && slices.Contains(w.shell.Voices().Names(), name):
		return true, choose(name)
	case it.ID == w.ids.Other:
		return true, choose("")
	case it.ID == w.ids.Try:
		return true, w.shell.Visit(kit.IDTabVoice)
	}
	return false, nil
}

// Load makes a voice that is kept ready to give takes. start has it done beside the screen; doing
// tells what else is done there, "" for nothing. here reports whether it still has a place when it
// is ready, which lend then gives it; what went wrong is told.
func (w *Who) Load(name string, doing func() string, start func(doing string, do func(h *work.Context) error, took func(err error)), here func() bool, lend func(g *own.Guest) error) {
	w.shell.Voices().Load(name, func(v *bench.Voice, err error) {
		if now := doing(); err == nil && now != "" {
			err = errors.New(now + "; choose your voice again in a moment")
		}
		if err != nil {
			w.shell.Fail(err)
			return
		}
		var g *own.Guest
		start("Your voice is made ready", func(h *work.Context) (err error) {
			g, err = own.NewGuest(h, v.Perf, v.Look)
			return err
		}, func(err error) {
			if err == nil && here() {
				err = lend(g)
			}
			if err != nil {
				w.shell.Fail(err)
			}
		})
	})
}

// Words tell of the voice that gives the takes.
func (w *Who) Words(g *own.Guest) string {
	if g == nil {
		return ""
	}
	r := g.Look
	s := "You talk, " + ui.Decimal(r.TalkDBSPL, 0) + " dB SPL at 1 m"
	if !r.Placed {
		s += " if your talk is ordinary"
	}
	if d := r.LaughOverTalkDB; d == d {
		s += "; your laugh peaks " + ui.Decimal(d, 0) + " dB over it"
	}
	return s + "."
}
