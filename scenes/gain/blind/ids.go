package blind

// IDs of the controls of a comparison.
const (
	idStart      = "blind.start"       // prepares a blind comparison, then begins it
	idFirst      = "blind.first"       // another first sound
	idSecond     = "blind.second"      // another second sound
	idTrials     = "blind.trials"      // another number of trials
	idHearFirst  = "blind.hear_first"  // the first sound is heard
	idHearSecond = "blind.hear_second" // the second sound is heard
	IDHearX      = "blind.hear_x"      // X is heard
	idIsFirst    = "blind.is_first"    // the answer to a trial: X is the first
	idIsSecond   = "blind.is_second"   // the answer to a trial: X is the second
	idStop       = "blind.stop"        // ends the comparison; it counts for nothing
)
