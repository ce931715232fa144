package stage

import (
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
)

// Need is what a page of words beside the bench needs.
type Need struct {
	// Words and Foot are the heights, dp, of the words and of the main buttons at a width;
	// where room is tight, the page has a head, and some words stand elsewhere.
	Words, Foot func(width float32, tight bool) float32
	// Under is the least height, dp, of the lower picture and the take at a width, Take
	// that of the take.
	Under, Take func(width float32) float32
	// Strip is the height of one strip alone; Strips how many there are.
	Strip  float32
	Strips int
	// InUse tells that knobs are turned or meters watched now; else the words get the room.
	InUse bool
	// Turned tells that a knob of a strip is turned now.
	Turned bool
	// Scale has the step's words written so many times as large.
	Scale func(factor float32)
	// Elsewhere tells that what is turned now stands among the words: where room is short
	// the strip is left out.
	Elsewhere bool
	// Pictures tells that, where there is room for one only, pictures are wanted in place of
	// the words.
	Pictures bool
}

// Rooms is how a page is divided; what is empty is not on it.
type Rooms struct {
	// Head is where it is chosen whether words or pictures are shown, if that has to be.
	Head, Words, Foot, Strip, Pictures, Under ink.Rect
	// Strips tells that all strips stand above the pictures, Scrolls that the one scrolls
	// with the words.
	Strips, Scrolls bool
	// Take tells that only the take has room in Under.
	Take bool
}

// readable is a line as long as one likes to read: 75 characters (common practice, no
// source).
const readable = "They gave me a broom, and so I swept the deck until the captain slipped it."

// lowerWidth is what the lower picture needs, dp at a text of 1.
const lowerWidth = 430

const margin = 14 // between a panel's edge and its words

// Large is how many times as large words are that are all there is to attend to.
const Large = 1.2

// Larger is a theme whose words are so many times as large.
func Larger(th *ui.Theme, factor float32) *ui.Theme {
	big := *th
	big.Text *= factor
	return &big
}

// Inner is what of a panel is for words.
func Inner(r ink.Rect) ink.Rect { return ui.Pad(r, margin, 10) }

// Divide divides area.
func (n *Need) Divide(th *ui.Theme, area ink.Rect) Rooms {
	r := ui.Pad(area, 12, 0)
	ui.Bottom(&r, 10)
	n.Scale(n.least())
	if area.W/th.Text >= 800 && area.H < 1.15*area.W {
		return n.beside(th, r)
	}
	return n.below(th, r)
}

// tall is the height of a panel of words at a panel's width.
func (n *Need) tall(width float32) float32 { return n.Words(width-2*margin, false) + 20 }

func (n *Need) foot(r *ink.Rect, tight bool) ink.Rect {
	f := ui.Bottom(r, n.Foot(r.W-2*margin, tight)+20)
	ui.Bottom(r, kit.GapDP)
	return f
}

// beside has the words at the left, and what is left of their column filled.
func (n *Need) beside(th *ui.Theme, r ink.Rect) (o Rooms) {
	w := min(max(r.W*0.335, 330*th.Text), 480*th.Text)
	if n.Strips > 1 && r.W >= 990*th.Text {
		w = max(w, lowerWidth*th.Text) // the strips stand above the pictures
	}
	if !n.InUse {
		big := Larger(th, Large)
		w = min(r.W*0.5, ink.Measure(readable, big.Style(ui.Body, ink.Regular, ink.Left, th.Say))+2*margin+4)
	}
	left := ui.Left(&r, w)
	ui.Left(&r, kit.GapDP)
	short := r.H < 420*th.Text // a phone on its side, or large words
	aside := short && n.InUse && !n.Elsewhere
	if o.Foot = n.foot(&left, aside); aside {
		n.head(th, &left, &o)
		if o.Words = left; n.Pictures {
			o.Pictures = r
		} else {
			o.Strip = r
		}
		return o
	}
	o.Pictures = r
	spare := left.H - n.tall(w) - kit.GapDP
	if n.InUse && n.Strips == 1 && spare >= n.Strip {
		h := n.Strip
		if n.Turned {
			h = min(spare, 360*th.Text)
		}
		o.Strip = ui.Bottom(&left, h)
		ui.Bottom(&left, kit.GapDP)
		spare -= h + kit.GapDP
	}
	switch take := n.Take(w); {
	case w < lowerWidth*th.Text:
	case spare >= n.Under(w):
		o.Under = ui.Bottom(&left, spare)
		ui.Bottom(&left, kit.GapDP)
	case spare >= take && spare < 2*take:
		o.Under, o.Take = ui.Bottom(&left, take), true
		ui.Bottom(&left, kit.GapDP)
	}
	n.grow(w, left.H)
	o.Strips = n.InUse && o.Strip.W == 0 && !(short && n.Elsewhere)
	o.Words = left
	return o
}

// grow has the words written as large as there is room for.
func (n *Need) grow(w, high float32) {
	for _, f := range []float32{1.8, 1.65, 1.5, 1.35, Large, 1} {
		if n.Scale(f); n.tall(w) <= high || f == n.least() {
			return
		}
	}
}

// least is how large words are at least.
func (n *Need) least() float32 {
	if n.InUse {
		return 1
	}
	return Large
}

func (n *Need) head(th *ui.Theme, r *ink.Rect, o *Rooms) {
	o.Head = ui.Top(r, th.Tall(max(30, th.Row(ui.Small)+8)))
	ui.Top(r, 4)
}

// below has the words at the top, the strip that is turned below them, and the main
// buttons at the bottom.
func (n *Need) below(th *ui.Theme, r ink.Rect) (o Rooms) {
	whole := r
	o.Foot = n.foot(&r, false)
	// Under a thumb a strip has a knob of its own size, so one is shown at a time.
	words, most := n.tall(r.W), 260*th.Text
	if r.H >= 800*th.Text { // longer ones may scroll
		words = min(words, r.H*0.5)
	}
	if n.InUse {
		most += n.Strip
	}
	if r.H-words-kit.GapDP >= most && !(n.InUse && th.Least > 0) {
		o.Words, o.Strips = ui.Top(&r, words), n.InUse
		ui.Top(&r, kit.GapDP)
		o.Pictures = r
		return o
	}
	r = whole
	o.Foot = n.foot(&r, true)
	n.head(th, &r, &o)
	if n.InUse && !n.Pictures && !n.Elsewhere {
		if o.Scrolls = r.H-n.Strip-kit.GapDP < 80*th.Text; !o.Scrolls {
			o.Strip = ui.Bottom(&r, n.Strip)
			ui.Bottom(&r, kit.GapDP)
		}
	}
	if n.Pictures {
		o.Pictures = r
	} else {
		o.Words = r
	}
	return o
}

// Buttons places the main buttons one beside the other; under a thumb they are as wide as
// there is room for.
func Buttons(th *ui.Theme, f *kit.Flow, bs ...*ui.Button) {
	f.Buttons(max(40, th.Row(ui.Body)+16), bs...)
	var row []*ui.Button
	for _, b := range bs {
		if !b.Hidden {
			row = append(row, b)
		}
	}
	if th.Least == 0 || len(row) == 0 || row[0].Bounds.Y != row[len(row)-1].Bounds.Y {
		return
	}
	r := ink.Rect{X: f.X, Y: row[0].Bounds.Y, W: f.Width, H: row[0].Bounds.H}
	kit.Share(r, len(row), 8, func(i int) float32 { return row[i].Width(th) }, func(i int, b ink.Rect) { row[i].Bounds = b })
}

// Fixed reports whether r lies where nothing scrolls.
func (o *Rooms) Fixed(r ink.Rect) bool {
	c := r.Center()
	return o.Strip.Contains(c) || o.Foot.Contains(c) || o.Under.Contains(c) || o.Head.Contains(c)
}

// InWords reports whether r, which may be scrolled out of sight, belongs to the words.
func (o *Rooms) InWords(r ink.Rect) bool {
	switch c := r.Center(); {
	case o.Words.W == 0 || o.Pictures.W == 0:
		return o.Words.W > 0
	case o.Pictures.X >= o.Words.Right():
		return c.X < o.Words.Right()
	default:
		// One below the other: what scrolls up in the pictures is theirs.
		return c.Y < o.Words.Bottom()
	}
}
