package past

// IDs of the panel.
const (
	idFileMend    = "file.mend"        // goes to “Mend it later” with the recording brought along
	idFileStop    = "file.stop"        // gives up reading it
	idFileChannel = groupChannel + "." // and 1, 2 or both: the channel of two that is meant
	idFilePlace   = groupPlace + "."   // and 1 to 5: of a long one, the ten minutes around that place
	idFinding     = "file.finding."    // and a number: what it tells of its past; a node
)

// Choices of which one holds.
const (
	groupChannel = "file.channel"
	groupPlace   = "file.place"
)
