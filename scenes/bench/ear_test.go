package bench

import (
	"math"
	"testing"

	"gainwright/sounds/voice"
)

// The sound check tells how loud the guest talks: within 1.5 dB of the level that ANSI
// S3.5-1997 gives for normal effort, 62.35 dB SPL at 1 m, to which the talkers are levelled;
// turning the gain changes nothing of that, and a laugh is no talk.
func TestHeard(t *testing.T) {
	s := newSession(t)
	s.Run(20 * Rate)
	h, _ := s.Heard()
	if h.Utterances < 5 || math.Abs(h.LevelDB-62.35) > 1.5 {
		t.Errorf("heard %d utterances of %.1f dB SPL, want 62.35", h.Utterances, h.LevelDB)
	}
	setGain(t, s, 0, 12)
	if err := s.Trigger("laugh"); err != nil {
		t.Fatal(err)
	}
	s.Run(10 * Rate)
	g, _ := s.Heard()
	if math.Abs(g.LevelDB-h.LevelDB) > 0.7 || g.Utterances <= h.Utterances {
		t.Errorf("after a turn of the gain and a laugh talk is %+v, was %+v", g, h)
	}
	if g.Asked != 1 || g.AskedPeakDB < h.LevelDB+15 {
		t.Errorf("the laugh that was asked for: %+v", g)
	}
	if err := s.SetTalker(voice.Talkers()[1].Name); err != nil {
		t.Fatal(err)
	}
	if h, _ := s.Heard(); h.Any() {
		t.Errorf("somebody else sits there, and was heard: %+v", h)
	}
}

// What is heard in a take counts as of itself, and a performance given again tells
// nothing new.
func TestHeardInTakes(t *testing.T) {
	s := newSession(t)
	s.Run(2 * Rate)
	if err := s.Record(false); err != nil {
		t.Fatal(err)
	}
	s.Run(4 * Rate)
	if err := s.Trigger("laugh"); err != nil {
		t.Fatal(err)
	}
	s.Run(8 * Rate)
	s.Stop()
	s.Run(4800)
	_, h := s.Heard()
	rev := s.HeardRev()
	if h.Laughs != 1 || h.Utterances < 2 {
		t.Errorf("heard %+v in the take", h)
	}
	record(t, s, true, 13)
	if _, again := s.Heard(); again != h || s.HeardRev() != rev {
		t.Errorf("the same performance again made %+v of %+v", again, h)
	}
}
