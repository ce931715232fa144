package program

import (
	"bytes"
	"fmt"
	"image/png"
	"slices"
	"strings"

	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/raster"
	"gainwright/scenes/svg"
)

// Picture is the scene as PNG, at two device pixels a dp.
func (p *Program) Picture() ([]byte, error) {
	l, size, _, _, err := p.picture(kit.PictureAll)
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	err = png.Encode(&b, raster.Paint(l, int(2*size.X), int(2*size.Y), 2, p.th.Ground))
	return b.Bytes(), err
}

// parts are what can be handed out of the scene shown: the whole first, without what
// only serves to work with it (the program's header, and the foot where a scene tells
// what happened), then its own.
func (p *Program) parts() []kit.Picture {
	sc := p.scenes[p.now]
	all := kit.Picture{ID: kit.PictureAll, Title: p.Title() + ": " + sc.Title(), Box: p.area, Words: sc.Announce()}
	if f, ok := sc.(kit.Footed); ok {
		if y := f.FootY(); y > all.Box.Y && y < all.Box.Bottom() {
			all.Box.H = y - all.Box.Y
		}
	}
	parts := []kit.Picture{all}
	if pc, ok := sc.(kit.Pictured); ok {
		parts = append(parts, pc.Pictures()...)
	}
	return parts
}

// picture draws the part called id of the scene shown.
func (p *Program) picture(id string) (l *ink.List, size ink.Point, title, words string, err error) {
	l = new(ink.List)
	zoom := p.zoom
	p.zoom = 1 // parts are told as the scene sees them
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
	for _, b := range p.parts() {
		if b.ID == id {
			shift(l, -b.Box.X, -b.Box.Y)
			leaveOut(l, b.Box.H)
			return l, ink.Point{X: b.Box.W, Y: b.Box.H}, b.Title, b.Words, nil
		}
	}
	return nil, size, "", "", fmt.Errorf("there is no picture called %q here", id)
}

// leaveOut takes the words above and below a picture of a height out of its list: where
// they are only cut off a document still holds them, and finds them.
func leaveOut(l *ink.List, height float32) {
	l.Ops = slices.DeleteFunc(l.Ops, func(op ink.Op) bool {
		if op.Kind != ink.KText {
			return false
		}
		base := l.Points(&op)[0].Y
		return base < 0 || base-op.Style.Size > height
	})
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
