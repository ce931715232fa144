package kit

import (
	"gainwright/scenes/bench"
	"gainwright/sounds/equipment"
)

// keyRecorder is where a host keeps the equipment file of the user's own recorder.
const keyRecorder = "recorder"

// KeepRecorder stores the user's recorder where it is another than the one kept; kept is
// then that one.
func KeepRecorder(r *equipment.Recorder, kept **equipment.Recorder, store func(key, value string)) {
	if r == *kept {
		return
	}
	*kept = r
	if r == nil {
		store(keyRecorder, "")
	} else if b, err := r.Write(); err == nil && len(b) <= bench.MaxCarried {
		store(keyRecorder, string(b))
	}
}

// RecallRecorder lets the bench know the recorder of an earlier visit. What cannot be read
// is as if there were none.
func RecallRecorder(b *bench.Session, recalled func(key string) string) *equipment.Recorder {
	if text := recalled(keyRecorder); text != "" {
		if r, err := equipment.Read("", []byte(text)); err == nil {
			_ = b.KnowRecorder(r)
		}
	}
	return b.Recorder()
}
