package lessons

import (
	"context"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"math"
	"slices"
	"strings"
	"sync"

	"gainwright/sim"
	"gainwright/sounds/scenario"
	"gainwright/sounds/voice"
)

func cloneScenario(s *scenario.Scenario) *scenario.Scenario {
	n := *s
	n.Strips = slices.Clone(s.Strips)
	n.Source.Script = slices.Clone(s.Source.Script)
	return &n
}

// pick gives a whole number from 0 to n−1 that depends on the seed and the words
// only, so that a quantity added to a lesson leaves the others as they were.
func pick(seed uint64, n int, words ...string) int {
	h := sha256.New()
	fmt.Fprintf(h, "%d", seed)
	for _, w := range words {
		fmt.Fprintf(h, "\x00%s", w)
	}
	sum := h.Sum(nil)
	// 64 bits over a small n: the bias is below 1e-17.
	return int(binary.BigEndian.Uint64(sum) % uint64(n))
}

// Drawn gives the quantities that a student with this seed gets.
func (l *Lesson) Drawn(seed uint64) map[string]any {
	out := map[string]any{}
	for _, d := range l.Vary {
		out[d.Key] = d.Values[pick(seed, len(d.Values), l.ID, d.Key)]
	}
	return out
}

// applyDraw puts one drawn quantity into the bench.
func applyDraw(s *scenario.Scenario, takes map[string]voice.Script, key string, v any) error {
	each := func(change func(*voice.Event)) error {
		scripts := []voice.Script{s.Source.Script}
		for _, t := range takes {
			scripts = append(scripts, t)
		}
		for _, sc := range scripts {
			for i := range sc {
				if e := &sc[i]; e.Talker == "" || strings.EqualFold(e.Talker, s.Source.Talker) {
					change(e)
				}
			}
			if err := sc.Validate(); err != nil {
				return err
			}
		}
		return nil
	}
	x, num := v.(float64)
	switch key {
	case drawTalker:
		w, _ := v.(string)
		if _, err := voice.Find(w); err != nil {
			return err
		}
		s.Source.Talker = w
		return nil
	case drawPerformance:
		if !num || x < 1 || x > 1000 || x != math.Trunc(x) {
			return fmt.Errorf("%v: performances are counted from 1", v)
		}
		s.Seed = (s.Seed + uint64(x) - 1) % scenario.MaxSeed
		return nil
	case drawEffort:
		if !num || math.Abs(x) > 0.5 {
			return fmt.Errorf("%v is out of range: -0.5 to 0.5", v)
		}
		shift := func(e voice.Effort) voice.Effort {
			if e.IsZero() {
				e = voice.Normal
			}
			return voice.At(math.Round((e.Value()+x)*1000) / 1000)
		}
		return each(func(e *voice.Event) {
			e.Effort = shift(e.Effort)
			if !e.EffortTo.IsZero() {
				e.EffortTo = shift(e.EffortTo)
			}
		})
	case drawLevel:
		if !num || math.Abs(x) > 12 {
			return fmt.Errorf("%v dB is out of range: -12 to 12 dB", v)
		}
		return each(func(e *voice.Event) { e.LevelDB += x })
	}
	return put(s, key, v)
}

// set up the bench as a student with this seed finds it.
func (l *Lesson) bench(drawn map[string]any) (*scenario.Scenario, map[string]voice.Script, error) {
	s := cloneScenario(l.base)
	takes := maps.Clone(l.takes)
	for k := range takes {
		takes[k] = slices.Clone(takes[k])
	}
	for _, d := range l.Vary {
		v, ok := drawn[d.Key]
		if !ok {
			return nil, nil, fmt.Errorf("%s was not drawn", d.Key)
		}
		if err := applyDraw(s, takes, d.Key, v); err != nil {
			return nil, nil, fmt.Errorf("%s: %s", d.Key, faultText(err))
		}
	}
	return s, takes, nil
}

// A Change is a setting turned while a take rolls.
type Change struct {
	AtS   float64 `json:"at_s"`
	Key   string  `json:"key"`
	Value any     `json:"value"`
}

// A Performed is a take to be recorded: who does what, and the strips.
type Performed struct {
	Talker  string
	Script  voice.Script
	Seed    uint64
	Strips  []scenario.Strip
	Changes []Change // in the order of time
}

// A Bench records takes. Takes that are alike are recorded once; it is safe for
// several goroutines.
type Bench struct {
	// Yield is called now and then while a take is recorded, so that a browser's
	// only thread can do something else. It may be nil.
	Yield func()

	mu       sync.Mutex
	spoken   map[string]*spoken
	order    []string // of spoken, oldest first
	samples  int
	measured map[string]*result
	runs     int
}

// maxSamples bounds the performances that are kept: 160 MB.
const maxSamples = 20 << 20

type spoken struct {
	done  chan struct{}
	x     []float64
	moves []sim.Move
	err   error
}

type result struct {
	done chan struct{}
	m    Measured
	err  error
}

// NewBench returns a bench that has recorded nothing.
func NewBench() *Bench {
	return &Bench{spoken: map[string]*spoken{}, measured: map[string]*result{}}
}

// Runs counts the strips that were really run, repeated takes not counted.
func (b *Bench) Runs() int {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.runs
}

// key identifies something that is wholly described by v.
func key(v ...any) string {
	j, err := json.Marshal(v)
	if err != nil {
		panic("lessons: " + err.Error()) // plain values
	}
	sum := sha256.Sum256(j)
	return hex.EncodeToString(sum[:])
}

func (p *Performed) spokenKey() string {
	return key(p.Talker, p.Script, p.Seed, p.Strips[0].Chain.DistanceM)
}

// perform makes the performance, or waits for whoever is making it.
func (b *Bench) perform(ctx context.Context, p *Performed) (*spoken, error) {
	k := p.spokenKey()
	b.mu.Lock()
	s, ok := b.spoken[k]
	if !ok {
		s = &spoken{done: make(chan struct{})}
		b.spoken[k] = s
		b.order = append(b.order, k)
	}
	b.mu.Unlock()
	if ok {
		select {
		case <-s.done:
		case <-ctx.Done():
			return nil, ctx.Err()
		}
		return s, s.err
	}
	s.x, s.moves, s.err = b.speak(ctx, p)
	b.mu.Lock()
	if s.err != nil {
		delete(b.spoken, k)
		b.order = slices.DeleteFunc(b.order, func(o string) bool { return o == k })
	}
	b.samples += len(s.x)
	for b.samples > maxSamples && len(b.order) > 1 {
		old := b.spoken[b.order[0]]
		if b.order[0] == k || !closed(old.done) {
			break
		}
		b.samples -= len(old.x)
		delete(b.spoken, b.order[0])
		b.order = b.order[1:]
	}
	b.mu.Unlock()
	close(s.done)
	return s, s.err
}

func closed(c chan struct{}) bool {
	select {
	case <-c:
		return true
	default:
		return false
	}
}

func (b *Bench) speak(ctx context.Context, p *Performed) ([]float64, []sim.Move, error) {
	s := scenario.New()
	s.Seed, s.Strips = p.Seed, p.Strips
	s.Source.Talker, s.Source.Script = p.Talker, p.Script
	perf, err := s.Open(ctx, nil)
	if err != nil {
		return nil, nil, err
	}
	defer perf.Close()
	x := make([]float64, 0, perf.Frames)
	block := make([]float64, 4800)
	for {
		if err := ctx.Err(); err != nil {
			return nil, nil, err
		}
		n, err := perf.Read(block)
		x = append(x, block[:n]...)
		if err == io.EOF {
			return x, perf.Moves, nil
		}
		if err != nil {
			return nil, nil, err
		}
		if b.Yield != nil {
			b.Yield()
		}
	}
}

// own are the changes that concern a strip.
func own(changes []Change, strip string, all []scenario.Strip) []Change {
	var out []Change
	for _, c := range changes {
		head, rest, ok := strings.Cut(c.Key, ".")
		if ok && slices.ContainsFunc(all, func(s scenario.Strip) bool { return s.Name == head }) {
			if head == strip {
				out = append(out, Change{c.AtS, rest, c.Value})
			}
			continue
		}
		out = append(out, c)
	}
	return out
}

// Record runs the take through the named strips (all, if none is named) and
// returns the readings of each. progress (may be nil) is told the share done.
func (b *Bench) Record(ctx context.Context, p *Performed, progress func(share float64)) (map[string]Measured, error) {
	out := map[string]Measured{}
	for i, st := range p.Strips {
		changes := own(p.Changes, st.Name, p.Strips)
		k := key(p.spokenKey(), st.Chain, p.Seed, changes)
		b.mu.Lock()
		r, ok := b.measured[k]
		if !ok {
			if len(b.measured) > 1<<16 {
				b.measured = map[string]*result{} // a long practice, not a lesson
			}
			r = &result{done: make(chan struct{})}
			b.measured[k] = r
			b.runs++
		}
		b.mu.Unlock()
		if ok {
			select {
			case <-r.done:
			case <-ctx.Done():
				return nil, ctx.Err()
			}
		} else {
			var w *Wave
			w, r.err = b.run(ctx, p, st, changes, false, func(share float64) {
				if progress != nil {
					progress((float64(i) + share) / float64(len(p.Strips)))
				}
			})
			if r.err != nil {
				b.mu.Lock()
				delete(b.measured, k)
				b.mu.Unlock()
			} else {
				r.m = w.Measured
			}
			close(r.done)
		}
		if r.err != nil {
			return nil, r.err
		}
		out[st.Name] = r.m
		if progress != nil {
			progress(float64(i+1) / float64(len(p.Strips)))
		}
	}
	return out, nil
}

// A Wave is a strip's file, to be heard and drawn.
type Wave struct {
	Name     string
	Rate     int       // Hz
	File     []float32 // full scale = 1; of Spoken, pascal at 1 m
	Overs    []sim.Span
	Measured Measured // nil for Spoken
	// GainDB brings the wave to the loudness of the others, or is 0.
	GainDB float64
	// Caution is what to say before it is played, "" if nothing.
	Caution string
}

// Listen runs the take through one strip and keeps its file.
func (b *Bench) listen(ctx context.Context, p *Performed, strip string) (*Wave, error) {
	if strip == Spoken {
		s, err := b.perform(ctx, p)
		if err != nil {
			return nil, err
		}
		w := &Wave{Name: Spoken, Rate: voice.Rate, File: make([]float32, len(s.x))}
		for i, v := range s.x {
			w.File[i] = float32(v)
		}
		return w, nil
	}
	for _, st := range p.Strips {
		if st.Name == strip {
			return b.run(ctx, p, st, own(p.Changes, strip, p.Strips), true, nil)
		}
	}
	return nil, fmt.Errorf("there is no strip %s", strip)
}

func (b *Bench) run(ctx context.Context, p *Performed, st scenario.Strip, changes []Change, keep bool, progress func(float64)) (*Wave, error) {
	s, err := b.perform(ctx, p)
	if err != nil {
		return nil, err
	}
	strip, err := sim.NewStrip(voice.Rate, st.Chain, p.Seed)
	if err != nil {
		return nil, fmt.Errorf("strip %s: %w", st.Name, err)
	}
	ro, err := sim.NewReadout(voice.Rate)
	if err != nil {
		return nil, err
	}
	w := &Wave{Name: st.Name, Rate: voice.Rate}
	if keep {
		w.File = make([]float32, 0, len(s.x))
	}
	var src sim.Source = &sim.Samples{X: s.x}
	o := sim.RunOptions{
		Moves: s.moves,
		Sink: func(_ int, t *sim.Taps) error {
			ro.Write(t)
			if keep {
				for _, v := range t.Wave[sim.AtFile] {
					w.File = append(w.File, float32(v))
				}
			}
			return nil
		},
		Progress: func(frames int64) {
			if progress != nil {
				progress(float64(frames) / float64(len(s.x)+1))
			}
			if b.Yield != nil {
				b.Yield()
			}
		},
	}
	var last *sim.Chain
	if len(changes) > 0 {
		// The engine's own moves would put the settings back.
		r := &ridden{src: src, strip: strip, chain: st.Chain, start: st.Chain.DistanceM, moves: s.moves, changes: changes}
		src, o.Moves, last = r, nil, &r.chain
	}
	if _, err := sim.Run(ctx, src, []*sim.Strip{strip}, o); err != nil {
		return nil, err
	}
	if last == nil {
		last = &st.Chain
	}
	ro.Settings(*last)
	w.Measured = measured(ro.Readings())
	w.Overs = ro.Overs()
	return w, nil
}

// ridden is a source that turns settings when their time comes.
type ridden struct {
	src     sim.Source
	strip   *sim.Strip
	chain   sim.Chain
	start   float64 // distance at the beginning, m
	moves   []sim.Move
	changes []Change
	frames  int64
}

func (r *ridden) Read(dst []float64) (int, error) {
	t := float64(r.frames) / float64(r.strip.Rate())
	next := r.chain
	for len(r.changes) > 0 && r.changes[0].AtS <= t {
		c := r.changes[0]
		r.changes = r.changes[1:]
		// The scenario's own reader sets and checks the value.
		s := scenario.New()
		s.Strips[0].Chain = next
		if err := put(s, s.Strips[0].Name+"."+c.Key, c.Value); err != nil {
			return 0, err
		}
		next = s.Strips[0].Chain
		if c.Key == "distance_m" {
			r.start = next.DistanceM
			r.moves = nil
		}
	}
	next.DistanceM = sim.DistanceAt(r.moves, r.start, t)
	if next != r.chain {
		if err := r.strip.Apply(next); err != nil {
			return 0, err
		}
		r.chain = next
	}
	n, err := r.src.Read(dst)
	r.frames += int64(n)
	return n, err
}
