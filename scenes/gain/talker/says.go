package talker

// eventNames are what can be asked of a talker, in the order of bench.Events and then of a
// voice of one's own; eventHints what that does.
var eventNames = [6]string{"Talk normally", "Talk louder", "Laugh", "Lean in to the microphone", "Cough", "Shout"}

var eventHints = [6]string{
	"Back to ordinary talk at the usual distance.",
	"An eighth of the way from quiet talk to a shout, and stays there.",
	"Laughs once, a good deal louder than the talk.",
	"Comes within 3 cm of the microphone for a while.",
	"Coughs once.",
	"Your own “hey!”, once.",
}
