package practice

// IDs of the scene's controls and nodes.
const (
	idTalk     = "practice.talk"     // the conversation happens, once; breaks it off; record does the same
	idNext     = "practice.next"     // the next guest
	idForget   = "practice.forget"   // forgets all scores; has to be pressed twice
	idOther    = whoIs + "other"     // the guest is a stranger
	idYou      = whoIs + "you."      // and the name of a voice that is kept: the guest is the learner, with that voice
	idTry      = whoIs + "try"       // shows “Your voice”, where none is kept
	idPictures = "practice.pictures" // levels and waves in place of the words, where there is no room for both

	idGuest   = "practice.guest"   // who is there; a node
	idNow     = "practice.now"     // what goes on; a node
	idLive    = "practice.live"    // what the meter says; a node
	idScore   = "practice.score"   // what came of it; a node
	idPart    = "practice.part."   // and a number: a part of the score; a node
	idHistory = "practice.history" // the scores so far; a node
)

const whoIs = "practice.guest_is." // what the choice of the guest begins with

const own = "practice." // what the IDs of the scene's own begin with
