package repair

import (
	"context"
	"math"
	"testing"

	"gainwright/sim"
	"gainwright/sim/meter"
	sr "gainwright/sim/repair"
	"gainwright/sounds/voice"
)

// takes runs one performance through strips at the given gains and returns their
// files and what was there to be recorded, at the first strip's level.
func takes(t *testing.T, gains ...float64) (files [][]float64, truth []float64) {
	t.Helper()
	p, err := voice.New(voice.Script{
		{Do: "pause", OverS: 1.2},
		{Text: "The river was up that spring, and the cable sang all night.", Effort: voice.Raised},
		{Do: "laugh", Effort: voice.Loud},
	}, "captain", 2)
	if err != nil {
		t.Fatal(err)
	}
	var strips []*sim.Strip
	for _, g := range gains {
		c := sim.Default()
		c.Preamp.GainDB = g
		c.Room.NoiseDBA = 5 // a dead room: the recorder's own noise is what is heard
		c.Microphone.SelfNoiseDBA = 5
		c.Converter.DynamicRangeDBA = 92
		s, err := sim.NewStrip(voice.Rate, c, 7)
		if err != nil {
			t.Fatal(err)
		}
		strips = append(strips, s)
	}
	files = make([][]float64, len(gains))
	_, err = sim.Run(context.Background(), p, strips, sim.RunOptions{Sink: func(i int, tp *sim.Taps) error {
		files[i] = append(files[i], tp.Wave[sim.AtFile]...)
		if i == 0 {
			truth = append(truth, tp.True...)
		}
		return nil
	}})
	if err != nil {
		t.Fatal(err)
	}
	return files, truth
}

func treat(t *testing.T, s sr.Stack, x []float64) ([]float64, []sr.Report) {
	t.Helper()
	y, reps, err := s.Apply(context.Background(), x, voice.Rate, sr.Run{})
	if err != nil {
		t.Fatal(err)
	}
	return y, reps
}

// What the engine recorded hot, low, and on a safety track, treated.
func TestTreatmentsOnTakes(t *testing.T) {
	const right, hot, low = 34, 56, 22
	files, truth := takes(t, right, hot, low, hot-24)
	quiet := func(x []float64) float64 {
		return meter.PowerDB(meter.MeanSquare(x[voice.Rate/4 : voice.Rate]))
	}

	// 12 dB too low: gain and noise reduction against the take made right.
	out, reps := treat(t, sr.Stack{sr.Gain{GainDB: right - low}, sr.DefaultDenoise()}, files[2])
	ref, made, words := quiet(files[0]), quiet(out), sr.SDR(truth, out, false)
	t.Logf("noise at the right gain %.1f dB, low and treated %.1f dB; words %.1f dB; %s", ref, made, words, reps[1].Verdict)
	if made > ref+1 || words < 20 {
		t.Errorf("noise %.1f dB (right gain %.1f dB), SDR %.1f dB", made, ref, words)
	}

	// Too hot: what each treatment brings back.
	hotTruth := append([]float64(nil), truth...)
	for i := range hotTruth {
		hotTruth[i] *= math.Pow(10, (hot-right)/20.0)
	}
	before := sr.SDR(hotTruth, files[1], true)
	if before > 15 {
		t.Fatalf("the hot take is hardly clipped: SDR %.1f dB", before)
	}
	for _, c := range []struct {
		name        string
		tr          sr.Treatment
		least, most float64
	}{
		{"limiter", sr.Limit{CeilingDBFS: -6, LookAheadMS: 2, ReleaseMS: 100}, math.Inf(-1), 0.05},
		{"compressor", sr.DefaultCompress(), math.Inf(-1), 0.05},
		{"declip, fast", sr.Declip{Effort: sr.Fast}, 4, 60},
		{"splice", sr.DefaultSplice(files[3]), 20, 200},
	} {
		y, reps := treat(t, sr.Stack{c.tr}, files[1])
		d := sr.Compare(hotTruth, files[1], y, c.name == "declip, fast" || c.name == "splice")
		t.Logf("%s: %.1f to %.1f dB (%+.2f): %s | %s", c.name, d.BeforeDB, d.AfterDB, d.GainDB, reps[0].Verdict, d.Verdict())
		if d.GainDB < c.least || d.GainDB > c.most {
			t.Errorf("%s changed the distance by %.2f dB", c.name, d.GainDB)
		}
	}
}
