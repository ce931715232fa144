// Package window is the outermost layer of the scenes: it shows an App in a
// browser's canvas or in a desktop window, hands it what the user does, and in
// the browser keeps a mirror of its controls as real elements for keyboards and
// assistive technology.
//
// Everything but this file is built for a browser (GOOS=js) or with the tag
// "window", because ebiten needs a C compiler, the headers of X11 and OpenGL
// and a display everywhere else on Linux.
package window

import (
	"gainwright/scenes/ink"
	"gainwright/scenes/ui"
)

// MinWidth and MinHeight are the smallest picture, in dp, that an App is asked
// to lay out. A smaller window shows that picture shrunk.
const (
	MinWidth  = 1024
	MinHeight = 640
	// TallWidth is the least width of a picture higher than wide, as on a phone held
	// upright.
	TallWidth = 360
	// LowWidth and LowHeight are the smallest picture where a finger is the pointer, as on
	// a phone on its side: shrunk, nothing would be as large as a thumb.
	LowWidth, LowHeight = 640, 340
)

// least is the smallest picture for a window of w by h dp.
func least(w, h float64, coarse bool) (width, height float64) {
	switch {
	case h > w:
		return TallWidth, MinHeight
	case coarse:
		return LowWidth, LowHeight
	}
	return MinWidth, MinHeight
}

// App is a program to show: several scenes with their tabs, as one picture.
// All methods are called from one goroutine, in the order Apply (for what the
// mirror or a test asks for), Frame, Draw, Semantics.
type App interface {
	// Title is what the window or the browser's tab is called.
	Title() string
	// Frame advances to now and takes what happened since the last call. It
	// reports whether the picture may have changed.
	Frame(in ui.Input) (redraw bool)
	// Apply carries an intent out that comes from elsewhere than Frame's input.
	// Besides the intents of a scene an App understands {ID, Do: "focus"}: the
	// keyboard focus goes to the node ID, and with an empty ID to none.
	Apply(it ui.Intent) error
	// Draw appends the whole picture to an empty list.
	Draw(l *ink.List)
	// Semantics lists what can be reached or told, in focus order. IDs are
	// unique within the list.
	Semantics() []ui.Node
	// Focused is the ID of the node that has the keyboard focus, or empty.
	Focused() string
	// Announce is the latest thing to be spoken to someone who does not see the
	// picture; a change of it is spoken once.
	Announce() string
}

// An App may also have any of these methods. They are in plain types, so that
// package scenes need not know this one.
type (
	// Chooser is an App that can ask for a file. WantsFile reports, once for
	// each request, that a file dialogue should open, for which kinds of file
	// (as in the accept attribute of HTML: ".wav,.flac"), and whether any number may be
	// chosen. A file chosen comes as a scenes.Drop.
	Chooser interface {
		WantsFile() (accept string, many, ok bool)
	}
	// Saver is an App that makes files. NextSave hands out one that has not
	// been handed out yet: in the browser it is downloaded, in a desktop window
	// written to the user's download folder, never over another file.
	Saver interface {
		NextSave() (name string, data []byte, ok bool)
	}
	// Saved is a Saver that wants to know where its file went, to say so.
	Saved interface {
		FileSaved(name, where string, err error)
	}
	// Hurried is an App that at times has more urgent things to do than to be
	// painted: while Hurried is true that is done five times a second at most.
	//
	// Breathe is called between the pieces of a frame's work. In a browser they
	// share one thread with what makes sound, which cannot wait for all of them.
	Hurried interface {
		Hurried() bool
		Breathe()
	}
	// Holder is an App that closing may interrupt. While Holds is true a browser
	// asks before it leaves the page, and a window asks MayClose first. Leaving is
	// called when the page or the window goes, to keep what is not kept yet.
	Holder interface {
		Holds() bool
		MayClose() bool
		Leaving()
	}
	// Counted is an App that counts things; in the browser they are shown to
	// tests and to the console.
	Counted interface {
		Counters() map[string]float64
	}
)
