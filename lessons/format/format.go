// Package format reads lessons and answers: YAML with every fault told by its line and
// column. What the files hold is told in package lessons.
package format

import (
	"fmt"
	"os"
	"strings"

	"gainwright/lessons/model"
	"gainwright/sounds"
	"gainwright/sounds/scenario/plain"
	"gainwright/sounds/voice"

	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/token"
)

// Load reads the lesson at path. What cannot be read is a *sounds.InputError,
// what is wrong in it an *Error.
func Load(path string) (*model.Lesson, error) {
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
	return Parse(path, data)
}

// Parse reads a lesson. name stands in errors, which are *Error.
func Parse(name string, data []byte) (*model.Lesson, error) {
	text := plain.Text(data)
	d := &decoder{name: name, lines: strings.Split(text, "\n"), l: &model.Lesson{Pass: 0.7, Takes: map[string]voice.Script{}, File: []byte(text)}}
	if root := d.parse(text); root != nil {
		d.lesson(root)
	}
	if err := d.err(); err != nil {
		return nil, err
	}
	return d.l, nil
}

const (
	maxFaults = 60
	maxExprs  = 2000
)

// decoder walks the syntax tree and collects faults.
type decoder struct {
	name   string
	lines  []string
	l      *model.Lesson
	faults []model.Fault
	// What the whole lesson has to agree on, gathered before the steps are read.
	ids      []string
	takeIDs  []string       // of take steps, in order
	takeAt   map[string]int // their place among the steps
	failed   bool           // the scenario could not be read: rules cannot be checked
	usedTake map[string]bool
	unread   []string // quantities under "vary" that could not be read
	exprs    int
}

// room counts expressions and reports, once, when there are too many.
func (d *decoder) room(n ast.Node, at string, more int) bool {
	before := d.exprs
	d.exprs += more
	if d.exprs <= maxExprs {
		return true
	}
	if before <= maxExprs {
		d.fault(n.GetToken(), at, "more than %d rules and places for values in one lesson", maxExprs)
	}
	return false
}

func (d *decoder) err() error { return plain.Gather(d.name, d.faults, maxFaults) }

func (d *decoder) fault(t *token.Token, key, format string, args ...any) {
	line, col := 1, 1
	if t != nil && t.Position != nil {
		line, col = max(t.Position.Line, 1), max(t.Position.Column, 1)
	}
	d.faultAt(line, col, key, format, args...)
}

func (d *decoder) faultAt(line, col int, key, format string, args ...any) {
	d.faults = append(d.faults, model.Fault{Name: d.name, Line: line, Column: col, Key: key, Msg: fmt.Sprintf(format, args...)})
}

func (d *decoder) note(t *token.Token, key, format string, args ...any) {
	f := model.Fault{Name: d.name, Key: key, Msg: fmt.Sprintf(format, args...)}
	if t != nil && t.Position != nil {
		f.Line, f.Column = max(t.Position.Line, 1), max(t.Position.Column, 1)
	}
	d.l.Notes = append(d.l.Notes, f)
}

// parse gives the tree of the one document in text, or nil.
func (d *decoder) parse(text string) ast.Node {
	return plain.Parse(text, "lesson", model.MaxBytes, func(t *token.Token, format string, args ...any) { d.fault(t, "", format, args...) })
}
