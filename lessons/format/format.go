// Package format reads lessons and answers: YAML with every fault told by its line and
// column. What the files hold is told in package lessons.
package format

import (
	"fmt"
	"os"
	"strings"

	"gainwright/lessons/model"
	"gainwright/sounds"
	"gainwright/sounds/equipment"
	"gainwright/sounds/scenario/plain"
	"gainwright/sounds/voice"
)

// Load reads the lesson at path. What cannot be read is a *sounds.InputError,
// what is wrong in it an *Error.
func Load(path string) (*model.Lesson, error) { return LoadOn(nil, path) }

// LoadOn is Load on a user's recorder: see ParseOn.
func LoadOn(r *equipment.Recorder, path string) (*model.Lesson, error) {
	st, err := os.Stat(path)
	switch {
	case os.IsNotExist(err):
		return nil, &sounds.InputError{Path: path, Msg: "no such file", Err: err}
	case err != nil:
		return nil, &sounds.InputError{Path: path, Msg: "cannot be read", Err: err}
	case st.IsDir():
		return nil, &sounds.InputError{Path: path, Msg: "is a directory; a lesson is a YAML file"}
	case st.Size() > model.MaxBytes:
		return nil, &sounds.InputError{Path: path, Msg: fmt.Sprintf("is too long for a lesson: %d bytes, the most is %d", st.Size(), model.MaxBytes)}
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, &sounds.InputError{Path: path, Msg: "cannot be read: " + plain.OneLine(err.Error()), Err: err}
	}
	return ParseOn(r, path, data)
}

// Parse reads a lesson. name stands in errors, which are *Error.
func Parse(name string, data []byte) (*model.Lesson, error) { return ParseOn(nil, name, data) }

// ParseOn reads a lesson that is taken on a user's recorder, which fills in what the
// lesson's bench does not say. That is another lesson than the same text without: its Hash
// covers the recorder.
func ParseOn(r *equipment.Recorder, name string, data []byte) (*model.Lesson, error) {
	text := plain.Text(data)
	d := &decoder{recorder: r, name: name, lines: strings.Split(text, "\n"), l: &model.Lesson{Pass: 0.7, Takes: map[string]voice.Script{}, File: []byte(text)}}
	if root := d.parse(text); root != nil {
		d.cut = plain.Cut(text)
		d.lesson(root)
	}
	if err := d.err(); err != nil {
		return nil, err
	}
	return d.l, nil
}
