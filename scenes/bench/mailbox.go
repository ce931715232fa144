package bench

import "sync/atomic"

// mailbox hands whole values from one goroutine to another: the writer never
// waits and allocates nothing, the reader always gets the newest complete one.
type mailbox[T any] struct {
	buf   [3]T
	w, r  uint32
	state atomic.Uint32 // index of the free buffer, and the mark of news
}

const news = 4

// init makes the zero mailbox ready.
func (m *mailbox[T]) init() {
	m.w, m.r = 0, 1
	m.state.Store(2)
}

// slot is where the writer writes the next value before send.
func (m *mailbox[T]) slot() *T { return &m.buf[m.w] }

// send publishes what is in the slot.
func (m *mailbox[T]) send() {
	m.w = m.state.Swap(m.w|news) & 3
}

// get returns the newest value; it stays as it is until the next get.
func (m *mailbox[T]) get() (v *T, fresh bool) {
	if m.state.Load()&news != 0 {
		m.r = m.state.Swap(m.r) & 3
		fresh = true
	}
	return &m.buf[m.r], fresh
}
