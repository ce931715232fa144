package cards

// IDs of the cards that are not a view of the lower panel.
const (
	idTalker = "card.talker" // in a narrow window: who talks, and what they do
	idLevels = "card.levels" // in a narrow window: the level diagram
	idListen = "card.listen" // in a narrow window: what is heard, and where in the take
)
