package gain

import "gainwright/scenes/kit"

// IDs of the scene's controls and nodes, besides those that others have too.
const (
	idDiagram     = "diagram"  // the level diagram in words; a node
	idSpectrum    = "spectrum" // what clipping adds, while it is shown; a node
	idStripOvers  = "overs"    // what went over; a node
	idStripResult = "result"   // what became of the take; a node

	idSpoken    = kit.IDListen + "spoken" // the performance itself is heard
	idMended    = kit.IDListen + "mended" // what the fast method makes of the take's clipped strip is heard
	idSurprises = "surprises"             // in a take the talker does things unasked, or not
	idAgain     = "again"                 // the next take has the last one's performance
	idTake      = "take."                 // and a number: shows that earlier take of this visit

	idScopeNearer  = kit.Scopes + "nearer"  // shows less, larger
	idScopeFarther = kit.Scopes + "farther" // shows more
)
