package model

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"gainwright/lessons/names"
	"gainwright/lessons/rules"
	"gainwright/sounds/scenario/plain"
)

// A Question is answered by a choice, a number or a short text; exactly one of
// Choices, Number and Accept is set.
type Question struct {
	Choices []Choice
	Number  *NumberAnswer
	Accept  []string // short texts that count as right; empty: any
	IsText  bool
	Because *rules.Text // told after the answer
	Tries   int         // how often one may answer: 1 or more
}

// A Choice is right when Right is set, or when its rule holds of the take.
type Choice struct {
	Text    string
	Right   bool
	When    *rules.Expr
	Because *rules.Text
}

// Letter names a choice in answers and results: "a", "b", …
func Letter(i int) string { return string(rune('a' + i)) }

// A NumberAnswer is right within a tolerance of what Answer gives.
type NumberAnswer struct {
	Unit      string
	Answer    *rules.Expr // nil for predictions without a right answer
	Tolerance float64
}

// Names are the variables that decide what is right.
func (q *Question) Names() []string {
	var out []string
	for _, c := range q.Choices {
		if c.When != nil {
			out = append(out, c.When.Names...)
		}
	}
	if q.Number != nil && q.Number.Answer != nil {
		out = append(out, q.Number.Answer.Names...)
	}
	return out
}

// Scored tells whether a step can be right or wrong.
func (s *Step) Scored() bool {
	switch s.Kind {
	case Do:
		return true
	case Ask, Predict:
		return s.Question == nil || s.Question.Gradable()
	case Listen:
		return s.Question != nil
	}
	return false
}

// Asks tells whether a step is a question with a right answer: an ask step, or a listen step
// that asks what is heard.
func (s *Step) Asks() bool { return s.Kind == Ask || s.Kind == Listen && s.Question != nil }

// Gradable tells whether an answer can be right or wrong.
func (q *Question) Gradable() bool {
	if q.Number != nil {
		return q.Number.Answer != nil
	}
	if q.IsText {
		return len(q.Accept) > 0
	}
	for _, c := range q.Choices {
		if c.Right || c.When != nil {
			return true
		}
	}
	return false
}

// An AnswerError says why an answer was not understood; it was not counted.
type AnswerError struct{ Msg string }

func (e *AnswerError) Error() string { return e.Msg }

// Say writes an answer for people.
func (q *Question) Say(answer string) string {
	for i, c := range q.Choices {
		if Letter(i) == answer {
			return c.Text
		}
	}
	if q.Number != nil {
		if v, err := strconv.ParseFloat(answer, 64); err == nil {
			return names.Format(v, q.Number.Unit)
		}
	}
	return answer
}

// Read brings an answer into its kept form.
func (q *Question) Read(text string) (string, error) {
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
		v, u, ok := names.ReadNumber(t)
		if !ok {
			return "", &AnswerError{fmt.Sprintf("%s is not a number: write it as in −3.5%s", plain.Quote(t), names.Gap(q.Number.Unit))}
		}
		if u != "" && !strings.EqualFold(u, q.Number.Unit) {
			return "", &AnswerError{fmt.Sprintf("the answer counts in %s, not in %s", names.UnitOf(q.Number.Unit).Say(), u)}
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

// Grade holds an answer against what is right; known is false while the takes it
// depends on are missing.
func (q *Question) Grade(answer string, v rules.Values) (right bool, truth string, known bool) {
	has := func(e *rules.Expr) bool {
		return !slices.ContainsFunc(e.Names, func(n string) bool { return v[n] == nil })
	}
	switch {
	case q.Choices != nil:
		known = !slices.ContainsFunc(q.Choices, func(c Choice) bool { return c.When != nil && !has(c.When) })
		if right, truth = q.gradeChoice(answer, v); known && truth == "" {
			truth = noChoice
		}
		return right, truth, known
	case q.Number != nil:
		if q.Number.Answer == nil || !has(q.Number.Answer) {
			return false, "", false
		}
		want := q.Number.Answer.Number(v)
		got, err := strconv.ParseFloat(answer, 64)
		return err == nil && math.Abs(got-want) <= q.Number.Tolerance+1e-9, names.Format(want, q.Number.Unit), true
	}
	for _, a := range q.Accept {
		if PlainWords(a) == PlainWords(answer) {
			right = true
		}
	}
	if len(q.Accept) > 0 {
		truth = q.Accept[0]
	}
	return right, truth, true
}

// Why gives, in Markdown, what there is to say about an answer.
func (q *Question) Why(answer string, v rules.Values) []string {
	var out []string
	for i, c := range q.Choices {
		if Letter(i) == answer && c.Because != nil {
			out = append(out, c.Because.Fill(v))
		}
	}
	if q.Because != nil {
		out = append(out, q.Because.Fill(v))
	}
	return out
}

// gradeChoice tells whether a letter is right, and the words of all that are.
func (q *Question) gradeChoice(answer string, v rules.Values) (right bool, truth string) {
	good := q.Right(v)
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
	return right, truth
}

// noChoice is told when no choice was right.
const noChoice = "none of the choices"

// Right lists the letters of the choices that are right.
func (q *Question) Right(v rules.Values) []string {
	var out []string
	for i, c := range q.Choices {
		ok := c.Right
		if c.When != nil {
			ok, _ = c.When.Holds(v)
		}
		if ok {
			out = append(out, Letter(i))
		}
	}
	return out
}

// PlainWords compares short texts by their letters and digits only.
func PlainWords(s string) string {
	return strings.Join(strings.FieldsFunc(strings.ToLower(s), func(r rune) bool {
		return !(r >= 'a' && r <= 'z' || r >= '0' && r <= '9' || r > 127)
	}), " ")
}

// Names are the variables that a step's rule, hints and question use.
func (s *Step) Names() []string {
	var out []string
	if s.Rule != nil {
		out = append(out, s.Rule.Names...)
	}
	for _, h := range s.Hints {
		if h.When != nil {
			out = append(out, h.When.Names...)
		}
	}
	if s.Question != nil {
		out = append(out, s.Question.Names()...)
	}
	return out
}
