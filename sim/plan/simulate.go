package plan

import (
	"context"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"
)

// An Event is one thing that happens in a session.
type Event struct {
	AtS     float64
	Kind    Kind
	LevelDB float64 // rms at 1 m, dB SPL, distance as planned
	CrestDB float64
	NearDB  float64 // louder by being nearer than planned
}

// PeakDB is the event's peak pressure as a level, 20·log10(peak/20 µPa), at 1 m
// if the planned distance were 1 m.
func (e Event) PeakDB() float64 { return e.LevelDB + e.CrestDB + e.NearDB }

// draw makes one session's events, calling each for every one; they do not come
// in order of time. Poisson counts, normal levels.
func (m *Model) draw(r *rand.Rand, each func(Event)) {
	talker := m.TalkerSDDB * r.NormFloat64()
	hours := m.Minutes / 60
	kinds := [numKinds]struct {
		mean, over, sd float64
		crest          Crest
	}{
		Talk:     {m.TalkPerMin * m.Minutes, 0, m.UtteranceSD, m.TalkCrest},
		Laugh:    {m.LaughPerHour * hours, m.LaughDB, m.LaughSDDB, m.LaughCrest},
		Outburst: {m.BurstPerHour * hours, m.BurstDB, m.BurstSDDB, m.BurstCrest},
		Cough:    {m.CoughPerHour * hours, m.CoughDB, m.CoughSDDB, m.CoughCrest},
	}
	for k := range kinds {
		d := &kinds[k]
		for n := poisson(r, d.mean); n > 0; n-- {
			t := r.Float64()
			e := Event{
				AtS: t * m.Minutes * 60, Kind: Kind(k),
				LevelDB: m.TalkLevelDB + talker + m.DriftDB*t + d.over + d.sd*r.NormFloat64(),
				CrestDB: d.crest.draw(r),
				NearDB:  m.DistanceSD * r.NormFloat64(),
			}
			if m.LeanShare > 0 && r.Float64() < m.LeanShare {
				e.NearDB += m.LeanDB
			}
			each(e)
		}
	}
}

// poisson draws a count; above 50 by the normal approximation with a continuity
// correction, whose error is far below that of the assumed rates.
func poisson(r *rand.Rand, mean float64) int {
	if mean <= 0 {
		return 0
	}
	if mean > 50 {
		return max(0, int(math.Floor(mean+math.Sqrt(mean)*r.NormFloat64()+0.5)))
	}
	limit, p, n := math.Exp(-mean), 1.0, -1
	for p > limit {
		p *= r.Float64()
		n++
	}
	return n
}

// Session returns the events of session number n in order of time: the very
// session that a Run with the same seed simulated under that number.
func (m Model) Session(seed uint64, n int) []Event {
	var es []Event
	m.draw(session(seed, n), func(e Event) { es = append(es, e) })
	slices.SortFunc(es, func(a, b Event) int {
		switch {
		case a.AtS < b.AtS:
			return -1
		case a.AtS > b.AtS:
			return 1
		}
		return 0
	})
	return es
}

func session(seed uint64, n int) *rand.Rand {
	return rand.New(rand.NewPCG(seed, uint64(n)+1))
}

// A Result is what many sessions left.
type Result struct {
	// PeakDB is each session's highest peak, dB SPL re 1 m, in rising order; a
	// session in which nothing happened is −Inf.
	PeakDB []float64
	// By counts what made each session's highest peak.
	By [numKinds]int
}

// Run is a simulation in slices, for a place that must not be held up. The
// numbers depend on the model, the count and the seed alone.
type Run struct {
	m    Model
	seed uint64
	pcg  *rand.PCG
	rnd  *rand.Rand
	res  Result
	done int
}

// NewRun prepares sessions sessions of a valid model.
func NewRun(m Model, sessions int, seed uint64) (*Run, error) {
	if err := m.Validate(); err != nil {
		return nil, err
	}
	r := &Run{m: m, seed: seed, pcg: rand.NewPCG(0, 0)}
	r.rnd = rand.New(r.pcg)
	r.res.PeakDB = make([]float64, sessions)
	return r, nil
}

// Step simulates up to n more sessions and reports whether all are done.
func (r *Run) Step(n int) bool {
	for ; n > 0 && r.done < len(r.res.PeakDB); n-- {
		peak, kind := r.one(r.done)
		r.res.PeakDB[r.done] = peak
		r.res.By[kind]++
		r.done++
	}
	return r.done == len(r.res.PeakDB)
}

func (r *Run) one(n int) (float64, Kind) {
	r.pcg.Seed(r.seed, uint64(n)+1)
	top, kind := math.Inf(-1), Talk
	r.m.draw(r.rnd, func(e Event) {
		if p := e.PeakDB(); p > top {
			top, kind = p, e.Kind
		}
	})
	return top, kind
}

// Done returns the share that is done, 0 to 1.
func (r *Run) Done() float64 {
	if len(r.res.PeakDB) == 0 {
		return 1
	}
	return float64(r.done) / float64(len(r.res.PeakDB))
}

// Result returns what is done so far, sorted.
func (r *Run) Result() *Result {
	out := Result{PeakDB: slices.Clone(r.res.PeakDB[:r.done]), By: r.res.By}
	slices.Sort(out.PeakDB)
	return &out
}

// Simulate runs sessions sessions on all cores. Same model, count and seed: same
// numbers, on any number of cores.
func Simulate(ctx context.Context, m Model, sessions int, seed uint64, progress func(share float64)) (*Result, error) {
	if err := m.Validate(); err != nil {
		return nil, err
	}
	res := &Result{PeakDB: make([]float64, sessions)}
	const block = 256
	var next, done atomic.Int64
	var mu sync.Mutex
	var wg sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wg.Add(1)
		go func() {
			defer wg.Done()
			r, _ := NewRun(m, 0, seed)
			var by [numKinds]int
			for ctx.Err() == nil {
				i := int(next.Add(block)) - block
				if i >= sessions {
					break
				}
				for j := i; j < min(i+block, sessions); j++ {
					p, k := r.one(j)
					res.PeakDB[j] = p
					by[k]++
				}
				d := done.Add(int64(min(i+block, sessions) - i))
				if progress != nil {
					mu.Lock()
					progress(float64(d) / float64(sessions))
					mu.Unlock()
				}
			}
			mu.Lock()
			for k := range by {
				res.By[k] += by[k]
			}
			mu.Unlock()
		}()
	}
	wg.Wait()
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	slices.Sort(res.PeakDB)
	return res, nil
}

// Over returns the share of sessions whose peak passes dB SPL (at 1 m), with a
// 95 % interval (Wilson, JASA 22, 1927) for the finite number of sessions.
func (r *Result) Over(dbSPL float64) (p, lo, hi float64) {
	n := float64(len(r.PeakDB))
	if n == 0 {
		return math.NaN(), 0, 1
	}
	k, _ := slices.BinarySearch(r.PeakDB, math.Nextafter(dbSPL, math.Inf(1)))
	p = 1 - float64(k)/n
	const z = 1.959963984540054
	mid := (p + z*z/(2*n)) / (1 + z*z/n)
	half := z / (1 + z*z/n) * math.Sqrt(p*(1-p)/n+z*z/(4*n*n))
	return p, max(mid-half, 0), min(mid+half, 1)
}

// Quantile returns the peak that the share q of sessions stays below.
func (r *Result) Quantile(q float64) float64 {
	n := len(r.PeakDB)
	if n == 0 {
		return math.NaN()
	}
	x := min(max(q, 0), 1) * float64(n-1)
	i := int(x)
	if i == n-1 {
		return r.PeakDB[i]
	}
	return r.PeakDB[i] + (x-float64(i))*(r.PeakDB[i+1]-r.PeakDB[i])
}
