package room

import (
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
)

// LimiterWord is the longest word for a limiter's place that fits.
func LimiterWord(th *ui.Theme, k int, width float32) string {
	st := th.Style(ui.Small, ink.Bold, ink.Left, th.Say)
	room := width - th.Px(12) - 21
	switch k {
	case 0:
		return ui.Fit(st, room, "limiter off", "off")
	case 1:
		return ui.Fit(st, room, "limiter before converter", "before converter", "before conv.", "before")
	}
	return ui.Fit(st, room, "limiter after converter", "after converter", "after conv.", "after")
}

// NoteLines is how many lines the note on hearing needs.
func NoteLines(th *ui.Theme, width float32) int {
	note := th.Style(ui.Tiny, ink.Regular, ink.Left, th.SayDim)
	var p ui.Para
	return len(p.Lines(ui.Fit(note, width, kit.SafetyLong, kit.SafetyShort), note, width))
}

// ResultLines is how many lines a result needs.
func ResultLines(th *ui.Theme, width float32) int {
	var p ui.Para
	return len(p.Lines(LongResult, th.Style(ui.Small, ink.Bold, ink.Left, th.Say), width))
}

// LongResult is a long result, to measure the room that results need by.
const LongResult = "Take 12, 180.0 s: strip A 1888 overs, longest 88.8 ms; strip B 1888 overs, longest 88.8 ms."

// StripHeight is what the strip needs alone, dp.
func StripHeight(th *ui.Theme) float32 {
	return 16 + th.Tall(2*th.Row(ui.Small)) + 6 + max(ui.KnobHeight(th, 92), 3*th.Tall(kit.ChipHeight(th))+8)
}
