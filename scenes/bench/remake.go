package bench

import "gainwright/sim"

// remaking is a take being made again, a step at a time.
type remaking struct {
	r      Recipe
	take   *Take
	perf   *performer
	strips [MaxStrips]*sim.Strip
	taps   [MaxStrips]*sim.Taps
	cut    [MaxStrips]*sim.Taps
	peaks  [MaxStrips]peaks
	to     [MaxStrips][sim.NumStations]float64
	feed   []float64
	lean   leaning
	noted  int
	change int
	// restore leaves the bench as it is set up.
	restore bool
}

// goOn makes the next block; it reports whether the take is complete.
func (m *remaking) goOn(spare *[]*chunk) bool {
	t := m.take
	t.ready(spare)
	m.perf.read(m.feed)
	for at := 0; at < len(m.feed); {
		n := min(sessionBlock, len(m.feed)-at)
		if t.skip > 0 {
			n = min(n, t.skip)
		}
		in := m.feed[at : at+n]
		at += n
		f := t.Frames()
		t.note(&m.noted, f, func(at int64) { m.lean = leaning{on: true, start: at} }, func() { m.lean = leaning{} })
		for m.change < len(m.r.Changes) && m.r.Changes[m.change].At <= f {
			c := &m.r.Changes[m.change]
			t.change(c.Strip, t.End[c.Strip], c.Chain)
			m.change++
		}
		for i := range m.r.N {
			c := t.End[i]
			if m.lean.on {
				c.DistanceM = leanAt(c.DistanceM, float64(f-m.lean.start)/Rate)
			}
			if c != m.strips[i].Chain() {
				if err := m.strips[i].Apply(c); err != nil {
					panic("bench: " + err.Error()) // its parts were valid
				}
			}
			m.strips[i].Process(in, m.taps[i])
		}
		if t.skip > 0 {
			t.skip -= n
			continue
		}
		for i := range m.r.N {
			m.peaks[i].of(m.taps[i])
			m.to[i] = sim.ToFullScale(m.strips[i].Chain())
		}
		if !t.record(&m.taps, &m.cut, &m.peaks, &m.to) || t.Frames() >= m.r.Frames {
			return true
		}
	}
	return false
}
