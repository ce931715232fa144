//go:build js || window

package window

import (
	"math"
	"runtime/debug"
	"sync"
	"time"

	"github.com/hajimehoshi/ebiten/v2"

	"gainwright/scenes/ink"
	"gainwright/scenes/ui"
)

// ground is what shows where a picture leaves gaps.
var ground = ink.RGB(0x0e1319)

// Hasten is for the beginning of main: until the first picture is shown no garbage is
// looked for, unless there is very much of it. Most of what a start makes stays, and
// where all share one thread each look holds everything up.
func Hasten() {
	debug.SetMemoryLimit(hastyBytes)
	debug.SetGCPercent(-1)
}

// hastyBytes are several times what a start makes.
const hastyBytes = 128 << 20

// settle is for when the first picture is on the screen.
func settle() {
	debug.SetGCPercent(100)
	debug.SetMemoryLimit(math.MaxInt64)
}

// Run shows the app until its window is closed, in a browser for ever. It must
// be called from the main goroutine.
func Run(app App) error {
	g := newGame(app)
	ebiten.SetWindowTitle(app.Title())
	ebiten.SetWindowSize(1280, 720)
	ebiten.SetWindowSizeLimits(TallWidth, MinHeight, -1, -1)
	ebiten.SetWindowResizingMode(ebiten.WindowResizingModeEnabled)
	// One update for each frame: what cannot be shown need not be computed, and
	// a slow screen must not make the program slower still.
	ebiten.SetTPS(ebiten.SyncWithFPS)
	ebiten.SetScreenClearedEveryFrame(false)
	// The program goes on while another window has the focus: a trainer talks
	// over it, or records.
	ebiten.SetRunnableOnUnfocused(true)
	g.open()
	defer g.close()
	defer g.leaving()
	return ebiten.RunGameWithOptions(g, &ebiten.RunGameOptions{})
}

// maxScale limits device pixels a dp: above it nothing looks better and a large
// screen gets slow.
const maxScale = 2

// hurriedPause is the least time between two pictures of an App that is Hurried.
const hurriedPause = 200 * time.Millisecond

type game struct {
	// mu guards the app, because a page's events come between frames.
	mu      sync.Mutex
	app     App
	painter painter
	began   time.Time
	in      ui.Input

	size  ink.Point // dp, at least the smallest picture
	fit   float32   // shown dp for each dp of the picture, at most 1
	scale float32   // device pixels a dp of the picture

	list, shown ink.List
	dirty       bool
	painted     *ebiten.Image // what shown was painted on
	atScale     float32
	paintedAt   time.Time
	title       string

	// Intents that come from elsewhere than the picture.
	intents []ui.Intent

	holding bool // closing asks first
	settled bool // garbage is looked for as it should be

	frames, paints int
	// How long the app's frame, its drawing, the painting and an update of the
	// mirror take, in seconds, smoothed.
	frameTime, drawTime, paintTime, mirrorTime float64
	frameSum                                   time.Duration // of all of the app's frames
	// The longest of each since they were last asked for, in seconds.
	frameMost, drawMost, paintMost, mirrorMost float64

	coarse bool // a finger is the pointer
	platform
}

func newGame(app App) *game {
	return &game{app: app, began: time.Now(), dirty: true, title: app.Title(), fit: 1, scale: 1,
		size: ink.Point{X: MinWidth, Y: MinHeight}}
}

// LayoutF gives the picture every pixel of the screen, up to maxScale.
func (g *game) LayoutF(w, h float64) (float64, float64) {
	s := min(deviceScale(), maxScale)
	lw, lh := least(w, h, g.coarse)
	g.fit = float32(min(1, w/lw, h/lh))
	size := ink.Point{X: float32(w) / g.fit, Y: float32(h) / g.fit}
	scale := float32(s) * g.fit
	if size != g.size || scale != g.scale {
		g.size, g.scale, g.dirty = size, scale, true
	}
	return w * s, h * s
}

// Layout is required by ebiten and not called where there is a LayoutF.
func (g *game) Layout(w, h int) (int, int) { return w, h }

// Update is one frame of the app.
func (g *game) Update() error {
	g.mu.Lock()
	defer g.mu.Unlock()
	g.frames++
	if g.paints > 0 && !g.settled {
		g.settled = true
		settle()
	}
	g.in.Pointers, g.in.Keys, g.in.Drops = g.in.Pointers[:0], g.in.Keys[:0], nil
	g.gather(&g.in)
	g.frame()
	if h, ok := g.app.(Holder); ok && ebiten.IsWindowBeingClosed() && h.MayClose() {
		return ebiten.Termination
	}
	return nil
}

// leaving tells the app that its page or window goes.
func (g *game) leaving() {
	if h, ok := g.app.(Holder); ok {
		h.Leaving()
	}
}

// frame hands the app what happened. The caller holds mu.
func (g *game) frame() {
	defer report("a frame")
	g.in.Size, g.in.Scale = g.size, g.scale
	g.in.Seconds = time.Since(g.began).Seconds()
	g.breathe()
	// Intents first: the focus may have moved before the keys were pressed that
	// this frame brings.
	intents := g.intents
	g.intents = g.intents[:0] // one that fails is not tried again
	acted := len(intents) > 0
	for _, w := range intents {
		// An intent of the mirror that the program refuses changes nothing; the
		// mirror shows the value that is.
		_ = g.app.Apply(w)
		g.dirty = true
	}
	began := time.Now()
	if g.app.Frame(g.in) {
		g.dirty = true
	}
	smooth(&g.frameTime, &g.frameMost, began)
	g.frameSum += time.Since(began)
	g.breathe()
	if t := g.app.Title(); t != g.title {
		g.title = t
		g.retitle(t)
	}
	if c, ok := g.app.(Chooser); ok {
		if accept, many, ok := c.WantsFile(); ok {
			g.choose(accept, many)
		}
	}
	if s, ok := g.app.(Saver); ok {
		for {
			name, data, ok := s.NextSave()
			if !ok {
				break
			}
			where, err := g.save(name, data)
			if s, ok := g.app.(Saved); ok {
				s.FileSaved(name, where, err)
			}
		}
	}
	if h, ok := g.app.(Holder); ok {
		if on := h.Holds(); on != g.holding {
			g.holding = on
			g.hold(on)
		}
	}
	if g.paints > 0 { // the picture first
		g.reflect(acted)
	}
	g.breathe()
}

// breathe lets the app do what cannot wait.
func (g *game) breathe() {
	if h, ok := g.app.(Hurried); ok {
		h.Breathe()
	}
}

// Draw paints the picture if it changed.
func (g *game) Draw(screen *ebiten.Image) {
	g.mu.Lock()
	defer g.mu.Unlock()
	fresh := g.painted != screen || g.atScale != g.scale
	if !g.dirty && !fresh {
		return
	}
	if h, ok := g.app.(Hurried); ok && !fresh && time.Since(g.paintedAt) < hurriedPause && h.Hurried() {
		return
	}
	g.dirty = false
	began := time.Now()
	g.list.Reset()
	g.app.Draw(&g.list)
	smooth(&g.drawTime, &g.drawMost, began)
	g.breathe()
	if !fresh && same(&g.list, &g.shown) {
		return
	}
	began = time.Now()
	if !covers(&g.list, g.size) {
		screen.Fill(rgba(ground))
	}
	g.painter.paint(screen, &g.list, g.scale)
	smooth(&g.paintTime, &g.paintMost, began)
	g.painted, g.atScale, g.paintedAt = screen, g.scale, time.Now()
	g.list, g.shown = g.shown, g.list
	g.breathe()
	g.paints++
	if g.paints == 1 {
		g.showed()
	}
}

// covers reports whether a list begins with filling the whole picture: where
// drawing is done by the processor, filling it once more is felt.
func covers(l *ink.List, size ink.Point) bool {
	if len(l.Ops) == 0 {
		return false
	}
	op := &l.Ops[0]
	return op.Kind == ink.KRect && op.Radius == 0 && op.Color.A == 255 &&
		op.Rect.X <= 0 && op.Rect.Y <= 0 && op.Rect.Right() >= size.X && op.Rect.Bottom() >= size.Y
}

// smooth takes a duration into a running mean, and into the longest.
func smooth(mean, most *float64, began time.Time) {
	s := time.Since(began).Seconds()
	*mean += (s - *mean) / 8
	*most = max(*most, s)
}

// same reports whether two lists draw the same picture.
func same(a, b *ink.List) bool {
	if len(a.Ops) != len(b.Ops) || len(a.Pts) != len(b.Pts) {
		return false
	}
	for i := range a.Ops {
		if a.Ops[i] != b.Ops[i] {
			return false
		}
	}
	for i := range a.Pts {
		if a.Pts[i] != b.Pts[i] {
			return false
		}
	}
	return true
}

func deviceScale() float64 {
	if s := ebiten.Monitor().DeviceScaleFactor(); s > 0 {
		return s
	}
	return 1
}
