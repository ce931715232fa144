package plan

import "strings"

// Gains that the curves show.
const planGainStep = 0.5

// What can be up to date.
const (
	planHelps = iota
	planCurves
	planSpread
	planSure
	numKnown
)

// planView is what the lists show.
type planView uint8

const (
	planRemedies planView = iota
	planMatters
	planLaughs
	planAssumptions
	numPlanViews
)

var planViewWords = [numPlanViews]struct{ id, name, label, hint string }{
	{"remedies", "What would help", "what helps", "Changes of the set-up, the most helpful first."},
	{"matters", "What matters most", "what matters", "How far the upper end of the window moves when one assumption goes from its low to its high value."},
	{"laughs", "What a laugh in the sound check makes of it", "sound check", "If the laugh reads so much, set so much."},
	{"assumptions", "Every assumption", "assumptions", "All that the simulation takes for granted, with its source; all of it can be changed."},
}

// planMain are the settings in front, by key; the rest stands among the assumptions.
var planMain = []string{keyDistance, keyRoom, "minutes", "laughs_per_hour", "open_laugh.level_db", keyRisk, keyNoise}

// planScale is how a number is shown: distances in cm, shares in percent.
func planScale(key string) float64 {
	if key == keyRisk || key == keyDistance || strings.HasSuffix(key, "share") {
		return 100
	}
	return 1
}
