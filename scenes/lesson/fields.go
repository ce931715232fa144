package lesson

import (
	"gainwright/lessons/names"
	"gainwright/lessons/run"
	"gainwright/lessons/take"
	"gainwright/scenes/gain"
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/stage"
	"gainwright/scenes/ui"
	"gainwright/scenes/work"
	voices "gainwright/sounds/own"
	"gainwright/sounds/scenario"
)

// taker is who gives the takes of a lesson that allows a voice of one's own.
type taker struct {
	you   *voices.Guest // or nil: the talker
	tried string        // the name that was asked for by itself, since the lesson was begun with it
}

// Scene is "Lessons": the list of the built-in lessons and of one's own, and
// a lesson's step beside the live bench of "Set the gain", which is set up as the
// lesson says and whose controls are locked but for those that the step is about.
type Scene struct {
	shell kit.Shell
	g     *gain.Scene
	stage *stage.Stage
	who   *stage.Who
	taker taker

	items  []*lessonItem
	unread []string // built-in lessons still to be read
	faults []string // of the file opened last
	open   *ui.Button
	name   *kit.TextField
	draw   func() uint64 // a new student's seed

	way   way      // through the lessons
	came  came     // with the address
	given assigned // by a learning system, if one has the user take a lesson

	item     *lessonItem // the lesson that is on, or nil for the list
	foreign  bool        // another tab has stored its progress
	r        *run.Runner
	v        run.View
	scn      *scenario.Scenario        // the lesson's bench as it stands
	readings map[string]names.Measured // of the last take
	onBench  []string                  // the lesson's strips that the bench shows
	reply    string                    // told after the last answer
	dirty    bool                      // progress not stored yet
	storeAt  float64
	job      *work.Task
	doing    string
	took     func(err error)
	waves    []*take.Wave
	blind    bool          // the trial is what one hears
	sounded  float64       // for how many seconds the present trial has
	played   float64       // when that was last looked at
	outcomes []run.Outcome // of a finished lesson's predictions
	showAll  bool          // of the readings
	chosen   int           // answer marked, −1 for none

	cs       []ui.Control
	acts     kit.Acts
	listActs kit.Acts
	back     *ui.Button
	next     *ui.Button
	commit   *ui.Button
	record   *ui.Button
	giveUp   *ui.Button
	anew     *ui.Button
	forget   *ui.Button
	save     *ui.Button
	more     *ui.Check
	look     *ui.Check // the pictures in place of the words
	pictures bool
	answers  []*kit.AnswerRow
	write    *kit.TextField
	sets     []lessonSet
	heard    []*ui.Choice
	trials   []*ui.Button
	deck     *kit.Deck

	shown      shown
	show       kit.Slides
	area, foot ink.Rect
	tight      bool     // the page has a head
	head       ink.Rect // what the choices leave of the rooms' head
	rooms      stage.Rooms
	strip      ink.Rect
	list, step kit.Scroller
	large      float32  // how many times as large it is said
	asked      ink.Rect // what the step says
	judged     ink.Rect // what became of an answer or a take
	tocome     bool     // it is to come into view
	f          kit.Flow
	verdicts   []stage.Verdict
	barAt      ink.Rect
	why        ui.Para
	pointer    ink.Point
	status     string
}
