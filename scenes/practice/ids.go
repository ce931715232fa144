package practice

// IDs of the scene's controls and nodes.
const (
	idGain    = "practice.gain_db" // 0 to 65 dB, as A.gain_db
	idLimiter = groupLimiter + "." // and off, before or after, as A.limiter
	idTalk    = "practice.talk"    // the conversation happens, once; breaks it off; record does the same
	idNext    = "practice.next"    // the next guest
	idForget  = "practice.forget"  // forgets all scores; has to be pressed twice
	idHalf    = groupHalf + "."    // and panel or bench: the half that is shown where there is room for one

	idGuest   = "practice.guest"   // who is there; a node
	idNow     = "practice.now"     // what goes on; a node
	idLive    = "practice.live"    // what the meter says; a node
	idScore   = "practice.score"   // what came of it; a node
	idPart    = "practice.part."   // and a number: a part of the score; a node
	idHistory = "practice.history" // the scores so far; a node
)

// Choices of which one holds.
const (
	groupLimiter = own + "limiter"
	groupHalf    = own + "half"
)

const own = "practice." // what the IDs of the scene's own begin with
