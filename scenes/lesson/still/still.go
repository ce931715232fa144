// Package still draws a picture of the bench beside a step's words: the levels along the
// chain, or the loudest moment at four places. A lesson's scene and its handout share it.
package still

import (
	"fmt"
	"math"
	"strings"

	"gainwright/lessons/model"
	"gainwright/lessons/take"
	"gainwright/scenes/diagram"
	"gainwright/scenes/ink"
	"gainwright/scenes/ui"
	"gainwright/sim"
)

// A Picture is laid out and drawn. What and Of are set before.
type Picture struct {
	What string // model.Waves or model.Diagram
	Of   *take.Still

	d     diagram.Diagram
	cells [4]cell
	pts   []ink.Point
	hatch []ink.Point
}

// cell is one of four pictures of the moment.
type cell struct{ name, note, well ink.Rect }

// places are where the four waves are.
var places = [4]string{"at the microphone", "before the converter", "after the converter", "in the file"}

// Title heads the picture.
func (p *Picture) Title() string {
	switch {
	case p.What == model.Waves:
		return fmt.Sprintf("Strip %s: the loudest %d ms at four places", p.Of.Strip, take.StillMS)
	case p.Of.Take:
		return "Strip " + p.Of.Strip + ": levels along the chain, the loudest of the take"
	}
	return "Strip " + p.Of.Strip + ": what its stations can take, and the noise"
}

// Height is what the picture needs where it is so wide, dp.
func (p *Picture) Height(th *ui.Theme, width float32) float32 {
	if p.What == model.Diagram {
		return max(230*th.Text, min(width*0.4, 330*th.Text))
	}
	rows := float32(2)
	if wide(th, width) {
		rows = 1
	}
	return rows * (th.Row(ui.Small) + th.Row(ui.Tiny) + 96*th.Text + 10)
}

// wide reports whether four pictures stand side by side.
func wide(th *ui.Theme, width float32) bool { return width >= 680*th.Text }

// Layout puts the picture into box.
func (p *Picture) Layout(th *ui.Theme, box ink.Rect) {
	if p.What == model.Diagram {
		p.d.Fill, p.d.Printed, p.d.Box = p.fill, true, box
		p.d.Layout(th, ink.Rect{}, box)
		return
	}
	n := 2
	if wide(th, box.W) {
		n = 4
	}
	h := box.H / float32(4/n)
	for i := range p.cells {
		row := ink.Rect{X: box.X, Y: box.Y + float32(i/n)*h, W: box.W, H: h - 6}
		c := ui.Column(row, i%n, n, 8)
		p.cells[i] = cell{name: ui.Top(&c, th.Row(ui.Small)), note: ui.Top(&c, th.Row(ui.Tiny)), well: c}
	}
}

// fill tells the diagram what the take left.
func (p *Picture) fill(d *diagram.Data) {
	d.Chain, d.Whole = p.Of.Chain, true
	for st := range sim.NumStations {
		l := p.Of.Levels[st]
		d.Peak[st], d.RMS[st] = l.Peak, l.RMS
		d.Hold(st, l.Peak)
	}
	d.Demand, d.Truth = p.Of.Levels[sim.AtConverter].Wanted, p.Of.Loudest
}

// wave is the moment at one of the places.
func (p *Picture) wave(i int) []float64 {
	return [4][]float64{p.Of.True, p.Of.Demand, p.Of.Conv, p.Of.File}[i]
}

// flat counts the samples of the moment beyond the converter's ceiling.
func (p *Picture) flat() (n int) {
	for _, v := range p.Of.Demand {
		if math.Abs(v) > p.Of.Ceiling {
			n++
		}
	}
	return n
}

func peak(x []float64) (most float64) {
	for _, v := range x {
		most = max(most, math.Abs(v))
	}
	return most
}

// note is what stands under a place's name, and ever shorter ways of saying it.
func (p *Picture) note(i int) []string {
	switch i {
	case 0:
		return []string{"what the talker did", "as spoken"}
	case 1:
		return []string{"what the converter was asked for", "asked of the converter", "the demand"}
	case 2:
		if n := p.flat(); n > 0 {
			pc := ui.Decimal(100*float64(n)/float64(len(p.Of.Demand)), 1)
			return []string{pc + " % of samples flat: lost", pc + " % flat: lost", pc + " % flat"}
		}
		return []string{"nothing cut off", "whole"}
	}
	pk := ui.Decimal(float64(sim.ToDB(peak(p.Of.File))), 1) + " dBFS"
	return []string{"peak " + pk, pk}
}

// Draw draws the picture.
func (p *Picture) Draw(l *ink.List, th *ui.Theme) {
	if p.What == model.Diagram {
		p.d.Draw(l, th)
		return
	}
	top := max(0.1, peak(p.Of.True), peak(p.Of.Demand)) * 1.1
	for i, c := range p.cells {
		l.TextIn(c.name, ui.Fit(th.Style(ui.Small, ink.Bold, ink.Left, th.Say), c.name.W, places[i], strings.Fields(places[i])[2]), th.Style(ui.Small, ink.Bold, ink.Left, th.Say))
		st := th.Style(ui.Tiny, ink.Regular, ink.Left, th.SayDim)
		if i == 2 && p.flat() > 0 {
			st.Color = th.SayLost
		}
		l.TextIn(c.note, ui.Fit(st, c.note.W, p.note(i)...), st)
		p.drawWave(l, th, c.well, i, top)
	}
}

// drawWave draws one place: what came there over what the talker did, hatched between what
// was asked for and what was kept wherever the converter had no more codes.
func (p *Picture) drawWave(l *ink.List, th *ui.Theme, r ink.Rect, i int, top float64) {
	l.Fill(r, 5, th.Well)
	mid := r.Y + r.H/2
	y := func(v float64) float32 { return mid - float32(v/top)*r.H/2 }
	l.Line(1, th.Grid, ink.Point{X: r.X, Y: mid}, ink.Point{X: r.Right(), Y: mid})
	x := p.wave(i)
	px := func(k int) float32 { return r.X + float32(k)/float32(max(len(x)-1, 1))*r.W }
	l.Clip(r)
	defer l.Unclip()
	if i > 0 && p.Of.Ceiling < top {
		for _, s := range [2]float64{1, -1} {
			for d := r.X; d < r.Right(); d += 9 {
				l.Line(1.2, th.Ceiling, ink.Point{X: d, Y: y(s * p.Of.Ceiling)}, ink.Point{X: min(d+5, r.Right()), Y: y(s * p.Of.Ceiling)})
			}
		}
	}
	if i >= 2 {
		p.drawLost(l, th, x, px, y)
	}
	line := func(w float32, c ink.Color, x []float64) {
		p.pts = p.pts[:0]
		for k, v := range x {
			p.pts = append(p.pts, ink.Point{X: px(k), Y: y(v)})
		}
		l.Line(w, c, p.pts...)
	}
	if i > 0 {
		line(1, th.True.Alpha(0.75), p.Of.True)
	}
	line(2, th.Signal, x)
}

func (p *Picture) drawLost(l *ink.List, th *ui.Theme, got []float64, px func(int) float32, y func(float64) float32) {
	flush := func() {
		if len(p.hatch) >= 4 {
			l.HatchStrip(th.Lost, th.Lost.Alpha(0.18), 1.5, 4.5, p.hatch...)
		}
		p.hatch = p.hatch[:0]
	}
	for k, d := range p.Of.Demand {
		if math.Abs(d) <= p.Of.Ceiling {
			flush()
			continue
		}
		a, b := y(d), y(got[k])
		p.hatch = append(p.hatch, ink.Point{X: px(k), Y: min(a, b)}, ink.Point{X: px(k), Y: max(a, b)})
	}
	flush()
}

// Words tell what is shown to those who do not see it.
func (p *Picture) Words() string {
	switch {
	case p.What == model.Diagram && p.Of.Take:
		p.d.Fill = p.fill
		return p.d.Words(p.Of.Strip)
	case p.What == model.Diagram:
		return p.standing()
	}
	out := fmt.Sprintf("From %s s of the take on.", ui.Decimal(max(p.Of.AtS, 0), 2))
	for i, name := range places {
		out += " " + strings.ToUpper(name[:1]) + name[1:] + ": " + p.note(i)[0] + "."
	}
	return out
}

// standing tells of the bench that nothing has happened on.
func (p *Picture) standing() string {
	out := fmt.Sprintf("Strip %s as it stands, preamp gain %s dB.", p.Of.Strip, ui.Decimal(p.Of.Chain.Preamp.GainDB, 1))
	all, to := sim.Ceilings(p.Of.Chain), sim.ToFullScale(p.Of.Chain)
	for _, st := range []sim.Station{sim.AtMicOut, sim.AtPreamp, sim.AtConverter} {
		if st.In(p.Of.Chain) && !math.IsInf(all[st], 1) {
			out += fmt.Sprintf(" %s full at %s dB re the file's full scale.", st.Columns()[0], ui.Decimal(float64(sim.ToDB(all[st]*to[st])), 1))
		}
	}
	return out
}
