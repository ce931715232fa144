package plan

import (
	"context"
	"fmt"
	"math"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"
)

// levels are a session's highest peaks by kind.
type levels [numVoiced]float32

// A Result is what many sessions left.
//
// Levels are dB SPL re 1 m. For a guest of whom nothing is known they are told for a
// host who sets the gain so that the meter's held peak is the one told: what counts
// is how far a session goes over the peak held in this guest's own minute, and the
// level is that over the minute of the guest that the model takes for ordinary.
type Result struct {
	// PeakDB is each session's highest peak in rising order; a session in which nothing
	// happened is −Inf.
	PeakDB []float64
	// KnockDB is the same of knocks alone.
	KnockDB []float64
	// By counts what made each session's highest peak; a session in which nothing
	// happened counts nowhere.
	By [numVoiced]int

	kinds    []levels
	relief   [numVoiced]float64
	relieved []float64 // PeakDB with the relief, sorted
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
// numbers depend on the conversation, the count and the seed alone.
type Run struct {
	s     *simulator
	top   levels
	kinds []levels
	knock []float64
	done  int
}

// MaxSessions is the most that one run simulates: 100 MB of results.
const MaxSessions = 2_000_000

func check(c *Conversation, sessions int) error {
	if sessions < 0 || sessions > MaxSessions {
		return fmt.Errorf("sessions: %d is out of range (0 to %d)", sessions, MaxSessions)
	}
	return c.Model.Validate()
}

// NewRun prepares sessions sessions of a valid conversation.
func NewRun(c Conversation, sessions int, seed uint64) (*Run, error) {
	if err := check(&c, sessions); err != nil {
		return nil, err
	}
	return &Run{s: newSimulator(c, seed), kinds: make([]levels, sessions), knock: make([]float64, sessions)}, nil
}

// Step simulates up to n more sessions and reports whether all are done.
func (r *Run) Step(n int) bool {
	for ; n > 0 && r.done < len(r.kinds); n-- {
		r.one(r.done)
		r.kinds[r.done], r.knock[r.done] = r.top, r.s.last
		r.done++
	}
	return r.done == len(r.kinds)
}

var nothing = func() (l levels) {
	for k := range l {
		l[k] = float32(math.Inf(-1))
	}
	return l
}()

// one simulates session n into top and last.
func (r *Run) one(n int) {
	s := r.s
	g := s.guest(n)
	r.top = nothing
	s.events(n, &g, func(e *Event) { r.top[e.Kind] = max(r.top[e.Kind], float32(e.PeakDB())) })
	s.last = s.knocks(n, &g)
	if s.c.Guest.How == ByMeter {
		// As if this guest's minute had been held at the level of the ordinary one's.
		shift := s.c.TalkLevelDB + s.held.mean - g.held
		for k := range r.top {
			r.top[k] += float32(shift)
		}
		s.last += shift
	}
}

// Done returns the share that is done, 0 to 1.
func (r *Run) Done() float64 {
	if len(r.kinds) == 0 {
		return 1
	}
	return float64(r.done) / float64(len(r.kinds))
}

// Result returns what is done so far.
func (r *Run) Result() *Result {
	return newResult(slices.Clone(r.kinds[:r.done]), slices.Clone(r.knock[:r.done]))
}

func newResult(kinds []levels, knock []float64) *Result {
	out := &Result{PeakDB: make([]float64, len(kinds)), KnockDB: knock, kinds: kinds}
	for i := range kinds {
		top, kind := kinds[i][0], Kind(0)
		for k, v := range kinds[i] {
			if v > top {
				top, kind = v, Kind(k)
			}
		}
		out.PeakDB[i] = float64(top)
		if !math.IsInf(float64(top), -1) {
			out.By[kind]++
		}
	}
	slices.Sort(out.PeakDB)
	slices.Sort(out.KnockDB)
	return out
}

// Simulate runs sessions sessions on all cores. Same conversation, count and seed:
// same numbers, on any number of cores, and the same as those of a Run.
func Simulate(ctx context.Context, c Conversation, sessions int, seed uint64, progress func(share float64)) (*Result, error) {
	if err := check(&c, sessions); err != nil {
		return nil, err
	}
	kinds, knock := make([]levels, sessions), make([]float64, sessions)
	const block = 256
	var next atomic.Int64
	var mu sync.Mutex
	done := 0
	var wg sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			r := &Run{s: newSimulator(c, seed)}
			for ctx.Err() == nil {
				i := int(next.Add(block)) - block
				if i >= sessions {
					return
				}
				for j := i; j < min(i+block, sessions); j++ {
					r.one(j)
					kinds[j], knock[j] = r.top, r.s.last
				}
				if progress != nil {
					mu.Lock()
					done += min(i+block, sessions) - i
					progress(float64(done) / float64(sessions))
					mu.Unlock()
				}
			}
		})
	}
	wg.Wait()
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	return newResult(kinds, knock), nil
}

// stepSessions is how many sessions InSlices simulates between two looks at ctx.
const stepSessions = 16

// InSlices is Simulate on the calling goroutine alone: it asks ctx.Err every few
// sessions, which is where a place that draws in between gets its turn.
func InSlices(ctx context.Context, c Conversation, sessions int, seed uint64, progress func(share float64)) (*Result, error) {
	r, err := NewRun(c, sessions, seed)
	if err != nil {
		return nil, err
	}
	for !r.Step(stepSessions) {
		if progress != nil {
			progress(r.Done())
		}
		if err := ctx.Err(); err != nil {
			return nil, err
		}
	}
	return r.Result(), nil
}

// wilson is a share of n with its 95 % interval (Wilson, JASA 22, 1927).
func wilson(over, all int) (p, lo, hi float64) {
	n := float64(all)
	if all == 0 {
		return math.NaN(), 0, 1
	}
	p = float64(over) / n
	const z = 1.959963984540054
	mid := (p + z*z/(2*n)) / (1 + z*z/n)
	half := z / (1 + z*z/n) * math.Sqrt(p*(1-p)/n+z*z/(4*n*n))
	return p, max(mid-half, 0), min(mid+half, 1)
}

// above counts what in sorted x passes v.
func above(x []float64, v float64) int {
	k, _ := slices.BinarySearch(x, math.Nextafter(v, math.Inf(1)))
	return len(x) - k
}

// Over returns the share of sessions whose peak passes dB SPL (re 1 m), with a
// 95 % interval for the finite number of sessions.
func (r *Result) Over(dbSPL float64) (p, lo, hi float64) {
	return wilson(above(r.PeakDB, dbSPL), len(r.PeakDB))
}

// KnockOver is Over for the loudest knock.
func (r *Result) KnockOver(dbSPL float64) float64 {
	p, _, _ := wilson(above(r.KnockDB, dbSPL), len(r.KnockDB))
	return p
}

// with returns the sessions' highest peaks where each kind may be louder by its
// relief, sorted.
func (r *Result) with(relief [numVoiced]float64) []float64 {
	if relief == ([numVoiced]float64{}) {
		return r.PeakDB
	}
	if r.relieved == nil || relief != r.relief {
		out := make([]float64, len(r.kinds))
		for i := range r.kinds {
			top := math.Inf(-1)
			for k, v := range r.kinds[i] {
				top = max(top, float64(v)-relief[k])
			}
			out[i] = top
		}
		slices.Sort(out)
		r.relief, r.relieved = relief, out
	}
	return r.relieved
}

// Quantile returns the peak that the share q of sessions stays below.
func (r *Result) Quantile(q float64) float64 { return quantile(r.PeakDB, q) }

func quantile(sorted []float64, q float64) float64 {
	n := len(sorted)
	if n == 0 {
		return math.NaN()
	}
	x := min(max(q, 0), 1) * float64(n-1)
	i := int(x)
	if i == n-1 {
		return sorted[i]
	}
	return sorted[i] + (x-float64(i))*(sorted[i+1]-sorted[i])
}
