package model

// Answers are a student's answers written down beforehand, to play a lesson
// unattended: to try a lesson out, or to see that its model answers pass.
//
//	lesson: gain-and-headroom
//	answers:
//	  guess: b                          # a choice: letter, number or text
//	  level: -3.5                       # a number
//	  meter: = laugh.A.headroom_db      # read off the take
//	  set: {A.preamp.gain_db: 34}       # a task: settings
//	  ride: {A.preamp.gain_db: 40, changes: [{at_s: 3, A.preamp.gain_db: 34}]}
//	  why: The laugh is louder.         # in words
//	  ears: [A, B, A, A]                # blind trials
//
// Tasks may be left out: then the take is recorded as the bench stands.
type Answers struct {
	Lesson string
	Steps  map[string]Answer
}

// Answer is what is done in one step: answers, or settings and changes of a take.
type Answer struct {
	Texts    []string
	Settings []Setting
	Changes  []Change
}
