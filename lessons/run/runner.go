// Package run takes one student through one lesson, without a screen, and gives the
// result that is handed in.
package run

import (
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"runtime"
	"slices"
	"time"

	"gainwright/lessons"
	"gainwright/lessons/model"
	"gainwright/lessons/names"
	"gainwright/lessons/rules"
	"gainwright/lessons/take"
	"gainwright/sounds/own"
	"gainwright/sounds/scenario"
	"gainwright/sounds/voice"
)

// State is what a runner waits for.
type State string

// The states of a runner.
const (
	Reading   State = "reading"   // Next goes on
	Answering State = "answering" // Answer; Next is refused until then
	Recording State = "recording" // Apply and Record; Next when the task is met, or GiveUp
	Listening State = "listening" // Sounds; blind: Answer once for each trial; else Next
	Finished  State = "finished"  // Result
)

// ErrCommitted refuses to change an answer that stands.
var ErrCommitted = errors.New("the answer stands: it cannot be changed afterwards")

// RandomName is what a random name begins with.
const RandomName = "local-"

// Options of a runner; the zero value is a plain one.
type Options struct {
	Seed    uint64           // draws this student's quantities
	Student string           // "": a random name
	Bench   *take.Bench      // nil: an own one
	Now     func() time.Time // nil: time.Now
}

// A Runner takes one student through one lesson, without a screen.
//
// It stands at one step at a time; View tells everything to show. What it waits
// for is State:
//
//	Reading    show View().Text; where Owes says so, Work(ctx); Next
//	Answering  show the question; Answer(…), which for a prediction stands; Next
//	Recording  Controls are unlocked, the rest is Locked; Apply(key, value),
//	           Record(ctx) as often as wanted; Next when the rule holds, or GiveUp;
//	           where a take sounds, Heard while it does, and Drop if it is broken off
//	Listening  Sounds(ctx) gives the files at the gains to play them with, with
//	           their cautions; blind: Trial tells what to play, Answer what the
//	           student took it for; where Asked, Answer(…) the question
//	Finished   Result
//
// Why Next is refused, Blocked tells. Bench gives the settings as they stand, for
// a level diagram. A runner does no work in the background: Record and Sounds take
// about a fiftieth of the take's length for each strip. Save gives the progress as
// JSON at any time and Resume goes on from it, also in another process; sound is
// not kept and is made again when asked for. A Runner is for one goroutine at a
// time.
type Runner struct {
	l       *model.Lesson
	p       Progress
	bench   *take.Bench
	own     *own.Guest // gives the takes, or nil
	now     func() time.Time
	since   time.Time // of the present step
	s       *scenario.Scenario
	takes   map[string]voice.Script
	chains  map[string][]scenario.Strip // at the take that counts, by step
	rolling bool                        // the last of the present step's Dropped is under way
	checks  []rules.Check               // of the present step's last take
	said    []string                    // feedback and hints of the present step
}

// NewRunner begins a lesson.
func NewRunner(l *model.Lesson, o Options) (*Runner, error) {
	if o.Seed > scenario.MaxSeed {
		return nil, fmt.Errorf("seed %d is out of range: 0 to %d", o.Seed, uint64(scenario.MaxSeed))
	}
	r := &Runner{l: l}
	r.options(o)
	r.p = Progress{
		Format: 1, Lesson: LessonRef{l.ID, l.Title, l.Hash}, Program: lessons.Version(), Platform: runtime.GOOS + "/" + runtime.GOARCH,
		Student: o.Student, Attempt: randomID(), Seed: o.Seed, Drawn: l.Drawn(o.Seed), Started: r.now().UTC().Truncate(time.Second),
		Steps: make([]StepProgress, len(l.Steps)),
	}
	if r.p.Student == "" {
		r.p.Student = RandomName + randomID()[:8]
	}
	for i, s := range l.Steps {
		r.p.Steps[i] = StepProgress{ID: s.ID, Kind: s.Kind}
	}
	if err := r.rebuild(); err != nil {
		return nil, err
	}
	return r, nil
}

func (r *Runner) options(o Options) {
	if r.bench = o.Bench; r.bench == nil {
		r.bench = take.NewBench()
	}
	if r.now = o.Now; r.now == nil {
		r.now = time.Now
	}
	r.since = r.now()
}

// Save gives the progress as JSON.
func (r *Runner) Save() ([]byte, error) {
	p := r.p
	p.Steps = slices.Clone(p.Steps)
	if p.At < len(p.Steps) {
		p.Steps[p.At].Seconds = names.Round(p.Steps[p.At].Seconds+r.now().Sub(r.since).Seconds(), 1)
	}
	return json.Marshal(p)
}

// Resume goes on from what Save gave. The lesson has to be the same to the letter.
func Resume(l *model.Lesson, saved []byte, o Options) (*Runner, error) {
	var p Progress
	if err := strictJSON(saved, &p); err != nil {
		return nil, fmt.Errorf("the progress cannot be read: %w", err)
	}
	switch {
	case p.Format != 1:
		return nil, fmt.Errorf("the progress has format %d; this program knows format 1", p.Format)
	case p.Lesson.ID != l.ID || p.Lesson.Hash != l.Hash:
		return nil, fmt.Errorf("the progress belongs to %q as it was then; the lesson at hand is %q or has changed", p.Lesson.ID, l.ID)
	case len(p.Steps) != len(l.Steps) || p.At < 0 || p.At > len(l.Steps) || p.Seed > scenario.MaxSeed:
		return nil, errors.New("the progress does not fit the lesson")
	}
	for i := range p.Steps {
		if p.Steps[i].ID != l.Steps[i].ID || p.Steps[i].Kind != l.Steps[i].Kind || len(p.Steps[i].Hints) > 0 && len(p.Steps[i].Hints) != len(l.Steps[i].Hints) {
			return nil, errors.New("the progress does not fit the lesson")
		}
	}
	if p.Voice != nil && !l.OwnVoice {
		return nil, errors.New("the progress does not fit the lesson")
	}
	p.Drawn = l.Drawn(p.Seed)
	r := &Runner{l: l, p: p}
	r.options(o)
	if err := r.rebuild(); err != nil {
		return nil, err
	}
	return r, nil
}

// rebuild sets the bench up as it stands at the present step.
func (r *Runner) rebuild() error {
	var err error
	if r.s, r.takes, err = r.l.SetUp(r.p.Drawn); err != nil {
		return err
	}
	r.chains = map[string][]scenario.Strip{}
	for i := 0; i <= min(r.p.At, len(r.l.Steps)-1); i++ {
		if err := r.enter(i); err != nil {
			return err
		}
		sp := &r.p.Steps[i]
		if sp.Take != nil {
			at := r.s.Clone()
			if err := putAll(at, sp.Take.Settings); err != nil {
				return err
			}
			r.chains[sp.ID] = at.Strips
		}
		if err := putAll(r.s, sp.Settings); err != nil {
			return err
		}
	}
	if st := r.step(); st != nil && st.Kind == model.Do && r.p.Steps[r.p.At].Take != nil {
		r.judge(st)
	}
	return nil
}

func putAll(s *scenario.Scenario, settings map[string]any) error {
	for _, k := range slices.Sorted(maps.Keys(settings)) {
		if err := names.Put(s, k, settings[k]); err != nil {
			return errors.New(names.FaultText(err))
		}
	}
	return nil
}

// enter makes the settings that a step begins with.
func (r *Runner) enter(i int) error {
	for _, set := range r.l.Steps[i].Set {
		if err := names.Put(r.s, set.Key, set.Value); err != nil {
			return errors.New(names.FaultText(err))
		}
	}
	return nil
}

func (r *Runner) step() *model.Step {
	if r.p.At >= len(r.l.Steps) {
		return nil
	}
	return r.l.Steps[r.p.At]
}

func (r *Runner) here() *StepProgress { return &r.p.Steps[r.p.At] }

// Lesson is the lesson under way, which callers do not change.
func (r *Runner) Lesson() *model.Lesson { return r.l }

// Progress returns everything done so far. Its maps and slices are the runner's:
// read them only.
func (r *Runner) Progress() Progress { return r.p }

// Bench returns the bench with its settings as they stand now.
func (r *Runner) Bench() *scenario.Scenario { return r.s.Clone() }

// State tells what the runner waits for.
func (r *Runner) State() State {
	s := r.step()
	if s == nil {
		return Finished
	}
	switch s.Kind {
	case model.Predict, model.Ask, model.Explain:
		if r.here().Verdict == Open && (s.Kind != model.Predict || len(r.here().Answers) == 0) {
			return Answering
		}
	case model.Do, model.Record:
		return Recording
	case model.Listen, model.Mend, model.Twin:
		return Listening
	}
	return Reading
}

// Asked tells that the present step has a question, or asks for words, and waits for the
// answer: when Answering, or Listening where something is asked of what is heard.
func (r *Runner) Asked() bool {
	s := r.step()
	return r.State() == Answering || s != nil && s.Kind == model.Listen && s.Question != nil && r.here().Verdict == Open
}

// Blocked tells why Next is refused, or "".
func (r *Runner) Blocked() string {
	s := r.step()
	if s == nil {
		return "the lesson is finished"
	}
	sp := r.here()
	if r.Owes() {
		return atWork[s.Kind]
	}
	switch r.State() {
	case Answering:
		return "the question is not answered yet"
	case Recording:
		switch {
		case sp.Take == nil && r.owed(s):
			return "the take was given up, and it was the last: " + OwedWords
		case sp.Take == nil:
			return "nothing has been recorded yet"
		case s.Kind == model.Do && sp.Verdict != Right && !r.over(s):
			return "the task is not met yet: change the settings and record again, or give up"
		}
	case Listening:
		if r.Asked() {
			return "the question is not answered yet"
		}
		if s.Trials > len(sp.Answers) {
			return fmt.Sprintf("%d of %d trials are answered", len(sp.Answers), s.Trials)
		}
	}
	return ""
}

// atWork tells what a step waits for that works something out.
var atWork = map[model.Kind]string{
	model.Mend: "the treatments are at work", model.Plan: "the plan is being worked out", model.Twin: "the second performance is being worked out",
}

// spent tells that no more takes are allowed, but for one that is under way.
func (r *Runner) spent(s *model.Step) bool {
	used := r.here().Takes + len(r.here().Dropped)
	if r.rolling {
		used--
	}
	return s.Attempts > 0 && used >= s.Attempts
}

// owed tells that every take of the step was given up: the last of them is still to be
// performed to its end, as it was set.
func (r *Runner) owed(s *model.Step) bool { return r.spent(s) && r.here().Takes == 0 }

// over tells that nothing more is recorded.
func (r *Runner) over(s *model.Step) bool { return r.spent(s) && !r.owed(s) }

// lastTake is the step whose take was recorded last, up to and with the present.
func (r *Runner) lastTake() string {
	for i := min(r.p.At, len(r.p.Steps)-1); i >= 0; i-- {
		if r.p.Steps[i].Take != nil {
			return r.p.Steps[i].ID
		}
	}
	return ""
}

func (r *Runner) takeOf(id string) *TakeProgress {
	if i := r.index(id); i >= 0 {
		return r.p.Steps[i].Take
	}
	return nil
}

// index is the place of a step in the lesson, −1 if there is none.
func (r *Runner) index(id string) int {
	return slices.IndexFunc(r.l.Steps, func(s *model.Step) bool { return s.ID == id })
}

// values gives the variables of rules and texts with the takes up to step i.
func (r *Runner) values(i int) rules.Values {
	v := model.DrawnValues(r.p.Drawn)
	r.talkerOf(v)
	for k := 0; k <= i && k < len(r.p.Steps); k++ {
		sp := &r.p.Steps[k]
		if q := r.l.Steps[k].Question; q != nil && len(sp.Answers) > 0 {
			v["answers."+sp.ID] = q.Say(sp.Answers[len(sp.Answers)-1])
		}
		if r.heardBlind(k) {
			v[sp.ID+"."+rules.Hits] = float64(sp.Hits)
		}
		for way, m := range sp.Mended {
			for _, name := range model.FiguresOf(r.l.Steps[k].Kind) {
				v[sp.ID+"."+way+"."+name] = float64(m[name])
			}
		}
		if sp.Take != nil {
			takeValues(v, sp.ID, r.chains[sp.ID], sp.Take.Readings)
		}
	}
	return v
}

// takeValues adds the settings and readings of a step's take.
func takeValues(v rules.Values, step string, strips []scenario.Strip, m map[string]names.Measured) {
	settings := names.Settings()
	for _, st := range strips {
		know := func(name string, x any) {
			v[st.Name+"."+name] = x
			v[step+"."+st.Name+"."+name] = x
		}
		for _, n := range settings {
			know(n.Key, names.Get(&st.Chain, n.Key))
		}
		for name, x := range m[st.Name] {
			know(name, float64(x))
		}
	}
}

// Rename says whom the result is from; "" leaves the name that it has.
func (r *Runner) Rename(student string) {
	if student != "" {
		r.p.Student = student
	}
}

// Known gives the variables of rules and texts as they stand now.
func (r *Runner) Known() rules.Values { return r.values(r.p.At) }

// DecidedBy gives the variables by which the prediction of that step was graded, or
// nil.
func (r *Runner) DecidedBy(step string) rules.Values {
	_, v := r.decided(r.index(step))
	return v
}

// decided finds the step, of those that were left, that decided the prediction of step i,
// and the variables as they stood; -1 and nil where none has.
func (r *Runner) decided(i int) (step int, v rules.Values) {
	if i < 0 || len(r.p.Steps[i].Answers) == 0 {
		return -1, nil
	}
	q := r.l.Steps[i].Question
	for k := i + 1; k < r.p.At; k++ {
		if r.p.Steps[k].Take == nil && r.p.Steps[k].Mended == nil && !r.heardBlind(k) {
			continue
		}
		v := r.values(k)
		if _, _, known := q.Grade("", v); known {
			return k, v
		}
	}
	return -1, nil
}

// Retook says how many takes the present step has really had, and which were given up,
// when one of them is recorded again.
func (r *Runner) Retook(takes int, dropped []float64) {
	r.here().Takes, r.here().Dropped = takes, slices.Clone(dropped)
}

// Next goes to the next step; why it is refused, Blocked tells.
func (r *Runner) Next() error {
	if why := r.Blocked(); why != "" {
		return errors.New(why)
	}
	return r.forward()
}

func (r *Runner) forward() error {
	s, sp := r.step(), r.here()
	if sp.Verdict == Open && s.Kind != model.Predict {
		sp.Verdict = Done
	}
	sp.Seconds = names.Round(sp.Seconds+r.now().Sub(r.since).Seconds(), 1)
	r.since = r.now()
	if s.IsTake() && sp.Take != nil {
		// The bench goes on as the take that counts had it.
		if err := putAll(r.s, sp.Take.Settings); err != nil {
			return err
		}
		sp.Settings = nil
		if len(sp.Take.Settings) > 0 {
			sp.Settings = sp.Take.Settings
		}
		r.predictions()
	}
	if r.heardBlind(r.p.At) || sp.Mended != nil {
		r.predictions()
	}
	r.p.At++
	r.checks, r.said, r.rolling = nil, nil, false
	if r.p.At == len(r.l.Steps) {
		for i, s := range r.l.Steps {
			if p := &r.p.Steps[i]; s.Kind == model.Predict && p.Verdict == Open {
				p.Verdict = Done
			}
		}
		end := r.now().UTC().Truncate(time.Second)
		r.p.Ended = &end
		return nil
	}
	return r.enter(r.p.At)
}

// heardBlind tells that step i is a blind comparison all of whose trials are answered.
func (r *Runner) heardBlind(i int) bool {
	s := r.l.Steps[i]
	return s.Hears() && s.Trials > 0 && len(r.p.Steps[i].Answers) >= s.Trials
}

// predictions grades those whose outcome the step that is left, a take or a blind
// comparison, has shown.
func (r *Runner) predictions() {
	v := r.values(r.p.At)
	for i := range r.p.At {
		s, sp := r.l.Steps[i], &r.p.Steps[i]
		if s.Kind != model.Predict || sp.Verdict != Open || len(sp.Answers) == 0 {
			continue
		}
		right, truth, known := s.Question.Grade(sp.Answers[len(sp.Answers)-1], v)
		if !known {
			continue
		}
		sp.Truth, sp.Verdict = truth, Wrong
		if right {
			sp.Verdict, sp.Points = Right, s.Points
		}
	}
}
