package program

import (
	"errors"
	"slices"

	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
)

// offer is what is asked before something is heard, below the scene until it is
// answered: whether to turn the sound on, at the first press of a visit that would be
// heard, once; else whether to play what has a caution of its own.
type offer struct {
	on      bool
	sound   bool   // it asks for the sound
	asked   bool   // for that; or it was turned on or off, so that there is nothing to ask
	caution string // of the sound itself
	do      func() error
	other   string // the words of another question, which no asks not again
	not     func() // what no does then
	from    string // the control that had the focus
	yes, no *ui.Button
	router  *ui.Router
	moved   func() // everything is to be laid out anew
	turnOn  func() error

	box, head ink.Rect
	para      ui.Para
	words     string // as laid out
}

func newOffer(router *ui.Router, moved func(), turnOn func() error) offer {
	yes := ui.NewButton(idSoundYes, "", "", "", ui.Plain, ui.IconSound)
	no := ui.NewButton(idSoundNo, "", "", "", ui.Plain, ui.NoIcon)
	return offer{yes: yes, no: no, router: router, moved: moved, turnOn: turnOn}
}

// ask puts the question before do is done.
func (o *offer) ask(sound bool, caution string, do func() error) {
	o.on, o.sound, o.caution, o.do, o.from, o.other = true, sound, caution, do, o.router.Focused(), ""
	o.yes.Name, o.yes.Hint, o.yes.Icon = "Turn the sound on", "And plays what was pressed. It starts low.", ui.IconSound
	o.no.Name, o.no.Hint, o.no.Label = "Go on without sound", "Nothing is heard; the button in the header turns sound on at any time.", "Without sound"
	if !sound {
		o.yes.Name, o.yes.Hint, o.yes.Icon = "Play it", "", ui.IconPlay
		o.no.Name, o.no.Hint, o.no.Label = "Do not play it", "", "Not now"
	}
	o.yes.Label = o.yes.Name
	if o.from != "" {
		o.router.SetFocus(idSoundYes)
	}
	o.moved()
}

// put puts another question, which comes by itself: the focus stays where it is.
func (o *offer) put(words, yes, no string, do func() error, not func()) {
	o.on, o.sound, o.from, o.other, o.do, o.not = true, false, o.router.Focused(), words, do, not
	o.yes.Name, o.yes.Label, o.yes.Hint, o.yes.Icon = yes, yes, "", ui.NoIcon
	o.no.Name, o.no.Label, o.no.Hint = no, no, ""
	o.moved()
}

func (o *offer) answerOther(yes bool) error {
	if yes {
		if err := o.do(); err != nil {
			return err // the question stands
		}
	} else {
		o.not()
	}
	o.drop()
	return nil
}

var errNotAsked = errors.New("there is nothing to answer")

// answer turns the sound on or leaves it off, and does what was pressed.
func (o *offer) answer(on bool) error {
	if !o.on {
		return errNotAsked
	}
	if o.other != "" {
		return o.answerOther(on)
	}
	do, sound := o.do, o.sound
	o.drop()
	if !sound && !on {
		return nil
	}
	o.asked = true
	if on && sound {
		if err := o.turnOn(); err != nil {
			return err
		}
	}
	return do()
}

// drop takes the question away; it may come again.
func (o *offer) drop() {
	if !o.on {
		return
	}
	o.on, o.do, o.other = false, nil, ""
	if at := o.router.Focused(); at == "" || at == idSoundYes || at == idSoundNo {
		o.router.SetFocus(o.from)
	}
	o.moved()
}

// escaped reports that Escape asks for going on without sound, whatever has the focus.
func (o *offer) escaped(keys []ui.KeyPress) bool {
	return o.on && slices.ContainsFunc(keys, func(k ui.KeyPress) bool { return k.Key == "Escape" })
}

// offerLead is what is asked.
const offerLead = "The sound is off."

func (o *offer) said() string {
	if o.other != "" {
		return o.other
	}
	if !o.sound {
		return o.caution + " Lower the listening level first, above all with headphones."
	}
	s := offerLead + " "
	if o.caution != "" {
		s += o.caution + " "
	}
	return s + kit.SafetyLong
}

// layout takes the room for the question off the bottom of r.
func (o *offer) layout(th *ui.Theme, r *ink.Rect) {
	o.box = ink.Rect{}
	kit.Hide(!o.on, o.yes, o.no)
	if !o.on {
		return
	}
	const pad = 12
	wide := r.W - 4*pad
	yes, no := o.yes.Width(th)+8, o.no.Width(th)+8
	st, row := th.Style(ui.Small, ink.Regular, ink.Left, th.Say), th.Row(ui.Small)
	h := max(ui.Touch, th.Row(ui.Body)+14)
	room := wide - yes - no - 8 - 16
	beside := room >= 300*th.Text
	if !beside {
		room = wide
	}
	o.words = o.said()
	text := o.para.Height(o.words, st, room, row)
	stacked := yes+no+8 > wide
	switch {
	case beside:
		o.box = ui.Bottom(r, max(h, text)+2*pad)
	case stacked:
		o.box = ui.Bottom(r, text+8+2*h+8+2*pad)
	default:
		o.box = ui.Bottom(r, text+8+h+2*pad)
	}
	in := ui.Pad(o.box, 2*pad, pad)
	switch {
	case beside:
		b := ui.Right(&in, yes+no+8)
		b = ui.Pad(b, 0, (b.H-h)/2)
		o.yes.Bounds = ui.Left(&b, yes)
		o.no.Bounds = ui.Right(&b, no)
		ui.Right(&in, 16)
		in = ui.Pad(in, 0, (in.H-text)/2)
	case stacked:
		o.no.Bounds = ui.Bottom(&in, h)
		ui.Bottom(&in, 8)
		o.yes.Bounds = ui.Bottom(&in, h)
		ui.Bottom(&in, 8)
	default:
		b := ui.Bottom(&in, h)
		o.yes.Bounds = ui.Left(&b, yes)
		ui.Left(&b, 8)
		o.no.Bounds = ui.Left(&b, no)
		ui.Bottom(&in, 8)
	}
	o.head = in
}

func (o *offer) draw(l *ink.List, th *ui.Theme) {
	if !o.on {
		return
	}
	b := ink.Rect{X: o.box.X + 12, Y: o.box.Y, W: o.box.W - 24, H: o.box.H - 4}
	l.Fill(b, 9, th.Panel)
	l.Frame(b, 9, 1.5, th.Ceiling)
	o.para.Draw(l, o.head, o.words, th.Style(ui.Small, ink.Regular, ink.Left, th.Say), th.Row(ui.Small))
}
