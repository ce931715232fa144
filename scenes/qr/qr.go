// Package qr makes the picture of a link that a phone reads.
package qr

import (
	"bytes"
	"errors"
	"image"
	"image/color"
	"image/png"

	"github.com/boombuler/barcode"
	codes "github.com/boombuler/barcode/qr"
)

// How it is painted: pixels a module, and the modules of free ground around it, which
// ISO/IEC 18004 wants to be four.
const (
	pixels = 8
	quiet  = 4
	// most is how many bytes a link may have: larger symbols exist, but from a slide a
	// phone does not tell their modules apart.
	most = 1200
)

// ErrLong says that a text is too long for a symbol that can be read.
var ErrLong = errors.New("the link is too long for such a picture: send it, or save the set-up as a file")

// PNG is a QR symbol of a text, black on white.
func PNG(text string) ([]byte, error) {
	if len(text) > most {
		return nil, ErrLong
	}
	b, err := codes.Encode(text, codes.M, codes.Auto) // 15 % may be unreadable
	if err != nil {
		return nil, err
	}
	var out bytes.Buffer
	err = png.Encode(&out, paint(b))
	return out.Bytes(), err
}

func paint(b barcode.Barcode) image.Image {
	n := b.Bounds().Dx()
	side := (n + 2*quiet) * pixels
	p := image.NewPaletted(image.Rect(0, 0, side, side), color.Palette{color.White, color.Black})
	for y := range n * pixels {
		for x := range n * pixels {
			if r, _, _, _ := b.At(x/pixels, y/pixels).RGBA(); r == 0 {
				p.SetColorIndex(x+quiet*pixels, y+quiet*pixels, 1)
			}
		}
	}
	return p
}
