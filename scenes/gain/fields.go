package gain

import (
	"gainwright/scenes/bench"
	"gainwright/scenes/diagram"
	"gainwright/scenes/gain/blind"
	"gainwright/scenes/gain/cards"
	"gainwright/scenes/gain/drawer"
	"gainwright/scenes/gain/past"
	"gainwright/scenes/gain/result"
	"gainwright/scenes/gain/room"
	"gainwright/scenes/gain/talker"
	"gainwright/scenes/gain/waves"
	"gainwright/scenes/gain/window"
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
	"gainwright/scenes/work"
	"gainwright/sim"
	"gainwright/sounds/equipment"
)

// Scene is "Set the gain": the level diagram, the wave at four taps, two
// strips, what to listen to, the talker, the take.
type Scene struct {
	cards   *cards.Deck // of a narrow window
	cautBox ink.Rect    // the caution, while it waits for an answer
	shell   kit.Shell
	bench.Sight

	cs           []ui.Control
	acts         kit.Acts
	strip        [bench.MaxStrips]stripPanel
	show         [bench.MaxStrips]*ui.Choice
	forget       *ui.Button
	listen       [bench.NumListen]*ui.Choice
	drawer       *drawer.Drawer
	look         lowerView
	verdict      verdict
	views        [numViews]*ui.Choice
	near         *ui.Button // zooms in
	far          *ui.Button
	chance       *ui.Check
	spec         *waves.Spectrum
	card         result.Card
	win          *window.View
	blind        *blind.Run
	mend         mending
	file         past.Report
	log          bench.UndoLog[bench.Setup]
	stored       bench.Setup  // as the host has it
	begun        *bench.Setup // with what this visit began, until that is kept
	storedTakes  string       // as the host has them
	recorder     *equipment.Recorder
	storedRev    int     // of the session's recipes
	touched      float64 // when it was changed
	idea         int
	takes        []*ui.Choice // of this visit
	afterCaution func() error
	capP         ui.Para
	matched      *ui.Check
	who          *talker.Panel
	record       *ui.Button
	play         *ui.Button
	loop         *ui.Check
	check        *ui.Button
	again        *ui.Check
	sameOn       bool
	line         *ui.Timeline
	loudest      *ui.Button
	wave         *waves.View

	// The caution before clipped sound.
	caution              bool
	warned               *bench.Take // the take that was warned of
	cautPlay, cautCancel *ui.Button
	keep                 *ui.Button // saves the take

	overBins  int
	overTake  *bench.Take
	overShown int
	overs     []ui.Span

	// Where things are.
	wide, tight, listenRow       bool
	area, view                   ink.Rect
	waves, transport             ink.Rect
	low                          ink.Rect // Record and Play, where a phone lies on its side
	listenBox                    ink.Rect
	resultBox, noteBox, clockBox ink.Rect
	content                      float32
	scroll                       float32
	size                         struct{ w, h float32 }

	// While a lesson has the bench nothing is remembered for another visit, and the
	// strips may have names of its own.
	lent  bool
	names [bench.MaxStrips]string
	said  string // the result that stood there
	// Where a lent bench stands.
	room    room.Room
	column  kit.Scroller
	wasOpen sim.Station // the drawer as last laid out
	asked   bool        // and whether a caution was

	status string
	load   *work.Loading
	d      diagram.Diagram
	t      gainText
}

type stripPanel struct {
	compact bool
	box     ink.Rect
	title   ink.Rect
	line    ink.Rect // overs
	noise   ink.Rect
	label   ink.Rect // above the limiter's choices
	gain    *ui.Knob
	lim     [3]*ui.Choice
	meter   *ui.Meter
}

// What the lower panel shows, where no drawer is open.
type lowerView uint8

const (
	viewWaves lowerView = iota
	viewSpectrum
	viewResult
	viewFile
	numViews
)

// verdict is the opening of the result by itself when a take has ended.
type verdict struct {
	of     *bench.Take // recorded here; its result is still to be shown
	before lowerView   // what was shown until it opened
	opened bool        // nobody has chosen another view since
	tocome bool        // is to be scrolled into view
}

// What a presentation shows; ideaAll is the whole bench.
const (
	ideaAll = iota
	ideaDiagram
	ideaWaves
	ideaSpectrum
	ideaStrips
	ideaResult
	numIdeas
)

type gainText struct {
	over, noise  [bench.MaxStrips]ui.Strs
	clock        ui.Strs
	brief, full  ui.Strs
	cutOf        cutKey
	cut          string
	result, note ui.Para
	remade       ui.Strs
	remadeLine   []string
	caution      ui.Para
	wave         ui.Strs
}

type cutKey struct {
	s          string
	w, h, size float32
}
