package mine

import "gainwright/sounds/own"

// What is said before anything is asked.
const (
	wordsWhat    = "Your own laugh over your own talk is what headroom is for. Lend the bench your voice: a sentence, some lines, a laugh. Then you are the guest, and you set the gain for yourself."
	wordsPrivate = "Nothing leaves this computer, and nothing is kept unless you keep it. The microphone is off again as soon as the last step is done, or when you leave this page."
	wordsCare    = "Put on headphones first, turned low: a loudspeaker beside an open microphone can howl. Nothing is played while you speak."
	wordsNoMic   = "This window has no way to a microphone. Bring a recording of yourself instead, or stay with the built-in talkers in “Set the gain”."
	wordsFile    = "Or bring a recording of yourself: some talk, then a laugh. Talk and laugh are found in it."
	wordsIf      = "Pressures hold if your talk is ordinary: 60 dB SPL at 1 m. The distance from talk to laugh needs no such assumption."
	wordsRead    = "Pressures hold by what your sound level meter read."
)

// step is what is asked for.
type step struct {
	title, ask, say string
	fixed           float64 // seconds after which it ends by itself, whatever is heard
	may             bool    // may be left out
}

const sentence = "“The ferry crosses the river every half hour, and it has never once been late.”"

var steps = [own.NumParts]step{
	own.Quiet: {title: "Quiet", ask: "Say nothing for two seconds, and sit still. This is how your room sounds.", fixed: 2},
	own.Talk:  {title: "A sentence", ask: "Say this as you would to a guest across the table:", say: sentence},
	own.Again: {title: "The same again", ask: "Once more, just as before. If it comes back at another level, something on the way turns it.", say: sentence},
	own.Read: {title: "Three lines", ask: "Tell this, as if it had happened to you:",
		say: "“My grandfather rang the bell whenever the fog came down. One night a cow answered him from the other bank. He swore to the end that she had paid.”"},
	own.Laugh: {title: "A laugh", ask: "Think of the funniest thing you know, and laugh out loud. Nobody listens. As you really laugh, not as you laugh on request.", may: true},
	own.Hey:   {title: "A call", ask: "Call “Hey!” once, as to somebody on the far bank.", may: true},
}
