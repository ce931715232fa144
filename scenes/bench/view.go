package bench

// Envelope is the lowest and highest of a stretch of a take, column by column.
type Envelope struct {
	Of     *Take
	Strip  int
	At     int64
	Frames int64
	Lo, Hi [numTaps][]float32
	Over   []bool
}

// Columns fills lo and hi with the extremes of n columns between two frames.
func (t *Take) Columns(e *Envelope, strip int, from, frames int64, n int) {
	for k := range numTaps {
		e.Lo[k], e.Hi[k] = grown(e.Lo[k], n), grown(e.Hi[k], n)
	}
	e.Over = grown(e.Over, n)
	total := t.frames.Load()
	for i := range n {
		a, b := from+frames*int64(i)/int64(n), from+frames*int64(i+1)/int64(n)
		a, b = max(a, 0), min(max(b, a+1), total)
		var lo, hi [numTaps]float32
		over := false
		if b-a >= 2*binFrames {
			for f := a / binFrames; f < b/binFrames; f++ {
				c := &t.bins[strip][f]
				for k := range numTaps {
					lo[k], hi[k] = min(lo[k], c.lo[k]), max(hi[k], c.hi[k])
				}
				over = over || c.over
			}
		} else {
			for f := a; f < b; f++ {
				c := t.chunks[strip][f/chunkFrames].Load()
				if c == nil {
					break
				}
				o := f % chunkFrames
				for k, v := range [numTaps]float32{c.truth[o].float(), c.demand[o].float(), c.conv[o].float(), c.file[o]} {
					if f == a {
						lo[k], hi[k] = v, v
					}
					lo[k], hi[k] = min(lo[k], v), max(hi[k], v)
				}
			}
		}
		for k := range numTaps {
			e.Lo[k][i], e.Hi[k][i] = lo[k], hi[k]
		}
		e.Over[i] = over
	}
}

func grown[T any](x []T, n int) []T {
	if cap(x) < n {
		return make([]T, n)
	}
	return x[:n]
}

// Tap gives the wave of panel i.
func (x *StripWindow) Tap(i int) *[WindowFrames]float32 {
	return [4]*[WindowFrames]float32{&x.Truth, &x.Demand, &x.Conv, &x.File}[i]
}
