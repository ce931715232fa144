package repair

import (
	"context"
	"math"
	"testing"

	"gainwright/sim"
	"gainwright/sounds"
	"gainwright/sounds/voice"
)

// floorOf runs x, pascal at 1 m, through a recorder in a room without noise, and returns the
// readings and, in dBFS (AES17), the noise of the same recorder while nobody speaks:
// measured on the file alone, so that no truth comes into it.
func floorOf(t *testing.T, x []float64, rate int) (r sim.Readings, silence float64) {
	t.Helper()
	take := func(x []float64) (sim.Readings, []float64) {
		c := sim.Default()
		c.Room.NoiseDBA = -100 // what a room would cover
		s, err := sim.NewStrip(rate, c, 7)
		if err != nil {
			t.Fatal(err)
		}
		read, err := sim.NewReadout(rate)
		if err != nil {
			t.Fatal(err)
		}
		var file []float64
		_, err = sim.Run(context.Background(), &sim.Samples{X: x}, []*sim.Strip{s}, sim.RunOptions{Sink: func(_ int, tp *sim.Taps) error {
			read.Write(tp)
			file = append(file, tp.Wave[sim.AtFile]...)
			return nil
		}})
		if err != nil {
			t.Fatal(err)
		}
		return read.Readings(), file
	}
	_, file := take(make([]float64, len(x)))
	sum := 0.0
	for _, v := range file {
		sum += v * v
	}
	r, _ = take(x)
	if r.Overs > 0 {
		t.Fatalf("%d Hz: %d overs", rate, r.Overs)
	}
	return r, float64(sim.RMSToDBFS(math.Sqrt(sum / float64(len(file)))))
}

// TestFloorUnderTalk: the noise that is read under talk full of s and sh is the noise
// that is there while nobody speaks, at every rate.
func TestFloorUnderTalk(t *testing.T) {
	for _, who := range []string{"captain", "maren"} {
		p, err := voice.New(voice.Script{{Text: "She sees six ships, and such a rush of fish splashes past us.", Effort: voice.Normal}}, who, 3)
		if err != nil {
			t.Fatal(err)
		}
		at48, err := p.Render(context.Background(), nil)
		if err != nil {
			t.Fatal(err)
		}
		for _, rate := range []int{16000, 44100, 48000} {
			x := sounds.ResampleAll([][]float64{at48}, voice.Rate, rate, sounds.Steep)[0]
			r, silence := floorOf(t, x, rate)
			t.Logf("%s, %d Hz: floor %.1f dBFS, silence %.1f, SNR %.1f, SDR %.1f", who, rate, r.NoiseFloorDBFS, silence, r.SNRDB, r.SDRDB)
			if d := float64(r.NoiseFloorDBFS) - silence; math.Abs(d) > 0.3 {
				t.Errorf("%s, %d Hz: a noise floor of %.1f dBFS is read, the file of silence has %.1f", who, rate, r.NoiseFloorDBFS, silence)
			}
		}
	}
}
