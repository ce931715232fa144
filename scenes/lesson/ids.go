package lesson

// IDs of the scene's controls and nodes.
const (
	idLesson   = "lesson."            // what the IDs of a lesson begin with; play, loop, take.at_s and the caution's behind it are those of a comparison
	idOpen     = "lesson.open"        // asks for a lesson file of one's own
	idName     = "lesson.name"        // the name that a result carries ("set" with Text)
	idBegin    = "lesson.begin."      // and a lesson, or own. and one of one's own: begins it or goes on with it
	idList     = "lesson.list"        // back to the list; the progress is kept
	idPictures = "lesson.pictures"    // levels and waves in place of the words, where there is no room for both
	idAnswer   = "lesson.answer."     // and a letter: marks an answer
	idText     = "lesson.text"        // an answer in figures or words ("set" with Text)
	idCommit   = "lesson.commit"      // commits the answer: it stands
	idSet      = "lesson.set."        // and the lesson's key, as in lesson.set.A.preamp.gain_db, and for a choice a point and the word: a setting that the step unlocks
	idRecord   = "lesson.record"      // gives the take, or gives it up; record does the same
	idHear     = groupHear + "."      // and a name: what is heard in a comparison; trial in a blind one
	idTrial    = "lesson.trial."      // and a name: the answer to a trial; it stands
	idReadings = "lesson.readings"    // shows all readings of the last take, or those the step names
	idTalker   = groupWho + ".talker" // the lesson's talker gives the takes, where a voice of one's own may, too
	idYou      = groupWho + ".you."   // and the name of a voice that is kept: that gives them
	idTry      = groupWho + ".try"    // shows “Your voice”, where none is kept
	idNext     = "lesson.next"        // the next step
	idGiveUp   = "lesson.give_up"     // goes on from a task that is not met
	idSave     = "lesson.save"        // hands out the result of a finished lesson
	idAnew     = "lesson.anew"        // begins a finished lesson anew
	idReview   = "lesson.review"      // begins the mixed review, or goes on to its next task
	idForget   = "lesson.forget"      // leaves a finished lesson and forgets who was here

	idStanding   = "lesson.standing"    // where one stands with the lessons; a node of the list
	idWhere      = "lesson.where"       // which step of which lesson; a node
	idStep       = "lesson.step"        // its text; a node
	idShown      = "lesson.shown"       // the picture beside it; a node
	idCheck      = "lesson.check."      // and a number: what is asked of a take; a node
	idFeedback   = "lesson.feedback."   // and a number: a hint; a node
	idReply      = "lesson.reply"       // what there is to say to an answer; a node
	idPrediction = "lesson.prediction." // and a number: what was predicted; a node
	idCaution    = "lesson.caution."    // and a number: a caution; a node
	idReading    = "lesson.reading."    // and its key: a reading; a node
	idBlocked    = "lesson.blocked"     // why Next is refused; a node
	idOutcome    = "lesson.outcome"     // what came of the lesson; a node
	idFault      = "lesson.fault."      // and a number: a fault of a file; a node
)

// groupWho is the choice of who gives the takes.
const groupWho = "lesson.who"

// groupHear are the choices of what is heard.
const groupHear = "lesson.hear"

const trialName = "trial" // behind idHear
