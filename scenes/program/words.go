package program

import (
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
)

type save struct {
	name string
	data []byte
}

// saves wait to be handed out.
type saves []save

func (s *saves) next() (name string, data []byte, ok bool) {
	if len(*s) == 0 {
		return "", nil, false
	}
	first := (*s)[0]
	*s = (*s)[1:]
	return first.name, first.data, true
}

// asking is for a file, or for many; accept is empty when nothing is asked for.
type asking struct {
	accept string
	many   bool
}

// take gives what is asked for, once.
func (a *asking) take() (accept string, many, ok bool) {
	was := *a
	*a = asking{}
	return was.accept, was.many, was.accept != ""
}

// The listening level, dB.
const (
	levelMin, levelMax, levelStart = -60, 0, -20
)

const keyWords = "Keys, when no control wants them: R record or stop · P or space play or pause · 1 to 4 listen to a strip, 0 as spoken, 9 mended · M matched · T L H I C talk, louder, laugh, lean in, cough · V waves, spectrum, result · + and − nearer, farther · F forget the loudest · Z undo, Y do again · X hear X in a blind comparison · Escape close. Tab goes through all controls, arrow keys turn them, Shift turns finely, Enter types a number."

const keptWords = "What is kept: the settings, and for the last takes who performed what and what was set, so that they are made again after a reload, in this browser or on this computer alone. Each tab of a browser keeps its own; a new one begins with those used last. Recordings of your own are not kept. Sound leaves with at most −6 dBFS, whatever is played."

// syncLinks tells for whom a link to the set-up is good.
func syncLinks(host kit.Host, link, code *ui.Button, words *string) {
	_, linked := host.(kit.Linker)
	link.Disabled, link.Why = !linked, "this program has no address; save the set-up as a file instead"
	code.Disabled, code.Why = link.Disabled, link.Why
	if p, ok := host.(kit.Published); ok && p.Public() == "" {
		*words = "All settings of all strips and who talks. A link is good on this computer only, while the program runs; for others, save a file, or start with --public-url and the address of a site (gainwright site)."
		code.Disabled, code.Why = true, "the link is good on this computer only"
	}
}
