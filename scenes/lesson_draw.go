package scenes

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"gainwright/lessons/model"
	"gainwright/lessons/names"
	"gainwright/lessons/run"
	"gainwright/scenes/ink"
	"gainwright/scenes/ui"
)

// Layout puts the list, or the step and the bench, into area.
func (s *lessonScene) Layout(th *ui.Theme, area ink.Rect) {
	s.area = area
	if s.item == nil {
		s.layoutCards(th, area)
		return
	}
	s.side, s.box, s.bench = shareBench(th, area, s.halves, s.half)
	if s.side != insteadOfBench || s.half == 1 {
		s.g.Layout(th, s.bench)
	}
	s.sync()
	if s.box.W > 0 {
		s.layoutStep(th)
	}
}

// shareBench divides area between a panel and the bench: beside or above it, or in
// its place where there is room for one only; then halves chooses which, and the box
// is empty while the bench is shown.
func shareBench(th *ui.Theme, area ink.Rect, halves [2]*ui.Choice, half int) (side lessonSide, box, bench ink.Rect) {
	r := ui.Pad(area, 12, 0)
	switch {
	case area.W/th.Text >= 1000 && area.H/th.Text >= 480:
		ui.Bottom(&r, 10)
		w := min(max(r.W*0.29, 318*th.Text), 460*th.Text)
		if room := area.W - 933*th.Text; room >= 318*th.Text && w > room {
			w = room // the bench side by side, as in its own scene
		}
		box = ui.Left(&r, w)
		return besideBench, box, ink.Rect{X: box.Right() + gapDP - 12, Y: area.Y, W: area.Right() - box.Right() - gapDP + 12, H: area.H}
	case area.H/th.Text >= 980:
		box = ui.Top(&r, r.H*0.43)
		return aboveBench, box, ink.Rect{X: area.X, Y: box.Bottom() + gapDP, W: area.W, H: area.Bottom() - box.Bottom() - gapDP}
	}
	top := ui.Top(&r, max(38, th.Row(ui.Small)+12)+6)
	top.H -= 6
	share(ui.Left(&top, min(top.W, 2*th.Px(120))), 2, 4, func(int) float32 { return 1 }, func(i int, b ink.Rect) { halves[i].Bounds = b })
	ui.Bottom(&r, 10)
	bench = ink.Rect{X: area.X, Y: r.Y, W: area.W, H: area.Bottom() - r.Y}
	if half == 1 {
		return insteadOfBench, ink.Rect{}, bench
	}
	return insteadOfBench, r, bench
}

// layoutCards places the list: as many columns as there is room for.
func (s *lessonScene) layoutCards(th *ui.Theme, area ink.Rect) {
	r := ui.Pad(area, 12, 0)
	ui.Bottom(&r, 10)
	r.W -= 6
	s.list.lay(r, func(c ink.Rect) float32 {
		f := &s.f
		f.begin(th, ink.Rect{X: c.X + 2, Y: c.Y + 8, W: c.W - 4}, s.list.view)
		f.say("Lessons", ui.Title, ink.Bold, th.Say)
		f.say("Each has a few questions that you answer before you hear, tasks on the live bench, and a result to hand in. They build on one another; your progress is kept.", ui.Body, ink.Regular, th.SayDim)
		f.gap(8)
		row := s.name.height(th)
		x, w := f.x, f.w
		bw := min(s.open.Width(th), w)
		line := f.row(row)
		if w-bw-12 >= 200*th.Text {
			s.open.Bounds, s.open.Clip = ink.Rect{X: x, Y: line.Y, W: bw, H: row}, f.clip
			s.name.Bounds, s.name.Clip = ink.Rect{X: x + bw + 12, Y: line.Y, W: min(w-bw-12, 360*th.Text), H: row}, f.clip
		} else {
			s.open.Bounds, s.open.Clip = line, f.clip
			f.gap(6)
			f.put(s.name, row)
		}
		f.gap(10)
		if len(s.faults) > 0 {
			f.say("What is wrong in the file, with line and column", ui.Strong, ink.Bold, th.SayLost)
			for _, w := range s.faults {
				f.say(w, ui.Small, ink.Mono, th.Say)
				f.gap(2)
			}
			f.gap(10)
		}
		n := max(1, int(f.w/(300*th.Text)))
		const gap = 8
		for i := 0; i < len(s.items); i += n {
			h := float32(0)
			for k := i; k < min(i+n, len(s.items)); k++ {
				h = max(h, s.items[k].card.height(th, (f.w-gap*float32(n-1))/float32(n)))
			}
			line := f.row(h)
			for k := i; k < min(i+n, len(s.items)); k++ {
				b := s.items[k].card.Common()
				b.Bounds, b.Clip = ui.Column(line, k-i, n, gap), f.clip
			}
			f.gap(gap)
		}
		if len(s.unread) > 0 {
			f.note(fmt.Sprintf("%d more are being read.", len(s.unread)))
		}
		return f.y
	})
}

// layoutStep places the step into its panel: what is to do stays at the foot, the
// rest scrolls.
func (s *lessonScene) layoutStep(th *ui.Theme) {
	in := ui.Pad(s.box, 14, 10)
	var low flow
	// The foot first, to know what is left.
	bh := max(40, th.Row(ui.Body)+16)
	low.begin(th, ink.Rect{X: in.X, Y: 0, W: in.W}, ink.Rect{})
	low.buttons(bh, s.record, s.commit, s.next, s.handIn, s.giveUp, s.anew)
	h := low.y
	// Why the step cannot be left.
	why := s.blockedWords()
	lines := float32(0)
	if why != "" {
		var p ui.Para
		lines = p.Height(why, th.Style(ui.Small, ink.Regular, ink.Left, th.SayDim), in.W, th.Row(ui.Small)) + 4
	}
	foot := ui.Bottom(&in, h+lines)
	s.foot = foot
	low.begin(th, ink.Rect{X: foot.X, Y: foot.Y + lines, W: foot.W}, ink.Rect{})
	low.buttons(bh, s.record, s.commit, s.next, s.handIn, s.giveUp, s.anew)
	ui.Bottom(&in, 8)
	s.step.lay(in, func(c ink.Rect) float32 { return s.layoutText(th, c, in) })
}

func (s *lessonScene) blockedWords() string {
	switch {
	case s.job != nil:
		return s.doing + "."
	case s.stage.rolling():
		return "The take rolls: watch the band, and listen."
	case s.v.State == run.Answering && s.v.Step.Kind == model.Predict:
		return "A prediction stands once it is committed."
	case s.v.State == run.Answering || s.v.State == run.Finished || s.v.Blocked == "":
		return ""
	}
	return upper(s.v.Blocked) + "."
}

func (s *lessonScene) layoutText(th *ui.Theme, c, clip ink.Rect) float32 {
	f := &s.f
	v := &s.v
	f.begin(th, c, clip)
	s.verdicts = s.verdicts[:0]
	// Where one is.
	row := max(30, th.Row(ui.Small)+8)
	head := f.row(row)
	bw := min(s.back.Width(th), head.W)
	s.back.Bounds, s.back.Clip = ui.Right(&head, bw), clip
	st := th.Style(ui.Small, ink.Bold, ink.Left, th.SayDim)
	where := fmt.Sprintf("Step %d of %d", v.Number, v.Of)
	if v.State == run.Finished {
		where = "Finished"
	}
	f.pieces = append(f.pieces, piece{box: ink.Rect{X: head.X, Y: head.Y, W: head.W - 8, H: head.H}, s: ui.Fit(st, head.W-8, where, ""), st: st})
	f.gap(2)
	f.say(s.item.l.Title, ui.Small, ink.Regular, th.SayDim)
	s.barAt = f.row(10)
	f.gap(2)
	if v.State == run.Finished {
		s.layoutFinished(th, f)
		return f.y
	}
	f.say(kindWords(v.Step), ui.Strong, ink.Bold, th.Say)
	f.gap(4)
	f.markdown(v.Text)
	for _, o := range v.Predictions {
		s.layoutOutcome(th, f, o)
	}
	for _, w := range v.Cautions {
		f.say("Caution: "+w, ui.Small, ink.Regular, th.SayCeiling)
		f.gap(6)
	}
	for _, a := range s.answers {
		f.put(a, a.height(th, f.w))
		f.gap(6)
	}
	if v.State == run.Answering && len(s.answers) == 0 {
		f.put(s.write, s.write.height(th))
		f.gap(6)
	}
	if v.State != run.Answering && v.Step.Question != nil {
		if sp := s.hereSafe(); sp != nil && len(sp.Answers) > 0 && len(s.answers) == 0 {
			unit := ""
			if q := v.Step.Question; q.Number != nil && q.Number.Unit != "" {
				unit = " " + q.Number.Unit
			}
			f.say("Your answer: "+sp.Answers[len(sp.Answers)-1]+unit, ui.Body, ink.Bold, th.Say)
			f.gap(4)
		}
	}
	s.layoutJudged(th, f)
	for i := range s.sets {
		set := &s.sets[i]
		switch {
		case set.field != nil:
			set.field.place(f)
		case set.check != nil:
			f.put(set.check, row)
		default:
			f.tiny(set.c.Label)
			f.chips(set.places)
		}
		f.gap(6)
	}
	if w := s.benchWords(); w != "" && (v.Step.IsTake() || v.Step.Kind == model.Listen) {
		f.rich(w, ui.Small, th.SayDim)
		f.gap(4)
	}
	if len(s.heard) > 0 {
		s.layoutEars(th, f)
	}
	if v.Step.IsTake() && v.TakesLeft > 0 {
		f.note(fmt.Sprintf("Takes left: %d.", v.TakesLeft))
	}
	for _, c := range v.Checks {
		s.tick(th, f, c.OK, c.Text, c.Got)
	}
	if v.Step.Kind != model.Ask {
		for _, m := range v.Feedback {
			f.markdown(m)
		}
	}
	s.layoutReadings(th, f)
	return f.y
}

// kindWords names a step for its heading.
func kindWords(st *model.Step) string {
	w := model.KindTitle(st.Kind)
	if st.Points > 0 {
		n := points(st.Points) + " points"
		if st.Points == 1 {
			n = "1 point"
		}
		w += " (" + n + ")"
	}
	return w
}

// hereSafe is the progress of the present step, or nil while it is worked on.
func (s *lessonScene) hereSafe() *run.StepProgress {
	if s.job != nil || s.r == nil || s.v.Step == nil {
		return nil
	}
	sp := s.here()
	return &sp
}

// layoutJudged tells what became of an answer.
func (s *lessonScene) layoutJudged(th *ui.Theme, f *flow) {
	sp := s.hereSafe()
	if sp == nil || s.v.Step.Question == nil {
		return
	}
	if s.v.State != run.Answering {
		switch sp.Verdict {
		case run.Right, run.Wrong:
			word := "right"
			if sp.Verdict == run.Wrong {
				word = "not right"
			}
			s.tick(th, f, sp.Verdict == run.Right, word, "")
		default:
			if s.v.Step.Kind == model.Predict {
				f.say("Committed. What comes will show.", ui.Small, ink.Bold, th.Say)
				f.gap(4)
			}
		}
	}
	if s.reply != "" {
		f.markdown(s.reply)
	}
}

// tick sets a tick or a cross with its words.
func (s *lessonScene) tick(th *ui.Theme, f *flow, good bool, words, under string) {
	d := th.Px(15)
	s.verdicts = append(s.verdicts, verdictAt{ink.Point{X: f.x + d/2 + 1, Y: f.y + th.Row(ui.Small)/2}, good})
	f.x += d + 8
	f.w -= d + 8
	c := th.SayGood
	if !good {
		c = th.SayLost
	}
	f.say(words, ui.Small, ink.Bold, c)
	if under != "" {
		f.note(under)
	}
	f.x -= d + 8
	f.w += d + 8
	f.gap(4)
}

func (s *lessonScene) layoutOutcome(th *ui.Theme, f *flow, o run.Outcome) {
	f.rich(o.Asked, ui.Small, th.SayDim)
	said := "you said: " + o.Answer
	switch o.Verdict {
	case run.Right:
		s.tick(th, f, true, said, "")
	case run.Wrong:
		s.tick(th, f, false, said, "it was: "+o.Truth)
	default:
		f.say(said, ui.Small, ink.Bold, th.Say)
	}
	f.gap(4)
}

// layoutEars places what is listened with.
func (s *lessonScene) layoutEars(th *ui.Theme, f *flow) {
	f.chips(s.heard)
	f.gap(4)
	bh := max(38, th.Row(ui.Body)+14)
	if s.deck.caution {
		f.say(cautionLong, ui.Small, ink.Bold, th.SayLost)
		f.gap(4)
		f.buttons(bh, s.deck.cautPlay, s.deck.cautCancel)
		f.gap(6)
	} else {
		line := f.row(bh)
		pw := max(s.deck.play.Width(th), th.Px(98))
		s.deck.play.Bounds, s.deck.play.Clip = ui.Left(&line, min(pw, line.W)), f.clip
		ui.Left(&line, 12)
		lw := s.deck.loop.Width(th) + 6
		if line.W < lw {
			f.gap(4)
			line = f.row(bh)
		}
		s.deck.loop.Bounds, s.deck.loop.Clip = ui.Left(&line, min(lw, line.W)), f.clip
		f.gap(6)
		f.put(s.deck.line, 34+th.Row(ui.Tiny))
		if s.blind {
			f.y -= 34 + th.Row(ui.Tiny)
			if sp := s.hereSafe(); sp != nil {
				f.say(fmt.Sprintf("Trial %d of %d plays, without its name and its picture.", min(len(sp.Answers)+1, s.v.Step.Trials), s.v.Step.Trials), ui.Small, ink.Regular, th.SayDim)
			}
		}
		f.gap(6)
	}
	if len(s.trials) > 0 {
		if sp := s.hereSafe(); sp != nil {
			f.say(fmt.Sprintf("Answered: %d of %d trials", len(sp.Answers), s.v.Step.Trials), ui.Small, ink.Bold, th.Say)
		}
		f.gap(2)
		f.buttons(max(34, th.Row(ui.Small)+12), s.trials...)
		f.gap(8)
	}
}

// layoutReadings sets the readings of the last take: those that the step names, or
// all of them.
func (s *lessonScene) layoutReadings(th *ui.Theme, f *flow) {
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
	f.gap(4)
	f.say(title, ui.Small, ink.Bold, th.Say)
	f.put(s.more, max(30, th.Row(ui.Small)+8))
	f.gap(2)
	if len(named) == 0 && !s.showAll {
		return
	}
	cell := func(k int, text string, st ink.Style) {
		f.pieces = append(f.pieces, piece{box: ui.Column(ink.Rect{X: f.x, Y: f.y, W: f.w, H: th.Row(ui.Small)}, k, len(strips), 8), s: text, st: st})
	}
	if len(strips) > 1 {
		for k, n := range strips {
			cell(k, n, th.Style(ui.Small, ink.Bold, ink.Left, th.SaySignal))
		}
		f.y += th.Row(ui.Small) + 2
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
			if kw := ink.Measure(n.Key, key) + 1; kw+12+ink.Measure(v, val) <= f.w {
				f.pieces = append(f.pieces, piece{box: ink.Rect{X: f.x, Y: f.y, W: kw, H: th.Row(ui.Small)}, s: n.Key, st: key},
					piece{box: ink.Rect{X: f.x + kw + 8, Y: f.y, W: f.w - kw - 8, H: th.Row(ui.Small)}, s: v, st: val})
				f.y += th.Row(ui.Small) + 1
				continue
			}
		}
		name := n.Key
		if n.Unit != "" {
			name += ", " + n.Unit
		}
		f.write(name, key, th.Row(ui.Small))
		for k, st := range strips {
			cell(k, names.Format(float64(s.readings[st][n.Key]), ""), val)
		}
		f.y += th.Row(ui.Small) + 3
	}
}

// named are the readings that the step's words speak of.
func (s *lessonScene) named() []string {
	if s.v.Step == nil {
		return nil
	}
	text := s.v.Text
	for _, c := range s.v.Checks {
		text += " " + c.Text
	}
	if s.v.Step.Rule != nil {
		text += " " + s.v.Step.Rule.Text
	}
	var out []string
	for _, n := range names.Readings() {
		if mentions(text, n.Key) {
			out = append(out, n.Key)
		}
	}
	if len(out) == 0 && s.v.Step.IsTake() {
		out = []string{"gain_db", "peak_dbfs", "headroom_db", "overs", "loudness_lufs", "delivered_noise_lufs"}
	}
	return out
}

// mentions finds a reading's name as a whole word.
func mentions(text, key string) bool {
	for i := 0; ; {
		k := strings.Index(text[i:], key)
		if k < 0 {
			return false
		}
		k += i
		end := k + len(key)
		if (k == 0 || !wordByte(text[k-1]) && text[k-1] != '_') && (end == len(text) || !wordByte(text[end]) && text[end] != '_') {
			return true
		}
		i = k + 1
	}
}

func (s *lessonScene) layoutFinished(th *ui.Theme, f *flow) {
	res, err := s.r.Result(nil)
	if err != nil {
		f.say(err.Error(), ui.Body, ink.Regular, th.SayLost)
		return
	}
	word := "Not passed"
	if res.Passed {
		word = "Passed"
	}
	s.verdicts = append(s.verdicts, verdictAt{ink.Point{X: f.x + th.Px(9), Y: f.y + th.Row(ui.Title)/2}, res.Passed})
	f.x += th.Px(26)
	f.w -= th.Px(26)
	f.say(word+", "+points(res.Points)+" of "+points(res.Of)+" points", ui.Title, ink.Bold, th.Say)
	f.x -= th.Px(26)
	f.w += th.Px(26)
	f.gap(4)
	f.body("Save the result to hand it in: it can be checked by running your takes again.")
	f.gap(8)
	for i, st := range s.item.l.Steps {
		sp := &res.Steps[i]
		if st.Points == 0 && st.Kind != model.Predict && st.Kind != model.Do && st.Kind != model.Ask {
			continue
		}
		words := fmt.Sprintf("%d. %s", i+1, model.KindTitle(st.Kind))
		if st.Points > 0 {
			words += ": " + points(sp.Points) + " of " + points(st.Points)
		}
		switch sp.Verdict {
		case run.Right, run.Wrong, run.Skipped:
			if sp.Verdict == run.Skipped {
				words += ", given up"
			}
			s.tick(th, f, sp.Verdict == run.Right, words, "")
		default:
			f.say(words, ui.Small, ink.Regular, th.SayDim)
			f.gap(4)
		}
	}
	if len(s.item.l.Sources) > 0 {
		f.gap(6)
		f.head("Where the values can be checked")
		for _, x := range s.item.l.Sources {
			f.rich(x.Says, ui.Small, th.Say)
			f.tiny(x.Source)
			f.gap(4)
		}
	}
}

// Draw draws the list, or the step and the bench; the controls come after.
func (s *lessonScene) Draw(l *ink.List, th *ui.Theme) {
	if s.item == nil {
		l.Clip(s.list.view)
		s.f.draw(l)
		l.Unclip()
		s.list.bar(l, th)
		return
	}
	if s.side != insteadOfBench || s.half == 1 {
		s.g.Draw(l, th)
	}
	if s.box.W == 0 {
		return
	}
	panel(l, th, s.box)
	l.Clip(s.step.view)
	s.f.draw(l)
	s.drawBar(l, th)
	for _, v := range s.verdicts {
		ui.Verdict(l, th, v.at, th.Px(15), v.good)
	}
	l.Unclip()
	s.step.bar(l, th)
	if w := s.blockedWords(); w != "" {
		st := th.Style(ui.Small, ink.Regular, ink.Left, th.SayDim)
		s.why.Draw(l, s.foot, w, st, th.Row(ui.Small))
	}
}

// drawBar draws how far the lesson is.
func (s *lessonScene) drawBar(l *ink.List, th *ui.Theme) {
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

// Nodes tells what is shown besides the controls.
func (s *lessonScene) Nodes(dst []Node) []Node {
	if s.item == nil {
		dst = append(dst, Node{ID: "status", Role: RoleStatus, Name: "Result", Value: s.p.Announce(), Bounds: s.area})
		for i, w := range s.faults {
			dst = append(dst, Node{ID: fmt.Sprint("lesson.fault.", i+1), Role: RoleText, Name: "Fault", Value: w, Bounds: s.area})
		}
		return dst
	}
	v := &s.v
	where := fmt.Sprintf("%s, step %d of %d", s.item.l.Title, v.Number, v.Of)
	if v.State == run.Finished {
		where = s.item.l.Title + ", finished"
	}
	dst = append(dst, Node{ID: "lesson.where", Role: RoleHeading, Name: where, Bounds: s.box})
	if v.Step != nil {
		dst = append(dst, Node{ID: "lesson.step", Role: RoleText, Name: kindWords(v.Step), Value: plainWords(v.Text), Bounds: s.box})
		for i, o := range v.Predictions {
			val := "you said: " + o.Answer
			switch o.Verdict {
			case run.Right:
				val += ", which was right"
			case run.Wrong:
				val += ", but it was: " + o.Truth
			}
			dst = append(dst, Node{ID: fmt.Sprint("lesson.prediction.", i+1), Role: RoleText, Name: plainSpans(o.Asked), Value: val, Bounds: s.box})
		}
		for i, w := range v.Cautions {
			dst = append(dst, Node{ID: fmt.Sprint("lesson.caution.", i+1), Role: RoleText, Name: "Caution", Value: w, Bounds: s.box})
		}
		for i, c := range v.Checks {
			val := "not met: " + c.Got
			if c.OK {
				val = "met: " + c.Got
			}
			dst = append(dst, Node{ID: fmt.Sprint("lesson.check.", i+1), Role: RoleText, Name: c.Text, Value: val, Bounds: s.box})
		}
		if s.reply != "" {
			dst = append(dst, Node{ID: "lesson.reply", Role: RoleText, Name: "What there is to say", Value: plainWords(s.reply), Bounds: s.box})
		}
		for i, m := range v.Feedback {
			dst = append(dst, Node{ID: fmt.Sprint("lesson.feedback.", i+1), Role: RoleText, Name: "Hint", Value: plainWords(m), Bounds: s.box})
		}
	} else {
		dst = append(dst, Node{ID: "lesson.outcome", Role: RoleText, Name: "Outcome", Value: s.status, Bounds: s.box})
	}
	if w := s.blockedWords(); w != "" {
		dst = append(dst, Node{ID: "lesson.blocked", Role: RoleText, Name: "Now", Value: w, Bounds: s.foot})
	}
	named := s.named()
	for _, n := range names.Readings() {
		if len(s.readings) == 0 || !s.showAll && !slices.Contains(named, n.Key) {
			continue
		}
		var vals []string
		for _, st := range s.item.l.Strips() {
			if m, ok := s.readings[st][n.Key]; ok {
				vals = append(vals, st+" "+names.Format(float64(m), n.Unit))
			}
		}
		dst = append(dst, Node{ID: "lesson.reading." + n.Key, Role: RoleText, Name: n.Key, Value: strings.Join(vals, ", "), Bounds: s.box})
	}
	if s.side == insteadOfBench && s.half == 0 {
		return append(dst, Node{ID: "status", Role: RoleStatus, Name: "Result", Value: s.p.Announce(), Bounds: s.box})
	}
	return s.g.Nodes(dst)
}

// Scroll moves the column under the pointer.
func (s *lessonScene) Scroll(dy float32) {
	switch {
	case s.item == nil:
		if s.list.by(dy) {
			s.Layout(s.p.Theme(), s.area)
		}
	case s.box.W > 0 && (s.side == insteadOfBench || s.box.Contains(s.pointer)):
		if s.step.by(dy) {
			s.Layout(s.p.Theme(), s.area)
		}
	default:
		s.g.Scroll(dy)
	}
}

// Reveal scrolls until r can be seen.
func (s *lessonScene) Reveal(r ink.Rect) {
	switch {
	case s.item == nil:
		if s.list.reveal(r) {
			s.Layout(s.p.Theme(), s.area)
		}
	case s.box.W > 0 && r.X >= s.step.view.X-1 && r.Right() <= s.step.view.Right()+1 && (s.side != aboveBench || r.Y < s.bench.Y):
		if s.step.reveal(r) {
			s.Layout(s.p.Theme(), s.area)
		}
	default:
		s.g.Reveal(r)
	}
}
