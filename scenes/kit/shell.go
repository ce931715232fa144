package kit

import (
	"gainwright/scenes/bench"
	"gainwright/scenes/ui"
	"gainwright/sounds"
)

// Shell is the program as its scenes see it: what concerns all of them. All methods
// are for the screen's goroutine and return at once.
type Shell interface {
	// Host is the world outside, Bench the one bench, Theme how things look now.
	Host() Host
	Bench() *bench.Session
	Theme() *ui.Theme
	// Now is the time of the last frame, seconds since the program started.
	Now() float64
	// Voices are the learner's own.
	Voices() Voices

	// Fail shows what went wrong, Notify what happened.
	Fail(err error)
	Notify(words string)
	// Announce is the latest thing to be spoken. Said is what of it is not shown
	// elsewhere on screen, and whether it tells of a failure.
	Announce() string
	Said() (words string, failed bool)

	// Sure is for what loses something and has to be pressed twice: it reports whether
	// the intent id is pressed the second time, and the first time tells the words.
	Sure(id, words string) bool

	// Ask puts a question that is answered by one of two buttons; do follows upon yes.
	Ask(words, yes, no string, do func() error)

	// Relayout has everything laid out anew before it is drawn again.
	Relayout()
	// Go carries an intent out in the scene whose tab is to, and shows that scene.
	// With an error nothing changes.
	Go(to string, it ui.Intent) error
	// Visit shows the scene whose tab is to; Has tells whether there is one.
	Visit(to string) error
	Has(tab string) bool

	// Hear makes a scene's own player heard instead of the bench; nil is the bench.
	Hear(p *sounds.Player)
	// SoundOn reports whether anything is heard.
	SoundOn() bool
	// Audibly does what would be heard. Where the sound is off and nobody was asked in
	// this visit it first offers to turn it on, with the caution about hearing; do then
	// follows upon the answer, whichever it is. A caution of this very sound, if it has
	// one, is said with that, else it is asked for itself, and do follows only upon yes.
	Audibly(caution string, do func() error) error

	// OutputS is how late what the strips give is heard, seconds, as far as that is known.
	OutputS() float64

	// Save hands out a file to be kept; Choose asks for one, of the kinds in accept,
	// as ".wav,.flac", ChooseMany for any number. Picture is what is on screen as PNG.
	Save(name string, data []byte)
	Choose(accept string)
	ChooseMany(accept string)
	// ShowAll has this and every later visit show all scenes, and goes to the first.
	ShowAll()

	// Copy puts text on the clipboard. Once that has answered, said is told, or what
	// went wrong.
	Copy(text, said string)
	Picture() ([]byte, error)
}

// What a Scene may be besides. All are optional.
type (
	// Visited is a Scene that wants to know when it is shown, and when no longer.
	Visited interface {
		Enter()
		Leave()
	}
	// Keeper is a Scene that stores something now and then: Keep is called every
	// frame, whatever scene is shown, and with +Inf when the program may end.
	Keeper interface {
		Keep(now float64)
	}
	// Borrower is a Scene that the bench is lent to. Rolls says what leaving the scene
	// does to the take that it performs, "" where none is going on.
	Borrower interface {
		Rolls() string
	}
	// Loner is a Scene without a tab. While it is Alone the others are not shown, unless
	// somebody has asked for them.
	Loner interface {
		Alone() bool
	}
	// Swiped is a Scene that has something beside what it shows: after it for 1, before it
	// for −1.
	Swiped interface {
		Swipe(dir int)
	}
	// Sparing is a Scene that now and then has no unit that would have to be explained.
	Sparing interface {
		Sparing() bool
	}
	// Sharer is a Scene whose memory all tabs share. Elsewhere tells that another tab
	// has stored the key; Agree takes over what it has stored, as soon as nothing goes
	// on.
	Sharer interface {
		Elsewhere(key string)
		Agree(shown bool)
	}
	// Undoer is a Scene whose changes can be taken back by the intents "undo" and
	// "redo": how many of either there are.
	Undoer interface {
		Undos() (back, forth int)
	}
	// Resulted is a Scene that tells a result apart from what it announces.
	Resulted interface {
		Result() string
	}
)
