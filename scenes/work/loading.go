package work

import (
	"gainwright/scenes/ui"
	"gainwright/sim/diagnose"
	"gainwright/sounds"
)

const (
	// MaxRecordingSeconds is the longest stretch of a recording that is performed. Of
	// longer ones a stretch of this length is taken; how long they are does not matter.
	MaxRecordingSeconds = 600
	// nothing of a loudest second under this rms is brought up to the level of speech.
	LeastLoudest = 1e-4
)

// AcceptSound is what a file dialogue offers: what is read here, and what a browser may
// read.
const AcceptSound = ".wav,.flac,.ogg,.mp3,.m4a,.mp4,.aac,.opus,.webm"

// OpenDrop opens a recording that was dropped in or chosen.
func OpenDrop(d ui.Drop) (*sounds.Reader, error) {
	switch {
	case d.Err != nil:
		return nil, d.Err
	case d.Long != nil:
		return sounds.OpenAt(d.Name, d.Long, d.Size)
	}
	return sounds.OpenBytes(d.Name, d.Data)
}

// PickChannel is what sounds.Mono makes one channel of.
func PickChannel(d ui.Drop) int {
	if d.Channel > 0 {
		return d.Channel - 1
	}
	return -1
}

// ChannelWords says which channel of a drop is meant, with a comma before it.
func ChannelWords(d ui.Drop, channels int) string {
	switch {
	case channels < 2:
		return ""
	case d.Channel > 0:
		return ", " + diagnose.ChannelName(d.Channel, channels)
	}
	return ", all channels mixed"
}

// Loading is a stretch of a recording being read, one channel at Rate.
type Loading struct {
	Name string
	Job  *Task
	Pace Pace
	// Of the job, once it is finished.
	Mono []float32
	From float64 // s, where in the recording it begins
	Loud *sounds.LoudestSecond
}

// StartLoading begins to read at most seconds of a recording: around the moment
// d.AtS, or from its beginning where whole is set.
func StartLoading(d ui.Drop, seconds float64) *Loading {
	l := &Loading{Name: d.Name}
	l.Job = Start(func(h *Context) error { return l.Read(h, d, seconds) })
	return l
}
