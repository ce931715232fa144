package kit

// IDs that more than one package of the scenes has. An ID that ends in a point has something
// behind it, one called IDStrip stands behind a strip's letter and a point. What is said of
// each stands in the list of package scenes, too.
const (
	IDTabGain     = "tab.gain"     // shows “Set the gain”; a tab that would end a running take has to be pressed twice, and says so
	IDTabTwin     = "tab.twin"     // shows “One file, two talkers”
	IDTabMend     = "tab.mend"     // shows “Mend it later”
	IDTabPlan     = "tab.plan"     // shows “Plan the session”
	IDTabLessons  = "tab.lessons"  // shows “Lessons”
	IDTabPractice = "tab.practice" // shows “Practice”
	IDTabRecorder = "tab.recorder" // shows “Your recorder”
	IDTabVoice    = "tab.voice"    // shows “Your voice”
	IDTabFirst    = "tab.first"    // shows “First guest”, which has no tab

	IDStatus = "status" // the latest thing to be spoken; a node, a live region

	IDIdea = "idea" // which idea a presentation shows; a node

	IDUndo = "undo" // takes the last change of a setting back
	IDRedo = "redo" // makes it again

	IDSave         = "save."         // and A to D: hands out the file of that strip as WAV
	IDSaveSpoken   = "save.spoken"   // hands out what was spoken as WAV
	IDSetupLink    = "setup.link"    // puts a link that carries all settings on the clipboard
	IDSetupCode    = "setup.code"    // hands that link out as a picture that a phone reads
	IDSetupSave    = "setup.save"    // hands the settings out as a scenario file
	IDSetupOpen    = "setup.open"    // asks for a scenario file
	IDSetupReset   = "setup.reset"   // all settings as at a first visit
	IDSetupPlanned = "setup.planned" // has “Set the gain” tell what the plan set up; between scenes

	IDStripGain    = "gain_db"  // 0 to 70 dB
	IDStripLimiter = "limiter." // and off, before or after: where the limiter is, as seen from the converter
	IDStripMeter   = "meter"    // the level of the file; a node

	IDRuler      = "ruler"       // the gain ruler in words; a node
	IDRulerTake  = "ruler.take"  // the window for the take that was recorded
	IDRulerHour  = "ruler.hour"  // the window for an hour with this guest
	IDRulerScore = "ruler.score" // what was told before a take, beside fixed rules; a node

	IDShow        = "show."          // and A to D: diagram and waves show that strip
	IDListen      = "listen."        // and A to D: that strip is heard, and shown
	IDMatched     = "listen.matched" // all sources equally loud, at −23 LUFS, or as they are
	IDHoldReset   = "hold.reset"     // forgets the loudest moment so far
	IDView        = "view."          // and waves, spectrum, result or file: what the lower panel shows
	IDStation     = "station."       // and talker, room, microphone, preamp, input_limiter, converter, limiter or file: opens and closes its words and settings
	IDDrawerClose = "drawer.close"   // closes whichever is open

	IDCheck         = "check"          // sound check: the talker talks, nothing is kept
	IDRecord        = "record"         // starts a take, ends it
	IDPlay          = "play"           // plays the take, pauses
	IDLoop          = "loop"           // plays it over and over
	IDTakeAt        = "take.at_s"      // place in the take, seconds
	IDTakeSave      = "take.save"      // hands out the take as an archive
	IDCautionPlay   = "caution.play"   // plays clipped sound after the caution
	IDCautionCancel = "caution.cancel" // does not
	IDFileOpen      = "file.open"      // asks for a recording: to perform instead of a talker, or to mend
	IDMendFile      = "mend.file"      // has “Mend it later” take a recording that is brought along; between scenes

	IDLessonPair = "lesson.on_pair" // has “Lessons” begin the one on the limiter's place, on the recorder of an equipment file; between scenes
	IDPlanYou    = "plan.you."      // and the name of a voice: the guest that is planned for is the learner, as heard in it
	IDYou        = "you."           // and the name of a voice that is kept: the learner's own performs

	IDScopeAt      = "scope.at_ms"   // waves at that place of the take, milliseconds
	IDScopeSpan    = "scope.span_ms" // how much they show: 1 ms to the whole take (60 ms without one)
	IDScopeLoudest = "scope.loudest" // waves at the loudest moment, or where most was cut off
)

// What the IDs of several begin with.
const (
	Cautions = "caution." // the caution before clipped sound
	Scopes   = "scope."   // what of the waves is shown
	Rulers   = "ruler."   // which question the ruler answers
	Cards    = "card."    // which card a narrow window shows
)
