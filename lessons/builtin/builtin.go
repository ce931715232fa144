// Package builtin is the lessons that come with the program, with their model answers.
package builtin

import (
	"embed"
	"fmt"
	"slices"
	"strings"

	"gainwright/lessons/format"
	"gainwright/lessons/model"
	"gainwright/sounds"
	"gainwright/sounds/equipment"
	"gainwright/sounds/scenario/plain"
)

//go:embed *.yaml answers/*.yaml
var files embed.FS

// builtinOrder is the order in which the built-in lessons build on one another.
var builtinOrder = []string{
	"what-the-numbers-mean",
	"gain-and-headroom",
	"limiter-too-late",
	"before-or-after",
	"where-does-your-limiter-sit",
	"float-recording",
	"price-of-headroom",
	"distance-beats-gain",
	"reading-meters",
	"what-went-over",
	"read-the-manual",
	"safety-track",
	"mending",
	"blind-listening",
	"three-ways",
	"delivery",
	"whole-session",
}

// Names lists the built-in lessons in the order to take them.
func Names() []string { return slices.Clone(builtinOrder) }

// All returns the built-in lessons in the order to take them.
func All() []*model.Lesson {
	var out []*model.Lesson
	for _, n := range builtinOrder {
		l, err := Load(n)
		if err != nil {
			panic("lessons: " + err.Error()) // tested
		}
		out = append(out, l)
	}
	return out
}

// Load returns the built-in lesson of that name.
func Load(name string) (*model.Lesson, error) { return LoadOn(nil, name) }

// LoadOn is Load on a user's recorder: see format.ParseOn.
func LoadOn(r *equipment.Recorder, name string) (*model.Lesson, error) {
	data, err := Text(name)
	if err != nil {
		return nil, err
	}
	return format.ParseOn(r, name+".yaml", data)
}

// Text is the file of a built-in lesson, to start one's own from.
func Text(name string) ([]byte, error) {
	if !slices.Contains(builtinOrder, name) {
		return nil, &sounds.InputError{Msg: fmt.Sprintf("there is no built-in lesson %s%s", plain.Quote(name), plain.DidYouMean(name, builtinOrder))}
	}
	return files.ReadFile(name + ".yaml")
}

// ModelAnswers gives the answers that pass a built-in lesson.
func ModelAnswers(name string) ([]byte, error) {
	if !slices.Contains(builtinOrder, name) {
		return nil, &sounds.InputError{Msg: fmt.Sprintf("there is no built-in lesson %s%s", plain.Quote(name), plain.DidYouMean(name, builtinOrder))}
	}
	return files.ReadFile("answers/" + name + ".yaml")
}

// wrongAnswers gives answers that do not pass; a comment in the first line names
// the step that decides.
func wrongAnswers(name string) (data []byte, step string, err error) {
	data, err = files.ReadFile("answers/" + name + ".wrong.yaml")
	if err != nil {
		return nil, "", err
	}
	first, _, _ := strings.Cut(string(data), "\n")
	return data, strings.TrimSpace(strings.TrimPrefix(first, "# fails at")), nil
}
