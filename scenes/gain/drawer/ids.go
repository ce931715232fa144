package drawer

// IDs of the panels' controls.
const (
	IDStrips        = "strips"        // opens and closes what concerns the strips as such
	IDAdd           = "strips.add"    // another strip, set like the one shown
	IDSafety        = "strips.safety" // a strip that follows the one shown 12 dB lower
	IDRemove        = "strips.remove" // takes the last strip away
	IDCopyStrip     = "copy.strip"    // all that are not locked are set like the one shown
	IDCopyStation   = "copy.station"  // the same for the open station alone
	IDStripMic      = "mic."          // and dynamic, condenser or clip-on: set up as that class of microphone
	IDStripRecorder = "recorder."     // and handheld, limiter, quiet or float: set up as that class of recorder
	IDStripLock     = "lock"          // the strip keeps its settings, or not
)
