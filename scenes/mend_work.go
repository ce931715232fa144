package scenes

import (
	"context"
	"math"
	"runtime"
	"sync/atomic"
	"time"

	"gainwright/sim"
	"gainwright/sim/meter"
	"gainwright/sim/repair"
)

// sliceWork tells that all goroutines share one thread, as in a browser: work
// beside the screen then runs only in slices that the screen grants.
var sliceWork = runtime.GOOS == "js"

// The slice of each frame that work gets where it has to share: less while
// something plays, so that the sound goes on.
const (
	sliceQuiet   = 24 * time.Millisecond
	slicePlaying = 10 * time.Millisecond
	sliceMost    = 100 * time.Millisecond
	// paintEvery is how often progress is drawn, in seconds: drawing takes time too.
	paintEvery = 0.15
)

// pace deals out the slices of a scene's work.
type pace struct {
	last, painted float64
}

// grant lets j go on for this frame's slice and reports whether progress is to be
// drawn. Where frames take long, for drawing is slow, the slices are longer too.
func (p *pace) grant(j *errand, now float64, playing bool) (paint bool) {
	d := min(max(time.Duration((now-p.last)*0.4*float64(time.Second)), sliceQuiet), sliceMost)
	if playing {
		d = slicePlaying
	}
	p.last = now
	j.grant(d)
	if now-p.painted >= paintEvery || now < p.painted || j.finished() {
		p.painted = now
		return true
	}
	return false
}

// errand is heavy work beside the screen, on a goroutine of its own. What it finds
// may be read once finished reports true.
type errand struct {
	sliced bool
	grants chan time.Time
	back   chan struct{}
	done   chan struct{}
	quit   chan struct{}
	gone   bool // cancelled; the screen's side
	share  atomic.Uint64
	stage  atomic.Pointer[string]
	err    error
}

// hand is the worker's end of a errand: the context of everything it calls. Its Err
// is where the work stops when its slice is over, so long loops ask for it often.
type hand struct {
	context.Context
	j     *errand
	until time.Time
}

// startErrand begins work. It ends with an error of its own or the context's.
func startErrand(work func(h *hand) error) *errand {
	j := &errand{sliced: sliceWork, grants: make(chan time.Time), back: make(chan struct{}), done: make(chan struct{}), quit: make(chan struct{})}
	s := ""
	j.stage.Store(&s)
	h := &hand{Context: context.Background(), j: j}
	go func() {
		defer close(j.done)
		if j.sliced && !h.wait() {
			j.err = context.Canceled
			return
		}
		j.err = work(h)
	}()
	return j
}

// wait parks until the next slice and reports whether there is one.
func (h *hand) wait() bool {
	select {
	case h.until = <-h.j.grants:
		return true
	case <-h.j.quit:
		return false
	}
}

// Done is closed when the errand is cancelled.
func (h *hand) Done() <-chan struct{} { return h.j.quit }

// Err is context.Canceled once the errand is cancelled; until then it may wait.
func (h *hand) Err() error {
	select {
	case <-h.j.quit:
		return context.Canceled
	default:
	}
	if !h.j.sliced || time.Now().Before(h.until) {
		return nil
	}
	select {
	case h.j.back <- struct{}{}:
	case <-h.j.quit:
		return context.Canceled
	}
	if !h.wait() {
		return context.Canceled
	}
	return nil
}

// at tells how much is done, 0 to 1, and what is being done.
func (h *hand) at(stage string, share float64) {
	h.j.share.Store(math.Float64bits(min(max(share, 0), 1)))
	if s := h.j.stage.Load(); *s != stage {
		h.j.stage.Store(&stage)
	}
}

// span gives a progress function for the part from lo to hi of the work.
func (h *hand) span(stage string, lo, hi float64) func(float64) {
	return func(p float64) {
		h.at(stage, lo+(hi-lo)*p)
		_ = h.Err() // a place to stop; the caller asks again whether to go on
	}
}

// grant lets the work go on for d where it has to share the thread.
func (j *errand) grant(d time.Duration) {
	if !j.sliced || j.gone {
		return
	}
	select {
	case j.grants <- time.Now().Add(d):
	case <-j.done:
		return
	}
	select {
	case <-j.back:
	case <-j.done:
	}
}

// cancel gives the work up; it ends at the next place where it asks.
func (j *errand) cancel() {
	if !j.gone {
		j.gone = true
		close(j.quit)
	}
}

// finished reports whether the work has ended.
func (j *errand) finished() bool {
	select {
	case <-j.done:
		return true
	default:
		return false
	}
}

// progress is how much is done, 0 to 1, and what is being done.
func (j *errand) progress() (stage string, share float64) {
	return *j.stage.Load(), math.Float64frombits(j.share.Load())
}

// leftBehind is what a performance leaves through a chain.
type leftBehind struct {
	truth, demand, file []float64
	ceiling             float64
	over                int // samples beyond the ceiling
}

// runChain records x, Pa at 1 m, through c.
func runChain(ctx context.Context, c sim.Chain, seed uint64, x []float64, progress func(float64)) (*leftBehind, error) {
	s, err := sim.NewStrip(Rate, c, seed)
	if err != nil {
		return nil, err
	}
	r := &leftBehind{truth: make([]float64, 0, len(x)), demand: make([]float64, 0, len(x)), file: make([]float64, 0, len(x))}
	_, err = sim.Run(ctx, &sim.Samples{X: x}, []*sim.Strip{s}, sim.RunOptions{Sink: func(_ int, t *sim.Taps) error {
		r.truth = append(r.truth, t.True...)
		r.demand = append(r.demand, t.Demand...)
		r.file = append(r.file, t.Wave[sim.AtFile]...)
		r.ceiling = t.Ceiling
		for _, d := range t.Demand {
			if d > t.Ceiling || d < -t.Ceiling {
				r.over++
			}
		}
		if progress != nil {
			progress(float64(len(r.file)) / float64(len(x)))
		}
		return nil
	}})
	if err != nil {
		return nil, err
	}
	return r, nil
}

// treat carries out one treatment. Declipping a long passage has no place to
// stop, so where the thread is shared it is done in short pieces.
func treat(h *hand, t repair.Treatment, x []float64, progress func(float64)) ([]float64, repair.Report, error) {
	if d, ok := t.(repair.Declip); ok && h.j.sliced {
		return declipPieces(h, d, x, progress)
	}
	return t.Apply(h, x, Rate, repair.Run{Cores: max(1, runtime.NumCPU()-1), Progress: progress})
}

// pieceSeconds is how much is declipped between two places to stop, and
// reachSeconds how far the samples around matter, by effort.
var (
	pieceSeconds = [3]float64{repair.Best: 0.04, repair.Balanced: 0.06, repair.Fast: 0.08}
	reachSeconds = [3]float64{repair.Best: 0.19, repair.Balanced: 0.09, repair.Fast: 0.05}
)

// declipPieces restores x from left to right; what has been restored counts as
// known for the next piece.
func declipPieces(h *hand, d repair.Declip, x []float64, progress func(float64)) ([]float64, repair.Report, error) {
	clips := repair.Detect(x)
	if d.Clips != nil {
		clips = *d.Clips
	}
	d.Clips = &clips
	if len(clips.Runs) == 0 || clips.Kind == repair.Rounded || clips.Share > 0.8 || clips.Longest > Rate/20 {
		return d.Apply(h, x, Rate, repair.Run{Cores: 1}) // nothing to do, and it says so
	}
	piece, reach := int(pieceSeconds[d.Effort]*Rate), int(reachSeconds[d.Effort]*Rate)
	y := append([]float64(nil), x...)
	runs := clips.Runs
	for i := 0; i < len(runs); {
		j := i + 1
		for j < len(runs) && runs[j].End-runs[i].Start <= piece {
			j++
		}
		from, to := max(0, runs[i].Start-reach), min(len(x), runs[j-1].End+reach)
		part := clips
		part.Runs, part.Samples, part.Longest = nil, 0, 0
		for _, r := range runs[i:] {
			if r.Start >= to {
				break
			}
			r.End = min(r.End, to)
			r.Start, r.End = r.Start-from, r.End-from
			part.Runs = append(part.Runs, r)
			part.Samples += r.End - r.Start
			part.Longest = max(part.Longest, r.End-r.Start)
		}
		one := d
		one.Clips = &part
		out, _, err := one.Apply(h, y[from:to], Rate, repair.Run{Cores: 1})
		if err != nil {
			return nil, repair.Report{}, err
		}
		for _, r := range runs[i:j] {
			copy(y[r.Start:r.End], out[r.Start-from:r.End-from])
		}
		i = j
		if progress != nil {
			progress(float64(i) / float64(len(runs)))
		}
		if err := h.Err(); err != nil {
			return nil, repair.Report{}, err
		}
	}
	var sum repair.DeclipTotals
	sum.Count(&clips)
	sum.Write(x, y)
	return y, repair.Report{Treatment: d.Name(), Verdict: sum.Verdict(clips.Kind), Numbers: sum.Numbers(Rate)}, nil
}

// loudnessLUFS is the integrated loudness of x, LUFS.
func loudnessLUFS(x []float64) float64 {
	l, err := meter.NewLoudness(Rate, 1)
	if err != nil {
		return math.Inf(-1)
	}
	l.WriteMono(x)
	return l.Integrated()
}

// truePeakDBTP is the true peak of x, dBTP.
func truePeakDBTP(x []float64) float64 {
	p := meter.NewTruePeak(Rate)
	p.Write(x)
	p.Flush()
	return p.DB()
}

// pauseNoise is the K-weighted level of the quietest tenth of x, in blocks of
// 50 ms, LUFS: what is heard in the pauses.
func pauseNoise(x []float64) float64 {
	const block = Rate / 20
	n := len(x) / block
	if n < 10 {
		return math.NaN()
	}
	w := make([]float64, len(x))
	meter.NewKWeight(Rate).Process(w, x)
	p := make([]float64, n)
	for i := range p {
		p[i] = meter.MeanSquare(w[i*block : (i+1)*block])
	}
	sum := 0.0
	for k := range n / 10 {
		at := k
		for i := k; i < n; i++ {
			if p[i] < p[at] {
				at = i
			}
		}
		p[k], p[at] = p[at], p[k]
		sum += p[k]
	}
	if v := -0.691 + 10*math.Log10(sum/float64(n/10)); v > -150 {
		return v
	}
	return math.Inf(-1) // rounding, no sound
}
