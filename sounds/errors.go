package sounds

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
)

// An InputError says in one line what is wrong with something that was read: a
// file, or a setting that came with it. A command ends with status 2 on it.
type InputError struct {
	Path string // the file as the caller named it; may be empty
	Msg  string // lower case, no full stop
	Err  error  // the cause, if there is one worth unwrapping
}

func (e *InputError) Error() string {
	if e.Path == "" {
		return e.Msg
	}
	return Shown(e.Path) + ": " + e.Msg
}

func (e *InputError) Unwrap() error { return e.Err }

// An OutputError says in one line why something could not be written.
type OutputError struct {
	Path string
	Msg  string
	Err  error
}

func (e *OutputError) Error() string {
	if e.Path == "" {
		return e.Msg
	}
	return Shown(e.Path) + ": " + e.Msg
}

func (e *OutputError) Unwrap() error { return e.Err }

// An ExistsError is returned instead of replacing a file that is already there.
// errors.Is(err, fs.ErrExist) holds.
type ExistsError struct{ Path string }

func (e *ExistsError) Error() string {
	return Shown(e.Path) + ": already exists, and is not replaced unless forced"
}

func (e *ExistsError) Unwrap() error { return fs.ErrExist }

// badInput makes an InputError without a path; the Reader adds its own.
func badInput(format string, args ...any) *InputError {
	return &InputError{Msg: fmt.Sprintf(format, args...)}
}

// plain is the cause of an operating-system error in a few words, without the
// operation and the path that package os puts in front of it.
func plain(err error) string {
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return "no such file or directory"
	case errors.Is(err, fs.ErrPermission):
		return "permission denied"
	}
	msg := err.Error()
	var pe *fs.PathError
	var le *os.LinkError
	if errors.As(err, &pe) {
		msg = pe.Err.Error()
	} else if errors.As(err, &le) {
		msg = le.Err.Error()
	}
	// Some systems begin with a capital.
	if len(msg) > 1 && msg[0] >= 'A' && msg[0] <= 'Z' && msg[1] >= 'a' && msg[1] <= 'z' {
		msg = string(msg[0]+'a'-'A') + msg[1:]
	}
	return msg
}
