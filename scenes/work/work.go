package work

import (
	"context"
	"math"
	"runtime"
	"sync/atomic"
	"time"

	"gainwright/scenes/bench"
	"gainwright/sim"
	"gainwright/sim/meter"
	"gainwright/sim/repair"
)

// Sliced tells that all goroutines share one thread, as in a browser: work
// beside the screen then runs only in slices that the screen gives it, and yields after each.
var Sliced = runtime.GOOS == "js"

// The slice of each frame that work gets where it has to share: less while
// something plays, so that the sound goes on.
const (
	SliceQuiet   = 24 * time.Millisecond
	SlicePlaying = 10 * time.Millisecond
	SliceMost    = 100 * time.Millisecond
	// paintEvery is how often progress is drawn, in seconds: drawing takes time too.
	paintEvery = 0.15
)

// Pace deals out the slices of a scene's work.
type Pace struct {
	last, painted float64
}

// Run lets j go on for this frame's slice and reports whether progress is to be
// drawn. Where frames take long, for drawing is slow, the slices are longer too.
func (p *Pace) Run(j *Task, now float64, playing bool) (paint bool) {
	d := min(max(time.Duration((now-p.last)*0.4*float64(time.Second)), SliceQuiet), SliceMost)
	if playing {
		d = SlicePlaying
	}
	p.last = now
	j.Run(d)
	if now-p.painted >= paintEvery || now < p.painted || j.Finished() {
		p.painted = now
		return true
	}
	return false
}

// Task is heavy work beside the screen, on a goroutine of its own. What it finds
// may be read once finished reports true.
type Task struct {
	sliced  bool
	slices  chan time.Time
	yielded chan struct{}
	done    chan struct{}
	quit    chan struct{}
	Gone    bool // cancelled; the screen's side
	share   atomic.Uint64
	stage   atomic.Pointer[string]
	Err     error
}

// Context is the worker's end of a task: the context of everything it calls. Its Err
// is where the work stops when its slice is over, so long loops ask for it often.
type Context struct {
	context.Context
	task  *Task
	until time.Time
}

// Start begins work. It ends with an error of its own or the context's.
func Start(work func(h *Context) error) *Task {
	j := &Task{sliced: Sliced, slices: make(chan time.Time), yielded: make(chan struct{}), done: make(chan struct{}), quit: make(chan struct{})}
	s := ""
	j.stage.Store(&s)
	h := &Context{Context: context.Background(), task: j}
	go func() {
		defer close(j.done)
		if j.sliced && !h.wait() {
			j.Err = context.Canceled
			return
		}
		j.Err = work(h)
	}()
	return j
}

// wait parks until the next slice and reports whether there is one.
func (h *Context) wait() bool {
	select {
	case h.until = <-h.task.slices:
		return true
	case <-h.task.quit:
		return false
	}
}

// Done is closed when the task is cancelled.
func (h *Context) Done() <-chan struct{} { return h.task.quit }

// Err is context.Canceled once the task is cancelled; until then it may wait.
func (h *Context) Err() error {
	select {
	case <-h.task.quit:
		return context.Canceled
	default:
	}
	if !h.task.sliced || time.Now().Before(h.until) {
		return nil
	}
	select {
	case h.task.yielded <- struct{}{}:
	case <-h.task.quit:
		return context.Canceled
	}
	if !h.wait() {
		return context.Canceled
	}
	return nil
}

// Report tells how much is done, 0 to 1, and what is being done.
func (h *Context) Report(stage string, share float64) {
	h.task.share.Store(math.Float64bits(min(max(share, 0), 1)))
	if s := h.task.stage.Load(); *s != stage {
		h.task.stage.Store(&stage)
	}
}

// Span gives a progress function for the part from lo to hi of the work.
func (h *Context) Span(stage string, lo, hi float64) func(float64) {
	return func(p float64) {
		h.Report(stage, lo+(hi-lo)*p)
		_ = h.Err() // a place to stop; the caller asks again whether to go on
	}
}

// Run lets the work go on for d where it has to share the thread.
func (j *Task) Run(d time.Duration) {
	if !j.sliced || j.Gone {
		return
	}
	select {
	case j.slices <- time.Now().Add(d):
	case <-j.done:
		return
	}
	select {
	case <-j.yielded:
	case <-j.done:
	}
}

// Cancel gives the work up; it ends at the next place where it asks.
func (j *Task) Cancel() {
	if !j.Gone {
		j.Gone = true
		close(j.quit)
	}
}

// Finished reports whether the work has ended.
func (j *Task) Finished() bool {
	select {
	case <-j.done:
		return true
	default:
		return false
	}
}

// Progress is how much is done, 0 to 1, and what is being done.
func (j *Task) Progress() (stage string, share float64) {
	return *j.stage.Load(), math.Float64frombits(j.share.Load())
}

// Recorded is what a performance leaves through a chain.
type Recorded struct {
	Truth, Demand, File []float64
	Ceiling             float64
	Over                int // samples beyond the ceiling
}

// Record records x, Pa at 1 m, through c.
func Record(ctx context.Context, c sim.Chain, seed uint64, x []float64, progress func(float64)) (*Recorded, error) {
	s, err := sim.NewStrip(bench.Rate, c, seed)
	if err != nil {
		return nil, err
	}
	r := &Recorded{Truth: make([]float64, 0, len(x)), Demand: make([]float64, 0, len(x)), File: make([]float64, 0, len(x))}
	_, err = sim.Run(ctx, &sim.Samples{X: x}, []*sim.Strip{s}, sim.RunOptions{Sink: func(_ int, t *sim.Taps) error {
		r.Truth = append(r.Truth, t.True...)
		r.Demand = append(r.Demand, t.Demand...)
		r.File = append(r.File, t.Wave[sim.AtFile]...)
		r.Ceiling = t.Ceiling
		for _, d := range t.Demand {
			if d > t.Ceiling || d < -t.Ceiling {
				r.Over++
			}
		}
		if progress != nil {
			progress(float64(len(r.File)) / float64(len(x)))
		}
		return nil
	}})
	if err != nil {
		return nil, err
	}
	return r, nil
}

// Treat carries out one treatment. Declipping a long passage has no place to
// stop, so where the thread is shared it is done in short pieces.
func Treat(h *Context, t repair.Treatment, x []float64, progress func(float64)) ([]float64, repair.Report, error) {
	if d, ok := t.(repair.Declip); ok && h.task.sliced {
		return declipPieces(h, d, x, progress)
	}
	return t.Apply(h, x, bench.Rate, repair.Run{Cores: max(1, runtime.NumCPU()-1), Progress: progress})
}

// pieceSeconds is how much is declipped between two places to stop, and
// reachSeconds how far the samples around matter, by effort.
var (
	pieceSeconds = [3]float64{repair.Best: 0.04, repair.Balanced: 0.06, repair.Fast: 0.08}
	reachSeconds = [3]float64{repair.Best: 0.19, repair.Balanced: 0.09, repair.Fast: 0.05}
)

// declipPieces restores x from left to right; what has been restored counts as
// known for the next piece.
func declipPieces(h *Context, d repair.Declip, x []float64, progress func(float64)) ([]float64, repair.Report, error) {
	clips, err := d.FindContext(h, x)
	if err != nil {
		return nil, repair.Report{}, err
	}
	if clips.Ride != nil {
		b := clips.Behind(x)
		d.Clips = &b.Clips
		y, rep, err := declipPieces(h, d, b.Wave, progress)
		if err != nil {
			return nil, rep, err
		}
		y, rep = b.Mended(y, rep, bench.Rate, d.Reduction)
		return y, rep, nil
	}
	d.Clips = &clips
	if len(clips.Runs) == 0 || clips.Kind == repair.Rounded || clips.Share > 0.8 || clips.Longest > bench.Rate/20 {
		return d.Apply(h, x, bench.Rate, repair.Run{Cores: 1}) // nothing to do, and it says so
	}
	piece, reach := int(pieceSeconds[d.Effort]*bench.Rate), int(reachSeconds[d.Effort]*bench.Rate)
	y := append([]float64(nil), x...)
	var sum repair.DeclipTotals
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
		out, rep, err := one.Apply(h, y[from:to], bench.Rate, repair.Run{Cores: 1})
		if err != nil {
			return nil, repair.Report{}, err
		}
		sum.Heed(rep)
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
	sum.Count(&clips)
	sum.Write(x, y)
	return y, sum.Report(clips.Kind, bench.Rate), nil
}

// LoudnessLUFS is the integrated loudness of x, LUFS.
func LoudnessLUFS(x []float64) float64 {
	l, err := meter.NewLoudness(bench.Rate, 1)
	if err != nil {
		return math.Inf(-1)
	}
	l.WriteMono(x)
	return l.Integrated()
}

// TruePeakDBTP measures x, full scale 1, with a meter of its own.
func TruePeakDBTP(x []float64) float64 {
	p := meter.NewTruePeak(bench.Rate)
	p.Write(x)
	p.Flush()
	return p.DB()
}

// PauseNoise is the K-weighted level of the quietest tenth of x, in blocks of
// 50 ms, LUFS: what is heard in the pauses.
func PauseNoise(x []float64) float64 {
	const block = bench.Rate / 20
	n := len(x) / block
	if n < 10 {
		return math.NaN()
	}
	w := make([]float64, len(x))
	meter.NewKWeight(bench.Rate).Process(w, x)
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
