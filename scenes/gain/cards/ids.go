package cards

import "gainwright/scenes/kit"

// IDs of the cards that are not a view of the lower panel.
const (
	idTalker = kit.Cards + "talker" // in a narrow window: who talks, and what they do
	idLevels = kit.Cards + "levels" // in a narrow window: the level diagram
	idListen = kit.Cards + "listen" // in a narrow window: what is heard, and where in the take
)
