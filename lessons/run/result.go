package run

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"strings"

	"gainwright/lessons/keys"
	"gainwright/lessons/model"
	"gainwright/lessons/names"
	"gainwright/sounds"
	"gainwright/sounds/scenario/plain"
)

// A Result is a finished lesson, to be handed in.
//
// What its signature can prove is little, and worth saying: whoever runs the
// program on a computer of their own can make it sign anything. Without a key it
// is a plain hash, which shows that the file was not changed by accident or by
// someone who does not know how it is made. With a key that a class shares it
// shows that the file comes from somebody who had the key, the student included; with a
// student's own, that it comes from somebody who had the key of that name and seed (see
// package keys). None shows who answered, and the order of blind trials, which comes from the
// seed, can be worked out by whoever reads this source. What cannot be invented are
// the readings: grading runs every take again and compares.
type Result struct {
	Progress
	Points    float64   `json:"points"`
	Of        float64   `json:"of"`
	Passed    bool      `json:"passed"`
	FailedAt  string    `json:"failed_at,omitempty"` // the step that decided it
	Signature Signature `json:"signature"`
}

// A Signature is over everything else in the result.
type Signature struct {
	Method string `json:"method"` // "sha256", with a class's key "hmac-sha256", with a student's "hkdf-hmac-sha256"
	Value  string `json:"value"`  // hex
}

// Result gives what the student hands in, signed with key or, if it is nil, with a plain
// hash.
func (r *Runner) Result(key *keys.Key) (*Result, error) {
	if r.State() != Finished {
		return nil, errors.New("the lesson is not finished")
	}
	res := &Result{Progress: r.p}
	res.score(r.l)
	return res, res.Sign(key)
}

// score sums up; a lesson is passed with its share of the points and with every
// step that must be right.
func (res *Result) score(l *model.Lesson) {
	res.Points, res.Of, res.FailedAt = 0, l.Of(), ""
	first := ""
	for i, s := range l.Steps {
		sp := &res.Steps[i]
		res.Points += sp.Points
		if s.Scored() && s.Points > 0 && sp.Verdict != Right && first == "" {
			first = s.ID
		}
		if s.Must && sp.Verdict != Right && res.FailedAt == "" {
			res.FailedAt = s.ID
		}
	}
	if res.FailedAt == "" && res.Of > 0 && res.Points < l.Pass*res.Of-1e-9 {
		res.FailedAt = first
	}
	res.Passed = res.FailedAt == ""
}

// Why tells for people what kept the lesson from being passed, or "": every task
// that is not met, and how many points were missing, with the answers that cost
// them.
func (res *Result) Why(l *model.Lesson) string {
	return res.WhyBy(l, func(i int) string { return l.Steps[i].ID })
}

// WhyBy is Why with steps called what name says of their place in the lesson.
func (res *Result) WhyBy(l *model.Lesson, name func(i int) string) string {
	if res.Passed || len(res.Steps) != len(l.Steps) {
		return ""
	}
	var must, other []string
	for i, s := range l.Steps {
		switch wrong := s.Scored() && res.Steps[i].Verdict != Right; {
		case wrong && s.Must:
			must = append(must, name(i))
		case wrong && s.Points > 0:
			other = append(other, name(i))
		}
	}
	var out []string
	steps := func(ids []string) string {
		if len(ids) == 1 {
			return "step " + ids[0] + " is"
		}
		return "steps " + plain.Listed(ids, "and") + " are"
	}
	if len(must) > 0 {
		out = append(out, steps(must)+" not met")
	}
	if res.Of > 0 && res.Points < l.Pass*res.Of-1e-9 {
		short := fmt.Sprintf("%s of %s points are %.0f %%, and %.0f %% pass", names.Format(res.Points, ""), names.Format(res.Of, ""), math.Floor(100*res.Points/res.Of), 100*l.Pass)
		if len(other) > 0 {
			short += " (" + steps(other) + " not right)"
		}
		out = append(out, short)
	}
	return strings.Join(out, "; ")
}

// signed is what a signature of the method is over.
func (res *Result) signed(method string) ([]byte, error) {
	c := *res
	c.Signature = Signature{Method: method}
	return json.Marshal(c)
}

// Sign signs the result as it stands: with key or, if it is nil, with a plain hash.
func (res *Result) Sign(key *keys.Key) error {
	b, err := res.signed(key.Method())
	res.Signature = Signature{key.Method(), key.Sum(b)}
	return err
}

// SignedWith tells whether the signature is that of key.
func (res *Result) SignedWith(key *keys.Key) bool {
	b, err := res.signed(key.Method())
	return err == nil && res.Signature.Method == key.Method() && keys.Same(res.Signature.Value, key.Sum(b))
}

// Verify returns what is wrong with the signature, or "". key is the class's, nil for none;
// a student's is derived from it.
func (res *Result) Verify(key *keys.Key) string {
	switch m := res.Signature.Method; {
	case m != keys.Hash && m != keys.Class && m != keys.Student:
		return fmt.Sprintf("the signature's method %s is unknown", plain.Quote(m))
	case m != keys.Hash && key == nil:
		return "the result is signed with a key, and no key was given"
	case m == keys.Hash && key != nil:
		return "the result is not signed with the key"
	case m == keys.Student && key.Method() == keys.Class:
		own, err := key.For(res.Student, res.Seed)
		if err != nil {
			return "the result is signed with a student's key, and the class's " + err.Error()
		}
		if !res.SignedWith(own) {
			return fmt.Sprintf("the signature is not that of %s with the seed %d: the name, the seed or the file was changed after it was written, or it was signed with another key", plain.Quote(res.Student), res.Seed)
		}
		return ""
	}
	if !res.SignedWith(key) {
		return "the signature does not fit: the file was changed after it was written, or signed with another key"
	}
	return ""
}

// Marshal writes the result as a file.
func (res *Result) Marshal() ([]byte, error) {
	b, err := json.MarshalIndent(res, "", " ")
	return append(b, '\n'), err
}

// maxResultBytes is more than any lesson gives.
const maxResultBytes = 4 << 20

// LoadResult reads a result file; errors are *sounds.InputError.
func LoadResult(path string) (*Result, error) {
	f, err := os.Open(path)
	if err != nil {
		msg := "cannot be read"
		if os.IsNotExist(err) {
			msg = "no such file"
		}
		return nil, &sounds.InputError{Path: path, Msg: msg, Err: err}
	}
	defer f.Close()
	b, err := io.ReadAll(io.LimitReader(f, maxResultBytes+1))
	if err != nil {
		return nil, &sounds.InputError{Path: path, Msg: "cannot be read", Err: err}
	}
	if len(b) > maxResultBytes {
		return nil, &sounds.InputError{Path: path, Msg: "is too long for a result"}
	}
	res, err := ParseResult(b)
	if err != nil {
		return nil, &sounds.InputError{Path: path, Msg: err.Error(), Err: err}
	}
	return res, nil
}

// ParseResult reads a result as its JSON has it; the signature is not looked at.
func ParseResult(b []byte) (*Result, error) {
	var res Result
	if err := strictJSON(b, &res); err != nil {
		return nil, fmt.Errorf("is not a lesson's result: %s", err)
	}
	if res.Format != 1 {
		return nil, fmt.Errorf("has format %d; this program knows format 1", res.Format)
	}
	return &res, nil
}

// strictJSON refuses what it does not know: a field nobody reads could not be
// checked.
func strictJSON(b []byte, dst any) error {
	d := json.NewDecoder(bytes.NewReader(b))
	d.DisallowUnknownFields()
	if err := d.Decode(dst); err != nil {
		return err
	}
	if _, err := d.Token(); err != io.EOF {
		return errors.New("something follows after its end")
	}
	return nil
}
