package ui

import (
	"math"

	"gainwright/scenes/ink"
)

// The colour-blind-safe set of Okabe and Ito, "Color Universal Design" (2008).
var (
	Orange    = ink.RGB(0xE69F00)
	SkyBlue   = ink.RGB(0x56B4E9)
	Green     = ink.RGB(0x009E73)
	Yellow    = ink.RGB(0xF0E442)
	Blue      = ink.RGB(0x0072B2)
	Vermilion = ink.RGB(0xD55E00)
	Purple    = ink.RGB(0xCC79A7)
)

// Theme is everything a control needs to know about how things look. Colours
// whose name begins with Say are for words: they stand off Panel and Well by a
// contrast of at least 4.5:1 (WCAG 2.2, 1.4.3).
type Theme struct {
	Dark bool
	// Text is the factor on every text size, 1 to 2.
	Text float32
	// Least is the least height and width of a control, dp, where fingers press it; 0
	// where a pointer does.
	Least float32
	// Narrow tells that the window is a phone's: scenes show one thing at a time.
	Narrow bool

	Ground, Panel, Raised, Well ink.Color
	Line, Grid                  ink.Color // edges of controls; grid lines
	Say, SayDim                 ink.Color // words, lesser words

	Signal, SaySignal   ink.Color // what is kept of the talker
	Lost, SayLost       ink.Color // what is lost for good
	Ceiling, SayCeiling ink.Color
	Noise, SayNoise     ink.Color
	Good, SayGood       ink.Color
	Mended, SayMended   ink.Color
	True                ink.Color // the thin line of the true wave
	Focus               ink.Color
	OnLost              ink.Color // words on Lost
}

// Size is one of the few sizes of text.
type Size uint8

// The sizes, in dp at a Text of 1: 11, 12, 13, 15, 19 and 25.
const (
	Tiny Size = iota
	Small
	Body
	Strong
	Title
	Big
)

var sizes = [...]float32{11, 12, 13, 15, 19, 25}

// TextScales are the factors a user can choose.
var TextScales = [...]float32{1, 1.25, 1.5, 1.75, 2}

// TextFor is which of TextScales is shown in a window of a size in dp: what its user
// chose, or, if that is negative, larger where everything has its room already. On a
// picture where all is enlarged, zoom over 1, text is, too.
func TextFor(chosen int, size ink.Point, zoom float32) int {
	switch {
	case chosen >= 0:
		return chosen
	case size.X >= 1600 && size.Y >= 900 && zoom <= 1:
		return 1
	}
	return 0
}

// DP is the em of s in dp, with the theme's enlargement.
func (t *Theme) DP(s Size) float32 { return sizes[s] * t.Text }

// Row is the height of a line of text of size s with a little air.
func (t *Theme) Row(s Size) float32 { return float32(math.Ceil(float64(1.45 * t.DP(s)))) }

func (t *Theme) Style(s Size, f ink.Font, a ink.Align, c ink.Color) ink.Style {
	return ink.Style{Size: t.DP(s), Font: f, Align: a, Color: c}
}

// Tall is h, or the least height of a control.
func (t *Theme) Tall(h float32) float32 { return max(h, t.Least) }

// Px scales a length that carries text.
func (t *Theme) Px(dp float32) float32 { return dp * t.Text }

// NewTheme makes the dark or the light theme.
func NewTheme(dark bool, text float32) Theme {
	text = min(max(text, TextScales[0]), TextScales[len(TextScales)-1])
	white, black := ink.RGB(0xffffff), ink.RGB(0x000000)
	if dark {
		return Theme{
			Dark: true, Text: text,
			Ground: ink.RGB(0x0e1216), Panel: ink.RGB(0x171c22), Raised: ink.RGB(0x242b34), Well: ink.RGB(0x0b0e12),
			Line: ink.RGB(0x3d4753), Grid: ink.RGB(0x2a323b),
			Say: ink.RGB(0xf1efe9), SayDim: ink.RGB(0xa7afb8),
			Signal: SkyBlue, SaySignal: SkyBlue.Mix(white, 0.15),
			Lost: Vermilion, SayLost: Vermilion.Mix(white, 0.32),
			Ceiling: Orange, SayCeiling: Orange.Mix(white, 0.1),
			Noise: ink.RGB(0x5d6874), SayNoise: ink.RGB(0xa7afb8),
			Good: Green, SayGood: Green.Mix(white, 0.4),
			Mended: Purple, SayMended: Purple.Mix(white, 0.2),
			True: ink.RGB(0xe6e2d6), Focus: Yellow, OnLost: white,
		}
	}
	return Theme{
		Text:   text,
		Ground: ink.RGB(0xe9e6df), Panel: ink.RGB(0xfaf8f3), Raised: ink.RGB(0xeeebe3), Well: ink.RGB(0xffffff),
		Line: ink.RGB(0x8d939a), Grid: ink.RGB(0xd9d6cd),
		Say: ink.RGB(0x1b2127), SayDim: ink.RGB(0x545d66),
		Signal: Blue, SaySignal: Blue.Mix(black, 0.22),
		Lost: Vermilion, SayLost: Vermilion.Mix(black, 0.28),
		Ceiling: Orange.Mix(black, 0.12), SayCeiling: Orange.Mix(black, 0.5),
		Noise: ink.RGB(0x8d949b), SayNoise: ink.RGB(0x545d66),
		Good: Green, SayGood: Green.Mix(black, 0.36),
		Mended: Purple.Mix(black, 0.1), SayMended: Purple.Mix(black, 0.45),
		True: ink.RGB(0x2c333a), Focus: Blue.Mix(black, 0.3), OnLost: white,
	}
}

// HighContrast makes the dark or the light theme of black and white with the same
// hues for what they mean, and larger steps between grounds.
func HighContrast(dark bool, text float32) Theme {
	t := NewTheme(dark, text)
	white, black := ink.RGB(0xffffff), ink.RGB(0x000000)
	if dark {
		t.Ground, t.Panel, t.Well, t.Raised = black, black, black, ink.RGB(0x2a2a2a)
		t.Say, t.SayDim, t.True = white, ink.RGB(0xe4e4e4), white
		t.Line, t.Grid, t.Noise, t.SayNoise = ink.RGB(0xbdbdbd), ink.RGB(0x4a4a4a), ink.RGB(0x8a8a8a), ink.RGB(0xe4e4e4)
		t.SaySignal, t.SayLost, t.SayGood = SkyBlue.Mix(white, 0.4), Vermilion.Mix(white, 0.5), Green.Mix(white, 0.55)
		return t
	}
	t.Ground, t.Panel, t.Well, t.Raised = white, white, white, ink.RGB(0xe6e6e6)
	t.Say, t.SayDim, t.True = black, ink.RGB(0x262626), black
	t.Line, t.Grid, t.Noise, t.SayNoise = ink.RGB(0x4a4a4a), ink.RGB(0xbdbdbd), ink.RGB(0x6a6a6a), ink.RGB(0x262626)
	t.SaySignal, t.SayLost, t.SayGood = Blue.Mix(black, 0.4), Vermilion.Mix(black, 0.5), Green.Mix(black, 0.5)
	return t
}

// Contrast is the ratio of WCAG 2.2 between two opaque colours, 1 to 21.
func Contrast(a, b ink.Color) float64 {
	la, lb := luminance(a), luminance(b)
	return (max(la, lb) + 0.05) / (min(la, lb) + 0.05)
}

func luminance(c ink.Color) float64 {
	lin := func(v uint8) float64 {
		s := float64(v) / 255
		if s <= 0.04045 {
			return s / 12.92
		}
		return math.Pow((s+0.055)/1.055, 2.4)
	}
	return 0.2126*lin(c.R) + 0.7152*lin(c.G) + 0.0722*lin(c.B)
}
