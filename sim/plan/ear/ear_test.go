package ear

import (
	"math"
	"testing"

	"gainwright/sim/plan"
)

// pulses is talk as a computer would make it: utterances of a sine at a level, with
// pauses; its rms and peaks follow from the sine.
func pulses(level float64, n int) []float64 {
	const rate = 48000
	amp := math.Sqrt2 * 20e-6 * math.Pow(10, level/20)
	var x []float64
	for range n {
		for i := range 2 * rate {
			x = append(x, amp*math.Sin(2*math.Pi*200*float64(i)/rate))
		}
		x = append(x, make([]float64, rate/2)...)
	}
	return x
}

// A sine's level is its rms, its peak 3.01 dB above: that is what is heard of it, and a
// laugh that is 12 dB louder is one laugh with its own peak.
func TestEar(t *testing.T) {
	x := pulses(62, 6)
	loud := pulses(74, 1)
	x = append(x, loud...)
	at := 6 * 2.5
	e := Recording(x, 48000, func(s float64) Sort {
		if s >= at {
			return Laugh
		}
		return Talk
	})
	e.Add(Window{}, Talk)
	h := e.Heard(true)
	if h.Utterances != 6 || math.Abs(h.LevelDB-62) > 0.05 {
		t.Errorf("%d utterances of %.2f dB, want 6 of 62", h.Utterances, h.LevelDB)
	}
	if h.Asked != 1 || math.Abs(h.AskedPeakDB-77.01) > 0.05 || h.Laughs != 0 {
		t.Errorf("heard %+v, want one laugh on request with a peak of 77.01 dB", h)
	}
	if h := e.Heard(false); h.Laughs != 1 || h.Asked != 0 {
		t.Errorf("by themselves: %+v", h)
	}
}

// Nothing said is nothing heard, a tenth of a second is no utterance, and only so many
// are remembered.
func TestEarForgets(t *testing.T) {
	var e Listener
	if e.Heard(false) != (plan.Heard{}) {
		t.Errorf("nothing said: %+v", e.Heard(false))
	}
	say := func(ms float64, n int) {
		for range n {
			e.Add(Window{Peak: 1, MeanSquare: ms}, Talk)
		}
		for range pause {
			e.Add(Window{}, Talk)
		}
	}
	if say(0.1, 1); e.Utterances() != 0 {
		t.Errorf("a tenth of a second counts as %d utterances", e.Utterances())
	}
	for range most {
		say(0.1, 10)
	}
	for range most {
		say(0.001, 10)
	}
	// 0.001 Pa² is 63.98 dB re (20 µPa)².
	if h := e.Heard(false); h.Utterances != most || math.Abs(h.LevelDB-63.98) > 0.01 {
		t.Errorf("heard %+v, want the last %d utterances of 63.98 dB", h, most)
	}
}
