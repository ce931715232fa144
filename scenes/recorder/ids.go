package recorder

// IDs of the scene's controls and nodes, besides those that others have too.
const (
	idMarks  = "recorder.marks"        // takes text: the marks of the knob at which sounds are recorded
	idSheet  = "recorder.sheet"        // hands out the page that leads through the series, with its sounds, as an archive
	idPart   = "recorder.part."        // and quiet, steps, loud, pair or anchor: what is recorded of that part, and what is missing; a node
	idStop   = "recorder.stop"         // gives up the recording that is being read
	idForget = "recorder.forget"       // takes all recordings out; has to be pressed twice
	idFile   = "recorder.file."        // and a number: chooses a recording, to say by hand what it is
	idIs     = groupIs + "."           // and quiet, plugged, steps, loud, off, on, pair or anchor: what the chosen recording is
	idIsMark = "recorder.is_mark"      // takes text: the mark at which it was made
	idReread = "recorder.read_so"      // reads it as that
	idDrop   = "recorder.take_out"     // takes it out
	idAnchor = groupAnchor + "."       // and none, talk, meter or calibrator: the level that is known
	idLevel  = "recorder.level_db_spl" // that level: 30 to 120 dB SPL, of a calibrator 70 to 130
	idSave   = "recorder.save"         // hands out the equipment file
	idUse    = "recorder.use"          // puts the bench, the planner and practice on this recorder, in this browser's later visits, too
	idLesson = "recorder.lesson"       // begins the lesson on the limiter's place, on this limiter
	idUnuse  = "recorder.use_no_more"  // forgets it there; the strips stay as they are
	idSide   = groupSide + "."         // and off or on: that recording of the pair is heard
	idAfter  = groupAfter + "."        // and nothing, limit, compress or declip: the pair is heard as recorded, or after that treatment
	idPage   = "recorder.handout"      // hands out one page on which the pair can be heard
	idKept   = "recorder.kept"         // what of all this is kept in this browser, and why what is not; a node
	idWork   = "recorder.work"         // what is being read; a node
	idTells  = "recorder.tells."       // and gain, noise, clip, words or limiter: what is known; a node
	idNotes  = "recorder.notes"        // what is to be said besides, and what is assumed; a node
)

// Choices of which one holds.
const (
	groupIs     = "recorder.is"
	groupSide   = "recorder.side"
	groupAfter  = "recorder.after"
	groupAnchor = "recorder.anchor"
)
