package kit

import "gainwright/scenes/bench"

// VoicePrefix stands before the names of a learner's voices in an Archivist.
const VoicePrefix = "own."

// MayTry tells whether a learner without a voice of their own could record one here.
func MayTry(s Shell) bool {
	_, ear := s.Host().(Listener)
	_, kept := s.Host().(Archivist)
	return ear && kept && s.Has(IDTabVoice) && len(s.Voices().Names()) == 0
}

// Voices are the learner's own voices that an Archivist keeps: the guests among the talkers.
// All methods are for the screen's goroutine and return at once.
type Voices interface {
	// Names are those kept, in order, as of the last look; Look looks again: after one was
	// kept or deleted.
	Names() []string
	Look()
	// Fault is why the last look came to nothing, or nil.
	Fault() error
	// Load makes one ready beside the screen; then is called in a later frame. The one that
	// was asked for last is the one that comes.
	Load(name string, then func(*bench.Voice, error))
	// Lend has the next Load of its name give this one, kept or not.
	Lend(v *bench.Voice)
	// Loading is the name of the one on its way, or "".
	Loading() string
}

// Short is a name that leaves room for others.
func Short(name string) string {
	if r := []rune(name); len(r) > 14 {
		return string(r[:13]) + "…"
	}
	return name
}
