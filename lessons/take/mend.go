package take

import (
	"context"
	"fmt"
	"math"
	"slices"

	"gainwright/lessons/model"
	"gainwright/lessons/names"
	"gainwright/sim/meter"
	"gainwright/sim/repair"
	"gainwright/sounds/scenario"
	"gainwright/sounds/voice"
)

// Treatments are what a lesson can do to a file, each as it is set by default; declip at
// its fastest, since a student waits for it. With undo it leaves out what a limiter behind
// the converter did, as far as the clipped tops tell it.
var Treatments = []string{"declip", undoing, "limiter", "compressor", "high-pass", "noise-reduction"}

const undoing = "declip:gain_reduction=undo" // as the command repair has it

func treatment(name string) repair.Treatment {
	switch name {
	case "declip":
		return repair.Declip{Effort: repair.Fast}
	case undoing:
		return repair.Declip{Effort: repair.Fast, Reduction: repair.UndoReduction}
	case "limiter":
		return repair.DefaultLimit()
	case "compressor":
		return repair.DefaultCompress()
	case "high-pass":
		return repair.DefaultHighPass()
	case "noise-reduction":
		return repair.DefaultDenoise()
	}
	return nil
}

// Mend treats the file of one strip of a take in every way given. Of each it measures
// sdr_db (how far it is from what the strip would have given had nothing been cut off, in
// dB, its best-suited gain taken out), peak_dbfs, true_peak_dbtp and loudness_lufs.
func (b *Bench) Mend(ctx context.Context, p *Performed, strip string, ways []model.Way) ([]*Wave, error) {
	i := slices.IndexFunc(p.Strips, func(s scenario.Strip) bool { return s.Name == strip })
	if i < 0 {
		return nil, fmt.Errorf("there is no strip %s", strip)
	}
	k := &kept{both: true}
	if _, err := b.run(ctx, p, p.Strips[i], own(p.Changes, strip, p.Strips), k, nil); err != nil {
		return nil, err
	}
	file, truth := doubles(k.file), doubles(k.truth)
	var out []*Wave
	for _, w := range ways {
		x := file
		for _, name := range w.Treatments {
			t := treatment(name)
			if t == nil {
				return nil, fmt.Errorf("there is no treatment %s", name)
			}
			var err error
			x, _, err = t.Apply(yielding{ctx, b.Yield}, x, voice.Rate, repair.Run{Progress: func(float64) {
				if b.Yield != nil {
					b.Yield()
				}
			}})
			if err != nil {
				return nil, fmt.Errorf("%s: %w", w.Name, err)
			}
		}
		wave, err := mendedWave(w.Name, x, truth)
		if err != nil {
			return nil, err
		}
		out = append(out, wave)
	}
	return out, nil
}

// yielding is a context that is asked often by what has no progress to tell.
type yielding struct {
	context.Context
	yield func()
}

func (y yielding) Err() error {
	if y.yield != nil {
		y.yield()
	}
	return y.Context.Err()
}

// Mended gives the readings of Mend. What was treated alike is treated once.
func (b *Bench) Mended(ctx context.Context, p *Performed, strip string, ways []model.Way) (map[string]names.Measured, error) {
	return b.once(p, strip, ways, func() (map[string]names.Measured, error) {
		waves, err := b.Mend(ctx, p, strip, ways)
		if err != nil {
			return nil, err
		}
		m := map[string]names.Measured{}
		for _, w := range waves {
			m[w.Name] = w.Measured
		}
		return m, nil
	})
}

func doubles(x []float32) []float64 {
	out := make([]float64, len(x))
	for i, v := range x {
		out[i] = float64(v)
	}
	return out
}

// mendedWave measures a file that was treated.
func mendedWave(name string, x, truth []float64) (*Wave, error) {
	w := &Wave{Name: name, Rate: voice.Rate, File: make([]float32, len(x))}
	peak := 0.0
	for i, v := range x {
		w.File[i] = float32(v)
		peak = max(peak, math.Abs(v))
	}
	loud, err := Loudness(w)
	if err != nil {
		return nil, err
	}
	tp := meter.NewTruePeak(voice.Rate)
	tp.Write(x)
	tp.Flush()
	w.Measured = names.Measured{
		"sdr_db":    names.Number(repair.SDR(truth, x, false)),
		"peak_dbfs": names.Number(meter.DB(peak)), "true_peak_dbtp": names.Number(tp.DB()), "loudness_lufs": names.Number(loud),
	}
	return w, nil
}
