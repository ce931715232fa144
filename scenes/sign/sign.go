// Package sign draws the program's sign.
package sign

import (
	"math"

	"gainwright/scenes/ink"
)

// Size is its width and height, dp.
const Size = 64

// Ground is what it stands on.
var Ground = ink.RGB(0x161d26)

// Draw appends the sign: one period of a wave whose top and bottom are cut off, and the
// cut parts hatched.
func Draw(l *ink.List) {
	l.Fill(ink.Rect{W: Size, H: Size}, 12, Ground)
	lost, sky := ink.RGB(0xd55e00), ink.RGB(0x56b4e9)
	const middle, high, kept = 32, 26, 12
	var top, bottom, wave []ink.Point
	for x := float32(6); x <= 58; x++ {
		y := -high * float32(math.Sin(float64(x-6)/52*2*math.Pi))
		top = append(top, ink.Point{X: x, Y: middle + min(y, -kept)}, ink.Point{X: x, Y: middle - kept})
		bottom = append(bottom, ink.Point{X: x, Y: middle + kept}, ink.Point{X: x, Y: middle + max(y, kept)})
		wave = append(wave, ink.Point{X: x, Y: middle + min(max(y, -kept), kept)})
	}
	l.HatchStrip(lost, lost.Alpha(0.25), 2, 5, top...)
	l.HatchStrip(lost, lost.Alpha(0.25), 2, 5, bottom...)
	l.Line(5, sky, wave...)
}
