package plan

import (
	"cmp"
	"context"
	"fmt"
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

// draw makes session number n, calling each for every event; they come kind by
// kind, not in order of time. Counts are Poisson, levels and moves normal in dB.
//
// Each kind draws from a stream of its own, so that a change of one kind's
// assumptions leaves the others' events as they are: what two models differ by
// then shows with few sessions.
func (m *Model) draw(pcg *rand.PCG, r *rand.Rand, seed uint64, n int, each func(Event)) {
	stream := func(k Kind) { pcg.Seed(seed, mix(uint64(n)<<3|uint64(k))) }
	stream(numKinds)
	talker := m.TalkLevelDB + m.TalkerSDDB*r.NormFloat64()
	hours := m.Minutes / 60
	kinds := [numKinds]struct {
		mean, over, sd, rise float64
		crest                *Crest
	}{
		Talk:     {m.TalkPerMin * m.Minutes, 0, m.UtteranceSD, m.DriftDB, &m.TalkCrest},
		Laugh:    {m.LaughPerHour * hours, m.LaughDB, m.LaughSDDB, 0, &m.LaughCrest},
		Outburst: {m.BurstPerHour * hours, m.BurstDB, m.BurstSDDB, 0, &m.BurstCrest},
		Cough:    {m.CoughPerHour * hours, m.CoughDB, m.CoughSDDB, 0, &m.CoughCrest},
	}
	for k := range kinds {
		d := &kinds[k]
		stream(Kind(k))
		for n := poisson(r, d.mean); n > 0; n-- {
			t := r.Float64()
			e := Event{
				AtS: t * m.Minutes * 60, Kind: Kind(k),
				LevelDB: min(talker+d.rise*t+d.over+d.sd*r.NormFloat64(), m.LoudestDB),
				CrestDB: d.crest.draw(r),
				NearDB:  m.DistanceSD * r.NormFloat64(),
			}
			if r.Float64() < m.LeanShare {
				e.NearDB += m.LeanDB
			}
			each(e)
		}
	}
}

// mix spreads neighbouring numbers over all 64 bits (the finaliser of SplitMix64:
// Steele, Lea, Flood, OOPSLA 2014).
func mix(x uint64) uint64 {
	x += 0x9e3779b97f4a7c15
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return x ^ x>>31
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
	pcg := rand.NewPCG(0, 0)
	m.draw(pcg, rand.New(pcg), seed, n, func(e Event) { es = append(es, e) })
	slices.SortFunc(es, func(a, b Event) int { return cmp.Compare(a.AtS, b.AtS) })
	return es
}

// A Result is what many sessions left.
type Result struct {
	// PeakDB is each session's highest peak, dB SPL re 1 m, in rising order; a
	// session in which nothing happened is −Inf.
	PeakDB []float64
	// By counts what made each session's highest peak; a session in which nothing
	// happened counts nowhere.
	By [numKinds]int
}

// ByKind is By with names, as shares of all sessions.
func (r *Result) ByKind() map[string]float64 {
	out := map[string]float64{}
	for k, n := range r.By {
		out[Kind(k).String()] = float64(n) / float64(max(len(r.PeakDB), 1))
	}
	return out
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

// MaxSessions is the most that one run simulates: 80 MB of results.
const MaxSessions = 10_000_000

func check(m Model, sessions int) error {
	if sessions < 0 || sessions > MaxSessions {
		return fmt.Errorf("sessions: %d is out of range (0 to %d)", sessions, MaxSessions)
	}
	return m.Validate()
}

// NewRun prepares sessions sessions of a valid model.
func NewRun(m Model, sessions int, seed uint64) (*Run, error) {
	if err := check(m, sessions); err != nil {
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
		if kind < numKinds {
			r.res.By[kind]++
		}
		r.done++
	}
	return r.done == len(r.res.PeakDB)
}

// one simulates session n; the kind is numKinds if nothing happened.
func (r *Run) one(n int) (float64, Kind) {
	top, kind := math.Inf(-1), numKinds
	r.m.draw(r.pcg, r.rnd, r.seed, n, func(e Event) {
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
	if err := check(m, sessions); err != nil {
		return nil, err
	}
	res := &Result{PeakDB: make([]float64, sessions)}
	const block = 256
	var next atomic.Int64
	var mu sync.Mutex
	done := 0
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
					if k < numKinds {
						by[k]++
					}
				}
				if progress != nil {
					mu.Lock()
					done += min(i+block, sessions) - i
					progress(float64(done) / float64(sessions))
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
