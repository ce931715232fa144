package first

// IDs of the scene's controls and nodes.
const (
	idGain  = own + "gain_db" // 0 to 70 dB, as A.gain_db
	idMeter = own + "meter"   // the level of the file, and the band where its highest belongs
	idGo    = own + "record"  // starts the take, ends it; record does the same
	idHear  = own + "hear"    // plays the laugh as strip A recorded it
	idOther = own + "other"   // plays it as the strip 12 dB lower did
	idAgain = own + "again"   // back to the knob, for the same performance
	idNext  = own + "next"    // the next step
	idVoice = own + "voice"   // shows “Your voice”, where none is kept yet
	idAll   = own + "all"     // all tabs, from now on at every visit

	idTalker  = own + "talker"  // who is there; a node
	idSay     = own + "say"     // what to do; a node
	idVerdict = own + "verdict" // what became of strip A; a node
	idWave    = own + "wave"    // its wave in words; a node
	idLower   = own + "lower"   // the other strip's; a node
	idLevels  = own + "levels"  // the level diagram in words; a node
)

const own = "first." // what the IDs of the scene begin with
