package mine

// IDs of the scene's controls and nodes, besides those that others have too.
const (
	idAsk     = "voice.ask"          // asks for the microphone
	idStop    = "voice.stop"         // lets the microphone go; what was recorded stays
	idBegin   = "voice.begin"        // begins the step shown, and ends it
	idBack    = "voice.back"         // goes back to the step before, to do it again
	idSkip    = "voice.skip"         // leaves the step out: the laugh or the call
	idAgain   = "voice.again"        // records the laugh once more, into the voice that was recorded just now
	idKept    = "voice.kept."        // and a number: takes a voice that is kept in this browser
	idName    = "voice.name"         // takes text: the name under which the voice is kept
	idKeep    = "voice.keep"         // keeps it in this browser
	idDelete  = "voice.delete"       // deletes it there; has to be pressed twice
	idWAV     = "voice.save"         // hands it out as WAV
	idAnew    = "voice.anew"         // begins anew; what is not kept is lost, so it has to be pressed twice
	idLouder  = "voice.louder_db"    // by how much one talks louder than most: −10 to 10 dB
	idPlaced  = groupPlaced + "."    // and ordinary or measured: what places the level of talk
	idLevel   = "voice.level_db_spl" // the level that a sound level meter read: 30 to 110 dB SPL at 1 m
	idPerform = "voice.perform"      // performs it on the bench, and shows that
	idPlan    = "voice.plan"         // plans for it as the guest, and shows that
	idStep    = "voice.step"         // what is to be done now; a node
	idHears   = "voice.level"        // how loud it is now; a node
	idCard    = "voice.card"         // what to think of what came through the microphone; a node
	idGap     = "voice.distance"     // the distance between talk and laugh; a node
)

// Choices of which one holds.
const groupPlaced = "voice.placed"
