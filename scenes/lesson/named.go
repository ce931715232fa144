package lesson

import (
	"strings"

	"gainwright/lessons/model"
	"gainwright/lessons/run"
	"gainwright/scenes/ui"
)

// rename notes the name that results carry; other visits begin with it.
func (s *Scene) rename(it ui.Intent) error {
	s.name.SetText(strings.ReplaceAll(it.Text, "\n", " "))
	s.shell.Host().Store("student", s.name.Text())
	s.shell.Relayout() // whose key signs may be told
	return nil
}

// resultFile is what a result's file is called: with the name that was given, if one was.
func resultFile(res *run.Result) string {
	name := model.FileName(res.Student)
	if name == "" || strings.HasPrefix(res.Student, run.RandomName) {
		return res.Lesson.ID + "-result.json"
	}
	return res.Lesson.ID + "-" + name + "-result.json"
}
