package practice

// IDs of the scene's controls and nodes.
const (
	idTalk     = "practice.talk"     // the conversation happens, once; breaks it off; record does the same
	idNext     = "practice.next"     // the next guest
	idForget   = "practice.forget"   // forgets all scores; has to be pressed twice
	idPictures = "practice.pictures" // levels and waves in place of the words, where there is no room for both

	idGuest   = "practice.guest"   // who is there; a node
	idNow     = "practice.now"     // what goes on; a node
	idLive    = "practice.live"    // what the meter says; a node
	idScore   = "practice.score"   // what came of it; a node
	idPart    = "practice.part."   // and a number: a part of the score; a node
	idHistory = "practice.history" // the scores so far; a node
)

const own = "practice." // what the IDs of the scene's own begin with
