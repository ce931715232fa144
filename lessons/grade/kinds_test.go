package grade_test

import (
	"os"
	"slices"
	"testing"

	"gainwright/lessons/format"
	"gainwright/lessons/grade"
	"gainwright/lessons/internal/trial"
	"gainwright/lessons/model"
)

// A lesson with every kind of step, written from the README's chapter alone, is read without a
// fault, and so are its answers. (It is rehearsed in tests/lessons.)
func TestEveryKindOfStep(t *testing.T) {
	l := trial.Must(format.Load("testdata/every-kind.yaml"))
	trial.Must(format.ParseAnswers("answers", trial.Must(os.ReadFile("testdata/every-kind.answers.yaml")), l))
	for _, k := range model.Kinds {
		if !slices.ContainsFunc(l.Steps, func(s *model.Step) bool { return s.Kind == model.Kind(k) }) {
			t.Errorf("it has no %s step", k)
		}
	}
	if s := l.Step("rasp"); !s.Asks() {
		t.Error("its listen step asks nothing")
	}
}

// A prediction of one's own hits is no answer that a bench decides, to be passed on.
func TestHitsAreOnesOwn(t *testing.T) {
	l := trial.Lesson(t, "  - listen: Compare.\n    id: ears\n    strips: [A, spoken]", "  - predict: How many?\n    id: sure\n    choices: [{say: one, when: ears.hits <= 1}, {say: both, when: ears.hits > 1}]\n"+
		"  - listen: Compare.\n    id: ears\n    strips: [A, spoken]\n    blind: 2")
	shared := trial.Must(grade.Share(t.Context(), l, nil, 2, false, nil))
	if slices.ContainsFunc(shared, func(s grade.Shared) bool { return s.Step == "sure" }) || !slices.ContainsFunc(shared, func(s grade.Shared) bool { return s.Step == "guess" }) {
		t.Errorf("%+v", shared)
	}
}
