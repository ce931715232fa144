//go:build window && !js

package window

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"time"

	"github.com/hajimehoshi/ebiten/v2"
	"github.com/hajimehoshi/ebiten/v2/inpututil"

	"gainwright/scenes/ink"
	"gainwright/scenes/ui"
)

// platform is what a desktop window keeps between frames.
type platform struct {
	at      ink.Point
	pressed bool
	touches map[ebiten.TouchID]ink.Point
	ids     []ebiten.TouchID
	focused bool
	clicks  clicks

	keys  []ebiten.Key
	runes []rune
	held  map[ebiten.Key]time.Time // when it repeats next

	asking atomic.Bool // a file dialogue is open
	chosen []ui.Drop
}

func (g *game) open() {
	ebiten.SetWindowIcon(icons()) // a page has its own
	g.touches = make(map[ebiten.TouchID]ink.Point)
	g.held = make(map[ebiten.Key]time.Time)
	g.focused = true
}

func (g *game) close() {}

// hold lets closing the window wait until the app allows it.
func (g *game) hold(on bool) { ebiten.SetWindowClosingHandled(on) }

func (g *game) showed() {}

func (g *game) retitle(t string) { ebiten.SetWindowTitle(t) }

// reflect has nothing to do: ebiten shows nothing to assistive technology on a
// desktop.
func (g *game) reflect(bool) {}

// choose opens the desktop's own file dialogue beside the program. Where there is
// no tool for one the files have to be dropped onto the window, which is said on
// the terminal.
func (g *game) choose(accept string, many bool) {
	if g.asking.Swap(true) {
		return // it is open
	}
	go func() {
		defer g.asking.Store(false)
		paths, ok, found := askForFile(accept, many)
		switch {
		case !found:
			fmt.Fprintln(os.Stderr, "no file dialogue was found (zenity or kdialog): drop the file onto the window")
		case ok:
			for _, path := range paths {
				g.take(path)
			}
		}
	}()
}

// take takes over a file that was chosen.
func (g *game) take(path string) {
	f, err := os.Open(path)
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return
	}
	d, err := takeFile(f, filepath.Base(path))
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return
	}
	g.mu.Lock()
	defer g.mu.Unlock()
	g.chosen = append(g.chosen, d)
}

// save writes into the user's download folder, or into the home directory where
// there is none, and never over another file.
func (g *game) save(name string, data []byte) (string, error) {
	dir, err := os.UserHomeDir()
	if err != nil {
		return "", err
	}
	if d := filepath.Join(dir, "Downloads"); isDir(d) {
		dir = d
	}
	return saveNew(dir, name, data)
}

func isDir(p string) bool {
	i, err := os.Stat(p)
	return err == nil && i.IsDir()
}

// saveNew writes data into a file of a name not taken in dir, whole or not at
// all.
func saveNew(dir, name string, data []byte) (string, error) {
	name = filepath.Base(name)
	ext := filepath.Ext(name)
	stem := strings.TrimSuffix(name, ext)
	tmp, err := os.CreateTemp(dir, "."+stem+"-*")
	if err != nil {
		return "", err
	}
	defer os.Remove(tmp.Name())
	_, err = tmp.Write(data)
	if err = errors.Join(err, tmp.Chmod(0o644), tmp.Close()); err != nil {
		return "", err
	}
	for i := 1; i < 1000; i++ {
		p := filepath.Join(dir, name)
		if i > 1 {
			p = filepath.Join(dir, fmt.Sprintf("%s %d%s", stem, i, ext))
		}
		// A hard link fails where the name is taken, a rename would not.
		err = os.Link(tmp.Name(), p)
		if err == nil {
			return p, nil
		}
		if !errors.Is(err, fs.ErrExist) {
			return "", err
		}
	}
	return "", fmt.Errorf("%s: too many files of that name", filepath.Join(dir, name))
}

func (g *game) gather(in *ui.Input) {
	in.Hidden = ebiten.IsWindowMinimized()
	shift := ebiten.IsKeyPressed(ebiten.KeyShift)
	mods := ui.KeyPress{Shift: shift, Ctrl: ebiten.IsKeyPressed(ebiten.KeyControl) || ebiten.IsKeyPressed(ebiten.KeyMeta), Alt: ebiten.IsKeyPressed(ebiten.KeyAlt)}
	if f := ebiten.IsFocused(); f != g.focused {
		g.focused = f
		if !f {
			g.cancel(in)
		}
	}
	g.mouse(in, shift)
	g.touch(in)
	g.keyboard(in, mods)
	if files := ebiten.DroppedFiles(); files != nil {
		in.Drops = append(in.Drops, readDrops(files)...)
	}
	in.Drops = append(in.Drops, g.chosen...)
	g.chosen = nil
}

func (g *game) cancel(in *ui.Input) {
	if g.pressed {
		g.pressed = false
		in.Pointers = append(in.Pointers, ui.Pointer{Kind: ui.Cancel, At: g.at})
	}
	for id, at := range g.touches {
		in.Pointers = append(in.Pointers, ui.Pointer{Kind: ui.Cancel, ID: int(id) + 1, At: at})
	}
	clear(g.touches)
	clear(g.held)
}

func (g *game) mouse(in *ui.Input, fine bool) {
	x, y := ebiten.CursorPosition()
	at := ink.Point{X: float32(x) / g.scale, Y: float32(y) / g.scale}
	if at != g.at {
		g.at = at
		in.Pointers = append(in.Pointers, ui.Pointer{Kind: ui.Move, At: at, Fine: fine})
	}
	switch {
	case inpututil.IsMouseButtonJustPressed(ebiten.MouseButtonLeft):
		g.pressed = true
		in.Pointers = append(in.Pointers, ui.Pointer{Kind: ui.Down, At: at, Fine: fine, Clicks: g.clicks.press(at, time.Now())})
	case g.pressed && !ebiten.IsMouseButtonPressed(ebiten.MouseButtonLeft):
		g.pressed = false
		in.Pointers = append(in.Pointers, ui.Pointer{Kind: ui.Up, At: at, Fine: fine})
	}
	if _, wy := ebiten.Wheel(); wy != 0 {
		in.Pointers = append(in.Pointers, ui.Pointer{Kind: ui.Wheel, At: at, WheelY: float32(wy), Fine: fine})
	}
}

func (g *game) touch(in *ui.Input) {
	g.ids = ebiten.AppendTouchIDs(g.ids[:0])
	for _, id := range g.ids {
		x, y := ebiten.TouchPosition(id)
		at := ink.Point{X: float32(x) / g.scale, Y: float32(y) / g.scale}
		was, known := g.touches[id]
		g.touches[id] = at
		switch {
		case !known:
			in.Pointers = append(in.Pointers, ui.Pointer{Kind: ui.Down, ID: int(id) + 1, At: at, Clicks: g.clicks.press(at, time.Now())})
		case was != at:
			in.Pointers = append(in.Pointers, ui.Pointer{Kind: ui.Move, ID: int(id) + 1, At: at})
		}
	}
	for id, at := range g.touches {
		if inpututil.IsTouchJustReleased(id) {
			delete(g.touches, id)
			in.Pointers = append(in.Pointers, ui.Pointer{Kind: ui.Up, ID: int(id) + 1, At: at})
		}
	}
}

// named are the keys that are not letters.
var named = map[ebiten.Key]ui.Key{
	ebiten.KeyArrowUp: "ArrowUp", ebiten.KeyArrowDown: "ArrowDown",
	ebiten.KeyArrowLeft: "ArrowLeft", ebiten.KeyArrowRight: "ArrowRight",
	ebiten.KeyPageUp: "PageUp", ebiten.KeyPageDown: "PageDown",
	ebiten.KeyHome: "Home", ebiten.KeyEnd: "End",
	ebiten.KeyEnter: "Enter", ebiten.KeyNumpadEnter: "Enter", ebiten.KeyEscape: "Escape",
	ebiten.KeyTab: "Tab", ebiten.KeyBackspace: "Backspace", ebiten.KeyDelete: "Delete",
	ebiten.KeyF1: "F1", ebiten.KeyF2: "F2",
}

const (
	repeatAfter = 400 * time.Millisecond
	repeatEvery = 40 * time.Millisecond
)

func (g *game) keyboard(in *ui.Input, mods ui.KeyPress) {
	now := time.Now()
	g.keys = inpututil.AppendPressedKeys(g.keys[:0])
	for _, k := range g.keys {
		name, ok := named[k]
		if !ok && (mods.Ctrl || mods.Alt) && k <= ebiten.KeyZ {
			// With a modifier letters come as keys, not as text.
			name, ok = ui.Key(strings.ToLower(k.String())), true
		}
		if !ok {
			continue
		}
		if next, held := g.held[k]; !held {
			g.held[k] = now.Add(repeatAfter)
		} else if now.Before(next) {
			continue
		} else {
			g.held[k] = now.Add(repeatEvery)
		}
		press := mods
		press.Key = name
		in.Keys = append(in.Keys, press)
	}
	for k := range g.held {
		if !ebiten.IsKeyPressed(k) {
			delete(g.held, k)
		}
	}
	g.runes = ebiten.AppendInputChars(g.runes[:0])
	if mods.Ctrl || mods.Alt {
		return
	}
	for _, r := range g.runes {
		press := mods
		press.Key = ui.Key(r)
		in.Keys = append(in.Keys, press)
	}
}

// readDrops takes the files that were dropped, not those in folders.
func readDrops(files fs.FS) (drops []ui.Drop) {
	entries, err := fs.ReadDir(files, ".")
	if err != nil {
		return nil
	}
	for _, e := range entries {
		if e.IsDir() {
			continue
		}
		f, err := files.Open(e.Name())
		if err != nil {
			continue
		}
		if d, err := takeFile(f, e.Name()); err == nil {
			drops = append(drops, d)
		}
	}
	return drops
}

// report is for what a browser throws.
func report(string) {}

// wholeFile is how long a file may be to be read whole at once; of longer ones pieces
// are read when they are asked for.
const wholeFile = 1 << 20

// takeFile takes over an open file. A long one stays open as long as it is used.
func takeFile(f fs.File, name string) (ui.Drop, error) {
	d := ui.Drop{Name: name}
	st, err := f.Stat()
	if err != nil {
		f.Close()
		return d, err
	}
	if at, ok := f.(io.ReaderAt); ok && st.Mode().IsRegular() && st.Size() > wholeFile {
		d.Long, d.Size = at, st.Size()
		return d, nil
	}
	d.Data, err = io.ReadAll(f)
	f.Close()
	return d, err
}
