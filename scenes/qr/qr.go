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
)

// ErrLong says that a text does not go into one symbol.
var ErrLong = errors.New("the link is too long for such a picture: send it, or save the set-up as a file")

// PNG is a QR symbol of a text, black on white. Of the smaller ones 15 % may be unreadable.
func PNG(text string) ([]byte, error) {
	b, err := codes.Encode(text, codes.M, codes.Auto) // 15 %
	if err != nil {
		if b, err = codes.Encode(text, codes.L, codes.Auto); err != nil { // 7 %, for long ones
			return nil, ErrLong
		}
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
