package scenes

// NewProgram makes the program with all its scenes, showing the first. A nil host is
// Silent.
func NewProgram(host Host) (*Program, error) {
	return newProgramOf(host, func(sh Shell) []Scene {
		g := newGainScene(sh)
		return []Scene{g, newTwinScene(sh), newMendScene(sh), newPlanScene(sh), newLessonScene(sh, g), newPracticeScene(sh, g)}
	})
}
