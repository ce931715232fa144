package talker

// IDs of who talks and what they do.
const (
	idTalker    = "talker."         // and captain, joss, edwin, maren, ilse or pip: who talks
	idEvent     = "event."          // and talk (ordinary again), louder (from now on), laugh, lean_in (for four seconds), cough or, of a voice of one's own, shout: what the talker does
	idLive      = "live"            // the learner's microphone drives the strips, once a question is answered; again to end it
	idPhones    = "live.headphones" // what is live is heard, for who wears headphones
	idLiveState = "live.state"      // how late what is live comes, and its breaks; a node
	idFileLevel = "file.level_db"   // level of a recording performed: 40 to 110 dB SPL at 1 m (loudest second)
)
