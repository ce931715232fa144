package room

import "gainwright/scenes/bench"

// MendedNames are what listening to a mended strip is called.
var MendedNames = [bench.MaxStrips]string{"Listen to strip A mended", "Listen to strip B mended", "Listen to strip C mended", "Listen to strip D mended"}

// NoTakeWords stand where a take would, the longest that fits.
var NoTakeWords = []string{"No take yet. Set the gain while the talker talks, then record. The loudest moment is still to come.",
	"No take yet. Set the gain, then record.", "No take yet."}
