package scenes

import (
	"gainwright/scenes/ink"
	"gainwright/scenes/ui"
)

// What comes in and goes out is plain data; package ui, which the controls live
// in, declares it.
type (
	// Key is a key, named after the DOM's KeyboardEvent.key.
	Key = ui.Key
	// PointerKind tells what moved.
	PointerKind = ui.PointerKind
	// Pointer is one event of a mouse, pen or finger.
	Pointer = ui.Pointer
	// KeyPress is one key going down (or repeating).
	KeyPress = ui.KeyPress
	// Drop is a file that the user dropped in or chose.
	Drop = ui.Drop
	// Input is everything that happened since the last frame.
	Input = ui.Input
	// Intent is a wish to change something: the only way anything changes.
	Intent = ui.Intent
	// Role is what a control is, in WAI-ARIA's words.
	Role = ui.Role
	// Node is one thing a person can reach or be told.
	Node = ui.Node
)

// The kinds of pointer event.
const (
	Down   = ui.Down
	Move   = ui.Move
	Up     = ui.Up
	Cancel = ui.Cancel
	Wheel  = ui.Wheel
)

// The roles in use.
const (
	RoleSlider   = ui.RoleSlider
	RoleButton   = ui.RoleButton
	RoleRadio    = ui.RoleRadio
	RoleCheckbox = ui.RoleCheckbox
	RoleGroup    = ui.RoleGroup
	RoleTab      = ui.RoleTab
	RoleMeter    = ui.RoleMeter
	RoleImage    = ui.RoleImage
	RoleStatus   = ui.RoleStatus
	RoleHeading  = ui.RoleHeading
	RoleText     = ui.RoleText
	RoleTextbox  = ui.RoleTextbox
)

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
	Update(in *Input) bool
	// Apply carries an intent out. An unknown ID or a value out of range is an
	// error and changes nothing.
	Apply(it Intent) error
	// Draw appends the picture of the present state, without the controls.
	Draw(l *ink.List, th *ui.Theme)
	// Nodes appends what can be told besides the controls.
	Nodes(dst []Node) []Node
	// Scroll moves what does not fit by dy dp; Reveal brings a part into view.
	Scroll(dy float32)
	Reveal(r ink.Rect)
	// Announce is the latest thing to be spoken.
	Announce() string
}
