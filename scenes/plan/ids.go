package plan

// IDs of the scene's controls and nodes. Every assumption of the model and every limit
// is a number by its key, behind idOf.
const (
	idOf         = "plan."               // and a key, as distance_m, room.noise_dba, risk: a number, in cm and percent where it is a length or a share
	idMicrophone = groupMicrophone + "." // and dynamic, condenser or clip-on: the class of microphone
	idRecorder   = groupRecorder + "."   // and handheld, limiter, quiet or float: the class of recorder
	idOwn        = "plan.own_recorder"   // plans for the user's own recorder, where the bench knows it
	idLimiter    = groupLimiter + "."    // and off, before or after: where the limiter is
	idGuest      = groupGuest + "."      // and calm, ordinary or lively: the kind of conversation
	idAny        = groupWho + ".any"     // the guest may be anybody
	idTry        = "plan.try_voice"      // shows “Your voice”, where none is kept
	idView       = groupView + "."       // and remedies, matters, laughs or assumptions: what the list shows
	idReset      = "plan.reset"          // everything as at the start
	idGain       = "plan.gain_db"        // 0 to 70 dB: where the curves are read
	idUse        = "plan.use"            // takes that gain to “Set the gain”
	idCurves     = "plan.curves"         // the curves; a node
	idWork       = "plan.work"           // what is being simulated; a node
	idRemedy     = "plan.remedy."        // and a number: what would help; a node
	idNeed       = "plan.need."          // and a number: what would open the window; a node
	idSwing      = "plan.swing."         // and a number: what matters; a node
	idLaugh      = "plan.laugh."         // and a number: what a laugh in the sound check makes of it; a node
)

// Choices of which one holds.
const (
	groupMicrophone = "plan.microphone"
	groupRecorder   = "plan.recorder"
	groupLimiter    = "plan.limiter"
	groupView       = "plan.view"
	groupGuest      = "plan.guest"
	groupWho        = "plan.who"
)

// Keys of numbers that need something of their own: a distance and a noise that stand in
// the chain, the two limits.
const (
	keyDistance = "distance_m"
	keyRoom     = "room.noise_dba"
	keyRisk     = "risk"
	keyNoise    = "noise_lufs"
)
