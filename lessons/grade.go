package lessons

import (
	"context"
	"fmt"
	"math"
	"runtime"
	"slices"
	"strings"
	"sync"
	"time"

	"gainwright/sounds/scenario/plain"
)

// A Grade is what grading found out about one result.
type Grade struct {
	Path     string  `json:"path"`
	Student  string  `json:"student"`
	Lesson   string  `json:"lesson"`
	Seed     uint64  `json:"seed"`
	Points   float64 `json:"points"` // as computed here, not as the file says
	Of       float64 `json:"of"`
	Passed   bool    `json:"passed"`
	FailedAt string  `json:"failed_at,omitempty"`
	Why      string  `json:"why,omitempty"` // it is not passed, in words
	Minutes  float64 `json:"minutes"`
	Flags    []Flag  `json:"flags,omitempty"` // what does not fit; none: the result reproduces
	Notes    []Flag  `json:"notes,omitempty"` // worth a look, proves nothing
	Result   *Result `json:"-"`
}

// A Flag is one thing that does not fit.
type Flag struct {
	Step string `json:"step,omitempty"`
	What string `json:"what"`
}

func (f Flag) String() string {
	if f.Step == "" {
		return f.What
	}
	return f.Step + ": " + f.What
}

// OK tells that the result reproduces.
func (g *Grade) OK() bool { return len(g.Flags) == 0 }

// A Grader verifies results: the signature, the quantities drawn, every take run
// again, every answer graded again. Takes that are alike are run once. Fields are
// set before the first Grade; it is safe for several goroutines.
type Grader struct {
	Key   []byte // of the class; empty: results have a plain hash
	Bench *Bench

	mu      sync.Mutex
	lessons map[string]*Lesson // by hash
	byID    map[string]*Lesson
}

// NewGrader knows the lessons given.
func NewGrader(ls ...*Lesson) *Grader {
	g := &Grader{Bench: NewBench(), lessons: map[string]*Lesson{}, byID: map[string]*Lesson{}}
	for _, l := range ls {
		g.lessons[l.Hash], g.byID[l.ID] = l, l
	}
	return g
}

// Grade verifies one result. An error means that it could not be done (ctx was
// cancelled); everything that is wrong with the result is a flag.
func (g *Grader) Grade(ctx context.Context, path string, res *Result) (*Grade, error) {
	out := &Grade{Path: path, Student: res.Student, Lesson: res.Lesson.ID, Seed: res.Seed, Result: res}
	flag := func(step, format string, args ...any) {
		out.Flags = append(out.Flags, Flag{step, fmt.Sprintf(format, args...)})
	}
	if why := res.verify(g.Key); why != "" {
		flag("", "%s", why)
	}
	l := g.lessons[res.Lesson.Hash]
	if l == nil {
		if known := g.byID[res.Lesson.ID]; known != nil {
			flag("", "the lesson %s is not the one at hand: its text was different", plain.Quote(res.Lesson.ID))
		} else {
			flag("", "the lesson %s is not known here: give its file with --lesson", plain.Quote(res.Lesson.ID))
		}
		return out, nil
	}
	if l.ID != res.Lesson.ID || l.Title != res.Lesson.Title {
		flag("", "the lesson's name is %s, not %s", plain.Quote(l.ID), plain.Quote(res.Lesson.ID))
	}
	if res.Ended == nil || res.At != len(l.Steps) || len(res.Steps) != len(l.Steps) {
		flag("", "the lesson was not finished")
		return out, nil
	}
	g.times(res, out)
	drawn := l.Drawn(res.Seed)
	for _, k := range sortedKeys(merge(res.Drawn, drawn)) {
		if fmt.Sprint(res.Drawn[k]) != fmt.Sprint(drawn[k]) {
			flag("", "%s is %v in the file; seed %d draws %v", plain.Shorten(k), res.Drawn[k], res.Seed, drawn[k])
		}
	}
	again, err := g.replay(ctx, l, res, flag)
	if err != nil {
		return nil, err
	}
	if again == nil {
		return out, nil
	}
	g.compare(res, again, flag)
	out.Points, out.Of, out.Passed, out.FailedAt = again.Points, again.Of, again.Passed, again.FailedAt
	out.Why = again.Why(l)
	return out, nil
}

// times looks at what clocks say: never proof, clocks can be set.
func (g *Grader) times(res *Result, out *Grade) {
	note := func(format string, args ...any) {
		out.Notes = append(out.Notes, Flag{"", fmt.Sprintf(format, args...)})
	}
	sum := 0.0
	for _, s := range res.Steps {
		sum += s.Seconds
	}
	out.Minutes = round(sum/60, 1)
	took := res.Ended.Sub(res.Started).Seconds()
	switch {
	case took < 0:
		note("ended before it started")
	case sum > took+float64(len(res.Steps))+2:
		note("the steps took %.0f s, longer than from start to end (%.0f s)", sum, took)
	}
	if sum < 2*float64(len(res.Steps)) {
		note("%.0f s for %d steps: faster than one can read", sum, len(res.Steps))
	}
}

// replay does what the result says was done and returns what comes of it.
func (g *Grader) replay(ctx context.Context, l *Lesson, res *Result, flag func(step, format string, args ...any)) (*Result, error) {
	r, err := NewRunner(l, Options{Seed: min(res.Seed, 1<<53-1), Student: res.Student, Bench: g.Bench})
	if err != nil {
		flag("", "the bench cannot be set up: %v", err)
		return nil, nil
	}
	for i, s := range l.Steps {
		sp := &res.Steps[i]
		if sp.ID != s.ID || sp.Kind != s.Kind {
			flag(sp.ID, "is not step %d of the lesson", i+1)
			return nil, nil
		}
		stop := func(what string, err error) {
			flag(s.ID, "%s: %v", what, err)
		}
		switch {
		case s.Question != nil || s.Kind == Explain || s.Trials > 0:
			for _, a := range sp.Answers {
				if _, err := r.Answer(a); err != nil {
					stop("an answer that could not have been given", err)
					return nil, nil
				}
			}
		case s.IsTake() && sp.Take != nil:
			for _, k := range sortedKeys(sp.Take.Settings) {
				if err := r.Apply(k, sp.Take.Settings[k]); err != nil {
					stop("a setting that could not have been made", err)
					return nil, nil
				}
			}
			if err := r.Record(ctx, nil, sp.Take.Changes...); err != nil {
				if ctx.Err() != nil {
					return nil, ctx.Err()
				}
				stop("a take that could not have been recorded", err)
				return nil, nil
			}
			if s.Attempts > 0 && sp.Takes > s.Attempts || sp.Takes < 1 {
				flag(s.ID, "%d takes, the lesson allows %d", sp.Takes, s.Attempts)
			}
			r.here().Takes = sp.Takes
		}
		if s.Kind == Do && r.Blocked() != "" {
			err = r.GiveUp()
		} else {
			err = r.Next()
		}
		if err != nil {
			stop("could not have been left", err)
			return nil, nil
		}
	}
	again := &Result{Progress: r.p}
	again.score(l)
	return again, nil
}

// Tolerances between platforms, which round differently in the last bits; on one
// platform results are equal but for what JSON drops.
const (
	sameTolerance  = 1e-6
	otherTolerance = 0.01
)

// compare holds the result against what came of doing it again.
func (g *Grader) compare(res, again *Result, flag func(step, format string, args ...any)) {
	tol := sameTolerance
	if res.Platform != runtime.GOOS+"/"+runtime.GOARCH {
		tol = otherTolerance
	}
	for i := range again.Steps {
		a, b := &res.Steps[i], &again.Steps[i]
		if a.Verdict != b.Verdict {
			flag(a.ID, "is %s in the file; it comes out as %s", orOpen(a.Verdict), orOpen(b.Verdict))
		}
		if a.Points != b.Points {
			flag(a.ID, "has %v points in the file; it comes out with %v", a.Points, b.Points)
		}
		if a.Hits != b.Hits {
			flag(a.ID, "has %d hits in the file; it comes out with %d", a.Hits, b.Hits)
		}
		if a.Truth != b.Truth && tol == sameTolerance {
			flag(a.ID, "the right answer is %s in the file; it comes out as %s", plain.Quote(a.Truth), plain.Quote(b.Truth))
		}
		if !slices.Equal(a.Answers, b.Answers) {
			flag(a.ID, "an answer is written as no program writes it")
		}
		if (a.Take == nil) != (b.Take == nil) {
			flag(a.ID, "a take is missing or too many")
			continue
		}
		if a.Take != nil {
			compareTakes(a, b, tol, flag)
		}
	}
	if res.Points != again.Points || res.Of != again.Of || res.Passed != again.Passed || res.FailedAt != again.FailedAt {
		flag("", "says %v of %v points, %s; it comes out as %v of %v, %s", res.Points, res.Of, passed(res.Passed), again.Points, again.Of, passed(again.Passed))
	}
}

func merge(a, b map[string]any) map[string]any {
	out := map[string]any{}
	for _, m := range []map[string]any{a, b} {
		for k := range m {
			out[k] = nil
		}
	}
	return out
}

func passed(p bool) string {
	if p {
		return "passed"
	}
	return "not passed"
}

func orOpen(v Verdict) string {
	if v == Open {
		return "open"
	}
	return string(v)
}

func compareTakes(a, b *StepProgress, tol float64, flag func(step, format string, args ...any)) {
	for _, k := range sortedKeys(merge(a.Take.Settings, b.Take.Settings)) {
		if fmt.Sprint(a.Take.Settings[k]) != fmt.Sprint(b.Take.Settings[k]) {
			flag(a.ID, "%s is %v in the file; the take needs %v", k, a.Take.Settings[k], b.Take.Settings[k])
		}
	}
	var wrong []string
	for _, strip := range sortedKeys(b.Take.Readings) {
		x, y := a.Take.Readings[strip], b.Take.Readings[strip]
		for _, k := range sortedKeys(y) {
			got, is := x[k]
			if !is || !near(float64(got), float64(y[k]), k, tol) {
				name := strip + "." + k
				wrong = append(wrong, fmt.Sprintf("%s is %s in the file; the simulation gives %s", name, show(name, float64(got)), show(name, float64(y[k]))))
			}
		}
		for k := range x {
			if _, is := y[k]; !is {
				wrong = append(wrong, fmt.Sprintf("%s.%s is no reading", strip, plain.Shorten(k)))
			}
		}
	}
	for strip := range a.Take.Readings {
		if b.Take.Readings[strip] == nil {
			wrong = append(wrong, fmt.Sprintf("there is no strip %s", plain.Shorten(strip)))
		}
	}
	slices.Sort(wrong)
	if len(wrong) > 3 {
		wrong = append(wrong[:3], fmt.Sprintf("and %d more", len(wrong)-3))
	}
	if len(wrong) > 0 {
		flag(a.ID, "the take does not reproduce: %s", strings.Join(wrong, "; "))
	}
}

// near compares a reading with the one found again. Counts may move a little
// between platforms, where a sample lies on the edge.
func near(a, b float64, name string, tol float64) bool {
	finite := func(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }
	if !finite(a) || !finite(b) {
		return math.IsNaN(a) && math.IsNaN(b) || a == b
	}
	if readingUnit(name) == "" {
		if tol == sameTolerance {
			return a == b
		}
		return math.Abs(a-b) <= max(1, 0.01*math.Abs(b))
	}
	return math.Abs(a-b) <= tol
}

func readingUnit(key string) string {
	for _, n := range readingNames {
		if n.Key == key {
			return n.Unit
		}
	}
	return ""
}

// GradeAll grades many results on all processors, those that share performances
// one after the other, and then looks for results that are one another's copies.
// The order of the grades is that of the results. progress may be nil.
func (g *Grader) GradeAll(ctx context.Context, paths []string, results []*Result, progress func(done, of int)) ([]*Grade, error) {
	keys := make([]string, len(results))
	for i, r := range results {
		keys[i] = r.Lesson.Hash + performanceKey(r.Drawn)
	}
	grades := make([]*Grade, len(results))
	err := eachOf(ctx, keys, func(ctx context.Context, i int) (err error) {
		grades[i], err = g.Grade(ctx, paths[i], results[i])
		return err
	}, progress)
	if err != nil {
		return nil, err
	}
	copies(grades)
	return grades, nil
}

// copies flags results that are the same attempt, and notes those that agree in
// everything a student decides.
func copies(grades []*Grade) {
	attempts, words := map[string]*Grade{}, map[string]*Grade{}
	for _, g := range grades {
		r := g.Result
		if o := attempts[r.Attempt]; o != nil {
			g.Flags = append(g.Flags, Flag{"", "is the same attempt as " + o.Path})
			continue
		}
		attempts[r.Attempt] = g
		for _, s := range r.Steps {
			if s.Kind != Explain || len(s.Answers) == 0 || len(s.Answers[0]) < 40 {
				continue
			}
			k := s.ID + "\x00" + plainWords(s.Answers[0])
			if o := words[k]; o != nil {
				g.Notes = append(g.Notes, Flag{s.ID, "the same words as in " + o.Path})
			} else {
				words[k] = g
			}
		}
	}
}

// isoDuration writes seconds as ISO 8601: PT4M10S.
func isoDuration(seconds float64) string {
	d := time.Duration(math.Round(max(seconds, 0)*100) * float64(10*time.Millisecond))
	h, m := int(d.Hours()), int(d.Minutes())%60
	s := (d % time.Minute).Seconds()
	out := "PT"
	if h > 0 {
		out += fmt.Sprintf("%dH", h)
	}
	if m > 0 {
		out += fmt.Sprintf("%dM", m)
	}
	if s > 0 || out == "PT" {
		out += strings.TrimSuffix(strings.TrimRight(fmt.Sprintf("%.2f", s), "0"), ".") + "S"
	}
	return out
}
