package repair

import (
	"fmt"
	"math"

	"gainwright/sim/meter"
	"gainwright/sim/repair/restore"
)

// A Mender declips a stream whose ceiling is known, with bounded memory: about
// seven seconds of signal. Its output is that of Declip on the whole, on one core.
type Mender struct {
	bench   *restore.Bench
	level   float64
	rate    int
	reach   int
	longest int
	in      []float64 // from base on
	base    int       // index of in[0] in the stream
	done    int       // samples given out
	at      []int     // clipped samples not yet restored
	end     int       // samples fed
	fixed   map[int]float64
	out     []float64
}

// NewMender starts a stream clipped at ±ceiling, a magnitude above 0.
func NewMender(rate int, e Effort, ceiling float64) (*Mender, error) {
	if err := firstOf(Declip{Effort: e}.Validate(), meter.CheckRate(rate)); err != nil {
		return nil, err
	}
	if !(ceiling > 0) || math.IsInf(ceiling, 0) {
		return nil, &SettingError{"declip", "ceiling", fmt.Sprintf("%v is not a positive level", ceiling)}
	}
	b := restore.NewBench(rate, e)
	return &Mender{bench: b, level: ceiling, rate: rate, reach: b.Reach(), longest: 3 * rate, fixed: map[int]float64{}}, nil
}

// Write takes the next samples and returns those that are finished, valid until
// the next call.
func (m *Mender) Write(x []float64) []float64 { return m.advance(x, false) }

// Flush ends the stream and returns the rest.
func (m *Mender) Flush() []float64 { return m.advance(nil, true) }

func (m *Mender) advance(x []float64, last bool) []float64 {
	for _, v := range x {
		if !valid(v) {
			v = 0
		}
		if math.Abs(v) >= m.level {
			m.at = append(m.at, m.end)
		}
		m.in = append(m.in, v)
		m.end++
	}
	ready := m.end
	for len(m.at) > 0 {
		// The same cuts as islands makes.
		j := 1
		for j < len(m.at) && m.at[j]-m.at[j-1] <= m.reach && m.at[j]-m.at[0] < m.longest {
			j++
		}
		to := m.at[j-1] + 1
		open := j == len(m.at) && m.at[j-1]-m.at[0] < m.longest && m.end-m.at[j-1] <= m.reach
		if !last && (open || m.end < to+m.reach) {
			ready = m.at[0]
			break
		}
		start, end := max(0, m.at[0]-m.reach), min(m.end, to+m.reach)
		part := m.in[start-m.base : end-m.base]
		c := Known(part, m.level)
		q := c.stretch(part)
		out := make([]float64, len(part))
		m.bench.Mend(out, q)
		for _, p := range m.at[:j] {
			m.fixed[p] = out[p-start]
		}
		m.at = append(m.at[:0], m.at[j:]...)
	}
	m.release(ready)
	return m.out
}

// release moves what is settled, up to sample ready, to out, and forgets what no
// later island can look back at.
func (m *Mender) release(ready int) {
	m.out = m.out[:0]
	for ; m.done < ready; m.done++ {
		v := m.in[m.done-m.base]
		if f, ok := m.fixed[m.done]; ok {
			v = f
			delete(m.fixed, m.done)
		}
		m.out = append(m.out, v)
	}
	if keep := m.done - m.reach; keep > m.base+m.rate {
		m.in = append(m.in[:0], m.in[keep-m.base:]...)
		m.base = keep
	}
}
