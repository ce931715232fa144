package gain

import (
	"strings"
	"testing"
	"time"

	"gainwright/scenes/kit"
	"gainwright/scenes/scenetest"
)

func ruled(b *scenetest.Driver, words string) string {
	b.Helper()
	got := ""
	for end := time.Now().Add(time.Minute); time.Now().Before(end); time.Sleep(2 * time.Millisecond) {
		b.Wait(1.0 / 60)
		if got = b.Node(kit.IDRuler).Value; strings.Contains(got, words) {
			return got
		}
	}
	b.Fatalf("the ruler says %q, not %q", got, words)
	return ""
}

// TestRulerHears: what is heard of the guest moves what is told; a turn of the gain asks
// nothing anew; the take has its own window once there is one, and says what was told.
func TestRulerHears(t *testing.T) {
	b := gainBench(t)
	first := ruled(b, "nobody was heard yet")
	b.Wait(12)
	heard := ruled(b, "by what was heard so far")
	hour := func(s string) string { _, s, _ = strings.Cut(s, "For the hour: "); return s[:5] }
	// The captain talks at 62.35 dB SPL (ANSI S3.5 normal), the guest expected at 60.
	if hour(first) <= hour(heard) {
		t.Errorf("a louder guest was told %s, before %s", hour(heard), hour(first))
	}
	w := gainOf(b.P).win
	was := w.Hour(0)
	before := *was
	b.Set("A.gain_db", 31)
	b.Wait(1.0 / 60)
	if now := w.Hour(0); *now != before || !strings.Contains(b.Node(kit.IDRuler).Value, "Strip A at 31.0 dB: in the window") {
		t.Errorf("a turn of the gain made %+v of %+v: %q", *now, before, b.Node(kit.IDRuler).Value)
	}
	if n := b.Node(kit.IDRulerTake); !n.Disabled {
		t.Error("a window for a take that there is not")
	}
	b.Do("record")
	b.Wait(2)
	b.Do("event.laugh")
	b.Wait(4)
	b.Do("record")
	b.Wait(0.3)
	ruled(b, "This take needed at most ")
	b.Do(kit.IDRulerTake)
	ruled(b, "This take: at most ")
	if n := b.Node(kit.IDRulerScore); !strings.Contains(n.Value, "−12 dBFS") || !strings.Contains(n.Value, "−20 dBFS") {
		t.Errorf("the score: %q", n.Value)
	}
}
