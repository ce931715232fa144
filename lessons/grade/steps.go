package grade

import (
	"math"
	"slices"
	"strings"

	"gainwright/lessons/markup"
	"gainwright/lessons/model"
	"gainwright/lessons/names"
	"gainwright/lessons/run"
	"gainwright/sim/meter"
)

// A Report is what the results of one lesson say step by step, for a class to talk
// about. Only results that could be played again count in it.
type Report struct {
	Lesson  string       `json:"lesson"`
	Title   string       `json:"title"`
	Results int          `json:"results"`
	LeftOut int          `json:"left_out"` // results that could not be played again
	Passed  int          `json:"passed"`
	Steps   []StepReport `json:"steps"`
}

// A StepReport is one step of a Report. What its kind does not have is empty.
type StepReport struct {
	Number   int        `json:"number"`
	ID       string     `json:"id"`
	Kind     model.Kind `json:"kind"`
	Asked    string     `json:"asked"` // plain text, on one line
	Points   float64    `json:"points"`
	Answered int        `json:"answered"`
	Right    int        `json:"right"`
	Wrong    int        `json:"wrong"`
	GivenUp  int        `json:"given_up"`
	Choices  []Chosen   `json:"choices,omitempty"`
	Numbers  *Spread    `json:"numbers,omitempty"`  // what was answered in figures
	Settings []Spread   `json:"settings,omitempty"` // what the take that counts was recorded with
	Hints    []Told     `json:"hints,omitempty"`
	Takes    []int      `json:"takes,omitempty"` // how many each recorded, in the results' order
	Dropped  int        `json:"takes_given_up,omitempty"`
	Texts    []Said     `json:"texts,omitempty"`
	Blind    *Blind     `json:"blind,omitempty"`
}

// Chosen is how many chose a choice, and for how many it was right: what is right may
// differ with what a seed draws.
type Chosen struct {
	Letter   string `json:"letter"`
	Text     string `json:"text"`
	Count    int    `json:"count"`
	RightFor int    `json:"right_for"`
}

// A Spread is numbers as students gave them.
type Spread struct {
	Name   string    `json:"name"` // of a setting; "" for an answer
	Unit   string    `json:"unit"`
	Values []float64 `json:"values"` // in the results' order
	// Rights are what would have been right, beside Values; empty if nothing was.
	Rights    []float64 `json:"rights,omitempty"`
	Tolerance float64   `json:"tolerance,omitempty"`
	Low       float64   `json:"low"`
	Median    float64   `json:"median"`
	High      float64   `json:"high"`
}

// Told is a hint and how it fired.
type Told struct {
	Text  string `json:"text"`
	Times int    `json:"times"` // it was told
	To    int    `json:"to"`    // so many students
}

// Said is what somebody wrote.
type Said struct {
	Student string `json:"student"`
	Text    string `json:"text"`
}

// Blind is a comparison by ear: what each heard rightly, and all of them together.
type Blind struct {
	Trials  int     `json:"trials"` // of each student
	Hits    []int   `json:"hits"`   // in the results' order
	AllHits int     `json:"all_hits"`
	Of      int     `json:"of"`
	P       float64 `json:"p"` // that guessing between two gives AllHits or more
}

// Reports sums grades up, lesson by lesson in the order in which they come.
func Reports(grades []*Grade) []*Report {
	var out []*Report
	of := map[*model.Lesson]*Report{}
	known := map[string]*model.Lesson{}
	for _, g := range grades {
		if g.lesson == nil {
			continue
		}
		r := of[g.lesson]
		if r == nil {
			r = &Report{Lesson: g.lesson.ID, Title: g.lesson.Title}
			for i, s := range g.lesson.Steps {
				r.Steps = append(r.Steps, newStepReport(i, s))
			}
			of[g.lesson], known[g.lesson.ID] = r, g.lesson
			out = append(out, r)
		}
		r.Results++
		if g.Passed {
			r.Passed++
		}
		for i := range g.again.Steps {
			r.Steps[i].add(g, i)
		}
	}
	for _, g := range grades {
		if g.lesson == nil && known[g.Lesson] != nil {
			of[known[g.Lesson]].LeftOut++
		}
	}
	for _, r := range out {
		for i := range r.Steps {
			r.Steps[i].finish()
		}
	}
	return out
}

func newStepReport(i int, s *model.Step) StepReport {
	sr := StepReport{Number: i + 1, ID: s.ID, Kind: s.Kind, Points: s.Points, Asked: markup.Words(s.Text.Blank(nil))}
	for _, h := range s.Hints {
		sr.Hints = append(sr.Hints, Told{Text: markup.Words(h.Text.Blank(nil))})
	}
	if s.IsTake() {
		for _, c := range s.Controls {
			if !c.Switch && c.Choices == nil {
				sr.Settings = append(sr.Settings, Spread{Name: c.Key, Unit: c.Unit})
			}
		}
	}
	if s.Trials > 0 {
		sr.Blind = &Blind{Trials: s.Trials}
	}
	q := s.Question
	if q == nil {
		return sr
	}
	for k, c := range q.Choices {
		sr.Choices = append(sr.Choices, Chosen{Letter: model.Letter(k), Text: c.Text})
	}
	if q.Number != nil {
		sr.Numbers = &Spread{Unit: q.Number.Unit, Tolerance: q.Number.Tolerance}
	}
	return sr
}

// add counts one student's step. Verdicts and what is right are those found here.
func (sr *StepReport) add(g *Grade, i int) {
	s, sp := g.lesson.Steps[i], &g.again.Steps[i]
	if len(sp.Answers) > 0 || sp.Take != nil {
		sr.Answered++
	}
	switch sp.Verdict {
	case run.Right:
		sr.Right++
	case run.Wrong:
		sr.Wrong++
	case run.Skipped:
		sr.GivenUp++
	}
	if s.IsTake() {
		sr.addTake(g, i)
		return
	}
	if len(sp.Answers) == 0 {
		return
	}
	last := sp.Answers[len(sp.Answers)-1]
	switch {
	case sr.Blind != nil:
		sr.Blind.Hits = append(sr.Blind.Hits, sp.Hits)
		sr.Blind.AllHits += sp.Hits
		sr.Blind.Of += len(sp.Answers)
	case sr.Choices != nil:
		right := strings.Split(sp.Truth, " / ")
		for k := range sr.Choices {
			c := &sr.Choices[k]
			if c.Letter == last {
				c.Count++
			}
			if sp.Truth == c.Text || slices.Contains(right, c.Text) {
				c.RightFor++
			}
		}
	case sr.Numbers != nil:
		sr.Numbers.add(last, sp.Truth)
	default:
		sr.Texts = append(sr.Texts, Said{g.Student, last})
	}
}

func (sr *StepReport) addTake(g *Grade, i int) {
	sp, said := &g.again.Steps[i], &g.Result.Steps[i]
	sr.Dropped += len(said.Dropped)
	if sp.Take == nil {
		return
	}
	sr.Takes = append(sr.Takes, sp.Takes)
	for k := range sr.Settings {
		if v, ok := names.Float(sp.Take.Settings[sr.Settings[k].Name]); ok {
			sr.Settings[k].Values = append(sr.Settings[k].Values, v)
		}
	}
	// Earlier takes are not kept: which hints they gave, only the file says. Where it
	// does not, the last take's count.
	told := said.Hints
	if len(told) == 0 {
		told = sp.Hints
	}
	for k, n := range told {
		if k < len(sr.Hints) && n > 0 {
			sr.Hints[k].Times += n
			sr.Hints[k].To++
		}
	}
}

// add takes an answer in figures and, if it is known, what is right.
func (s *Spread) add(answer, truth string) {
	v, _, ok := names.ReadNumber(answer)
	if !ok {
		return
	}
	s.Values = append(s.Values, v)
	if want, _, ok := names.ReadNumber(truth); ok {
		s.Rights = append(s.Rights, want)
	}
}

// finish works out what is known when all are counted.
func (sr *StepReport) finish() {
	if sr.Numbers != nil {
		sr.Numbers.finish()
	}
	for i := range sr.Settings {
		sr.Settings[i].finish()
	}
	if b := sr.Blind; b != nil && b.Of > 0 {
		b.P = meter.BinomialP(b.AllHits, b.Of)
	}
}

func (s *Spread) finish() {
	if len(s.Rights) != len(s.Values) {
		s.Rights = nil
	}
	if len(s.Values) == 0 {
		return
	}
	v := slices.Sorted(slices.Values(s.Values))
	n := len(v)
	s.Low, s.High, s.Median = v[0], v[n-1], names.Round((v[(n-1)/2]+v[n/2])/2, 6)
}

// Missed gives answers as their distances from what was right for each student, with 0
// in the place of what is right, where that differs by more than the tolerance: only so
// do they lie on one axis. of is false where the answers themselves do.
func (s *Spread) Missed() (off []float64, of bool) {
	if len(s.Rights) == 0 || slices.Max(s.Rights)-slices.Min(s.Rights) <= max(s.Tolerance, 1e-9) {
		return s.Values, false
	}
	for i, v := range s.Values {
		off = append(off, names.Round(v-s.Rights[i], 6))
	}
	return off, true
}

// A Bin is one column of a histogram: from From to below To, the last with its end.
type Bin struct {
	From, To float64
	N        int
}

// Histogram sorts values, and what else has to lie on its axis, into columns around the
// multiples of a width that is 1, 2 or 5 times a power of ten: about so many of them.
func Histogram(values, also []float64, most int) []Bin {
	all := append(slices.Clone(values), also...)
	if len(all) == 0 {
		return nil
	}
	low, high := slices.Min(all), slices.Max(all)
	width := niceWidth((high - low) / float64(max(most-1, 1)))
	first := math.Floor(low/width + 0.5)
	n := int(math.Floor(high/width+0.5)-first) + 1
	out := make([]Bin, n)
	for i := range out {
		at := first + float64(i)
		out[i].From, out[i].To = names.Round((at-0.5)*width, 9), names.Round((at+0.5)*width, 9)
	}
	for _, v := range values {
		out[min(max(int(math.Floor(v/width+0.5)-first), 0), n-1)].N++
	}
	return out
}

// niceWidth is the smallest of 1, 2 and 5 times a power of ten that is not below w.
func niceWidth(w float64) float64 {
	if !(w > 1e-6) {
		return 1
	}
	p := math.Pow(10, math.Floor(math.Log10(w)))
	for _, f := range []float64{1, 2, 5} {
		if f*p >= w*(1-1e-9) {
			return f * p
		}
	}
	return 10 * p
}
