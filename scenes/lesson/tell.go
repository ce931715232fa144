package lesson

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"gainwright/lessons/names"
	"gainwright/lessons/run"
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/stage"
	"gainwright/scenes/ui"
)

func (s *Scene) whereWords() string {
	switch {
	case s.item.asked != nil:
		return "Mixed review"
	case s.v.State == run.Finished:
		return "Finished"
	}
	return fmt.Sprintf("Step %d of %d", s.v.Number, s.v.Of)
}

// judge remembers where it stands what became of an answer or a take.
func (s *Scene) judge(f *kit.Flow, from float32) {
	if f.Y > from {
		s.judged = ink.Rect{X: f.X, Y: from, W: f.Width, H: f.Y - from}
	}
}

// tick sets a tick or a cross with its words.
func (s *Scene) tick(th *ui.Theme, f *kit.Flow, good bool, words, under string) {
	d := th.Px(15)
	s.verdicts = append(s.verdicts, stage.Verdict{At: ink.Point{X: f.X + d/2 + 1, Y: f.Y + th.Row(ui.Small)/2}, Good: good})
	f.X += d + 8
	f.Width -= d + 8
	c := th.SayGood
	if !good {
		c = th.SayLost
	}
	f.Say(words, ui.Small, ink.Bold, c)
	if under != "" {
		f.Note(under)
	}
	f.X -= d + 8
	f.Width += d + 8
	f.Gap(4)
}

func (s *Scene) layoutOutcome(th *ui.Theme, f *kit.Flow, o run.Outcome) {
	f.Rich(o.Asked, ui.Small, th.SayDim)
	said := "you said: " + o.Answer
	switch o.Verdict {
	case run.Right:
		s.tick(th, f, true, said, "")
	case run.Wrong:
		s.tick(th, f, false, said, "it was: "+o.Truth)
	default:
		f.Say(said, ui.Small, ink.Bold, th.Say)
	}
	if o.Because != "" {
		f.Markdown(o.Because)
	}
	f.Gap(4)
}

// layoutOutcomeOf tells at the end what came of the prediction of step i.
func (s *Scene) layoutOutcomeOf(th *ui.Theme, f *kit.Flow, i int) {
	for _, o := range s.outcomes {
		if o.Step == i {
			f.Rich(o.Asked, ui.Small, th.SayDim)
			f.Note(outcomeWords(&o))
			if o.Because != "" {
				f.Markdown(o.Because)
			}
			f.Gap(4)
		}
	}
}

// layoutReadings sets the readings of the last take: those that the step names, or
// all of them.
func (s *Scene) layoutReadings(th *ui.Theme, f *kit.Flow) {
	if len(s.readings) == 0 {
		return
	}
	var strips []string
	for _, n := range s.item.l.Strips() {
		if s.readings[n] != nil {
			strips = append(strips, n)
		}
	}
	named := s.named()
	title := "Readings of the last take"
	f.Gap(4)
	f.Say(title, ui.Small, ink.Bold, th.Say)
	f.Put(s.more, th.Tall(max(30, th.Row(ui.Small)+8)))
	f.Gap(2)
	if len(named) == 0 && !s.showAll {
		return
	}
	cell := func(k int, text string, st ink.Style) {
		f.Pieces = append(f.Pieces, kit.Piece{Box: ui.Column(ink.Rect{X: f.X, Y: f.Y, W: f.Width, H: th.Row(ui.Small)}, k, len(strips), 8), S: text, St: st})
	}
	if len(strips) > 1 {
		for k, n := range strips {
			cell(k, n, th.Style(ui.Small, ink.Bold, ink.Left, th.SaySignal))
		}
		f.Y += th.Row(ui.Small) + 2
	}
	for _, n := range names.Readings() {
		if !s.showAll && !slices.Contains(named, n.Key) {
			continue
		}
		font := ink.Regular
		if slices.Contains(named, n.Key) && s.showAll {
			font = ink.Bold
		}
		key := th.Style(ui.Small, font, ink.Left, th.SayDim)
		val := th.Style(ui.Small, ink.Bold, ink.Left, th.Say)
		if len(strips) == 1 {
			v := names.Format(float64(s.readings[strips[0]][n.Key]), n.Unit)
			val.Align = ink.Right
			if kw := ink.Measure(n.Label, key) + 1; kw+12+ink.Measure(v, val) <= f.Width {
				f.Pieces = append(f.Pieces, kit.Piece{Box: ink.Rect{X: f.X, Y: f.Y, W: kw, H: th.Row(ui.Small)}, S: n.Label, St: key},
					kit.Piece{Box: ink.Rect{X: f.X + kw + 8, Y: f.Y, W: f.Width - kw - 8, H: th.Row(ui.Small)}, S: v, St: val})
				f.Y += th.Row(ui.Small) + 1
				continue
			}
		}
		f.Write(n.WithUnit(), key, th.Row(ui.Small))
		for k, st := range strips {
			cell(k, names.Format(float64(s.readings[st][n.Key]), ""), val)
		}
		f.Y += th.Row(ui.Small) + 3
	}
}

// named are the readings that the step's words speak of, but for one that it asks for: it
// is found among all of them, by its name.
func (s *Scene) named() []string {
	st := s.v.Step
	if st == nil {
		return nil
	}
	text := st.Text.Raw()
	for _, c := range s.v.Checks {
		text += " " + c.Text
	}
	if st.Rule != nil {
		text += " " + st.Rule.Text
	}
	asked := ""
	if st.Asks() {
		asked = strings.Join(st.Question.Names(), " ")
	}
	var out []string
	for _, n := range names.Readings() {
		if mentions(text, n.Key) && !mentions(asked, n.Key) {
			out = append(out, n.Key)
		}
	}
	if len(out) == 0 && s.v.Step.IsTake() {
		out = []string{"gain_db", "peak_dbfs", "headroom_db", "overs", "loudness_lufs", "delivered_noise_lufs"}
	}
	return out
}

// drawBar draws how far the lesson is.
func (s *Scene) drawBar(l *ink.List, th *ui.Theme) {
	b := s.barAt
	b = ink.Rect{X: b.X, Y: b.Y + 3, W: b.W, H: 4}
	l.Fill(b, 2, th.Grid)
	at := s.v.Number - 1
	if s.v.State == run.Finished {
		at = s.v.Of
	}
	if share := float64(at) / float64(max(s.v.Of, 1)); share > 0 {
		l.Fill(ink.Rect{X: b.X, Y: b.Y, W: b.W * float32(math.Min(share, 1)), H: b.H}, 2, th.Signal)
	}
}
