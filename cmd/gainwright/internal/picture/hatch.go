package picture

import (
	"image/color"
	"math"
	"slices"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// hatch fills a polygon with parallel lines at 45°, spaced by step, over a pale
// wash: lost material is told by the pattern, not by its colour alone. The lines
// stand at the same places everywhere, so that neighbouring pieces join.
func hatch(c draw.Canvas, poly []vg.Point, ink color.NRGBA, step, width vg.Length) {
	if len(poly) < 3 {
		return
	}
	wash := ink
	wash.A = 48
	c.FillPolygon(wash, poly)
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, p := range poly {
		k := float64(p.Y - p.X)
		lo, hi = min(lo, k), max(hi, k)
	}
	if math.IsInf(lo, 0) || (hi-lo)/float64(step) > 20000 {
		return
	}
	var xs []vg.Length
	var lines [][]vg.Point
	for k := math.Ceil(lo/float64(step)) * float64(step); k <= hi; k += float64(step) {
		xs = xs[:0]
		for i, a := range poly {
			b := poly[(i+1)%len(poly)]
			ka, kb := float64(a.Y-a.X), float64(b.Y-b.X)
			if (ka <= k) != (kb <= k) {
				f := vg.Length((k - ka) / (kb - ka))
				xs = append(xs, a.X+f*(b.X-a.X))
			}
		}
		slices.Sort(xs)
		for i := 0; i+1 < len(xs); i += 2 {
			x, y := xs[i], xs[i+1]
			lines = append(lines, []vg.Point{{X: x, Y: x + vg.Length(k)}, {X: y, Y: y + vg.Length(k)}})
		}
	}
	c.StrokeLines(draw.LineStyle{Color: ink, Width: width}, lines...)
}

func rectangle(x0, y0, x1, y1 vg.Length) []vg.Point {
	return []vg.Point{{X: x0, Y: y0}, {X: x1, Y: y0}, {X: x1, Y: y1}, {X: x0, Y: y1}}
}
