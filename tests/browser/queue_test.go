//go:build full

package browser

import (
	"encoding/json"
	"fmt"
	"math"
	"path/filepath"
	"testing"
	"time"

	"gainwright/tests/limited"
)

// queued is what testdata/queue.mjs prints; frames at 48 kHz.
type queued struct {
	Breaks, Lost, Wrong, Heard, Asked, Sent, Dropped int
	Depth, Silent, Behind                            []int // each second
}

func runQueue(t *testing.T, seconds int, stalls ...string) (q queued) {
	t.Helper()
	args := append([]string{"testdata/queue.mjs", filepath.Join(root, "sounds/speaker/worklet.js"), fmt.Sprint(seconds)}, stalls...)
	cmd := limited.Command(t, 5*time.Minute, "node", args...)
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%v: %v\n%s", args, err, out)
	}
	if err := json.Unmarshal(out, &q); err != nil {
		t.Fatal(err)
	}
	t.Logf("%d stalls: %d breaks, %d frames lost, depth at first %d, in the end %d", len(stalls), q.Breaks, q.Lost, q.Depth[0], q.Depth[len(q.Depth)-1])
	if q.Wrong > 0 {
		t.Errorf("%d of %d samples are not the next in turn", q.Wrong, q.Heard)
	}
	return q
}

// The worklet's queue, with the real processor and a program that answers at once,
// but for pauses.
func TestQueue(t *testing.T) {
	const ms = 48
	// A prompt program: no break, and the queue gets short.
	q := runQueue(t, 150)
	if end := q.Depth[len(q.Depth)-1]; q.Breaks != 0 || end > 25*ms || q.Heard < 149*1000*ms {
		t.Errorf("a prompt program: %+v", q)
	}
	// One that is away for 40 ms every other second: no break, and the queue just
	// bridges that.
	var pauses []string
	for i := range 60 {
		pauses = append(pauses, fmt.Sprintf("%g:0.04", 1.5+2*float64(i)))
	}
	q = runQueue(t, 120, pauses...)
	if end := q.Depth[len(q.Depth)-1]; q.Breaks != 0 || end < 45*ms || end > 75*ms {
		t.Errorf("40 ms away: %+v", q)
	}
	// Away for 200 ms: one break of what the queue did not hold; afterwards it does.
	q = runQueue(t, 60, "10:0.2", "20:0.2", "30:0.2")
	if q.Breaks != 1 || q.Lost < 200*ms-4096 || q.Lost > 175*ms || q.Depth[12] < 200*ms {
		t.Errorf("200 ms away: %+v", q)
	}
	// Away for longer than any queue is: each time is told, and the clock stays right.
	q = runQueue(t, 60, "10:1", "20:1", "30:1")
	if played := q.Heard + q.Lost; q.Breaks != 3 || played < 59*1000*ms || played > 60*1000*ms {
		t.Errorf("a second away: %+v", q)
	}
	if q.Sent-q.Heard > 300*ms {
		t.Errorf("%d frames wait in the queue after breaks", q.Sent-q.Heard)
	}
}

// Sound outlasts stalls of every kind: at the latest a second after the stall, or
// after an audio thread that had no time has caught up, it is back for good, no more
// waits in the queue than shall, and each sample is in its place.
func TestQueueOutlastsStalls(t *testing.T) {
	for _, kind := range []string{"away", "breathe", "starve", "suspend"} {
		for _, length := range []float64{0.5, 2, 10} {
			// Twice: what is lost may add up.
			first, second := 10.0, 24.0
			q := runQueue(t, 40, fmt.Sprintf("%g:%g:%s", first, length, kind), fmt.Sprintf("%g:%g:%s", second, length, kind))
			for _, at := range []float64{first, second} {
				back := at + length + 1
				if kind == "starve" {
					back += length / 9 // it runs ten times as fast as time
				}
				for s := int(math.Ceil(back)); s < int(at)+14; s++ {
					if q.Silent[s] > 0 || q.Behind[s] > q.Depth[s] {
						t.Errorf("%s for %g s at %g s: in second %d %d frames are silent, %d wait, %d shall", kind, length, at, s, q.Silent[s], q.Behind[s], q.Depth[s])
					}
				}
			}
			if kind == "breathe" && q.Breaks > 0 {
				t.Errorf("breathing for %g s: %d breaks", length, q.Breaks)
			}
			if kind == "starve" && length == 10 && q.Dropped == 0 {
				t.Error("nothing was dropped: the test does not reach what it is for")
			}
		}
	}
}
