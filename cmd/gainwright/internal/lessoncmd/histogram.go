package lessoncmd

import (
	"fmt"
	"html/template"
	"math"
	"strings"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/lessons/grade"
	"gainwright/lessons/names"
)

// A histogram is a small picture of numbers that students gave.
type histogram struct {
	title  string // what is counted, for the picture's words
	unit   string
	bins   []grade.Bin
	mark   *float64 // drawn into it: what is right, or what guessing gives
	tol    float64  // to both sides of the mark, also right
	marked string   // says what the mark is
}

// Measures of the picture, in units of its view box.
const (
	histW, histH       = 480.0, 150.0
	histLeft, histTop  = 12.0, 34.0
	histFoot, histText = 22.0, 13.0
)

// words are what the picture shows, for who does not see it.
func (h *histogram) words() string {
	var parts []string
	for _, b := range h.bins {
		if b.N > 0 {
			parts = append(parts, fmt.Sprintf("around %s: %d", number((b.From+b.To)/2), b.N))
		}
	}
	out := h.title
	if h.unit != "" {
		out += ", in " + h.unit
	}
	out += ". " + strings.Join(parts, "; ") + "."
	if h.mark != nil {
		out += " " + cli.Capital(h.marked) + " is marked at " + number(*h.mark)
		if h.tol > 0 {
			out += fmt.Sprintf(", give or take %s", number(h.tol))
		}
		out += "."
	}
	return out
}

// number writes a number as an axis has it.
func number(v float64) string {
	return strings.Replace(names.ValueText(names.Round(v, 3)), "-", "−", 1)
}

// SVG draws the picture. It has no colour that its words depend on, and needs no style
// sheet, so that it looks the same on paper.
func (h *histogram) SVG() template.HTML {
	if len(h.bins) == 0 {
		return ""
	}
	from, to := h.bins[0].From, h.bins[len(h.bins)-1].To
	x := func(v float64) float64 { return histLeft + (v-from)/(to-from)*(histW-2*histLeft) }
	most := 1
	for _, b := range h.bins {
		most = max(most, b.N)
	}
	base := histH - histFoot
	var s strings.Builder
	title := template.HTMLEscapeString(h.words())
	fmt.Fprintf(&s, `<svg class="histogram" role="img" aria-label="%s" viewBox="0 0 %g %g" xmlns="http://www.w3.org/2000/svg" font-family="Liberation Sans, Arial, sans-serif" font-size="%g">`, title, histW, histH, histText)
	if h.mark != nil && h.tol > 0 {
		a, b := max(from, *h.mark-h.tol), min(to, *h.mark+h.tol)
		fmt.Fprintf(&s, `<rect x="%.1f" y="%g" width="%.1f" height="%g" fill="#dfe9d8"/>`, x(a), histTop, max(x(b)-x(a), 1), base-histTop)
	}
	h.drawMark(&s, x, base) // behind the columns and their numbers
	for _, b := range h.bins {
		if b.N == 0 {
			continue
		}
		top := base - float64(b.N)/float64(most)*(base-histTop-histText-4)
		fmt.Fprintf(&s, `<rect x="%.1f" y="%.1f" width="%.1f" height="%.1f" fill="#2d6187" stroke="#111"/>`, x(b.From)+1, top, max(x(b.To)-x(b.From)-2, 1), base-top)
		fmt.Fprintf(&s, `<text x="%.1f" y="%.1f" text-anchor="middle" fill="#111" stroke="#fff" stroke-width="4" paint-order="stroke">%d</text>`, (x(b.From)+x(b.To))/2, top-4, b.N)
	}
	fmt.Fprintf(&s, `<path d="M%g %.1fH%g" stroke="#111"/>`, histLeft, base, histW-histLeft)
	h.ticks(&s, x, base)
	s.WriteString("</svg>")
	return template.HTML(s.String())
}

// ticks writes the numbers around which columns lie, as many as have room.
func (h *histogram) ticks(s *strings.Builder, x func(float64) float64, base float64) {
	every := int(math.Ceil(float64(len(h.bins)) / 9))
	for i := 0; i < len(h.bins); i += every {
		v := (h.bins[i].From + h.bins[i].To) / 2
		fmt.Fprintf(s, `<path d="M%.1f %.1fv4" stroke="#111"/><text x="%.1f" y="%.1f" text-anchor="middle" fill="#111">%s</text>`, x(v), base, x(v), base+histText+4, number(v))
	}
}

// drawMark draws what is right, and says so above it.
func (h *histogram) drawMark(s *strings.Builder, x func(float64) float64, base float64) {
	if h.mark == nil {
		return
	}
	at := x(*h.mark)
	fmt.Fprintf(s, `<path d="M%.1f %gV%.1f" stroke="#111" stroke-width="2" stroke-dasharray="5 3"/><path d="M%.1f %gl-5 -7h10z" fill="#111"/>`, at, histTop-6, base, at, histTop-4)
	anchor, shift := "middle", 0.0
	if at < 110 {
		anchor, shift = "start", -8
	} else if at > histW-110 {
		anchor, shift = "end", 8
	}
	words := h.marked + " " + number(*h.mark)
	if h.unit != "" {
		words += " " + h.unit
	}
	fmt.Fprintf(s, `<text x="%.1f" y="%g" text-anchor="%s" font-weight="bold" fill="#111">%s</text>`, max(at+shift, 0), histTop-16, anchor, template.HTMLEscapeString(words))
}

// bar draws a share of one row: n of all.
func bar(n, all int) template.HTML {
	share := 0.0
	if all > 0 {
		share = float64(n) / float64(all)
	}
	return template.HTML(fmt.Sprintf(`<svg class="bar" aria-hidden="true" viewBox="0 0 100 10" preserveAspectRatio="none" xmlns="http://www.w3.org/2000/svg"><rect x="0" y="1" width="100" height="8" fill="#fff" stroke="#888" stroke-width=".5"/><rect x="0" y="1" width="%.1f" height="8" fill="#2d6187"/></svg>`, 100*share))
}

// answersPicture draws the answers to a question in figures.
func answersPicture(sp *grade.Spread) *histogram {
	values, off := sp.Missed()
	h := &histogram{title: fmt.Sprintf("%d answers", len(values)), unit: sp.Unit, tol: sp.Tolerance, marked: "right:"}
	var also []float64
	if len(sp.Rights) > 0 {
		at := 0.0
		if !off {
			for _, v := range sp.Rights {
				at += v / float64(len(sp.Rights))
			}
			at = names.Round(at, 1)
		}
		h.mark = &at
		also = []float64{at - sp.Tolerance, at + sp.Tolerance}
	}
	if off {
		h.title = fmt.Sprintf("%d answers, each less what was right for its seed", len(values))
		if names.UnitOf(sp.Unit).Level {
			h.unit = "dB"
		}
	}
	h.bins = grade.Histogram(values, also, 16)
	return h
}
