//go:build window && !js

package window

import (
	"image"

	"gainwright/scenes/ink"
	"gainwright/scenes/raster"
	"gainwright/scenes/sign"
)

func icons() []image.Image {
	var l ink.List
	sign.Draw(&l)
	var out []image.Image
	for _, n := range []int{16, 32, 48, 128} {
		out = append(out, raster.Paint(&l, n, n, float32(n)/sign.Size, ink.Color{}))
	}
	return out
}
