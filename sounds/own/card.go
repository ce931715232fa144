package own

import (
	"errors"
	"fmt"
	"math"

	"gainwright/sim/processing"
)

// A Grade is how far a performance can be gone by.
type Grade uint8

// Grades.
const (
	Good   Grade = iota // good to go
	But                 // usable, but something is missing of it or not known
	Shaped              // something on the way shapes the sound
)

// A Verdict is a card for the learner: what to think of what came through the microphone.
type Verdict struct {
	Grade Grade
	Title string
	Lines []string // a sentence each
}

// What each sort of processing does to a lesson.
var told = []struct {
	what, does string
	of         func(Told) string
}{
	{"Echo cancellation", "it takes out what it holds for an echo, and changes level while it looks for it", func(t Told) string { return t.Echo }},
	{"Noise suppression", "the noise that is left is not your room's, and soft words may go with it", func(t Told) string { return t.Noise }},
	{"Automatic gain", "loud and soft come out alike, so the distance between your talk and your laugh reads too small", func(t Told) string { return t.Gain }},
}

// Judge puts together what the browser said that it does and what is heard of it. A
// performance without all parts is judged by what was said.
func (p *Performance) Judge() Verdict {
	v := Verdict{Title: "Good to go."}
	worse := func(g Grade, line string) {
		v.Grade, v.Lines = max(v.Grade, g), append(v.Lines, line)
	}
	for _, t := range told {
		if t.of(p.Told) == "on" {
			worse(Shaped, fmt.Sprintf("%s is on, says the browser: %s.", t.what, t.does))
		}
	}
	heard := false
	card, err := p.Card()
	switch {
	case errors.Is(err, processing.ErrSilent):
		worse(But, "Your talk stands hardly over the noise: go nearer, or somewhere quieter.")
	case err != nil:
		worse(But, "What shaped the sound on its way could not be looked for: that takes a quiet second, a sentence twice and something loud.")
	default:
		for _, f := range card.Findings {
			g := But
			if f.Kind == processing.Gated || f.Kind == processing.GainMoves {
				g, heard = Shaped, true
			}
			worse(g, f.Says+" "+f.Means)
		}
		if card.Clean() && !p.Told.On() && !p.Told.Off() {
			v.Lines = append(v.Lines, "Whether something shapes the sound was not told for all of it; nothing that was heard looks like it.")
		}
	}
	if way := p.Told.wayOn(heard); way != "" {
		v.Lines = append(v.Lines, way)
	}
	switch v.Grade {
	case But:
		v.Title = "Usable, but:"
	case Shaped:
		v.Title = "Something is shaping this sound:"
	}
	if v.Grade == Good && len(v.Lines) == 0 {
		v.Lines = append(v.Lines, "No gate, no automatic gain, no narrow channel and no clipping was heard, and none was told.")
	}
	return v
}

// wayOn is what to do about a sound that is shaped: by the browser, as it said, or by what
// lies before it, as is heard.
func (t Told) wayOn(heard bool) string {
	switch {
	case t.On():
		return "It was asked to leave that off: another browser may do so, or another microphone."
	case heard && t.Off():
		return "The browser says that it does none of this. Look in this computer's sound settings, or in the headset's, for noise suppression and automatic level, and switch them off."
	case heard:
		return "Look in this computer's sound settings, or in the headset's, for noise suppression and automatic level, and switch them off; or try another browser."
	}
	return ""
}

// UsualHeldDBFS is where hosts who set the gain by talk alone often have its peaks
// (common practice, no source).
const UsualHeldDBFS = -12.0

// Distance is the first thing to be told: how far the laugh lies over the talk, and what
// that does to a gain that was set by talk alone.
func (r *Reading) Distance() string {
	d := r.LaughOverTalkDB
	switch {
	case math.IsNaN(d):
		return "There is no laugh in it: how far yours lies over your talk is not known."
	case d < 3:
		return fmt.Sprintf("Your laugh peaks %s your talk. Most people's real laughs lie 10 to 20 dB over it.", aboutOver(d))
	}
	s := fmt.Sprintf("Your laugh peaks %.0f dB over your talk. ", d)
	top := UsualHeldDBFS + d
	if top >= 0 {
		return s + fmt.Sprintf("With the gain set by talk alone, its peaks at %s dBFS, the laugh would want %.0f dB more than there is: its tops would be gone.", minus(UsualHeldDBFS), max(1, top))
	}
	return s + fmt.Sprintf("With talk's peaks at %s dBFS this laugh would reach %s dBFS; your next one may be louder.", minus(UsualHeldDBFS), minus(top))
}

func aboutOver(d float64) string {
	switch {
	case d > .5:
		return fmt.Sprintf("only %.0f dB over", d)
	case d < -.5:
		return fmt.Sprintf("%.0f dB under", -d)
	}
	return "no higher than"
}

func minus(v float64) string {
	if v < 0 {
		return fmt.Sprintf("−%.0f", -v)
	}
	return fmt.Sprintf("%.0f", v)
}
