package lessons

import (
	"embed"
	"fmt"
	"slices"
	"strings"

	"gainwright/sounds/scenario/plain"

	"gainwright/sounds"
)

//go:embed builtin/*.yaml builtin/answers/*.yaml
var builtin embed.FS

// builtinOrder is the order in which the built-in lessons build on one another.
var builtinOrder = []string{
	"what-the-numbers-mean",
	"gain-and-headroom",
	"limiter-too-late",
	"before-or-after",
	"float-recording",
	"price-of-headroom",
	"distance-beats-gain",
	"reading-meters",
	"safety-track",
	"mending",
	"blind-listening",
	"delivery",
	"whole-session",
}

// BuiltinNames lists the built-in lessons in the order to take them.
func BuiltinNames() []string { return slices.Clone(builtinOrder) }

// Builtin returns the built-in lessons in the order to take them.
func Builtin() []*Lesson {
	var out []*Lesson
	for _, n := range builtinOrder {
		l, err := LoadBuiltin(n)
		if err != nil {
			panic("lessons: " + err.Error()) // tested
		}
		out = append(out, l)
	}
	return out
}

// LoadBuiltin returns the built-in lesson of that name.
func LoadBuiltin(name string) (*Lesson, error) {
	data, err := BuiltinText(name)
	if err != nil {
		return nil, err
	}
	return Parse(name+".yaml", data)
}

// BuiltinText is the file of a built-in lesson, to start one's own from.
func BuiltinText(name string) ([]byte, error) {
	if !slices.Contains(builtinOrder, name) {
		return nil, &sounds.InputError{Msg: fmt.Sprintf("there is no built-in lesson %s%s", plain.Quote(name), didYouMean(name, builtinOrder))}
	}
	return builtin.ReadFile("builtin/" + name + ".yaml")
}

// ModelAnswers gives the answers that pass a built-in lesson.
func ModelAnswers(name string) ([]byte, error) {
	if !slices.Contains(builtinOrder, name) {
		return nil, &sounds.InputError{Msg: fmt.Sprintf("there is no built-in lesson %s%s", plain.Quote(name), didYouMean(name, builtinOrder))}
	}
	return builtin.ReadFile("builtin/answers/" + name + ".yaml")
}

// wrongAnswers gives answers that do not pass; a comment in the first line names
// the step that decides.
func wrongAnswers(name string) (data []byte, step string, err error) {
	data, err = builtin.ReadFile("builtin/answers/" + name + ".wrong.yaml")
	if err != nil {
		return nil, "", err
	}
	first, _, _ := strings.Cut(string(data), "\n")
	return data, strings.TrimSpace(strings.TrimPrefix(first, "# fails at")), nil
}
