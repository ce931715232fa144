// Package demo is a small App with a node of every role, for tests of the window
// and of the page's mirror. It is not part of the program.
package demo

import (
	"fmt"
	"math"
	"slices"

	"gainwright/scenes/ink"
	"gainwright/scenes/ui"
)

var (
	ground = ink.RGB(0x10151b)
	panel  = ink.RGB(0x1a212b)
	words  = ink.RGB(0xe6edf3)
	faint  = ink.RGB(0x8b98a5)
	sky    = ink.RGB(0x56b4e9)
	rust   = ink.RGB(0xd55e00)
	amber  = ink.RGB(0xe69f00)
)

// App counts what reaches it.
type App struct {
	Gain   float64 // dB, 0..60
	Choice int
	On     bool
	Tab    int
	Takes  int
	// Hits counts the pointer presses on the button's place, Cancels the presses
	// that ended without effect.
	Hits, Cancels int
	Dropped       []ui.Drop
	Keys          []ui.Key
	Moving        bool // draw something else every frame

	focus  string
	frame  int
	said   string
	wants  bool
	saves  int
	size   ink.Point
	seen   int // hidden frames
	redraw bool
}

// New returns an App in its first state.
func New() *App { return &App{Gain: 30, said: "ready", redraw: true} }

func (a *App) Title() string { return "Gainwright window test" }

var button = ink.Rect{X: 420, Y: 120, W: 140, H: 44}

func (a *App) Frame(in ui.Input) bool {
	a.frame++
	a.size = in.Size
	if in.Hidden {
		a.seen++
	}
	for _, p := range in.Pointers {
		switch {
		case p.Kind == ui.Down && button.Contains(p.At):
			a.Hits++
			a.focus, a.redraw = "record", true
		case p.Kind == ui.Cancel:
			a.Cancels++
		}
	}
	for _, k := range in.Keys {
		a.Keys = append(a.Keys, k.Key)
		switch {
		case k.Key == "Tab": // in a browser the page moves the focus
			a.next()
		case a.focus == "gain" && k.Key == "ArrowUp":
			a.Apply(ui.Intent{ID: "gain", Do: "nudge", Value: 1})
		case a.focus == "record" && (k.Key == "Enter" || k.Key == " "):
			a.Apply(ui.Intent{ID: "record", Do: "press"})
		}
	}
	a.Dropped = append(a.Dropped, in.Drops...)
	for _, d := range in.Drops {
		a.said = fmt.Sprintf("%s, %d bytes", d.Name, len(d.Data))
		a.redraw = true
	}
	r := a.redraw || a.Moving
	a.redraw = false
	return r
}

// next moves the focus on, round and round.
func (a *App) next() {
	var ids []string
	for _, n := range a.Semantics() {
		if n.Focus {
			ids = append(ids, n.ID)
		}
	}
	a.focus = ids[(slices.Index(ids, a.focus)+1)%len(ids)]
	a.redraw = true
}

func (a *App) Apply(it ui.Intent) error {
	a.redraw = true
	if it.Do == "focus" {
		a.focus = it.ID
		return nil
	}
	switch it.ID {
	case "gain":
		v := it.Value
		switch it.Do {
		case "nudge":
			v = a.Gain + 0.5*it.Value
		case "default":
			v = 30
		}
		if !(v >= 0 && v <= 60) {
			return fmt.Errorf("gain %v dB is out of 0 to 60 dB", v)
		}
		a.Gain = v
		a.said = fmt.Sprintf("gain %.1f dB", v)
	case "record":
		a.Takes++
		a.said = fmt.Sprintf("take %d", a.Takes)
	case "open":
		a.wants = true
	case "save":
		a.saves++
	case "matched":
		a.On = !a.On
	case "off", "before", "after":
		a.Choice = map[string]int{"off": 0, "before": 1, "after": 2}[it.ID]
	case "tab-one", "tab-two":
		a.Tab = map[string]int{"tab-one": 0, "tab-two": 1}[it.ID]
	case "fall":
		panic("the demo falls, as it was told to")
	default:
		return fmt.Errorf("no control %q", it.ID)
	}
	return nil
}

// WantsFile implements window.Chooser.
func (a *App) WantsFile() (accept string, many, ok bool) {
	w := a.wants
	a.wants = false
	return ".wav,.flac", false, w
}

// NextSave implements window.Saver.
func (a *App) NextSave() (string, []byte, bool) {
	if a.saves == 0 {
		return "", nil, false
	}
	a.saves--
	return "take.txt", []byte("a take\n"), true
}

func (a *App) Focused() string  { return a.focus }
func (a *App) Announce() string { return a.said }

func (a *App) Semantics() []ui.Node {
	ns := []ui.Node{
		{ID: "title", Role: ui.RoleHeading, Name: "Window test", Bounds: ink.Rect{X: 24, Y: 16, W: 300, H: 30}},
		{ID: "tab-one", Role: ui.RoleTab, Name: "One", Checked: a.Tab == 0, Focus: true, Bounds: ink.Rect{X: 400, Y: 16, W: 80, H: 30}},
		{ID: "tab-two", Role: ui.RoleTab, Name: "Two", Checked: a.Tab == 1, Focus: true, Bounds: ink.Rect{X: 490, Y: 16, W: 80, H: 30}},
		{ID: "strip", Role: ui.RoleGroup, Name: "Strip A", Bounds: ink.Rect{X: 24, Y: 64, W: 360, H: 240}},
		{ID: "gain", Role: ui.RoleSlider, Name: "Preamp gain", Value: fmt.Sprintf("%.1f dB", a.Gain), Hint: "How much the preamp amplifies.",
			Now: a.Gain, Min: 0, Max: 60, Step: 0.5, Focus: true, Bounds: ink.Rect{X: 44, Y: 84, W: 120, H: 150}},
	}
	for i, n := range []string{"off", "before", "after"} {
		ns = append(ns, ui.Node{ID: n, Role: ui.RoleRadio, Name: n, Checked: a.Choice == i, Focus: true,
			Bounds: ink.Rect{X: 190, Y: 90 + 44*float32(i), W: 160, H: 36}})
	}
	ns = append(ns,
		ui.Node{ID: "level", Role: ui.RoleMeter, Name: "Level", Value: "−12.0 dBFS", Now: -12, Min: -60, Max: 0, Bounds: ink.Rect{X: 360, Y: 84, W: 14, H: 180}},
		ui.Node{ID: "record", Role: ui.RoleButton, Name: "Record", Value: fmt.Sprintf("%d takes", a.Takes), Focus: true, Bounds: button},
		ui.Node{ID: "open", Role: ui.RoleButton, Name: "Open a recording", Focus: true, Bounds: ink.Rect{X: 420, Y: 180, W: 140, H: 44}},
		ui.Node{ID: "save", Role: ui.RoleButton, Name: "Save", Focus: true, Bounds: ink.Rect{X: 420, Y: 240, W: 140, H: 44}},
		ui.Node{ID: "play", Role: ui.RoleButton, Name: "Play", Disabled: true, Why: "There is no take yet.", Focus: true, Bounds: ink.Rect{X: 580, Y: 120, W: 120, H: 44}},
		ui.Node{ID: "matched", Role: ui.RoleCheckbox, Name: "Matched in loudness", Checked: a.On, Focus: true, Bounds: ink.Rect{X: 580, Y: 180, W: 200, H: 36}},
		ui.Node{ID: "picture", Role: ui.RoleImage, Name: "A wave", Value: "cut off at the top", Bounds: ink.Rect{X: 24, Y: 330, W: 700, H: 180}},
		ui.Node{ID: "said", Role: ui.RoleStatus, Name: "Status", Value: a.said, Bounds: ink.Rect{X: 24, Y: 530, W: 700, H: 24}})
	return ns
}

func (a *App) Draw(l *ink.List) {
	l.Fill(ink.Rect{W: a.size.X, H: a.size.Y}, 0, ground)
	text := ink.Style{Size: 14, Color: words}
	for _, n := range a.Semantics() {
		b := n.Bounds
		switch n.Role {
		case ui.RoleHeading:
			l.TextIn(b, n.Name, ink.Style{Size: 20, Font: ink.Bold, Color: words})
		case ui.RoleGroup:
			l.Fill(b, 8, panel)
		case ui.RoleSlider:
			c := ink.Point{X: b.X + b.W/2, Y: b.Y + b.W/2}
			turn := float32(0.75 + 1.5*(n.Now-n.Min)/(n.Max-n.Min))
			l.Disc(c, 40, ground)
			l.Arc(c, 48, 0.75*math.Pi, 2.25*math.Pi, 4, ground)
			l.Arc(c, 48, 0.75*math.Pi, turn*math.Pi, 4, sky)
			s, co := math.Sincos(float64(turn) * math.Pi)
			l.Line(3, words, ink.Point{X: c.X + 12*float32(co), Y: c.Y + 12*float32(s)}, ink.Point{X: c.X + 34*float32(co), Y: c.Y + 34*float32(s)})
			st := text
			st.Align, st.Font = ink.Middle, ink.Bold
			l.TextIn(ink.Rect{X: b.X, Y: b.Y + b.W + 4, W: b.W, H: 24}, n.Value, st)
		case ui.RoleMeter:
			l.Fill(b, 2, ground)
			h := b.H * float32((n.Now-n.Min)/(n.Max-n.Min))
			l.Fill(ink.Rect{X: b.X, Y: b.Bottom() - h, W: b.W, H: h}, 2, sky)
		case ui.RoleImage:
			a.drawWave(l, b)
		default:
			l.Fill(b, 6, panel)
			edge := faint
			if n.Checked {
				edge = sky
			}
			l.Frame(b, 6, 1, edge)
			st := text
			if n.Disabled {
				st.Color = faint
			}
			s := n.Name
			if n.Role == ui.RoleStatus {
				s = n.Value
			}
			l.TextIn(b.Inset(8), s, st)
		}
		if n.ID == a.focus {
			l.Frame(b.Inset(-3), 8, 2, amber)
		}
	}
	if a.Moving {
		l.TextIn(ink.Rect{X: 740, Y: 16, W: 200, H: 24}, fmt.Sprintf("frame %d", a.frame), ink.Style{Size: 14, Font: ink.Mono, Color: words})
	}
}

func (a *App) drawWave(l *ink.List, b ink.Rect) {
	l.Fill(b, 8, panel)
	l.Clip(b)
	defer l.Unclip()
	ceiling := b.Y + 60
	var lost, line, body []ink.Point
	for x := b.X; x <= b.Right(); x += 2 {
		y := b.Center().Y - 70*float32(math.Sin(float64(x)/23))*float32(math.Cos(float64(x)/170))
		lost = append(lost, ink.Point{X: x, Y: min(y, ceiling)}, ink.Point{X: x, Y: ceiling})
		line = append(line, ink.Point{X: x, Y: max(y, ceiling)})
		body = append(body, line[len(line)-1], ink.Point{X: x, Y: b.Bottom()})
	}
	l.Strip(sky.Alpha(0.5), sky.Alpha(0), body...)
	l.HatchStrip(rust, rust.Alpha(0.25), 2, 7, lost...)
	l.Line(2, sky, line...)
	l.Line(1, rust, ink.Point{X: b.X, Y: ceiling}, ink.Point{X: b.Right(), Y: ceiling})
}
