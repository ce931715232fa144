package kit

import (
	"errors"

	"gainwright/lessons/model"
	"gainwright/lessons/run"
	"gainwright/sounds"
)

// Host is what a program needs of the world outside. All methods are called
// from the screen's goroutine and return at once.
type Host interface {
	// OpenSound opens the sound device at a rate in Hz and tells its buffer in
	// frames. In a browser it may open later; then Device.Running is false until
	// it does and Device.Err says why it does not.
	OpenSound(rate int) (dev sounds.Device, bufferFrames int, err error)
	// Load and Store keep small settings between sessions; Load gives "" for
	// what was never stored.
	Load(key string) string
	Store(key, value string)
	// Copy puts text on the clipboard. One answer comes, in a browser only when the
	// user has been asked.
	Copy(text string) <-chan error
}

// Silent is a host without sound, memory or clipboard: for tests, and for
// machines that have none.
type Silent struct{}

// ErrNoSound is why a Silent host has no sound.
var ErrNoSound = errors.New("this machine offers no sound output")

// OpenSound fails.
func (Silent) OpenSound(int) (sounds.Device, int, error) { return nil, 0, ErrNoSound }

// Load gives nothing.
func (Silent) Load(string) string { return "" }

// Store forgets.
func (Silent) Store(string, string) {}

// Copy fails.
func (Silent) Copy(string) <-chan error {
	answer := make(chan error, 1)
	answer <- errors.New("there is no clipboard")
	return answer
}

// A LessonFile is a lesson as it is written.
type LessonFile struct{ Name, Text string }

// Followed is what the link that was followed to a host carries, or empty.
func Followed(h Host) string {
	if l, ok := h.(Linker); ok {
		return l.Carried()
	}
	return ""
}

// What a Host may do besides. All are optional.
type (
	// Linker is a Host that has an address: a link to a set-up is made of it, and
	// one that was followed is told.
	Linker interface {
		// Address is where the program is, without what a link carries.
		Address() string
		// Carried is what the link that was followed carries, or empty.
		Carried() string
	}
	// Published is a Linker that knows for whom its links are good.
	Published interface {
		// Public is an address at which others find the scene too, or empty: then that of
		// the Linker is good on this computer only.
		Public() string
	}
	// Stocked is a Host that brings lessons beside the built-in ones.
	Stocked interface {
		Lessons() []LessonFile
	}
	// Renewed is a Host that learns of a new version of the program while this one runs.
	Renewed interface {
		// Fresh reports whether one has come.
		Fresh() bool
		// Renew begins anew with it.
		Renew()
	}
	// Wayfarer is a Host that knows the way by which the user came through the scenes, as
	// a browser's history does. A place is a scene's tab without "tab.", and "" the first.
	Wayfarer interface {
		// Place is where the user begins: what the address names.
		Place() string
		// Mark notes the place that is shown: as a new step of the way, or as what the
		// present step is.
		Mark(place string, step bool)
		// Went gives a place that the user went back or on to, each once.
		Went() (place string, ok bool)
	}
	// Calmer is a Host that knows whether the user wants little motion.
	Calmer interface {
		Calm() bool
	}
	// Tabbed is a Host of which several run at once and share what Store keeps, as
	// the tabs of a browser do.
	Tabbed interface {
		// LoadOwn and StoreOwn are as Load and Store, but of this one alone: what is
		// stored so outlives a reload and ends with the tab.
		LoadOwn(key string) string
		StoreOwn(key, value string)
		// Elsewhere gives a key that another one has stored, each once; false when
		// there are no more.
		Elsewhere() (key string, ok bool)
	}
	// Assigner is a Host that has the user take one lesson and hears how it goes, as a
	// school's learning system does. What the lesson keeps, it keeps there.
	Assigner interface {
		// Assigned is the lesson; nil where the user is free.
		Assigned() *Assignment
		// Stands tells how it stands: when it is shown, at each step, and now and then.
		Stands(st Standing)
		// Leave ends the visit, as the user wishes.
		Leave()
	}
	// Chancer is a Host that knows a number that is another one each time.
	Chancer interface {
		Chance() uint64
	}
)

// An Assignment is the lesson that an Assigner has taken.
type Assignment struct {
	Lesson *model.Lesson
	Saved  []byte // what run.Resume takes, of an earlier visit; nil at the first
	// Student is how the learning system calls the user, or empty.
	Student string
	// Records tells that what comes of it is recorded: not in a visit that only looks.
	Records bool
	// Passed tells that it was passed, at this visit or before, which stands whatever
	// comes of another attempt. Stands sets it.
	Passed bool
	// Once tells that this visit takes no further attempt once one is finished.
	Once bool
	// Notice is what the user should know, or empty.
	Notice string
}

// A Standing is how an assigned lesson stands.
type Standing struct {
	Progress run.Progress
	Saved    []byte      // the progress as run.Resume takes it
	Result   *run.Result // nil until it is finished
}

// AssignedBy gives what a host has the user take, or nil.
func AssignedBy(h Host) (Assigner, *Assignment) {
	if a, ok := h.(Assigner); ok {
		if as := a.Assigned(); as != nil {
			return a, as
		}
	}
	return nil, nil
}
