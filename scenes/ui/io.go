package ui

import (
	"io"

	"gainwright/scenes/ink"
)

// Key is a key that a scene understands, named after the DOM's KeyboardEvent.key
// ("ArrowUp", "PageDown", "Enter", " ", "Tab", "a").
type Key string

// PointerKind tells what moved.
type PointerKind uint8

// The kinds of pointer event.
const (
	Down PointerKind = iota
	Move
	Up
	Cancel // the press ends without effect: window lost focus, touch taken away
	Wheel
)

// Pointer is one event of a mouse, pen or finger, in order of arrival.
type Pointer struct {
	Kind   PointerKind
	ID     int // 0 the mouse; each finger its own
	At     ink.Point
	WheelY float32 // notches, positive away from the user
	Fine   bool    // the modifier for fine adjustment (Shift) is held
	Clicks int     // 2 for the second press of a double click
}

// KeyPress is one key going down (or repeating).
type KeyPress struct {
	Key   Key
	Shift bool
	Ctrl  bool
	Alt   bool
}

// Drop is a file that the user dropped in or chose.
type Drop struct {
	Name string
	Data []byte
	// Long is the content of a file too long to be held, of Size bytes; Data is empty
	// then.
	Long io.ReaderAt
	Size int64
	// Lossy tells that Data or Long was made of a lossy file; Err why there is neither.
	Lossy bool
	Err   error
	// Channel is the one of several that is meant, from 1, −1 for the mean of all,
	// 0 if nothing was said; AtS is the moment that is meant, s, if it is not 0.
	Channel int
	AtS     float64
}

// Input is everything that happened since the last frame.
type Input struct {
	Size     ink.Point // the whole picture in dp
	Scale    float32   // device pixels a dp
	Seconds  float64   // since the program started, monotonic
	Pointers []Pointer
	Keys     []KeyPress
	Drops    []Drop
	Hidden   bool // the tab or window cannot be seen
	// Reduced asks for no motion that is not information.
	Reduced bool
	// Coarse tells that a finger is the pointer, not a mouse.
	Coarse bool
}

// Intent is a request to change something. It is the only way anything changes,
// whether it comes from the mouse, a key, a finger, the accessible mirror, a
// lesson or a test.
//
// Do is one of "set" (Value or Text), "nudge" (Value steps), "press",
// "default", "focus". ID names the control (Node.ID).
type Intent struct {
	ID    string  `json:"id"`
	Do    string  `json:"do"`
	Value float64 `json:"value,omitempty"`
	Text  string  `json:"text,omitempty"`
	// File is what one scene hands another.
	File *Drop `json:"-"`
}

// What an Intent can do.
const (
	DoSet     = "set"
	DoNudge   = "nudge"
	DoPress   = "press"
	DoDefault = "default"
	DoFocus   = "focus"
)

// Role is what a control is, in WAI-ARIA's words.
type Role string

// The roles in use.
const (
	RoleSlider   Role = "slider"
	RoleButton   Role = "button"
	RoleRadio    Role = "radio"
	RoleCheckbox Role = "checkbox"
	RoleGroup    Role = "group"
	RoleTab      Role = "tab"
	RoleMeter    Role = "meter"
	RoleImage    Role = "img"
	RoleStatus   Role = "status" // a live region: its Value is spoken when it changes
	RoleHeading  Role = "heading"
	RoleText     Role = "text"
	RoleTextbox  Role = "textbox" // its Value is what is written; "set" with Text replaces it
)

// Node is one thing a person can reach or be told.
type Node struct {
	ID       string
	Role     Role
	Name     string // "Strip A, preamp gain"
	Value    string // "46.0 dB"
	Hint     string // what it does, one sentence
	Now      float64
	Min, Max float64
	Step     float64
	Checked  bool // radio, checkbox, tab: chosen; button: pressed
	Disabled bool
	Why      string // why it is disabled
	Bounds   ink.Rect
	Focus    bool // can take the keyboard focus, in the order of the list
}
