package lessons

import (
	"context"
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"gainwright/sounds/scenario/plain"

	"gainwright/sim/meter"
	"gainwright/sounds/scenario"
	"gainwright/sounds/voice"
)

// Verdict is what became of a step.
type Verdict string

// The verdicts. A step that cannot be right or wrong is Done.
const (
	Open    Verdict = ""        // not finished, or a prediction whose outcome is not known
	Done    Verdict = "done"    // finished; nothing to be right about
	Right   Verdict = "right"   // the task is met, the answer is right
	Wrong   Verdict = "wrong"   // it is not
	Skipped Verdict = "skipped" // given up
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

// A LockedError refuses a setting that the step does not unlock, and says why.
type LockedError struct{ Key, Why string }

func (e *LockedError) Error() string { return e.Key + " is locked: " + e.Why }

// ErrCommitted refuses to change an answer that stands.
var ErrCommitted = errors.New("the answer stands: it cannot be changed afterwards")

// An AnswerError says why an answer was not understood; it was not counted.
type AnswerError struct{ Msg string }

func (e *AnswerError) Error() string { return e.Msg }

// Progress is everything a student has done in a lesson: what Save keeps, and the
// body of a Result.
type Progress struct {
	Format   int            `json:"gainwright_lesson"` // 1
	Lesson   LessonRef      `json:"lesson"`
	Program  string         `json:"program"`  // version
	Platform string         `json:"platform"` // "linux/amd64"
	Student  string         `json:"student"`  // a name given, or a random one
	Attempt  string         `json:"attempt"`  // random
	Seed     uint64         `json:"seed"`
	Drawn    map[string]any `json:"drawn"`
	Started  time.Time      `json:"started"`
	Ended    *time.Time     `json:"ended,omitempty"`
	At       int            `json:"at"` // the step reached, counted from 0
	Steps    []StepProgress `json:"steps"`
}

// LessonRef tells which lesson, to the letter.
type LessonRef struct {
	ID    string `json:"id"`
	Title string `json:"title"`
	Hash  string `json:"sha256"`
}

// StepProgress is what was done in one step.
type StepProgress struct {
	ID       string         `json:"id"`
	Kind     Kind           `json:"kind"`
	Seconds  float64        `json:"seconds"`
	Answers  []string       `json:"answers,omitempty"` // every try; the last one counts. Blind: one for each trial
	Settings map[string]any `json:"settings,omitempty"`
	Takes    int            `json:"takes,omitempty"` // how many were recorded
	Take     *TakeProgress  `json:"take,omitempty"`  // the one that counts: the last
	Verdict  Verdict        `json:"verdict,omitempty"`
	Truth    string         `json:"truth,omitempty"` // what would have been right
	Hits     int            `json:"hits,omitempty"`  // blind trials that were right
	Points   float64        `json:"points"`
}

// TakeProgress is a recorded take: the settings of the unlocked controls, and
// what came of it.
type TakeProgress struct {
	Settings map[string]any      `json:"settings"`
	Changes  []Change            `json:"changes,omitempty"`
	Readings map[string]Measured `json:"readings"`
}

// Options of a runner; the zero value is a plain one.
type Options struct {
	Seed    uint64           // draws this student's quantities
	Student string           // "": a random name
	Bench   *Bench           // nil: an own one
	Now     func() time.Time // nil: time.Now
}

// A Runner takes one student through one lesson, without a screen.
//
// It stands at one step at a time; View tells everything to show. What it waits
// for is State:
//
//	Reading    show View().Text; Next
//	Answering  show the question; Answer(…), which for a prediction stands; Next
//	Recording  Controls are unlocked, the rest is Locked; Apply(key, value),
//	           Record(ctx) as often as wanted; Next when the rule holds, or GiveUp
//	Listening  Sounds(ctx) gives the files at the gains to play them with, with
//	           their cautions; blind: Trial tells what to play, Answer what the
//	           student took it for
//	Finished   Result
//
// Why Next is refused, Blocked tells. Bench gives the settings as they stand, for
// a level diagram. A runner does no work in the background: Record and Sounds take
// about a fiftieth of the take's length for each strip. Save gives the progress as
// JSON at any time and Resume goes on from it, also in another process; sound is
// not kept and is made again when asked for. A Runner is for one goroutine at a
// time.
type Runner struct {
	l      *Lesson
	p      Progress
	bench  *Bench
	now    func() time.Time
	since  time.Time // of the present step
	s      *scenario.Scenario
	takes  map[string]voice.Script
	chains map[string][]scenario.Strip // at the take that counts, by step
	// decidedAt are the values by which predictions were graded, by step.
	decidedAt map[string]values
	resolved  []string // the predictions that the step just left has decided
	checks    []Check  // of the present step's last take
	said      []string // feedback and hints of the present step
}

// NewRunner begins a lesson.
func NewRunner(l *Lesson, o Options) (*Runner, error) {
	if o.Seed > scenario.MaxSeed {
		return nil, fmt.Errorf("seed %d is out of range: 0 to %d", o.Seed, uint64(scenario.MaxSeed))
	}
	r := &Runner{l: l}
	r.options(o)
	r.p = Progress{
		Format: 1, Lesson: LessonRef{l.ID, l.Title, l.Hash}, Program: Version(), Platform: runtime.GOOS + "/" + runtime.GOARCH,
		Student: o.Student, Attempt: randomID(), Seed: o.Seed, Drawn: l.Drawn(o.Seed), Started: r.now().UTC().Truncate(time.Second),
		Steps: make([]StepProgress, len(l.Steps)),
	}
	if r.p.Student == "" {
		r.p.Student = "local-" + randomID()[:8]
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
		r.bench = NewBench()
	}
	if r.now = o.Now; r.now == nil {
		r.now = time.Now
	}
	r.since = r.now()
}

func randomID() string {
	b := make([]byte, 16)
	rand.Read(b) // never fails
	b[6], b[8] = b[6]&0x0f|0x40, b[8]&0x3f|0x80
	return fmt.Sprintf("%x-%x-%x-%x-%x", b[:4], b[4:6], b[6:8], b[8:10], b[10:])
}

// Save gives the progress as JSON.
func (r *Runner) Save() ([]byte, error) {
	p := r.p
	p.Steps = slices.Clone(p.Steps)
	if p.At < len(p.Steps) {
		p.Steps[p.At].Seconds = round(p.Steps[p.At].Seconds+r.now().Sub(r.since).Seconds(), 1)
	}
	return json.Marshal(p)
}

// Resume goes on from what Save gave. The lesson has to be the same to the letter.
func Resume(l *Lesson, saved []byte, o Options) (*Runner, error) {
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
		if p.Steps[i].ID != l.Steps[i].ID || p.Steps[i].Kind != l.Steps[i].Kind {
			return nil, errors.New("the progress does not fit the lesson")
		}
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
	if r.s, r.takes, err = r.l.bench(r.p.Drawn); err != nil {
		return err
	}
	r.chains = map[string][]scenario.Strip{}
	for i := 0; i <= min(r.p.At, len(r.l.Steps)-1); i++ {
		if err := r.enter(i); err != nil {
			return err
		}
		sp := &r.p.Steps[i]
		if sp.Take != nil {
			at := cloneScenario(r.s)
			if err := putAll(at, sp.Take.Settings); err != nil {
				return err
			}
			r.chains[sp.ID] = at.Strips
		}
		if err := putAll(r.s, sp.Settings); err != nil {
			return err
		}
	}
	if st := r.step(); st != nil && st.Kind == Do && r.p.Steps[r.p.At].Take != nil {
		r.judge(st)
	}
	return nil
}

func putAll(s *scenario.Scenario, settings map[string]any) error {
	for _, k := range sortedKeys(settings) {
		if err := put(s, k, settings[k]); err != nil {
			return errors.New(faultText(err))
		}
	}
	return nil
}

// enter makes the settings that a step begins with.
func (r *Runner) enter(i int) error {
	for _, set := range r.l.Steps[i].Set {
		if err := put(r.s, set.Key, set.Value); err != nil {
			return errors.New(faultText(err))
		}
	}
	return nil
}

func (r *Runner) step() *Step {
	if r.p.At >= len(r.l.Steps) {
		return nil
	}
	return r.l.Steps[r.p.At]
}

func (r *Runner) here() *StepProgress { return &r.p.Steps[r.p.At] }

// Lesson returns the lesson.
func (r *Runner) Lesson() *Lesson { return r.l }

// Progress returns everything done so far. Its maps and slices are the runner's:
// read them only.
func (r *Runner) Progress() Progress { return r.p }

// Bench returns the bench with its settings as they stand now.
func (r *Runner) Bench() *scenario.Scenario { return cloneScenario(r.s) }

// State tells what the runner waits for.
func (r *Runner) State() State {
	s := r.step()
	if s == nil {
		return Finished
	}
	switch s.Kind {
	case Predict, Ask, Explain:
		if r.here().Verdict == Open && (s.Kind != Predict || len(r.here().Answers) == 0) {
			return Answering
		}
	case Do, Record:
		return Recording
	case Listen:
		return Listening
	}
	return Reading
}

// Blocked tells why Next is refused, or "".
func (r *Runner) Blocked() string {
	s := r.step()
	if s == nil {
		return "the lesson is finished"
	}
	sp := r.here()
	switch r.State() {
	case Answering:
		return "the question is not answered yet"
	case Recording:
		switch {
		case sp.Take == nil:
			return "nothing has been recorded yet"
		case s.Kind == Do && sp.Verdict != Right && !r.spent(s):
			return "the task is not met yet: change the settings and record again, or give up"
		}
	case Listening:
		if s.Trials > len(sp.Answers) {
			return fmt.Sprintf("%d of %d trials are answered", len(sp.Answers), s.Trials)
		}
	}
	return ""
}

// spent tells that no more takes are allowed.
func (r *Runner) spent(s *Step) bool { return s.Attempts > 0 && r.here().Takes >= s.Attempts }

// A View is everything to show of the present step.
type View struct {
	Number, Of  int // of the step, counted from 1
	State       State
	Step        *Step  // nil when finished
	Text        string // Markdown, values filled in
	Choices     []string
	Controls    []Control
	Take        map[string]Measured // of the last take, by strip; nil if there is none
	Checks      []Check             // how the last take stands to the rule
	Met         bool
	TakesLeft   int // −1: any number
	Feedback    []string
	Predictions []Outcome // of a reveal step
	Cautions    []string
	Blocked     string // why Next is refused
}

// An Outcome is a prediction held against what came.
type Outcome struct {
	ID, Asked, Answer, Truth string // plain text
	Verdict                  Verdict
}

// View returns what to show now.
func (r *Runner) View() View {
	v := View{Number: r.p.At + 1, Of: len(r.l.Steps), State: r.State(), Blocked: r.Blocked(), TakesLeft: -1}
	s := r.step()
	if s == nil {
		v.Number = v.Of
		return v
	}
	sp := r.here()
	v.Step = s
	v.Text = s.Text.fill(r.values(r.p.At - 1))
	if s.Question != nil {
		for _, c := range s.Question.Choices {
			v.Choices = append(v.Choices, c.Text)
		}
	}
	v.Controls = append(v.Controls, s.Controls...)
	v.Checks, v.Feedback, v.Met = r.checks, r.said, sp.Verdict == Right
	if sp.Take != nil {
		v.Take = sp.Take.Readings
	}
	if s.Attempts > 0 {
		v.TakesLeft = max(0, s.Attempts-sp.Takes)
	}
	for _, id := range s.Of {
		v.Predictions = append(v.Predictions, r.outcome(id))
	}
	if s.Kind == Listen {
		v.Cautions = r.cautions(s)
	}
	return v
}

func (r *Runner) outcome(id string) Outcome {
	i := slices.IndexFunc(r.l.Steps, func(s *Step) bool { return s.ID == id })
	s, sp := r.l.Steps[i], &r.p.Steps[i]
	o := Outcome{ID: id, Asked: plain.OneLine(Plain(s.Text.fill(r.values(i-1)), 1<<20)), Truth: sp.Truth, Verdict: sp.Verdict}
	if len(sp.Answers) > 0 {
		o.Answer = s.Question.say(sp.Answers[len(sp.Answers)-1])
	}
	return o
}

// say writes an answer for people.
func (q *Question) say(answer string) string {
	for i, c := range q.Choices {
		if Letter(i) == answer {
			return c.Text
		}
	}
	if q.Number != nil {
		if v, err := strconv.ParseFloat(answer, 64); err == nil {
			return format(v, q.Number.Unit)
		}
	}
	return answer
}

// EarCaution is told before the first listening of every lesson.
const EarCaution = "Start with the volume low and raise it until quiet talk is comfortable. How loud it gets at your ear no program can know. " +
	"The US institute for occupational safety and health (NIOSH 98-126) recommends at most 85 dB(A) over eight hours, half the time for every 3 dB more; " +
	"follow your local rules, and ask a qualified person if your ears ring or ache."

func (r *Runner) cautions(s *Step) []string {
	var out []string
	if !slices.ContainsFunc(r.l.Steps[:r.p.At], func(x *Step) bool { return x.Kind == Listen }) {
		out = append(out, EarCaution)
	}
	if id := r.lastTake(); id != "" {
		m := r.takeOf(id).Readings
		for _, n := range s.Strips {
			if c := cautionFor(n, m[n]); c != "" {
				out = append(out, c)
			}
		}
	}
	return out
}

func cautionFor(name string, m Measured) string {
	if m["overs"] == 0 && m["rail_overs"] == 0 {
		return ""
	}
	return fmt.Sprintf("%s is clipped: harsh, and louder to the ear than the meter shows. Turn the volume down before you play it.", name)
}

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
	for i := range r.p.Steps {
		if r.p.Steps[i].ID == id {
			return r.p.Steps[i].Take
		}
	}
	return nil
}

// drawnValues gives the variables of what was drawn.
func drawnValues(drawn map[string]any) values {
	v := values{}
	for k, x := range drawn {
		v["drawn."+k] = x
		if w, ok := x.(string); ok && k == drawTalker {
			if t, err := voice.Find(w); err == nil {
				v["drawn."+talkerName] = t.Title
			}
		}
	}
	return v
}

// values gives the variables of rules and texts with the takes up to step i.
func (r *Runner) values(i int) values {
	v := drawnValues(r.p.Drawn)
	for k := 0; k <= i && k < len(r.p.Steps); k++ {
		sp := &r.p.Steps[k]
		if q := r.l.Steps[k].Question; q != nil && len(sp.Answers) > 0 {
			v["answers."+sp.ID] = q.say(sp.Answers[len(sp.Answers)-1])
		}
		if sp.Take == nil {
			continue
		}
		for _, st := range r.chains[sp.ID] {
			know := func(name string, x any) {
				v[st.Name+"."+name] = x
				v[sp.ID+"."+st.Name+"."+name] = x
			}
			for _, n := range settingNames {
				know(n.Key, setting(&st.Chain, n.Key))
			}
			for name, x := range sp.Take.Readings[st.Name] {
				know(name, float64(x))
			}
		}
	}
	return v
}

// Locked tells whether a setting cannot be changed now, and why.
func (r *Runner) Locked(key string) (why string, locked bool) {
	s := r.step()
	if s == nil {
		return "the lesson is finished", true
	}
	if slices.ContainsFunc(s.Controls, func(c Control) bool { return c.Key == key }) {
		if r.spent(s) {
			return "all takes of this step are recorded", true
		}
		return "", false
	}
	switch {
	case s.Locked != "":
		return s.Locked, true
	case r.l.locked != "":
		return r.l.locked, true
	case !s.IsTake():
		return "in this step nothing is set", true
	case len(s.Controls) == 0:
		return "this take is the same for everybody", true
	}
	var names []string
	for _, c := range s.Controls {
		names = append(names, c.Label)
	}
	return "only " + plain.Listed(names, "and") + " may change here, so that whatever you hear comes from that", true
}

// Apply changes a setting: a float64, a bool or a string, by the control's key.
// Errors are *LockedError, or say what is wrong with the value.
func (r *Runner) Apply(key string, v any) error {
	v, err := r.allowed(key, v)
	if err != nil {
		return err
	}
	if err := put(r.s, key, v); err != nil {
		return &AnswerError{key + ": " + faultText(err)}
	}
	sp := r.here()
	if sp.Settings == nil {
		sp.Settings = map[string]any{}
	}
	sp.Settings[key] = v
	return nil
}

// allowed checks a value against its control.
func (r *Runner) allowed(key string, v any) (any, error) {
	if why, locked := r.Locked(key); locked {
		s := r.step()
		var have []string
		if s != nil {
			for _, c := range s.Controls {
				have = append(have, c.Key)
			}
		}
		if hint, is := isSetting(key, r.s, have); !is {
			return nil, &AnswerError{fmt.Sprintf("there is no setting %s%s", plain.Shorten(key), hint)}
		}
		return nil, &LockedError{key, why}
	}
	var c Control
	for _, x := range r.step().Controls {
		if x.Key == key {
			c = x
		}
	}
	v, why := c.read(v)
	if why != "" {
		return nil, &AnswerError{key + ": " + why}
	}
	return v, nil
}

// isSetting tells whether a key names a setting of a strip or of the bench, and if
// not, which one may be meant; those that are unlocked come first.
func isSetting(key string, s *scenario.Scenario, unlocked []string) (hint string, ok bool) {
	rest := stripless(key, s)
	if _, known := settingByKey[rest]; !known {
		return didYouMean(key, unlocked), false
	}
	if rest != key || sharedSetting(key) {
		return "", true
	}
	meant := s.StripNames()[0] + "." + key
	for _, u := range unlocked {
		if strings.HasSuffix(u, "."+key) {
			meant = u
			break
		}
	}
	return fmt.Sprintf(": it belongs to a strip: did you mean %s?", meant), false
}

// read checks a value for a control and brings it into its kept form; why says
// what is wrong. A number may come as a text, with or without its unit.
func (c *Control) read(v any) (kept any, why string) {
	switch {
	case c.Choices != nil:
		w, ok := v.(string)
		if b, isBool := v.(bool); isBool && !b { // "off" of a careless YAML
			w, ok = "off", true
		}
		if !ok || !slices.Contains(c.Choices, w) {
			return nil, fmt.Sprintf("there is no %v: there are %s", v, plain.Listed(c.Choices, "and"))
		}
		return w, ""
	case c.Switch:
		if b, ok := v.(bool); ok {
			return b, ""
		}
		return nil, fmt.Sprintf("want true or false, not %v", v)
	}
	x, ok := number(v)
	if w, text := v.(string); text {
		var u string
		if x, u, ok = readNumber(w); ok && u != "" && !strings.EqualFold(u, c.Unit) {
			return nil, fmt.Sprintf("counts in %s, not in %s", unitOf(c.Unit).say(), plain.Shorten(u))
		}
		if strings.EqualFold(strings.TrimSpace(w), "inf") {
			x, ok = math.Inf(1), true
		}
		if !ok {
			return nil, fmt.Sprintf("%s is not a number: write it as in 12%s", plain.Quote(w), gap(c.Unit))
		}
	}
	switch {
	case !ok:
		return nil, fmt.Sprintf("want a number, not %v", v)
	case !(x >= c.Min && x <= c.Max):
		return nil, fmt.Sprintf("%v%s is out of range: %v to %v%s", x, gap(c.Unit), c.Min, c.Max, gap(c.Unit))
	case math.IsInf(x, 1):
		return "inf", "" // JSON has no number for it
	}
	return x, ""
}

func number(v any) (float64, bool) {
	switch v := v.(type) {
	case float64:
		return v, true
	case int:
		return float64(v), true
	case uint64:
		return float64(v), true
	case int64:
		return float64(v), true
	}
	return 0, false
}

func stripless(key string, s *scenario.Scenario) string {
	if strip, rest, ok := strings.Cut(key, "."); ok && s.Strip(strip) != nil {
		return rest
	}
	return key
}

// performed is a take of step s with the settings of strips.
func (r *Runner) performed(s *Step, strips []scenario.Strip, changes []Change) *Performed {
	p := &Performed{Talker: r.s.Source.Talker, Script: r.s.Source.Script, Seed: r.s.Seed, Strips: strips, Changes: changes}
	if s.Take != "" {
		p.Script = r.takes[s.Take]
	}
	return p
}

// Marks tells what happens when in the present step's take.
func (r *Runner) Marks() ([]voice.Mark, error) {
	s := r.step()
	if s == nil || !s.IsTake() {
		return nil, nil
	}
	p := r.performed(s, nil, nil)
	v, err := voice.New(p.Script, p.Talker, p.Seed)
	if err != nil {
		return nil, err
	}
	return v.Marks(), nil
}

// Record records a take with the settings as they stand; the last take is the one
// that counts. Changes are settings turned while it rolls, where the step allows
// it. The view then holds readings, checks and hints.
func (r *Runner) Record(ctx context.Context, progress func(share float64), changes ...Change) error {
	s := r.step()
	if s == nil || !s.IsTake() {
		return errors.New("nothing is recorded in this step")
	}
	if r.spent(s) {
		return fmt.Errorf("all %s of this step are recorded", plural(s.Attempts, "take", "takes"))
	}
	if len(changes) > 0 && !s.Riding {
		return errors.New("in this step the settings stay as they are while the take rolls")
	}
	changes = slices.Clone(changes)
	slices.SortStableFunc(changes, func(a, b Change) int {
		switch {
		case a.AtS < b.AtS:
			return -1
		case a.AtS > b.AtS:
			return 1
		}
		return 0
	})
	for i := range changes {
		v, err := r.allowed(changes[i].Key, changes[i].Value)
		if err != nil {
			return err
		}
		if !(changes[i].AtS >= 0 && changes[i].AtS <= MaxTakeSeconds) {
			return &AnswerError{fmt.Sprintf("a change at %v s: a take lasts 0 to %d s", changes[i].AtS, MaxTakeSeconds)}
		}
		changes[i].Value = v
	}
	strips := slices.Clone(r.s.Strips)
	m, err := r.bench.Record(ctx, r.performed(s, strips, changes), progress)
	if err != nil {
		return err
	}
	t := &TakeProgress{Settings: map[string]any{}, Changes: changes, Readings: m}
	for _, c := range s.Controls {
		t.Settings[c.Key] = r.valueOf(c.Key)
	}
	sp := r.here()
	sp.Take, sp.Takes = t, sp.Takes+1
	r.chains[s.ID] = strips
	r.judge(s)
	return nil
}

// valueOf reads a setting of the bench by its control key.
func (r *Runner) valueOf(key string) any {
	strip, rest, ok := strings.Cut(key, ".")
	if ok {
		if st := r.s.Strip(strip); st != nil {
			return finite(setting(&st.Chain, rest))
		}
	}
	return finite(setting(&r.s.Strips[0].Chain, key))
}

// finite writes infinity as the text that scenarios have for it: JSON has no
// number for it.
func finite(v any) any {
	if x, ok := v.(float64); ok && math.IsInf(x, 1) {
		return "inf"
	}
	return v
}

// Setting tells how a setting stands, with its unit: "34.0 dB", "before".
func (r *Runner) Setting(key string) string {
	if _, known := settingByKey[stripless(key, r.s)]; !known {
		return ""
	}
	return show(stripless(key, r.s), r.valueOf(key))
}

// judge holds the last take against the rule.
func (r *Runner) judge(s *Step) {
	sp := r.here()
	r.said = nil
	if s.Kind != Do {
		sp.Verdict = Done
		return
	}
	v := r.values(r.p.At)
	var met bool
	met, r.checks = s.Rule.holds(v)
	sp.Points = 0
	if met {
		sp.Verdict, sp.Points = Right, s.Points
		return
	}
	sp.Verdict = Wrong
	for _, h := range s.Hints {
		if sp.Takes < h.After {
			continue
		}
		if h.When != nil {
			if ok, _ := h.When.holds(v); !ok {
				continue
			}
		}
		r.said = append(r.said, h.Text.fill(v))
	}
}

// GiveUp goes on from a task that is not met; it counts as missed.
func (r *Runner) GiveUp() error {
	s := r.step()
	if s == nil || s.Kind != Do {
		return errors.New("there is no task to give up here")
	}
	if r.here().Verdict == Right {
		return r.Next()
	}
	if r.here().Verdict == Open {
		r.here().Verdict = Skipped
	}
	return r.forward()
}

// Answer answers the present question: a choice by its letter, its number from 1
// or its text; a number with or without its unit; a text; a blind trial by the
// strip's name. The reply is what to tell the student. An answer that cannot be
// understood is an *AnswerError and does not count.
func (r *Runner) Answer(text string) (reply string, err error) {
	s := r.step()
	if s == nil {
		return "", errors.New("the lesson is finished")
	}
	sp := r.here()
	if s.Kind == Listen && s.Trials > 0 {
		return r.trialAnswer(s, strings.TrimSpace(text))
	}
	if s.Kind != Predict && s.Kind != Ask && s.Kind != Explain {
		return "", errors.New("there is no question here")
	}
	if r.State() != Answering {
		return "", ErrCommitted
	}
	if s.Kind == Explain {
		t := strings.TrimSpace(text)
		if n := utf8.RuneCountInString(t); n < s.Least {
			return "", &AnswerError{fmt.Sprintf("%s: want %d or more", plural(n, "character", "characters"), s.Least)}
		} else if n > 5000 {
			return "", &AnswerError{fmt.Sprintf("%d characters: the most is 5000", n)}
		}
		sp.Answers, sp.Verdict = []string{t}, Done
		return "", nil
	}
	q := s.Question
	a, err := q.read(text)
	if err != nil {
		return "", err
	}
	sp.Answers = append(sp.Answers, a)
	v := r.values(r.p.At)
	if s.Kind == Predict {
		if !q.gradable() {
			sp.Verdict = Done
		}
		return q.Because.fill(v), nil
	}
	right, truth, _ := q.grade(a, v)
	var told []string
	for i, c := range q.Choices {
		if Letter(i) == a && c.Because != nil {
			told = append(told, c.Because.fill(v))
		}
	}
	switch {
	case right:
		sp.Verdict, sp.Points = Right, s.Points
	case len(sp.Answers) < q.Tries:
		r.said = append(told, fmt.Sprintf("Not yet. %s left.", plural(q.Tries-len(sp.Answers), "try is", "tries are")))
		return strings.Join(r.said, "\n\n"), nil
	default:
		sp.Verdict = Wrong
		told = append(told, "The answer is "+escape(truth)+".")
	}
	sp.Truth = truth
	if q.Because != nil {
		told = append(told, q.Because.fill(v))
	}
	r.said = told
	return strings.Join(told, "\n\n"), nil
}

// read brings an answer into its kept form.
func (q *Question) read(text string) (string, error) {
	t := plain.OneLine(text)
	switch {
	case q.Choices != nil:
		for i, c := range q.Choices {
			if strings.EqualFold(t, Letter(i)) || t == strconv.Itoa(i+1) || strings.EqualFold(t, c.Text) {
				return Letter(i), nil
			}
		}
		return "", &AnswerError{fmt.Sprintf("%s is none of the choices: answer with a letter from a to %s", plain.Quote(t), Letter(len(q.Choices)-1))}
	case q.Number != nil:
		v, u, ok := readNumber(t)
		if !ok {
			return "", &AnswerError{fmt.Sprintf("%s is not a number: write it as in −3.5%s", plain.Quote(t), gap(q.Number.Unit))}
		}
		if u != "" && !strings.EqualFold(u, q.Number.Unit) {
			return "", &AnswerError{fmt.Sprintf("the answer counts in %s, not in %s", unitOf(q.Number.Unit).say(), u)}
		}
		return strconv.FormatFloat(v, 'f', -1, 64), nil
	}
	if t == "" {
		return "", &AnswerError{"an empty answer"}
	}
	if n := utf8.RuneCountInString(t); n > 500 {
		return "", &AnswerError{fmt.Sprintf("%d characters: the most is 500", n)}
	}
	return t, nil
}

// readNumber reads "-3.5", "−3,5 dB".
func readNumber(t string) (v float64, unit string, ok bool) {
	t = strings.NewReplacer("−", "-", "–", "-").Replace(strings.TrimSpace(t))
	end := 0
	for end < len(t) && strings.IndexByte("+-.,0123456789", t[end]) >= 0 {
		end++
	}
	v, err := strconv.ParseFloat(strings.Replace(t[:end], ",", ".", 1), 64)
	if err != nil || math.IsInf(v, 0) || math.Abs(v) > 1e9 {
		return 0, "", false
	}
	return v, strings.TrimSpace(t[end:]), true
}

// grade holds an answer against what is right; known is false while the takes it
// depends on are missing.
func (q *Question) grade(answer string, v values) (right bool, truth string, known bool) {
	has := func(e *Expr) bool {
		return !slices.ContainsFunc(e.names, func(n string) bool { return v[n] == nil })
	}
	switch {
	case q.Choices != nil:
		known = !slices.ContainsFunc(q.Choices, func(c Choice) bool { return c.When != nil && !has(c.When) })
		good := q.right(v)
		for i, c := range q.Choices {
			if !slices.Contains(good, Letter(i)) {
				continue
			}
			right = right || Letter(i) == answer
			if truth != "" {
				truth += " / "
			}
			truth += c.Text
		}
		if known && truth == "" {
			truth = noChoice
		}
		return right, truth, known
	case q.Number != nil:
		if q.Number.Answer == nil || !has(q.Number.Answer) {
			return false, "", false
		}
		want := q.Number.Answer.number(v)
		got, err := strconv.ParseFloat(answer, 64)
		return err == nil && math.Abs(got-want) <= q.Number.Tolerance+1e-9, format(want, q.Number.Unit), true
	}
	for _, a := range q.Accept {
		if plainWords(a) == plainWords(answer) {
			right = true
		}
	}
	if len(q.Accept) > 0 {
		truth = q.Accept[0]
	}
	return right, truth, true
}

// noChoice is told when no choice was right.
const noChoice = "none of the choices"

// right lists the letters of the choices that are right.
func (q *Question) right(v values) []string {
	var out []string
	for i, c := range q.Choices {
		ok := c.Right
		if c.When != nil {
			ok, _ = c.When.holds(v)
		}
		if ok {
			out = append(out, Letter(i))
		}
	}
	return out
}

// plainWords compares short texts by their letters and digits only.
func plainWords(s string) string {
	return strings.Join(strings.FieldsFunc(strings.ToLower(s), func(r rune) bool {
		return !(r >= 'a' && r <= 'z' || r >= '0' && r <= '9' || r > 127)
	}), " ")
}

// Trial tells which strip the present blind trial plays. It is for whatever plays
// it, not for the student.
func (r *Runner) Trial() (strip string, ok bool) {
	s := r.step()
	if s == nil || s.Kind != Listen || len(r.here().Answers) >= s.Trials {
		return "", false
	}
	return r.trial(s, len(r.here().Answers)), true
}

func (r *Runner) trial(s *Step, i int) string {
	return s.Strips[pick(r.p.Seed, len(s.Strips), r.l.ID, s.ID, "trial", strconv.Itoa(i))]
}

func (r *Runner) trialAnswer(s *Step, text string) (string, error) {
	sp := r.here()
	if len(sp.Answers) >= s.Trials {
		return "", ErrCommitted
	}
	k := slices.IndexFunc(s.Strips, func(n string) bool { return strings.EqualFold(n, text) })
	if k < 0 {
		return "", &AnswerError{fmt.Sprintf("%s is none of %s", plain.Quote(text), plain.Listed(s.Strips, "and"))}
	}
	if s.Strips[k] == r.trial(s, len(sp.Answers)) {
		sp.Hits++
	}
	sp.Answers = append(sp.Answers, s.Strips[k])
	if len(sp.Answers) < s.Trials {
		return "", nil
	}
	sp.Verdict = Done
	r.said = []string{blindResult(sp.Hits, s.Trials)}
	return r.said[0], nil
}

// blindResult says what a number of hits is worth.
func blindResult(hits, trials int) string {
	p := meter.BinomialP(hits, trials)
	verdict := "that is what guessing gives often enough, so it shows nothing either way"
	if p <= 0.05 {
		verdict = "guessing hardly gives that, so there is something to hear"
	}
	return fmt.Sprintf("%d of %d right. By guessing, that many or more come up with a probability of %.3g: %s.", hits, trials, p, verdict)
}

// Sounds gives what a listen step compares, each with the gain to play it at and
// a caution where one is due. The last take is used.
func (r *Runner) Sounds(ctx context.Context) ([]*Wave, error) {
	s := r.step()
	if s == nil || s.Kind != Listen {
		return nil, errors.New("there is nothing to listen to in this step")
	}
	return r.sounds(ctx, r.lastTake(), s.Strips, s.Matched)
}

// TakeSounds gives all strips of the present step's last take.
func (r *Runner) TakeSounds(ctx context.Context) ([]*Wave, error) {
	s := r.step()
	if s == nil || !s.IsTake() || r.here().Take == nil {
		return nil, errors.New("nothing has been recorded yet")
	}
	return r.sounds(ctx, s.ID, r.l.Strips(), false)
}

// Compared strips are played at one loudness, and nothing above a ceiling.
const (
	matchLUFS     = -23
	playCeilingDB = -3 // dB re full scale, of the sample peak
)

func (r *Runner) sounds(ctx context.Context, id string, strips []string, matched bool) ([]*Wave, error) {
	st, t := r.l.Step(id), r.takeOf(id)
	if st == nil || t == nil {
		return nil, errors.New("nothing has been recorded yet")
	}
	p := r.performed(st, r.chains[id], t.Changes)
	var out []*Wave
	loud := make([]float64, len(strips))
	quietest := math.Inf(1)
	for i, n := range strips {
		w, err := r.bench.listen(ctx, p, n)
		if err != nil {
			return nil, err
		}
		if n == Spoken {
			if loud[i], err = loudness(w); err != nil {
				return nil, err
			}
		} else {
			loud[i] = float64(w.Measured["loudness_lufs"])
			w.Caution = cautionFor(n, w.Measured)
		}
		if !math.IsNaN(loud[i]) && !math.IsInf(loud[i], 0) {
			quietest = min(quietest, loud[i])
		}
		out = append(out, w)
	}
	for i, w := range out {
		switch {
		case math.IsNaN(loud[i]) || math.IsInf(loud[i], 0):
		case matched:
			w.GainDB = matchLUFS - loud[i]
		case w.Name == Spoken:
			// Pascal has no place on a scale of levels: beside the quietest strip.
			if !math.IsInf(quietest, 0) {
				w.GainDB = quietest - loud[i]
			}
		}
	}
	trim(out)
	return out, nil
}

// trim takes all down alike, so that nothing is played above the ceiling.
func trim(all []*Wave) {
	over := 0.0
	for _, w := range all {
		peak := 0.0
		for _, v := range w.File {
			peak = max(peak, math.Abs(float64(v)))
		}
		over = max(over, meter.DB(peak)+w.GainDB-playCeilingDB)
	}
	for _, w := range all {
		w.GainDB -= over
	}
}

func loudness(w *Wave) (float64, error) {
	l, err := meter.NewLoudness(w.Rate, 1)
	if err != nil {
		return 0, err
	}
	buf := make([]float64, 4096)
	for x := w.File; len(x) > 0; {
		n := min(len(x), len(buf))
		for i, v := range x[:n] {
			buf[i] = float64(v)
		}
		l.WriteMono(buf[:n])
		x = x[n:]
	}
	return l.Integrated(), nil
}

// fewReadings are shown of every take.
var fewReadings = []string{"gain_db", "talk_peak_dbfs", "headroom_db", "overs", "loudness_lufs"}

// Few lists the readings that matter at the present step, of those that Readings
// has and in its order: the few of every take, those that the step's text, rule and
// hints name, and those that the steps up to the next take, or about this one, ask
// about.
func (r *Runner) Few() []Name {
	s := r.step()
	if s == nil {
		return nil
	}
	named := map[string]bool{}
	for _, k := range fewReadings {
		named[k] = true
	}
	// The last part of "A.headroom_db"; a text may also speak of **headroom_db**.
	know := func(names []string) {
		for _, n := range names {
			named[n[strings.LastIndexByte(n, '.')+1:]] = true
		}
	}
	words := func(t *Text) {
		for _, w := range strings.FieldsFunc(t.Raw(), func(c rune) bool { return c != '_' && !unicode.IsLetter(c) && !unicode.IsDigit(c) }) {
			named[w] = true
		}
	}
	of := func(x *Step, of string) {
		for _, n := range x.names() {
			if of == "" || strings.HasPrefix(n, of+".") {
				know([]string{n})
			}
		}
	}
	of(s, "")
	words(s.Text)
	for _, h := range s.Hints {
		words(h.Text)
	}
	after := false // the next take
	for _, x := range r.l.Steps[r.p.At+1:] {
		after = after || x.IsTake()
		if after {
			of(x, s.ID)
			continue
		}
		of(x, "")
		if x.Kind == Ask {
			words(x.Text)
		}
	}
	for i := range r.p.At {
		if x := r.l.Steps[i]; x.Kind == Predict && r.p.Steps[i].Verdict == Open {
			of(x, "")
		}
	}
	var out []Name
	for _, n := range readingNames {
		if named[n.Key] {
			out = append(out, n)
		}
	}
	return out
}

// names are the variables that a step's rule, hints and question use.
func (s *Step) names() []string {
	var out []string
	if s.Rule != nil {
		out = append(out, s.Rule.names...)
	}
	for _, h := range s.Hints {
		if h.When != nil {
			out = append(out, h.When.names...)
		}
	}
	if s.Question != nil {
		out = append(out, s.Question.names()...)
	}
	return out
}

// Resolved lists the predictions whose outcome the step just left has shown.
func (r *Runner) Resolved() []Outcome {
	var out []Outcome
	for _, id := range r.resolved {
		out = append(out, r.outcome(id))
	}
	return out
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
	if sp.Verdict == Open && s.Kind != Predict {
		sp.Verdict = Done
	}
	sp.Seconds = round(sp.Seconds+r.now().Sub(r.since).Seconds(), 1)
	r.since, r.resolved = r.now(), nil
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
	r.p.At++
	r.checks, r.said = nil, nil
	if r.p.At == len(r.l.Steps) {
		for i, s := range r.l.Steps {
			if p := &r.p.Steps[i]; s.Kind == Predict && p.Verdict == Open {
				p.Verdict = Done
			}
		}
		end := r.now().UTC().Truncate(time.Second)
		r.p.Ended = &end
		return nil
	}
	return r.enter(r.p.At)
}

// predictions grades those whose outcome the take just counted has shown.
func (r *Runner) predictions() {
	v := r.values(r.p.At)
	for i := range r.p.At {
		s, sp := r.l.Steps[i], &r.p.Steps[i]
		if s.Kind != Predict || sp.Verdict != Open || len(sp.Answers) == 0 {
			continue
		}
		right, truth, known := s.Question.grade(sp.Answers[len(sp.Answers)-1], v)
		if !known {
			continue
		}
		if r.decidedAt == nil {
			r.decidedAt = map[string]values{}
		}
		r.decidedAt[s.ID] = v
		r.resolved = append(r.resolved, s.ID)
		sp.Truth, sp.Verdict = truth, Wrong
		if right {
			sp.Verdict, sp.Points = Right, s.Points
		}
	}
}

func round(v float64, digits int) float64 {
	p := math.Pow(10, float64(digits))
	return math.Round(v*p) / p
}
