package lesson

import (
	"fmt"
	"slices"
	"strings"

	"gainwright/lessons/model"
	"gainwright/lessons/names"
	"gainwright/lessons/run"
	"gainwright/scenes/gain/room"
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/stage"
	"gainwright/scenes/ui"
)

// Layout puts the list, or the step and the bench, into area.
func (s *Scene) Layout(th *ui.Theme, area ink.Rect) {
	s.area = area
	if s.show.Alone() {
		s.show.How.Layout(th, area)
		return
	}
	if s.item == nil {
		s.g.HideRuler()
		s.layoutCards(th, area)
		return
	}
	if s.aboutGain() {
		area = s.g.LayoutRuler(th, area)
	} else {
		s.g.HideRuler()
	}
	need := stage.Need{Strips: len(s.onBench), Strip: room.StripHeight(th), InUse: inUse(&s.v), Turned: s.turned(), Elsewhere: s.elsewhere(), Pictures: s.pictures,
		Scale: func(by float32) { s.large = by },
		Words: func(w float32, tight bool) float32 {
			s.tight = tight
			return s.layoutText(th, ink.Rect{W: w}, ink.Rect{})
		},
		Foot:  func(w float32, tight bool) float32 { s.tight = tight; return s.layoutFoot(th, ink.Rect{W: w}) },
		Under: func(w float32) float32 { return s.g.UnderHeight(th, w) },
		Take:  func(w float32) float32 { return s.g.TakeHeight(th, w) },
	}
	s.rooms = stage.Rooms{Words: area}
	s.sync() // what is hidden needs no room
	s.rooms = need.Divide(th, area)
	s.tight = s.rooms.Head.W > 0
	s.sync()
	s.layoutPage(th)
}

// layoutPage puts the step and the bench into their rooms.
func (s *Scene) layoutPage(th *ui.Theme) {
	o := &s.rooms
	s.foot = stage.Inner(o.Foot)
	s.layoutFoot(th, s.foot)
	s.strip = o.Strip
	clip := ink.Rect{}
	if s.head = o.Head; s.head.W > 0 {
		head := &s.head
		s.back.Bounds, s.back.Clip = ui.Right(head, min(s.back.Width(th), head.W*0.45)), ink.Rect{}
		ui.Right(head, 8)
		s.look.Bounds = ui.Right(head, min(s.look.Width(th)+8, head.W))
	}
	if o.Words.W > 0 {
		in := stage.Inner(o.Words)
		lay := func() { s.step.Lay(in, func(c ink.Rect) float32 { return s.layoutText(th, c, in) }) }
		lay()
		if s.tocome && s.job == nil {
			s.tocome = false
			if s.judged.H > 0 && s.step.Reveal(s.judged) {
				lay()
			}
		}
		if o.Scrolls {
			clip = s.step.View
		}
	}
	s.g.LayoutRoom(th, room.Room{Strip: s.strip, Clip: clip, Column: o.Pictures, Strips: o.Strips, Under: o.Under, Take: o.Take})
	s.sync()
}

// layoutCards places the list: as many columns as there is room for.
func (s *Scene) layoutCards(th *ui.Theme, area ink.Rect) {
	r := ui.Pad(area, 12, 0)
	ui.Bottom(&r, 10)
	r.W -= 6
	s.stand()
	s.syncReview()
	s.list.Lay(r, func(c ink.Rect) float32 {
		f := &s.f
		f.Begin(th, ink.Rect{X: c.X + 2, Y: c.Y + 8, W: c.W - 4}, s.list.View)
		if !th.Narrow { // else it stands in the header
			f.Say("Lessons", ui.Title, ink.Bold, th.Say)
		}
		f.Say("Each has a few questions that you answer before you hear, tasks on the live bench, and a result to hand in. They build on one another; your progress is kept.", ui.Body, ink.Regular, th.SayDim)
		f.Gap(8)
		if w := s.standing(); w != "" {
			f.Say(w, ui.Body, ink.Bold, th.Say)
			f.Gap(6)
		}
		if !s.way.begin.Hidden {
			line := f.Row(s.name.Height(th))
			s.way.begin.Bounds, s.way.begin.Clip = ink.Rect{X: line.X, Y: line.Y, W: min(s.way.begin.Width(th), line.W), H: line.H}, f.Clip
			f.Gap(6)
		}
		row := s.name.Height(th)
		x, w := f.X, f.Width
		bw := min(s.open.Width(th), w)
		line := f.Row(row)
		if w-bw-12 >= 200*th.Text {
			s.open.Bounds, s.open.Clip = ink.Rect{X: x, Y: line.Y, W: bw, H: row}, f.Clip
			s.name.Bounds, s.name.Clip = ink.Rect{X: x + bw + 12, Y: line.Y, W: min(w-bw-12, 360*th.Text), H: row}, f.Clip
		} else {
			s.open.Bounds, s.open.Clip = line, f.Clip
			f.Gap(6)
			f.Put(s.name, row)
		}
		f.Gap(10)
		if len(s.faults) > 0 {
			f.Say("What is wrong in the file, with line and column", ui.Strong, ink.Bold, th.SayLost)
			for _, w := range s.faults {
				f.Say(w, ui.Small, ink.Mono, th.Say)
				f.Gap(2)
			}
			f.Gap(10)
		}
		n := max(1, int(f.Width/(300*th.Text)))
		const gap = 8
		for i := 0; i < len(s.items); i += n {
			h := float32(0)
			for k := i; k < min(i+n, len(s.items)); k++ {
				h = max(h, s.items[k].card.Height(th, (f.Width-gap*float32(n-1))/float32(n)))
			}
			line := f.Row(h)
			for k := i; k < min(i+n, len(s.items)); k++ {
				b := s.items[k].card.Common()
				b.Bounds, b.Clip = ui.Column(line, k-i, n, gap), f.Clip
			}
			f.Gap(gap)
		}
		if len(s.unread) > 0 {
			f.Note(fmt.Sprintf("%d more are being read.", len(s.unread)))
		}
		return f.Y
	})
}

// layoutFoot lays out why the step cannot be left and what is to do, and returns the height.
func (s *Scene) layoutFoot(th *ui.Theme, r ink.Rect) float32 {
	var low kit.Flow
	low.Begin(th, r, ink.Rect{})
	if why := s.blockedWords(); why != "" && !s.tight {
		var p ui.Para
		low.Gap(p.Height(why, th.Style(ui.Small, ink.Regular, ink.Left, th.SayDim), r.W, th.Row(ui.Small)) + 4)
	}
	if len(s.trials) > 0 {
		low.Buttons(max(34, th.Row(ui.Small)+12), s.trials...)
		low.Gap(8)
	}
	stage.Buttons(th, &low, s.record, s.commit, s.next, s.way.begin, s.save, s.giveUp, s.anew, s.forget)
	return low.Y - r.Y
}

func (s *Scene) blockedWords() string {
	switch {
	case s.job != nil:
		return s.doing + "."
	case s.stage.Rolling():
		return "The take rolls: watch the band, and listen."
	case s.v.Asked && s.v.Step.Kind == model.Predict:
		return "A prediction stands once it is committed."
	case s.v.Asked || s.v.State == run.Finished || s.v.Blocked == "":
		return ""
	}
	return kit.Capital(s.v.Blocked) + "."
}

func (s *Scene) layoutText(th *ui.Theme, c, clip ink.Rect) float32 {
	f := &s.f
	v := &s.v
	f.Begin(th, c, clip)
	s.verdicts = s.verdicts[:0]
	s.judged = ink.Rect{}
	// Where one is.
	row := th.Tall(max(30, th.Row(ui.Small)+8))
	if !s.tight {
		head := f.Row(row)
		bw := min(s.back.Width(th), head.W)
		s.back.Bounds, s.back.Clip = ui.Right(&head, bw), clip
		st := th.Style(ui.Small, ink.Bold, ink.Left, th.SayDim)
		f.Pieces = append(f.Pieces, kit.Piece{Box: ink.Rect{X: head.X, Y: head.Y, W: head.W - 8, H: head.H}, S: ui.Fit(st, head.W-8, s.whereWords(), ""), St: st})
		f.Gap(2)
		f.Say(s.item.l.Title, ui.Small, ink.Regular, th.SayDim)
	}
	s.barAt = f.Row(10)
	f.Gap(2)
	if v.State == run.Finished {
		if s.item.asked != nil {
			s.layoutReviewed(th, f)
			return f.Y
		}
		s.layoutFinished(th, f)
		return f.Y
	}
	f.In(stage.Larger(th, s.large))
	s.asked = ink.Rect{X: f.X, Y: f.Y, W: f.Width}
	f.Say(kindWords(v.Step), ui.Strong, ink.Bold, th.Say)
	f.Gap(4)
	f.Markdown(v.Text)
	f.In(th)
	s.asked.H = f.Y - s.asked.Y
	s.layoutShown(th, f)
	s.layoutWho(th, f)
	if w := s.blockedWords(); w != "" && s.tight {
		f.Note(w)
		f.Gap(4)
	}
	if len(v.Predictions) > 0 && v.Step.Kind != model.Reveal {
		f.Say("What came of what you predicted", ui.Small, ink.Bold, th.Say)
		f.Gap(2)
	}
	for _, o := range v.Predictions {
		s.layoutOutcome(th, f, o)
	}
	for _, w := range v.Cautions {
		f.Say("Caution: "+w, ui.Small, ink.Regular, th.SayCeiling)
		f.Gap(6)
	}
	for _, a := range s.answers {
		f.Put(a, a.Height(th, f.Width))
		f.Gap(6)
	}
	if v.Asked && len(s.answers) == 0 {
		f.Put(s.write, s.write.Height(th))
		f.Gap(6)
	}
	s.layoutWritten(th, f)
	from := f.Y
	s.layoutJudged(th, f)
	s.judge(f, from)
	for i := range s.sets {
		set := &s.sets[i]
		switch {
		case s.turnedOnStrip(set.c.Key):
			continue
		case set.field != nil:
			set.field.Place(f)
		case set.check != nil:
			f.Put(set.check, row)
		default:
			f.Tiny(set.c.Label)
			f.Chips(set.places)
		}
		f.Gap(6)
	}
	if w := s.benchWords(); w != "" && (v.Step.IsTake() || v.Step.Hears()) {
		f.Rich(w, ui.Small, th.SayDim)
		f.Gap(4)
	}
	if len(s.heard) > 0 {
		s.layoutEars(th, f)
	}
	if v.Step.IsTake() && v.TakesLeft > 0 && !v.Owed {
		f.Note(fmt.Sprintf("Takes left: %d.", v.TakesLeft))
	}
	from = f.Y
	for _, c := range v.Checks {
		s.tick(th, f, c.OK, c.Said, c.GotSaid)
	}
	if !v.Step.Asks() {
		for _, m := range v.Feedback {
			f.Markdown(m)
		}
	}
	s.judge(f, from)
	if s.rooms.Scrolls {
		f.Gap(4)
		s.strip = f.Row(room.StripHeight(th))
		s.strip.X -= 6
		s.strip.W += 12
	}
	s.layoutReadings(th, f)
	return f.Y
}

// layoutWritten shows the answer that was written.
func (s *Scene) layoutWritten(th *ui.Theme, f *kit.Flow) {
	if !s.v.Asked && s.v.Step.Question != nil {
		if sp := s.hereSafe(); sp != nil && len(sp.Answers) > 0 && len(s.answers) == 0 {
			unit := ""
			if q := s.v.Step.Question; q.Number != nil && q.Number.Unit != "" {
				unit = " " + q.Number.Unit
			}
			f.Say("Your answer: "+sp.Answers[len(sp.Answers)-1]+unit, ui.Body, ink.Bold, th.Say)
			f.Gap(4)
		}
	}
}

// hereSafe is the progress of the present step, or nil while it is worked on.
func (s *Scene) hereSafe() *run.StepProgress {
	if s.job != nil || s.r == nil || s.v.Step == nil {
		return nil
	}
	sp := s.here()
	return &sp
}

// layoutJudged tells what became of an answer.
func (s *Scene) layoutJudged(th *ui.Theme, f *kit.Flow) {
	sp := s.hereSafe()
	if sp == nil || s.v.Step.Question == nil {
		return
	}
	if !s.v.Asked {
		switch sp.Verdict {
		case run.Right, run.Wrong:
			word := "right"
			if sp.Verdict == run.Wrong {
				word = "not right"
			}
			s.tick(th, f, sp.Verdict == run.Right, word, "")
		default:
			if s.v.Step.Kind == model.Predict {
				f.Say("Committed. What comes will show.", ui.Small, ink.Bold, th.Say)
				f.Gap(4)
			}
		}
	}
	if s.reply != "" {
		f.Markdown(s.reply)
	}
}

// layoutEars places what is listened with.
func (s *Scene) layoutEars(th *ui.Theme, f *kit.Flow) {
	f.Chips(s.heard)
	f.Gap(4)
	bh := th.Tall(max(38, th.Row(ui.Body)+14))
	if s.deck.Caution {
		f.Say(kit.CautionLong, ui.Small, ink.Bold, th.SayLost)
		f.Gap(4)
		f.Buttons(bh, s.deck.CautPlay, s.deck.CautCancel)
		f.Gap(6)
	} else {
		line := f.Row(bh)
		pw := max(s.deck.Play.Width(th), th.Px(98))
		s.deck.Play.Bounds, s.deck.Play.Clip = ui.Left(&line, min(pw, line.W)), f.Clip
		ui.Left(&line, 12)
		lw := s.deck.Loop.Width(th) + 6
		if line.W < lw {
			f.Gap(4)
			line = f.Row(bh)
		}
		s.deck.Loop.Bounds, s.deck.Loop.Clip = ui.Left(&line, min(lw, line.W)), f.Clip
		f.Gap(6)
		f.Put(s.deck.Line, 34+th.Row(ui.Tiny))
		if s.blind {
			f.Y -= 34 + th.Row(ui.Tiny)
			if sp := s.hereSafe(); sp != nil {
				f.Say(fmt.Sprintf("Trial %d of %d plays, without its name and its picture.", min(len(sp.Answers)+1, s.v.Step.Trials), s.v.Step.Trials), ui.Small, ink.Regular, th.SayDim)
			}
		}
		f.Gap(6)
	}
	if len(s.trials) > 0 {
		if sp := s.hereSafe(); sp != nil {
			f.Say(fmt.Sprintf("Answered: %d of %d trials", len(sp.Answers), s.v.Step.Trials), ui.Small, ink.Bold, th.Say)
		}
		f.Gap(8)
	}
}

func (s *Scene) layoutFinished(th *ui.Theme, f *kit.Flow) {
	res, err := s.r.Result(nil)
	if err != nil {
		f.Say(err.Error(), ui.Body, ink.Regular, th.SayLost)
		return
	}
	word := "Not passed"
	if res.Passed {
		word = "Passed"
	}
	s.verdicts = append(s.verdicts, stage.Verdict{At: ink.Point{X: f.X + th.Px(9), Y: f.Y + th.Row(ui.Title)/2}, Good: res.Passed})
	f.X += th.Px(26)
	f.Width -= th.Px(26)
	f.Say(word+", "+stage.Points(res.Points)+" of "+stage.Points(res.Of)+" points", ui.Title, ink.Bold, th.Say)
	f.X -= th.Px(26)
	f.Width += th.Px(26)
	f.Gap(4)
	f.Body(s.given.handIn())
	f.Gap(8)
	if s.given.by == nil {
		f.Put(s.name, s.name.Height(th))
		f.Tiny("Your name, if you like, goes into the file and into its name.")
		if w := s.signing(); w != "" {
			f.Tiny(w)
			s.save.Hint = saveHint + " " + w
		}
		f.Gap(8)
	}
	for i, st := range s.item.l.Steps {
		sp := &res.Steps[i]
		if st.Points == 0 && st.Trials == 0 && st.Kind != model.Predict && st.Kind != model.Do && !st.Asks() && len(sp.Dropped) == 0 {
			continue
		}
		words := fmt.Sprintf("%d. %s", i+1, model.KindTitle(st.Kind))
		if st.Points > 0 {
			words += ": " + stage.Points(sp.Points) + " of " + stage.Points(st.Points)
		}
		switch sp.Verdict {
		case run.Right, run.Wrong, run.Skipped:
			if sp.Verdict == run.Skipped {
				words += ", given up"
			}
			words += droppedWords(sp)
			s.tick(th, f, sp.Verdict == run.Right, words, "")
		default:
			f.Say(words+droppedWords(sp), ui.Small, ink.Regular, th.SayDim)
			f.Gap(4)
		}
		if w := s.r.Blind(i); w != "" {
			f.Note(w)
			f.Gap(4)
		}
		s.layoutOutcomeOf(th, f, i)
	}
	if len(s.item.l.Sources) > 0 {
		f.Gap(6)
		f.Head("Where the values can be checked")
		for _, x := range s.item.l.Sources {
			f.Rich(x.Says, ui.Small, th.Say)
			f.Tiny(x.Source)
			f.Gap(4)
		}
	}
}

// Draw draws the list, or the step and the bench; the controls come after.
func (s *Scene) Draw(l *ink.List, th *ui.Theme) {
	if s.show.Alone() {
		s.show.How.Draw(l, th)
		return
	}
	if s.item == nil {
		l.Clip(s.list.View)
		s.f.Draw(l)
		l.Unclip()
		s.list.Bar(l, th)
		return
	}
	s.g.DrawRuler(l, th)
	kit.Panel(l, th, s.rooms.Foot)
	if s.tight {
		st := th.Style(ui.Small, ink.Bold, ink.Left, th.SayDim)
		l.TextIn(s.head, ui.Fit(st, s.head.W-6, s.whereWords(), ""), st)
	}
	if w := s.blockedWords(); w != "" && !s.tight {
		st := th.Style(ui.Small, ink.Regular, ink.Left, th.SayDim)
		s.why.Draw(l, s.foot, w, st, th.Row(ui.Small))
	}
	if s.rooms.Words.W > 0 {
		s.drawStep(l, th)
	}
	s.g.Draw(l, th)
}

// drawStep draws the step's words.
func (s *Scene) drawStep(l *ink.List, th *ui.Theme) {
	kit.Panel(l, th, s.rooms.Words)
	l.Clip(s.step.View)
	s.f.Draw(l)
	s.drawShown(l, th)
	s.drawBar(l, th)
	for _, v := range s.verdicts {
		ui.Verdict(l, th, v.At, th.Px(15), v.Good)
	}
	l.Unclip()
	s.step.Bar(l, th)
}

// Nodes tells what is shown besides the controls.
func (s *Scene) Nodes(dst []ui.Node) []ui.Node {
	dst = s.show.Nodes(dst)
	if s.item == nil {
		dst = append(dst, ui.Node{ID: kit.IDStatus, Role: ui.RoleStatus, Name: "Result", Value: s.shell.Announce(), Bounds: s.area})
		if w := s.standing(); w != "" {
			dst = append(dst, ui.Node{ID: idStanding, Role: ui.RoleText, Name: "Where you stand", Value: w, Bounds: s.area})
		}
		for i, w := range s.faults {
			dst = append(dst, ui.Node{ID: fmt.Sprint(idFault, i+1), Role: ui.RoleText, Name: "Fault", Value: w, Bounds: s.area})
		}
		return dst
	}
	dst = s.g.RulerNodes(dst)
	v, box := &s.v, s.rooms.Words
	if box.W == 0 {
		box = s.area
	}
	asked := s.asked.Intersect(s.step.View)
	if asked.H <= 0 {
		asked = box
	}
	where := fmt.Sprintf("%s, step %d of %d", s.item.l.Title, v.Number, v.Of)
	if v.State == run.Finished {
		where = s.item.l.Title + ", finished"
	}
	if s.item.asked != nil {
		where = "Mixed review: " + s.item.l.Title
	}
	dst = append(dst, ui.Node{ID: idWhere, Role: ui.RoleHeading, Name: where, Bounds: box})
	if v.Step != nil {
		dst = append(dst, ui.Node{ID: idStep, Role: ui.RoleText, Name: kindWords(v.Step), Value: kit.PlainWords(v.Text), Bounds: asked})
		dst = s.shownNode(dst)
		dst = outcomeNodes(dst, v.Predictions, box)
		for i, w := range v.Cautions {
			dst = append(dst, ui.Node{ID: fmt.Sprint(idCaution, i+1), Role: ui.RoleText, Name: "Caution", Value: w, Bounds: box})
		}
		for i, c := range v.Checks {
			val := "not met: " + c.GotSaid
			if c.OK {
				val = "met: " + c.GotSaid
			}
			dst = append(dst, ui.Node{ID: fmt.Sprint(idCheck, i+1), Role: ui.RoleText, Name: c.Said, Value: val, Bounds: box})
		}
		if s.reply != "" {
			dst = append(dst, ui.Node{ID: idReply, Role: ui.RoleText, Name: "What there is to say", Value: kit.PlainWords(s.reply), Bounds: box})
		}
		for i, m := range v.Feedback {
			dst = append(dst, ui.Node{ID: fmt.Sprint(idFeedback, i+1), Role: ui.RoleText, Name: "Hint", Value: kit.PlainWords(m), Bounds: box})
		}
	} else {
		dst = append(dst, ui.Node{ID: idOutcome, Role: ui.RoleText, Name: "Outcome", Value: s.status, Bounds: box})
		dst = outcomeNodes(dst, s.outcomes, box)
	}
	if w := s.blockedWords(); w != "" {
		dst = append(dst, ui.Node{ID: idBlocked, Role: ui.RoleText, Name: "Now", Value: w, Bounds: s.foot})
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
		dst = append(dst, ui.Node{ID: idReading + n.Key, Role: ui.RoleText, Name: kit.Capital(n.Label), Value: strings.Join(vals, ", "), Bounds: box})
	}
	return s.g.Nodes(dst)
}

// Scroll moves the column under the pointer.
func (s *Scene) Scroll(dy float32) {
	switch {
	case s.show.Alone():
		s.show.How.Scroll(dy)
	case s.item == nil:
		if s.list.By(dy) {
			s.Layout(s.shell.Theme(), s.area)
		}
	case s.rooms.Words.W > 0 && (s.rooms.Pictures.W == 0 || s.rooms.Words.Contains(s.pointer)):
		if s.step.By(dy) {
			s.Layout(s.shell.Theme(), s.area)
		}
	default:
		s.g.Scroll(dy)
	}
}

// Reveal scrolls until r can be seen.
func (s *Scene) Reveal(r ink.Rect) {
	switch {
	case s.item == nil:
		if s.list.Reveal(r) {
			s.Layout(s.shell.Theme(), s.area)
		}
	case s.rooms.Fixed(r):
	case s.rooms.InWords(r):
		if s.step.Reveal(r) {
			s.Layout(s.shell.Theme(), s.area)
		}
	default:
		s.g.Reveal(r)
	}
}
