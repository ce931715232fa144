package window

import "gainwright/scenes/ui"

// inbox keeps keys and wishes in the order in which they came. An app takes the
// wishes before a frame and the keys with it, so that a wish that came after a key
// has to wait for the next frame: whoever presses Enter and then Tab within one
// frame must not have pressed what comes after.
type inbox struct {
	wishes []ui.Intent
	after  []int // for each wish, how many of the keys came before it
	keys   []ui.KeyPress
}

func (b *inbox) key(k ui.KeyPress) { b.keys = append(b.keys, k) }

func (b *inbox) wish(it ui.Intent) {
	b.wishes = append(b.wishes, it)
	b.after = append(b.after, len(b.keys))
}

// waiting tells whether there is a wish that no frame has taken yet.
func (b *inbox) waiting() bool { return len(b.wishes) > 0 }

// take appends what the next frame may have: wishes up to the first that came
// after a key, and the keys up to the next wish.
func (b *inbox) take(wishes []ui.Intent, keys []ui.KeyPress) ([]ui.Intent, []ui.KeyPress) {
	n := 0
	for n < len(b.wishes) && b.after[n] == 0 {
		n++
	}
	wishes = append(wishes, b.wishes[:n]...)
	k := len(b.keys)
	if n < len(b.wishes) {
		k = b.after[n]
	}
	keys = append(keys, b.keys[:k]...)
	b.wishes = append(b.wishes[:0], b.wishes[n:]...)
	b.after = append(b.after[:0], b.after[n:]...)
	for i := range b.after {
		b.after[i] -= k
	}
	b.keys = append(b.keys[:0], b.keys[k:]...)
	return wishes, keys
}
