package gain

import (
	"fmt"
	"math"
	"testing"
	"time"

	"gainwright/scenes/bench"
	"gainwright/scenes/gain/drawer"
	"gainwright/scenes/gain/room"
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/program"
	"gainwright/scenes/scenetest"
	"gainwright/scenes/ui"
	"gainwright/sim"
	"gainwright/sounds/codec"
)

// checkStrips: the strips' controls stay in their panels and are large enough.
func checkStrips(t *testing.T, name string, p *program.Program) {
	t.Helper()
	g := gainOf(p)
	if p.Scene() != kit.Scene(g) {
		return
	}
	for i, sp := range g.strip[:g.Bench.N()] {
		if g.idea != ideaAll && g.idea != ideaStrips {
			continue
		}
		for k, c := range sp.lim {
			if c.Bounds.Bottom() > sp.box.Bottom()-3 {
				t.Errorf("%s: strip %d, choice %d leaves its panel", name, i, k)
			}
		}
		if h := ui.KnobHeight(p.Theme(), 44); !sp.compact && sp.gain.Bounds.H < h || sp.compact && sp.gain.Bounds.H < 40 {
			t.Errorf("%s: strip %d's knob is only %.0f high", name, i, sp.gain.Bounds.H)
		}
	}
}

// TestLayout draws the scene in all its states at many sizes, in both themes and
// all sizes of text: no word overlaps another or is cut, no control another.
func TestLayout(t *testing.T) {
	if testing.Short() {
		t.Skip("long")
	}
	p := scenetest.Build(t, nil, gainScenes)
	now := 0.0
	frame := func(size ink.Point, n int) {
		for range n {
			p.Frame(ui.Input{Size: size, Scale: 1, Seconds: now})
			now += 1.0 / 60
		}
	}
	must := func(it ui.Intent) {
		t.Helper()
		if err := p.Apply(it); err != nil {
			t.Fatal(err)
		}
	}
	press := func(id string) { t.Helper(); must(ui.Intent{ID: id, Do: "press"}) }
	set := func(id string, v float64) { t.Helper(); must(ui.Intent{ID: id, Do: "set", Value: v}) }
	look := func(state string) {
		t.Helper()
		for _, size := range scenetest.TestSizes {
			for range ui.TextScales {
				frame(size, 1)
				name := fmt.Sprintf("%s, %gx%g, text %g, dark %v", state, size.X, size.Y, p.Theme().Text, p.Theme().Dark)
				var l ink.List
				p.Draw(&l)
				g := gainOf(p)
				view := g.view
				sheet, handing := p.ShowingSheet()
				if handing {
					view = sheet
				}
				scenetest.CheckTexts(t, name, &l, size, view)
				scenetest.CheckControls(t, name, p)
				checkStrips(t, name, p)
				for s := float32(150); !p.Presenting() && !handing && !g.wide && s < g.content; s += 150 {
					g.Scroll(150)
					l.Reset()
					p.Draw(&l)
					scenetest.CheckTexts(t, fmt.Sprintf("%s, scrolled %g", name, g.scroll), &l, size, g.view)
				}
				g.Scroll(-1e6)
				press("text_size")
			}
		}
		press("theme")
	}
	look("at the start")
	set("A.gain_db", 69.9)
	press("A.limiter.after")
	frame(scenetest.TestSizes[0], 200)
	look("high gain")
	press("A.limiter.before")
	frame(scenetest.TestSizes[0], 120)
	look("limiter before")
	press("station.input_limiter")
	look("limiter before, open")
	press("drawer.close")
	press("record")
	frame(scenetest.TestSizes[0], 60)
	press("event.laugh")
	frame(scenetest.TestSizes[0], 120)
	look("recording")
	press("record")
	frame(scenetest.TestSizes[0], 5)
	look("review")
	press("show.A")
	press("play")
	frame(scenetest.TestSizes[0], 2)
	look("caution or playing")
	press("caution.cancel")
	press("view.spectrum")
	look("spectrum")
	press("view.result")
	look("result")
	press("view.waves")
	set("scope.span_ms", 3000)
	look("waves from afar")
	press("blind.start")
	look("blind, being prepared")
	press("blind.start")
	press("caution.play")
	look("blind")
	press("blind.stop")
	for st := range drawer.Num {
		if st == sim.AtLimiter {
			continue // it is the other one that is switched on here
		}
		press(drawer.IDs[st])
		look(drawer.IDs[st])
	}
	press("drawer.close")
	press("more")
	look("the page behind")
	press("more")
	press("present")
	for range numIdeas - 1 {
		look("presented")
		press("present.next")
	}
	press("present")
	press("strips.safety")
	frame(scenetest.TestSizes[0], 100)
	look("three strips")
	press("show.A")
	press("strips.add")
	press("record")
	frame(scenetest.TestSizes[0], 100)
	press("event.laugh")
	frame(scenetest.TestSizes[0], 100)
	look("four strips, recording")
	press("record")
	frame(scenetest.TestSizes[0], 5)
	press("view.result")
	look("four strips, result")
	press("blind.start")
	look("four strips, blind")
	press("blind.stop")
	press("present")
	for range numIdeas - 1 {
		look("four strips, presented")
		press("present.next")
	}
	press("present")
	// What a recording tells: two findings with all their words.
	x := make([]float64, 4*bench.Rate)
	for i := range x {
		x[i] = min(max(1.6*math.Sin(float64(i)*0.03)*math.Sin(float64(i)*0.0003)+0.1, -0.5), 0.5)
	}
	wav, err := codec.WAVBytes(bench.Rate, [][]float64{x}, codec.PCM16)
	if err != nil {
		t.Fatal(err)
	}
	p.Frame(ui.Input{Size: scenetest.TestSizes[0], Scale: 1, Seconds: now, Drops: []ui.Drop{{Name: "ferry-bell-in-the-morning-fog.wav", Data: wav}}})
	g := gainOf(p)
	look("a recording being looked at")
	for end := time.Now().Add(time.Minute); (g.file.Job != nil || g.load != nil) && time.Now().Before(end); time.Sleep(time.Millisecond) {
		frame(scenetest.TestSizes[0], 1)
	}
	if len(g.file.Found) == 0 {
		t.Fatal("nothing was found in a flattened recording")
	}
	look("a recording's past")
	press("talker.captain")
	press("view.waves")
	set("A.gain_db", 0)
	set("B.gain_db", 0)
	frame(scenetest.TestSizes[0], 100)
	look("low gain")
}

// TestLongValues puts the longest figures on screen.
func TestLongValues(t *testing.T) {
	p := scenetest.Build(t, nil, gainScenes)
	g := gainOf(p)
	for _, size := range scenetest.TestSizes {
		p.Frame(ui.Input{Size: size, Seconds: 0})
		v := g.Bench.View()
		for i := range v.Strip {
			sv := &v.Strip[i]
			sv.Overs, sv.Truth, sv.Demand = 1888, 30, 30
			sv.Readings.LongestOverMS = 88.8
			sv.Readings.DeliveredNoiseLUFS = -88.8
			for st := range sv.Held {
				sv.Held[st] = 30
			}
			for st := 5; st < 8; st++ {
				sv.Held[st] = 1
			}
		}
		g.status = room.LongResult
		var l ink.List
		p.Draw(&l)
		scenetest.CheckTexts(t, fmt.Sprintf("long values, %gx%g", size.X, size.Y), &l, size, g.view)
		for i := range v.Strip {
			v.Strip[i].Readings.DeliveredNoiseLUFS = 0
			v.Strip[i].Truth, v.Strip[i].Demand = 1e-9, math.SmallestNonzeroFloat64
		}
		l.Reset()
		p.Draw(&l)
		scenetest.CheckTexts(t, fmt.Sprintf("silence, %gx%g", size.X, size.Y), &l, size, g.view)
	}
}
