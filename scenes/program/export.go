package program

import (
	"bytes"
	"fmt"
	"image/png"
	"strings"

	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/raster"
	"gainwright/scenes/svg"
)

// Picture is what is on screen as PNG, at two device pixels a dp.
func (p *Program) Picture() ([]byte, error) {
	var l ink.List
	p.Draw(&l)
	var b bytes.Buffer
	err := png.Encode(&b, raster.Paint(&l, int(2*p.size.X), int(2*p.size.Y), 2/p.zoom, p.th.Ground))
	return b.Bytes(), err
}

// picture draws the part called id of the scene shown; "all" is all of it.
func (p *Program) picture(id string) (l *ink.List, size ink.Point, title, words string, err error) {
	l = new(ink.List)
	zoom := p.zoom
	p.zoom = 1
	focus := p.router.Focused()
	p.router.SetFocus("") // no ring on a handout
	sheet := p.sheetOn
	p.sheetOn, p.laid = false, false
	defer func() {
		p.zoom, p.sheetOn, p.laid = zoom, sheet, false
		p.layout()
		p.sync()
		if focus != "" {
			p.router.SetFocus(focus)
		}
	}()
	p.layout()
	p.sync()
	p.Draw(l)
	sc := p.scene()
	if id == "all" || id == "" {
		return l, p.size, p.Title() + ": " + sc.Title(), sc.Announce(), nil
	}
	pc, ok := sc.(kit.Pictured)
	if ok {
		for _, b := range pc.Pictures() {
			if b.ID == id {
				shift(l, -b.Box.X, -b.Box.Y)
				return l, ink.Point{X: b.Box.W, Y: b.Box.H}, b.Title, b.Words, nil
			}
		}
	}
	return nil, size, "", "", fmt.Errorf("there is no picture called %q here", id)
}

// export hands out a picture as PNG, at two device pixels a dp, or as SVG.
func (p *Program) export(id, kind string) error {
	l, size, title, words, err := p.picture(id)
	if err != nil {
		return err
	}
	var buf bytes.Buffer
	switch kind {
	case "svg":
		// What lies outside the part is cut away by the document's own edges.
		err = svg.Write(&buf, l, size, title, words)
	default:
		err = png.Encode(&buf, raster.Paint(l, int(2*size.X), int(2*size.Y), 2, p.th.Ground))
	}
	if err != nil {
		return err
	}
	name := "gainwright-" + strings.ReplaceAll(id, "_", "-") + "." + kind
	p.saves = append(p.saves, save{name, buf.Bytes()})
	return nil
}
