package window

import "gainwright/scenes/ui"

// inbox keeps keys and intents in the order in which they came. An app takes the
// intents before a frame and the keys with it, so that an intent that came after a key
// has to wait for the next frame: whoever presses Enter and then Tab within one
// frame must not have pressed what comes after.
type inbox struct {
	intents []ui.Intent
	after   []int // for each intent, how many of the keys came before it
	keys    []ui.KeyPress
}

func (b *inbox) key(k ui.KeyPress) { b.keys = append(b.keys, k) }

func (b *inbox) put(it ui.Intent) {
	b.intents = append(b.intents, it)
	b.after = append(b.after, len(b.keys))
}

// waiting tells whether there is an intent that no frame has taken yet.
func (b *inbox) waiting() bool { return len(b.intents) > 0 }

// take appends what the next frame may have: intents up to the first that came
// after a key, and the keys up to the next intent.
func (b *inbox) take(intents []ui.Intent, keys []ui.KeyPress) ([]ui.Intent, []ui.KeyPress) {
	n := 0
	for n < len(b.intents) && b.after[n] == 0 {
		n++
	}
	intents = append(intents, b.intents[:n]...)
	k := len(b.keys)
	if n < len(b.intents) {
		k = b.after[n]
	}
	keys = append(keys, b.keys[:k]...)
	b.intents = append(b.intents[:0], b.intents[n:]...)
	b.after = append(b.after[:0], b.after[n:]...)
	for i := range b.after {
		b.after[i] -= k
	}
	b.keys = append(b.keys[:0], b.keys[k:]...)
	return intents, keys
}
