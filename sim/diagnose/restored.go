package diagnose

import (
	"context"
	"math"

	"gainwright/sim/repair"
)

// restored returns by how much the highest restored peak passes its ceiling, dB;
// ok is false when nothing could be restored.
func (c *Channel) restored(v *verdict) (rise float64, ok bool) {
	for i := range c.places.used {
		l := &c.places.list[i]
		if !l.have || len(l.x) < int(c.rate/50) {
			continue
		}
		var clips repair.Clips
		if v.main == Moving {
			clips = c.movingClips(l.x)
		} else {
			clips = c.wallClips(v, l.x)
		}
		if len(clips.Runs) == 0 {
			continue
		}
		y, _, err := repair.Declip{Effort: repair.Fast, Clips: &clips}.Apply(context.Background(), l.x, int(c.rate), repair.Run{Cores: 1})
		if err != nil {
			continue
		}
		for _, r := range clips.Runs {
			// A run at the end of the stretch is half a run.
			if r.Start < 64 || r.End > len(y)-64 || r.Level <= 0 {
				continue
			}
			for _, v := range y[r.Start:r.End] {
				rise = max(rise, db(math.Abs(v)/r.Level))
			}
			ok = true
		}
	}
	return rise, ok
}

// wallClips marks what lies at the walls.
func (c *Channel) wallClips(v *verdict, x []float64) repair.Clips {
	out := repair.Clips{Kind: repair.FlatHard}
	for k, g := range []float64{1, -1} {
		if v.history[k] != Full && v.history[k] != Lower {
			continue
		}
		level := c.sides[k].peak
		wall := level*(1-1e-7) - 2.4*c.o.Step
		for i := 0; i < len(x); i++ {
			if g*x[i] < wall {
				continue
			}
			j := i
			for j < len(x) && g*x[j] >= wall {
				j++
			}
			out.Runs = append(out.Runs, repair.ClipRun{Start: i, End: j, Sign: int8(g), Level: level})
			out.Samples += j - i
			i = j
		}
	}
	return out
}

// movingClips marks the straight tops of a stretch.
func (c *Channel) movingClips(x []float64) repair.Clips {
	out := repair.Clips{Kind: repair.FlatMoving}
	d := New(int(c.rate), c.o)
	d.collect = func(r run) {
		g, sign := 1.0, int8(1)
		if !r.up {
			g, sign = -1, -1
		}
		level := math.Inf(1)
		for _, v := range x[r.start:r.end] {
			level = min(level, g*v)
		}
		if level > 0 {
			out.Runs = append(out.Runs, repair.ClipRun{Start: r.start, End: r.end, Sign: sign, Level: level})
			out.Samples += r.end - r.start
		}
	}
	d.Write(x)
	d.finish()
	return out
}
