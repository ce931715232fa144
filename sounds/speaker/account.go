package speaker

// account is what the sender knows of a queue at the other end of a line: what it
// has sent, what the queue has told, and, between its messages, what its clock lets
// it suppose. Messages come late and in heaps, after the page was held up, and the
// queue drops what does not fit when it gets too much at once; so every message
// states what is, and not what has changed. Frames are counted from the first, times
// are frames of the queue's clock.
type account struct {
	sent  int64
	plays bool
	base  int64 // while it plays: time − frames gone
	gone  int64 // while it waits: frames gone, that is played or dropped
	// limit is the most that can be gone, whatever old messages say: no frame is
	// played before it is sent.
	limit int64
	last  int64 // time of the last look
}

// playing takes the news that from some time on time − frames gone has been base.
func (a *account) playing(base int64) { a.plays, a.base = true, base }

// waiting takes the news that the queue waits for more after so many frames.
func (a *account) waiting(gone int64) {
	a.plays, a.gone = false, gone
	a.limit = max(a.limit, gone)
}

// dropped takes the news that so many frames did not fit.
func (a *account) dropped(n int64) {
	a.gone += n
	a.base -= n
	a.limit += n
}

// left is how many of the frames sent are still in the queue or on their way.
func (a *account) left(now int64) int64 {
	a.limit += max(0, now-a.last)
	a.last = now
	gone := a.gone
	if a.plays {
		gone = now - a.base
	}
	return a.sent - max(0, min(gone, a.limit, a.sent))
}

// send notes that n frames are sent, at the time of the last look.
func (a *account) send(n int64) {
	a.limit = min(a.limit, a.sent)
	a.sent += n
}
