package kit

import (
	"gainwright/scenes/ink"
	"gainwright/scenes/ui"
)

// Picture is a part of a scene that can be handed out.
type Picture struct {
	ID, Title string
	Box       ink.Rect
	Words     string // what it shows
}

// PictureAll is the ID of the picture that is the whole scene.
const PictureAll = "all"

// Footed is a Scene with a foot that serves to work with it (record, play, what
// happened last) and does not belong to its picture: FootY is where it begins.
type Footed interface {
	FootY() float32
}

// Pictured is a Scene that has parts to be handed out, beside the whole.
type Pictured interface {
	Pictures() []Picture
}

// Presented is a Scene that can be shown one idea at a time.
type Presented interface {
	// Ideas is how many ideas there are; ShowIdea shows one of them, counted from
	// 0, alone, and the whole scene again for −1.
	Ideas() int
	ShowIdea(i int)
	// IdeaKeys names the keys that the scene understands meanwhile.
	IdeaKeys() []string
}

// Placed is a Presented that goes to another idea by itself: Idea is which it shows.
type Placed interface {
	Idea() int
}

// Keyed is a Scene with keys of its own, for when no control wants them.
type Keyed interface {
	Key(k ui.KeyPress) (ui.Intent, bool)
}

// Scene is one screen of the program: what lies below the tabs. The Program
// routes input to its controls and draws them.
type Scene interface {
	// Title is the name on the scene's tab; ID is the tab's, "tab." and a word.
	Title() string
	ID() string
	// Layout puts the controls and everything else into area.
	Layout(th *ui.Theme, area ink.Rect)
	// Controls lists the controls in focus order, those drawn later last.
	Controls() []ui.Control
	// Update takes what is no control's: files, time passing. It reports whether
	// the picture may have changed.
	Update(in *ui.Input) bool
	// Apply carries an intent out. An unknown ID or a value out of range is an
	// error and changes nothing.
	Apply(it ui.Intent) error
	// Draw appends the picture of the present state, without the controls.
	Draw(l *ink.List, th *ui.Theme)
	// Nodes appends what can be told besides the controls.
	Nodes(dst []ui.Node) []ui.Node
	// Scroll moves what does not fit by dy dp; Reveal brings a part into view.
	Scroll(dy float32)
	Reveal(r ink.Rect)
	// Announce is the latest thing to be spoken.
	Announce() string
}
