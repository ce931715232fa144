package lesson

import (
	"slices"
	"strings"

	"gainwright/lessons/model"
	"gainwright/lessons/names"
	"gainwright/lessons/run"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
)

// sync brings the controls up to the state.
func (s *Scene) sync() {
	if s.item == nil {
		s.name.Hidden = false
		s.syncReview()
		s.show.Sync(s.Controls())
		return
	}
	s.Controls()
	kit.Hide(false, s.cs...)
	wait := ""
	switch {
	case s.stage.Rolling():
		wait = "the take rolls"
	case s.job != nil:
		wait = s.doing
	}
	kind := model.Kind("")
	if s.v.Step != nil {
		kind = s.v.Step.Kind
	}
	s.syncAnswers(kind, wait)
	s.syncTake(kind, wait)
	s.syncWho(wait)
	for i := range s.sets {
		s.syncSet(&s.sets[i], wait)
	}
	s.syncEars(s.v.Step != nil && s.v.Step.Hears())
	s.more.Hidden = len(s.readings) == 0 || s.v.State == run.Finished
	s.more.On = s.showAll
	s.name.Hidden = s.v.State != run.Finished || s.given.by != nil || s.item.asked != nil
	s.look.Hidden, s.look.On = s.rooms.Head.W == 0, s.pictures
	if s.rooms.Head.W > 0 && s.rooms.Words.W == 0 {
		for _, c := range s.cs {
			if c := c.Common(); !slices.Contains(onPage, c.ID) {
				c.Hidden = true
			}
		}
	}
	s.g.KeepWindow(s.secret())
	s.lockBench(wait)
	s.show.Sync(s.cs)
}

// onPage are the controls that stay when the pictures are shown in place of the words.
var onPage = []string{idPictures, idList, idRecord, idCommit, idNext, idReview, idGiveUp, idSave, idAnew, idForget}

// aboutGain reports whether the lesson has the gain turned: then the ruler stands over it.
func (s *Scene) aboutGain() bool {
	for _, st := range s.item.l.Steps {
		for _, c := range st.Controls {
			if strings.HasSuffix(c.Key, "preamp.gain_db") {
				return true
			}
		}
	}
	return false
}

// secret tells why the bench shows neither window nor advice: they would be the answer, to
// what this step asks or to what a later one will.
func (s *Scene) secret() string {
	if s.v.Step == nil {
		return ""
	}
	if l := s.item.l; slices.ContainsFunc(l.Steps[s.v.Number:], asks) {
		return "the window shows when nothing is left to find out"
	}
	if s.v.Asked || s.v.State == run.Recording && !s.v.Met {
		return "the window shows when this step is done"
	}
	return ""
}

// asks reports whether a step can be got wrong, or sets a knob for one that can.
func asks(st *model.Step) bool {
	return st.Kind == model.Do || st.Asks() || st.Kind == model.Predict || st.IsTake() && len(st.Controls) > 0
}

func (s *Scene) syncAnswers(kind model.Kind, wait string) {
	answering := s.v.Asked
	stands := ""
	if !answering {
		stands = "the answer stands"
	}
	for i, a := range s.answers {
		a.Checked = i == s.chosen
		off(stands, a)
	}
	texted := answering && len(s.answers) == 0
	s.write.Hidden = !texted
	s.commit.Hidden = !answering
	s.commit.Label = map[model.Kind]string{model.Predict: "Commit this prediction", model.Ask: "Answer", model.Listen: "Answer", model.Explain: "Hand in"}[kind]
	why := wait
	switch {
	case why != "":
	case len(s.answers) > 0 && s.chosen < 0:
		why = "choose an answer first"
	case texted && strings.TrimSpace(s.write.Text()) == "":
		why = "write an answer first"
	}
	off(why, s.commit)
}

// syncTake brings up what begins a take, and what goes on from it.
func (s *Scene) syncTake(kind model.Kind, wait string) {
	v := &s.v
	taking := v.State == run.Recording
	s.record.Hidden = !taking
	s.record.On, s.record.Label, s.record.Icon, s.record.Name = s.stage.Rolling(), "Record", ui.IconRecord, "Record the take"
	if s.record.On {
		s.record.Label, s.record.Icon, s.record.Name = "Stop", ui.IconStop, "Stop and give up this take"
		s.record.Hint = "It counts from its first second on, and the result tells of it."
	} else {
		s.record.Hint = recordHint
	}
	why := ""
	switch {
	case s.job != nil:
		why = wait
	case v.TakesLeft == 0:
		why = "all takes of this step are recorded"
	}
	off(why, s.record)
	finished := v.State == run.Finished
	s.next.Hidden = finished || v.Asked
	blocked := v.Blocked
	if wait != "" {
		blocked = wait
	}
	off(blocked, s.next)
	s.giveUp.Hidden = !(kind == model.Do && taking && !v.Met)
	off(wait, s.giveUp, s.back)
	task := s.item.asked != nil // of the review
	kit.Hide(!finished || task, s.save, s.anew)
	kit.Hide(!finished || task || s.given.by != nil, s.forget)
	s.syncReview()
	off(s.given.noMore(), s.anew)
}

// syncSet brings up a setting that the step unlocks.
func (s *Scene) syncSet(set *lessonSet, wait string) {
	why := ""
	if s.job == nil {
		why, _ = s.r.Locked(set.c.Key)
	}
	if wait != "" && !(s.stage.Rolling() && s.v.Step.Riding) {
		why = wait
	}
	val := s.valueOf(set.c.Key)
	hide := s.turnedOnStrip(set.c.Key)
	switch {
	case set.field != nil:
		if x, ok := val.(float64); ok {
			set.field.Value = x
		}
		off(why, set.field)
		set.field.Hidden = hide
	case set.check != nil:
		set.check.On, _ = val.(bool)
		off(why, set.check)
	}
	for k, c := range set.places {
		if val != nil {
			w, _ := val.(string)
			c.Checked = w == set.c.Choices[k]
		}
		off(why, c)
		c.Hidden = hide
	}
}

// turnedOnStrip reports whether a setting is turned on a strip of the bench, its meter
// beside it, and needs no control among the words.
func (s *Scene) turnedOnStrip(key string) bool {
	strip, rest, _ := strings.Cut(key, ".")
	return inUse(&s.v) && slices.Contains(s.onBench, strip) && (rest == "preamp.gain_db" || rest == names.LimiterPlace)
}

// turned reports whether the step has something turned on a strip.
func (s *Scene) turned() bool {
	return slices.ContainsFunc(s.sets, func(set lessonSet) bool { return s.turnedOnStrip(set.c.Key) })
}

// elsewhere tells that what the step has turned stands among its words, and no take rolls.
func (s *Scene) elsewhere() bool { return len(s.sets) > 0 && !s.turned() && !s.stage.Rolling() }

// syncEars brings up what is listened to.
func (s *Scene) syncEars(ears bool) {
	s.deck.Sync()
	answered := ""
	if _, ok := s.trial(); !ok {
		answered = "all trials are answered"
	}
	for i, c := range s.heard {
		trial := c.ID == idHear+trialName
		c.Checked = s.blind == trial && (trial || s.deck.At == i)
		switch {
		case len(s.waves) == 0:
			off("the sounds are being made", c)
		case trial:
			off(answered, c)
		default:
			off("", c)
		}
	}
	for _, b := range s.trials {
		why := answered
		if why == "" {
			why = s.unheard()
		}
		off(why, b)
	}
	kit.Hide(!ears || s.deck.Caution, s.deck.Play, s.deck.Loop)
	s.deck.Line.Hidden = s.deck.Line.Hidden || !ears || s.blind
	s.deck.Line.Disabled = s.deck.Line.Disabled || len(s.waves) == 0
	if !ears {
		kit.Hide(true, s.deck.CautPlay, s.deck.CautCancel)
	}
}
