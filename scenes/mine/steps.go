package mine

import (
	"errors"
	"fmt"
	"math"

	"gainwright/scenes/kit"
	"gainwright/sim/meter"
	"gainwright/sounds/own"
)

// recording is a performance on its way.
type recording struct {
	mic   kit.Microphone
	told  kit.MicReport
	step  own.Part
	parts [own.NumParts][]float64
	now   []float64 // of the step that is being recorded
	rolls bool
	block [4096]float64
	// frames are levels of 50 ms of now, dB re full scale; floor is the quiet part's.
	frames []float64
	held   int // of now, how much is in frames
	hears  float64
	lost   bool // the microphone went away by itself
	once   bool // the step alone is done again, into what is there
	hot    int  // for so many frames yet it is told that full scale was reached
}

const (
	frame = own.Rate / 20
	// spokenDB over the quiet part somebody speaks; after pauseS of less a step ends by itself.
	spokenDB = 10.0
	pauseS   = 1.4
	// Of what reaches fullScale the top may be gone; that is told for hotS.
	fullScale = 0.999
	hotS      = 4
)

// open asks for the microphone.
func (s *Scene) openMic() error {
	l := s.listener()
	if l == nil {
		return errors.New("this window has no way to a microphone")
	}
	if s.rec.mic != nil {
		return errors.New("the microphone is open already")
	}
	if s.stage == atStart {
		s.rec = recording{}
	}
	s.deck.Player.Pause()
	s.rec.mic, s.rec.lost, s.rec.hears = l.Listen(false), false, math.Inf(-1)
	s.stage = atAsk
	s.say("Your browser asks whether this page may hear you: say yes there, and the first step begins here. No is an answer, too.", true)
	s.relay()
	return nil
}

// letGo closes the microphone; what was recorded stays.
func (s *Scene) letGo(words string) {
	if s.rec.mic != nil {
		s.rec.mic.Close()
		s.rec.mic = nil
	}
	s.rec.rolls, s.rec.now = false, nil
	if s.rec.once {
		s.rec = recording{}
		s.show(s.mine, s.read, s.card, s.saved)
	}
	if s.stage == atAsk || s.stage == atSteps {
		s.stage = atStart
		if s.rec.step > 0 {
			s.stage = atSteps
		}
	}
	s.say(words, false)
	s.relay()
}

// listen takes in what the microphone has brought, and reports whether the picture changes.
func (s *Scene) listen() bool {
	r := &s.rec
	if r.mic == nil {
		return false
	}
	was := r.told
	r.told = r.mic.Report()
	if r.told.State == kit.MicEnded {
		err := r.told.Err
		if err == nil {
			err = errors.New("the microphone is gone; ask for it again to go on")
		}
		r.lost = s.stage == atSteps
		words := kit.Capital(err.Error()) + "."
		if r.lost && r.step > 0 {
			words += " What you have recorded so far is still here."
		}
		s.letGo(words)
		s.shell.Fail(err)
		return true
	}
	if r.told.State == kit.MicRunning && s.stage == atAsk {
		s.stage = atSteps
		s.say(fmt.Sprintf("The microphone is open. Step %d of %d: %s.", r.step+1, own.NumParts, steps[r.step].title), true)
		s.relay()
	}
	if was.State != r.told.State && r.told.State == kit.MicSuspended {
		s.say("The system holds the sound back. Press anywhere in the page to go on.", true)
	}
	// The last step's end lets it go; what comes without end waits for the next picture.
	for range 1 << 9 {
		if r.mic == nil {
			break
		}
		n := r.mic.Read(r.block[:])
		if n > 0 {
			s.take(r.block[:n])
		}
		if n < len(r.block) {
			break
		}
	}
	return true
}

// take takes in a block.
func (s *Scene) take(x []float64) {
	r := &s.rec
	top := 0.0
	for _, v := range x {
		top = max(top, v, -v)
	}
	r.hears = max(meter.DB(top), r.hears-float64(len(x))/own.Rate*24) // falls as a peak meter's pointer does
	if r.hot = max(0, r.hot-len(x)); top >= fullScale {
		r.hot = hotS * own.Rate
	}
	if !r.rolls {
		return
	}
	r.now = append(r.now, x...)
	for r.held+frame <= len(r.now) {
		r.frames = append(r.frames, meter.PowerDB(meter.MeanSquare(r.now[r.held:r.held+frame])+1e-12))
		r.held += frame
	}
	at := float64(len(r.now)) / own.Rate
	st := &steps[r.step]
	if st.fixed > 0 && at >= st.fixed || at >= r.step.MostS() || st.fixed == 0 && r.silentSince() >= pauseS && r.spoken() >= r.step.LeastS() {
		s.endStep()
	}
}

// floor is the level over which somebody speaks.
func (r *recording) floor() float64 {
	q := r.parts[own.Quiet]
	if len(q) == 0 {
		return -50
	}
	return max(-75, meter.PowerDB(meter.MeanSquare(q)+1e-12)+spokenDB)
}

// spoken is for how long somebody spoke, silentSince for how long nobody has since, seconds.
func (r *recording) spoken() float64 {
	n, f := 0, r.floor()
	for _, v := range r.frames {
		if v > f {
			n++
		}
	}
	return float64(n) / 20
}

func (r *recording) silentSince() float64 {
	f := r.floor()
	for i := len(r.frames) - 1; i >= 0; i-- {
		if r.frames[i] > f {
			return float64(len(r.frames)-1-i) / 20
		}
	}
	return 0
}

// beginOrEnd begins the step, or ends it.
func (s *Scene) beginOrEnd() error {
	r := &s.rec
	switch {
	case s.stage != atSteps:
		return errors.New("no step is to be recorded")
	case r.mic == nil:
		return errors.New("the microphone is off: ask for it again")
	case r.rolls:
		s.endStep()
		return nil
	}
	r.rolls, r.now, r.frames, r.held = true, r.now[:0], r.frames[:0], 0
	s.say("Recording: "+steps[r.step].title+".", true)
	s.relay()
	return nil
}

// endStep ends the step being recorded; what is too little is done again.
func (s *Scene) endStep() {
	r := &s.rec
	r.rolls = false
	defer s.relay()
	if k := r.step; steps[k].fixed == 0 {
		switch {
		case r.spoken() < .1:
			s.say("Hardly anything was heard over the noise of the room. Go nearer, or speak up, and do it again.", true)
			return
		case r.spoken() < k.LeastS()*.6 || float64(len(r.now))/own.Rate < k.LeastS():
			s.say("That was too short. Do it again.", true)
			return
		}
	} else if float64(len(r.now))/own.Rate < k.LeastS() {
		s.say("That was too short: let it run for two seconds.", true)
		return
	}
	r.parts[r.step] = r.trimmed()
	s.nextStep()
}

// trimmed is what was recorded without the silence around it, but a third of a second.
func (r *recording) trimmed() []float64 {
	if steps[r.step].fixed > 0 {
		return append([]float64(nil), r.now...)
	}
	f := r.floor()
	first, last := 0, len(r.frames)-1
	for first < last && r.frames[first] <= f {
		first++
	}
	for last > first && r.frames[last] <= f {
		last--
	}
	const around = 6 // frames
	a, b := max(0, first-around)*frame, min(len(r.now), (last+1+around)*frame)
	return append([]float64(nil), r.now[a:b]...)
}

// nextStep goes on to the next step, or, after the last, to what came of it.
func (s *Scene) nextStep() {
	r := &s.rec
	if r.step+1 < own.NumParts && !r.once {
		r.step++
		s.say(fmt.Sprintf("Got it. Step %d of %d: %s.", r.step+1, own.NumParts, steps[r.step].title), true)
		s.relay()
		return
	}
	p := r.performance()
	if r.once {
		p.Name, p.LouderDB, p.MeasuredDBSPL = s.mine.Name, s.mine.LouderDB, s.mine.MeasuredDBSPL
	}
	s.letGo("All steps are done, and the microphone is off.")
	s.rec, s.spoken = recording{}, p
	s.look(p, nil, "")
}

// goBack goes back a step, to do it again.
func (s *Scene) goBack() error {
	if s.stage != atSteps || s.rec.step == 0 || s.rec.rolls || s.rec.once {
		return errors.New("there is no step before")
	}
	s.rec.step--
	s.say(fmt.Sprintf("Step %d of %d again: %s.", s.rec.step+1, own.NumParts, steps[s.rec.step].title), true)
	s.relay()
	return nil
}

// laughAgain records the laugh once more: the first is often not the real one. Where that
// comes to nothing, what was there stays.
func (s *Scene) laughAgain() error {
	if s.mine == nil {
		return errNothing
	}
	if s.mine != s.spoken {
		return errors.New("this voice was not recorded just now: the microphone may stand elsewhere, so begin anew")
	}
	if s.job != nil {
		return errors.New("a recording is being looked at")
	}
	r := recording{step: own.Laugh, once: true}
	for k := range r.parts {
		r.parts[k] = s.mine.Part(own.Part(k))
	}
	s.rec = r
	s.deck.Load(true) // nothing is to be played beside an open microphone
	return s.openMic()
}

// leaveOut goes on without the step.
func (s *Scene) leaveOut() error {
	if s.stage != atSteps || !steps[s.rec.step].may || s.rec.rolls || s.rec.once {
		return errors.New("this step is not to be left out")
	}
	s.rec.parts[s.rec.step] = nil
	s.nextStep()
	return nil
}

// performance puts the parts together.
func (r *recording) performance() *own.Performance {
	p := &own.Performance{Name: "you", Told: told(r.told.Opened)}
	for k, x := range r.parts {
		from := len(p.Samples)
		for _, v := range x {
			p.Samples = append(p.Samples, float32(v))
		}
		if len(x) > 0 {
			p.Parts[k] = own.Span{From: from, To: len(p.Samples)}
		}
	}
	p.Settle()
	return p
}

func told(o kit.Opened) own.Told {
	say := func(p kit.Processing) string {
		return [...]string{kit.NotTold: "", kit.SaidOff: "off", kit.SaidOn: "on"}[p]
	}
	return own.Told{Echo: say(o.Echo), Noise: say(o.Noise), Gain: say(o.Gain)}
}

// syncSteps brings the controls of the steps up to the state.
func (s *Scene) syncSteps() {
	r := &s.rec
	on := s.stage == atSteps
	kit.Hide(!on || r.mic == nil, s.begin)
	kit.Hide(!on || r.step == 0 || r.rolls || r.once, s.back)
	kit.Hide(!on || !steps[r.step].may || r.rolls || r.once || r.mic == nil, s.skip)
	s.begin.Label, s.begin.Name, s.begin.On = "Record this step", "Record this step: "+steps[r.step].title, r.rolls
	if r.rolls {
		s.begin.Label, s.begin.Name = "Done", "End this step"
	}
	s.ask.Label = "Ask for my microphone"
	if on {
		s.ask.Label = "Ask for it again"
	}
}
