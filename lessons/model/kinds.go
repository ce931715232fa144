package model

// titles name the kinds of steps for students.
var titles = map[Kind]string{
	Say: "Read", Predict: "Predict before you hear", Do: "Task", Record: "Record", Listen: "Listen", Mend: "Mend and compare",
	Plan: "Plan the hour", Twin: "One file, two performances",
	Ask: "Question", Explain: "In your own words", Reveal: "What came of it",
}

// KindTitle names a kind of step for students.
func KindTitle(k Kind) string { return titles[k] }
