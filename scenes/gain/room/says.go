package room

import "gainwright/scenes/bench"

// EventNames are what can be asked of a talker, EventHints what that does.
var EventNames = [5]string{"Talk normally", "Talk louder", "Laugh", "Lean in to the microphone", "Cough"}

var EventHints = [5]string{
	"Back to ordinary talk at the usual distance.",
	"An eighth of the way from quiet talk to a shout, and stays there.",
	"Laughs once, a good deal louder than the talk.",
	"Comes within 3 cm of the microphone for a while.",
	"Coughs once.",
}

// MendedNames are what listening to a mended strip is called.
var MendedNames = [bench.MaxStrips]string{"Listen to strip A mended", "Listen to strip B mended", "Listen to strip C mended", "Listen to strip D mended"}

// NoTakeWords stand where a take would, the longest that fits.
var NoTakeWords = []string{"No take yet. Set the gain while the talker talks, then record. The loudest moment is still to come.",
	"No take yet. Set the gain, then record.", "No take yet."}
