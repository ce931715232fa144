package ui

import (
	"strings"

	"gainwright/scenes/ink"
)

// Para breaks a text into lines and remembers how, so that an unchanged text
// costs nothing. The zero Para is ready.
type Para struct {
	s     string
	st    ink.Style
	width float32
	lines []string
}

// Lines breaks s at blanks into lines of at most width dp, but not between a number
// and its unit. What cannot be broken and is wider than that has a line of its own.
func (p *Para) Lines(s string, st ink.Style, width float32) []string {
	if p.lines != nil && p.s == s && p.st.Size == st.Size && p.st.Font == st.Font && p.width == width {
		return p.lines
	}
	p.s, p.st, p.width = s, st, width
	p.lines = p.lines[:0]
	for s != "" {
		end := len(s)
		for ink.Measure(s[:end], st) > width+0.01 {
			cut := strings.LastIndexByte(s[:end], ' ')
			for cut > 0 && tied(s, cut) {
				cut = strings.LastIndexByte(s[:cut], ' ')
			}
			if cut <= 0 {
				if next := strings.IndexByte(s, ' '); next > 0 {
					end = next
				}
				break
			}
			end = cut
		}
		p.lines = append(p.lines, strings.TrimSpace(s[:end]))
		s = strings.TrimLeft(s[end:], " ")
	}
	if p.lines == nil {
		p.lines = []string{}
	}
	return p.lines
}

// tied is whether the blank at i stands between a number and its unit.
func tied(s string, i int) bool {
	if i == 0 || s[i-1] < '0' || s[i-1] > '9' {
		return false
	}
	word := s[i+1:]
	if end := strings.IndexByte(word, ' '); end >= 0 {
		word = word[:end]
	}
	switch strings.TrimRight(word, ".,;:)") {
	case "%", "s", "ms", "m", "cm", "mm", "min", "dB", "dBFS", "dBTP", "dBu", "dBA", "LU", "LUFS", "Hz", "kHz", "V", "Pa", "Ω":
		return true
	}
	return false
}

// Draw writes s into box from its top down, as many lines as fit, and returns
// the height used.
func (p *Para) Draw(l *ink.List, box ink.Rect, s string, st ink.Style, row float32) float32 {
	y := box.Y
	for _, line := range p.Lines(s, st, box.W) {
		if y+row > box.Bottom()+0.5 {
			break
		}
		l.TextIn(ink.Rect{X: box.X, Y: y, W: box.W, H: row}, line, st)
		y += row
	}
	return y - box.Y
}

// Height is what s needs at width dp.
func (p *Para) Height(s string, st ink.Style, width, row float32) float32 {
	return float32(len(p.Lines(s, st, width))) * row
}

// Fit returns the first of the texts that fits into width dp, or the last.
func Fit(st ink.Style, width float32, texts ...string) string {
	for _, t := range texts {
		if ink.Measure(t, st) <= width {
			return t
		}
	}
	return texts[len(texts)-1]
}

// Verdict draws a tick in a disc for good news, a cross in a lozenge for bad:
// told apart by shape as well as by hue.
func Verdict(l *ink.List, th *Theme, c ink.Point, size float32, good bool) {
	r := size / 2
	if good {
		l.Disc(c, r, th.Good)
		l.Line(size*0.13, ink.RGB(0xffffff), ink.Point{X: c.X - r*0.45, Y: c.Y + r*0.05},
			ink.Point{X: c.X - r*0.1, Y: c.Y + r*0.4}, ink.Point{X: c.X + r*0.5, Y: c.Y - r*0.35})
		return
	}
	l.Polygon(th.Lost, ink.Point{X: c.X, Y: c.Y - r*1.15}, ink.Point{X: c.X + r*1.15, Y: c.Y},
		ink.Point{X: c.X, Y: c.Y + r*1.15}, ink.Point{X: c.X - r*1.15, Y: c.Y})
	d := r * 0.35
	l.Line(size*0.12, ink.RGB(0xffffff), ink.Point{X: c.X - d, Y: c.Y - d}, ink.Point{X: c.X + d, Y: c.Y + d})
	l.Line(size*0.12, ink.RGB(0xffffff), ink.Point{X: c.X - d, Y: c.Y + d}, ink.Point{X: c.X + d, Y: c.Y - d})
}
