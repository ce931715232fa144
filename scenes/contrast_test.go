package scenes

import (
	"fmt"
	"sort"
	"strings"
	"testing"

	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/program"
	"gainwright/scenes/raster"
	"gainwright/scenes/scenetest"
	"gainwright/scenes/ui"
)

// checkContrast: every word in the picture stands off what is painted behind it by
// 4.5:1, large ones (24 dp, or 18.66 dp and bold) by 3:1, after WCAG 2.2, 1.4.3. What
// is disabled is exempt there. Behind a word that lies across a drawing the paler nine
// tenths of the ground count.
func checkContrast(t *testing.T, name string, p *program.Program) {
	t.Helper()
	var l ink.List
	p.Draw(&l)
	ws := scenetest.Texts(&l, p.Size())
	var bare ink.List
	bare.Pts = l.Pts
	styles := make([]ink.Style, 0, len(ws))
	var clip []ink.Rect
	see := ink.Rect{W: p.Size().X, H: p.Size().Y}
	for _, op := range l.Ops {
		switch op.Kind {
		case ink.KClip:
			clip = append(clip, see)
			see = see.Intersect(op.Rect)
		case ink.KUnclip:
			see, clip = clip[len(clip)-1], clip[:len(clip)-1]
		case ink.KText:
			if op.Text != "" {
				at := l.Points(&op)[0]
				w := ink.Measure(op.Text, op.Style)
				x := at.X
				switch op.Style.Align {
				case ink.Middle:
					x -= w / 2
				case ink.Right:
					x -= w
				}
				if (ink.Rect{X: x, Y: at.Y - ink.CapHeight(op.Style), W: w, H: ink.CapHeight(op.Style)}).Intersect(see).W > 0 {
					styles = append(styles, op.Style)
				}
			}
			continue
		}
		bare.Ops = append(bare.Ops, op)
	}
	if len(styles) != len(ws) {
		t.Fatalf("%s: %d styles of %d texts", name, len(styles), len(ws))
	}
	img := raster.Paint(&bare, int(p.Size().X), int(p.Size().Y), 1, p.Theme().Ground)
	off := func(r ink.Rect) bool {
		for _, c := range p.Controls() {
			if b := c.Common(); b.Disabled && !b.Hidden && b.Bounds.Inset(-1).Contains(r.Center()) {
				return true
			}
		}
		return false
	}
	for i, w := range ws {
		if off(w.Box) {
			continue
		}
		st := styles[i]
		var ratios []float64
		for u := range 12 {
			for v := range 4 {
				x := int(w.See.X + (float32(u)+0.5)/12*w.See.W)
				y := int(w.See.Y + (float32(v)+0.5)/4*w.See.H)
				px := img.RGBAAt(x, y)
				ground := ink.Color{R: px.R, G: px.G, B: px.B, A: 255}
				say := st.Color
				a := float64(say.A) / 255
				say.A = 255
				ratios = append(ratios, ui.Contrast(ground.Mix(say, a), ground))
			}
		}
		sort.Float64s(ratios)
		want := 4.5
		if st.Size >= 24 || st.Size >= 18.66 && st.Font == ink.Bold {
			want = 3
		}
		if got := ratios[len(ratios)/10]; got < want-0.01 {
			t.Errorf("%s: %q stands off by %.2f:1 (size %.0f)", name, w.S, got, st.Size)
		}
	}
}

// TestWordsStandOff looks at every scene in the dark and in the light picture, and at
// the high contrast of a presentation.
func TestWordsStandOff(t *testing.T) {
	if testing.Short() {
		t.Skip("long")
	}
	look := func(b *scenetest.Driver, name string) {
		t.Helper()
		for range 2 {
			b.Wait(2.0 / 60)
			checkContrast(t, fmt.Sprintf("%s, dark %v", name, b.P.Theme().Dark), b.P)
			b.Do("theme")
		}
	}
	b := newBench(t)
	b.Wait(2)
	look(b, "sound check")
	b.Set("A.gain_db", 64)
	b.Do("record")
	b.Wait(2)
	b.Do("event.laugh")
	b.Wait(3)
	look(b, "recording")
	b.Do("record")
	b.Wait(0.1)
	b.Until("the take mended", func() bool { return !b.Node("listen.mended").Disabled })
	look(b, "waves")
	for _, id := range []string{"view.spectrum", "view.result", "station.converter", "strips"} {
		b.Do(id)
		look(b, id)
	}
	b.Do("drawer.close")
	b.Do("show.A")
	b.Do("play")
	look(b, "caution")
	b.Do("caution.cancel")
	b.Do("more")
	look(b, "the page behind")
	b.Do("more")
	for range 2 {
		b.Do("present")
		for range b.P.Scene().(kit.Presented).Ideas() {
			b.Wait(2.0 / 60)
			checkContrast(t, fmt.Sprintf("presented, dark %v", b.P.Theme().Dark), b.P)
			b.Do("present.next")
		}
		b.Do("present")
		b.Do("theme")
	}
	b.Do("tab.twin")
	b.Until("made", func() bool { return strings.HasPrefix(b.P.Announce(), "Two performances, one file") })
	look(b, "twin")
	b.Do("tab.mend")
	b.Until("mended", func() bool {
		return strings.HasPrefix(b.P.Announce(), "Mended: ") || strings.HasPrefix(b.P.Announce(), "Treated: ")
	})
	look(b, "mend")
	b.Do("tab.plan")
	b.Wait(1)
	look(b, "plan")
	b.Do("tab.recorder")
	look(b, "recorder")
	b.Do("tab.voice")
	look(b, "voice")
	b.Do("tab.lessons")
	look(b, "lessons")
	b.Do("lesson.begin.gain-and-headroom")
	b.Wait(0.5)
	look(b, "a lesson")
	p, err := NewProgram(scenetest.Keeper{M: map[string]string{"practice": scenetest.PlayedHistory(t)}})
	if err != nil {
		t.Fatal(err)
	}
	c := scenetest.Drive(t, p)
	c.Do("tab.practice")
	c.Until("the guest sits", func() bool { return strings.HasPrefix(c.P.Announce(), "Guest ") })
	look(c, "practice")
	c.Do("practice.talk")
	c.Until("the score", func() bool { return c.Has("practice.score") })
	look(c, "practice, the score")
}
