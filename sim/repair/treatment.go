package repair

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"gainwright/sim"
	"gainwright/sim/meter"
	"gainwright/sim/repair/restore"
	"gainwright/sim/say"
)

// valid reports whether v can be a sample: not NaN, infinite or absurd.
func valid(v float64) bool { return math.Abs(v) < 1<<64 }

// scrubbed returns x without unusable samples (x itself if there is none), and
// how many there were.
func scrubbed(x []float64) ([]float64, int) {
	n := 0
	for _, v := range x {
		if !valid(v) {
			n++
		}
	}
	if n == 0 {
		return x, 0
	}
	y := slices.Clone(x)
	for i, v := range y {
		if !valid(v) {
			y[i] = 0
		}
	}
	return y, n
}

func firstOf(errs ...error) error {
	for _, e := range errs {
		if e != nil {
			return e
		}
	}
	return nil
}

// Run says how an application runs; the zero value is a plain one.
type Run struct {
	// Cores is how many cores heavy work may use; 0 for all. Results do not
	// depend on it.
	Cores int
	// Progress is called now and then with the share done, 0 to 1, from one
	// goroutine at a time.
	Progress func(share float64)
}

func (r Run) progress(share float64) {
	if r.Progress != nil {
		r.Progress(share)
	}
}

// A Treatment is one thing done to a take.
type Treatment interface {
	// Name is what it is called in lists and reports, lower case.
	Name() string
	// Validate returns nil or an error for settings out of range.
	Validate() error
	// Apply returns the treated take; x is not changed. Samples that are no
	// numbers count as zero. The error is that of Validate, of the rate, or of
	// ctx; a take that cannot be helped is no error but a Verdict.
	Apply(ctx context.Context, x []float64, rate int, r Run) ([]float64, Report, error)
}

// A Processor is a treatment on a stream.
type Processor interface {
	// Process treats buf in place. The output is Latency samples late.
	Process(buf []float64)
	// Latency is the delay in samples.
	Latency() int
	// Reset makes it as new.
	Reset()
}

// Streaming is a Treatment that also works on a stream.
type Streaming interface {
	Treatment
	// Processor returns a stream version at a rate, or the error of Validate.
	Processor(rate int) (Processor, error)
}

// Outcome is what came of a treatment.
type Outcome string

// The outcomes.
const (
	Done      Outcome = "done"    // it did what it does
	Nothing   Outcome = "nothing" // there was nothing for it to do
	Partly    Outcome = "partly"  // less than was asked for
	Hopeless  Outcome = "hopeless"
	EmptyTake Outcome = "empty" // no samples, or only silence
)

// A Verdict says in words what a treatment brought.
type Verdict struct {
	Outcome Outcome `json:"outcome"`
	// Usable tells whether a listener would take the result for speech with no
	// more than minor damage, as far as that can be judged from the take alone.
	Usable bool `json:"usable"`
	// Back is what came back, Lost what did not; one sentence each, maybe empty.
	Back string `json:"back"`
	Lost string `json:"lost"`
}

// String joins the sentences.
func (v Verdict) String() string {
	return strings.TrimSpace(v.Back + " " + v.Lost)
}

// A Number is a figure of a report; the key has its unit at the end.
type Number struct {
	Key   string  `json:"key"`
	Value float64 `json:"value"`
}

// MarshalJSON writes null for a value JSON has no number for (the level of silence).
func (n Number) MarshalJSON() ([]byte, error) {
	return json.Marshal(struct {
		Key   string    `json:"key"`
		Value sim.Level `json:"value"`
	}{n.Key, sim.Level(n.Value)})
}

// A Report is what one treatment did.
type Report struct {
	Treatment string   `json:"treatment"`
	Verdict   Verdict  `json:"verdict"`
	Numbers   []Number `json:"numbers"`

	doubt doubt // of declipping
}

// A doubt is what one run of declipping told of itself.
type doubt struct {
	restore.Doubt
	effort restore.Effort
	rate   int // Hz
	told   bool
}

// Number returns the figure under key, and whether there is one.
func (r Report) Number(key string) (float64, bool) {
	for _, n := range r.Numbers {
		if n.Key == key {
			return n.Value, true
		}
	}
	return 0, false
}

// A SettingError tells which setting is wrong and why.
type SettingError struct {
	Treatment, Key, Msg string
}

func (e *SettingError) Error() string { return e.Treatment + ": " + e.Key + ": " + e.Msg }

func within(t, key, unit string, v, lo, hi float64) error {
	if v >= lo && v <= hi {
		return nil
	}
	return &SettingError{t, key, fmt.Sprintf("%v %s is out of range (%v to %v)", v, unit, lo, hi)}
}

// begin is what every Apply starts with.
func begin(ctx context.Context, t Treatment, x []float64, rate int) ([]float64, error) {
	if err := errors.Join(t.Validate(), meter.CheckRate(rate), ctx.Err()); err != nil {
		return nil, err
	}
	y, _ := scrubbed(x)
	return y, nil
}

func peakOf(x []float64) float64 {
	p := 0.0
	for _, v := range x {
		p = max(p, math.Abs(v))
	}
	return p
}

var silent = Verdict{Outcome: EmptyTake, Back: "The take is empty: there is nothing to treat."}

// A Stack applies treatments in order.
type Stack []Treatment

// Validate returns nil or every treatment's error, joined.
func (s Stack) Validate() error {
	var errs []error
	for i, t := range s {
		if err := t.Validate(); err != nil {
			errs = append(errs, fmt.Errorf("treatment %d: %w", i+1, err))
		}
	}
	return errors.Join(errs...)
}

// Apply returns the result and a report for each treatment.
func (s Stack) Apply(ctx context.Context, x []float64, rate int, r Run) ([]float64, []Report, error) {
	if err := s.Validate(); err != nil {
		return nil, nil, err
	}
	y := append([]float64(nil), x...)
	var reports []Report
	for i, t := range s {
		part := r
		if r.Progress != nil {
			part.Progress = func(p float64) { r.Progress((float64(i) + p) / float64(len(s))) }
		}
		z, rep, err := t.Apply(ctx, y, rate, part)
		if err != nil {
			return nil, reports, err
		}
		y = z
		reports = append(reports, rep)
		r.progress(float64(i+1) / float64(len(s)))
	}
	return y, reports, nil
}

// stream runs a processor over x and takes its latency out.
func stream(ctx context.Context, p Processor, x []float64, r Run) ([]float64, error) {
	late := p.Latency()
	y := make([]float64, len(x)+late)
	copy(y, x)
	const block = 1 << 16
	for i := 0; i < len(y); i += block {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		p.Process(y[i:min(i+block, len(y))])
		r.progress(float64(min(i+block, len(y))) / float64(len(y)))
	}
	return y[late:], nil
}

// minus and plusMinus write a level or a gain in sentences, with a true minus sign.
func minus(db float64) string { return say.Number("%.1f", db) }

func plusMinus(db float64) string { return say.Number("%+.1f", db) }
