package program

import "gainwright/sounds"

// noticeSeconds is how long what happened is shown.
const noticeSeconds = 10

// slowWords are told when the performance is not made in time.
const slowWords = "This machine is too slow to go on without gaps: close other programs, or take a smaller window."

// notes are what the program has to say beside the scene: that there is no sound, or
// that the machine is too slow. One at a time stands over what the scene says.
type notes struct {
	now   string
	at    float64 // when it came, seconds
	under string  // what the scene had to say then
	words string  // what the scene says
	since float64 // when it began to say that
}

// sync takes over what there is to say: of the sound, of a slow machine. Words of the
// scene that are still new matter more than that a machine is slow, and so does a
// missing sound, which the slow machine may be the least cause of.
func (n *notes) sync(sound string, slow bool, words string, now float64) {
	if words != n.words {
		n.words, n.since = words, now
	}
	note := sound
	if note == "" && slow && (n.now == slowWords || words == "" || now >= n.since+noticeSeconds) {
		note = slowWords
	}
	if note != n.now {
		n.now, n.at, n.under = note, now, words
	}
}

// over is the note that stands over the scene's words, "" if none does: until the scene
// has something newer to tell, and that the machine is slow for as long as a notice.
func (n *notes) over(words string, now float64) string {
	switch {
	case n.under != "" && words != n.under,
		n.now == slowWords && n.under != "" && now > n.at+noticeSeconds:
		return ""
	}
	return n.now
}

// toldBySound is what is wrong with the sound that was turned on, or that it is not
// there yet.
func toldBySound(on bool, dev sounds.Device, running bool) string {
	switch {
	case !on:
		return ""
	case dev != nil && dev.Err() != nil:
		return "No sound: " + dev.Err().Error()
	case !running:
		return "Sound is starting."
	}
	return ""
}
