package speaker

import (
	"math/rand/v2"
	"testing"
)

// line is a queue at the other end of a line, as worklet.js has it, and the line:
// messages in either direction wait until they are taken.
type line struct {
	clock, have, played, dropped int64
	waiting                      bool
	woke, silent                 int64
	arriving                     []int64 // frames, to the queue
	told                         []func(*account)
}

const ring, reserve, depth, quantum = 49152, 512, 4096, 128

func (q *line) take() {
	for _, n := range q.arriving {
		fits := min(n, ring-q.have)
		q.have += fits
		if over := n - fits; over > 0 {
			q.dropped += over
			q.told = append(q.told, func(a *account) { a.dropped(over) })
		}
		q.woke = -1e9
	}
	q.arriving = nil
}

func (q *line) play(feed func(*account)) {
	state := func(then func(*account)) {
		base, gone, waits := q.clock-q.played-q.dropped, q.played+q.dropped, q.waiting
		q.told = append(q.told, func(a *account) {
			if waits {
				a.waiting(gone)
			} else {
				a.playing(base)
			}
			then(a)
		})
	}
	nothing := func(*account) {}
	if depth-q.have >= workletBlockFrames && q.clock >= q.woke+480 {
		q.woke = q.clock
		state(feed)
	}
	if q.waiting && q.have >= reserve+quantum {
		q.waiting = false
		state(nothing)
	}
	n := int64(0)
	if !q.waiting {
		n = min(quantum, q.have)
		q.have -= n
		q.played += n
		if n < quantum {
			q.waiting = true
			state(nothing)
		}
	}
	q.silent += quantum - n
	q.clock += quantum
}

const workletBlockFrames = 256

// Whatever happens to the page, the audio thread and the line between them: half a
// second after all is well again there is sound, and what is thought to be in the
// queue is what is there.
func TestAccountComesRight(t *testing.T) {
	for seed := range uint64(300) {
		r := rand.New(rand.NewPCG(seed, 7))
		q := &line{waiting: true, woke: -1e9}
		a := &account{}
		feed := func(a *account) {
			for n := (depth - a.left(q.clock)) / workletBlockFrames; n > 0; n-- {
				a.send(workletBlockFrames)
				q.arriving = append(q.arriving, workletBlockFrames)
			}
			if l := a.left(q.clock); l < 0 || l > a.sent {
				t.Fatalf("seed %d: %d frames left of %d", seed, l, a.sent)
			}
		}
		owed := 0
		step := func(i int, plays, carries, hears, looks bool) {
			owed++
			for k := 0; k < 10 && owed > 0 && plays; k++ {
				owed--
				q.play(feed)
			}
			if carries && owed == 0 {
				q.take()
			}
			if hears {
				for _, f := range q.told {
					f(a)
				}
				q.told = q.told[:0]
			}
			if looks && i%4 == 0 {
				feed(a)
			}
		}
		for range 12 {
			length := int(375 * r.ExpFloat64()) // a second on average
			plays, carries, hears, looks := r.IntN(3) > 0, r.IntN(3) > 0, r.IntN(3) > 0, r.IntN(3) > 0
			for i := range length {
				step(i, plays, carries, hears, looks)
			}
			if r.IntN(3) == 0 {
				owed = 0 // it was the clock that stood
			}
		}
		for i := range 3750 { // until it has caught up, and what was too much is played
			step(i, true, true, true, true)
			if owed == 0 && i > 1000 {
				break
			}
		}
		q.silent = 0
		for i := range 750 {
			step(i, true, true, true, true)
		}
		if q.silent > 0 {
			t.Fatalf("seed %d: %d of 96000 frames are silent when all is well", seed, q.silent)
		}
		got, want := a.left(q.clock), q.have
		for _, n := range q.arriving {
			want += n
		}
		if got != want || want > depth {
			t.Fatalf("seed %d: %d frames are thought to be in the queue, %d are", seed, got, want)
		}
	}
}
