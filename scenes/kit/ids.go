package kit

// IDs that more than one scene has.
const (
	IDTabGain     = "tab.gain"     // shows “Set the gain”; a tab that would end a running take has to be pressed twice, and says so
	IDTabTwin     = "tab.twin"     // shows “One file, two talkers”
	IDTabMend     = "tab.mend"     // shows “Mend it later”
	IDTabPlan     = "tab.plan"     // shows “Plan the session”
	IDTabLessons  = "tab.lessons"  // shows “Lessons”
	IDTabPractice = "tab.practice" // shows “Practice”

	IDStatus = "status" // the latest thing to be spoken; a node, not a control

	IDRecord        = "record"         // starts a take, ends it
	IDPlay          = "play"           // plays the take, pauses
	IDLoop          = "loop"           // plays it over and over
	IDTakeAt        = "take.at_s"      // place in the take, seconds
	IDCautionPlay   = "caution.play"   // plays clipped sound after the caution
	IDCautionCancel = "caution.cancel" // does not
	IDMatched       = "listen.matched" // all sources equally loud, at −23 LUFS, or as they are
	IDFileOpen      = "file.open"      // asks for a recording: to perform instead of a talker, to mend, to answer with

	IDScopeAt      = "scope.at_ms"   // waves at that place of the take, milliseconds
	IDScopeSpan    = "scope.span_ms" // how much they show: 1 ms to the whole take (60 ms without one)
	IDScopeLoudest = "scope.loudest" // waves at the loudest moment, or where most was cut off

	// Between scenes.
	IDSetupPlanned = "setup.planned" // “Set the gain” tells what the plan set up
	IDMendFile     = "mend.file"     // “Mend it later” takes a recording that is brought along
)
