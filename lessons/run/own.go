package run

import (
	"errors"
	"fmt"

	"gainwright/lessons/model"
	"gainwright/sounds/own"
)

// VoiceRef tells which voice of the student's own gave the takes of a lesson that allows it:
// what it is called, and the SHA-256 of what is heard of it.
type VoiceRef struct {
	Name string `json:"name"`
	Sum  string `json:"sha256"`
}

// VoiceOf names a voice.
func VoiceOf(g *own.Guest) *VoiceRef { return &VoiceRef{g.Perf.Name, g.Sum} }

// ownTalker is who talks in a text that names the talker.
const ownTalker = "Your own voice"

// MayLend tells why the student cannot choose now who talks, the talker or a voice of their
// own; "" if they can: in a lesson that allows it, until a second of a take has sounded.
func (r *Runner) MayLend() string {
	if !r.l.OwnVoice {
		return "the lesson is taken with the talker that it has"
	}
	if r.State() == Finished {
		return "the lesson is finished"
	}
	for i := range r.p.Steps {
		if sp := &r.p.Steps[i]; sp.Take != nil || sp.Takes > 0 || len(sp.Dropped) > 0 {
			return "a take was recorded: who talks stays the same to the end"
		}
	}
	return ""
}

// Lend has a voice of the student's own give all takes of the lesson; nil has the talker give
// them again. It is refused where MayLend says why, or to a voice that lacks what the lesson's
// scripts ask for. The voice that the lesson was begun with is taken at any time: after Resume it
// has to be given again before anything is performed, see Lacks.
func (r *Runner) Lend(g *own.Guest) error {
	if g != nil && r.p.Voice != nil && r.p.Voice.Sum == g.Sum {
		r.own = g
		return nil
	}
	if why := r.MayLend(); why != "" {
		return errors.New(why)
	}
	if g == nil {
		r.own, r.p.Voice = nil, nil
		return nil
	}
	for _, s := range r.l.Steps {
		if !s.IsTake() {
			continue
		}
		if err := g.Fits(r.performed(s, nil, nil).Script); err != nil {
			return fmt.Errorf("step %s: %w", s.ID, err)
		}
	}
	r.own, r.p.Voice = g, VoiceOf(g)
	return nil
}

// Voice is the voice of the student's own that gives the takes, or nil.
func (r *Runner) Voice() *VoiceRef { return r.p.Voice }

// Lacks is the name of the voice that has to be given again by Lend before anything can be
// performed, or "".
func (r *Runner) Lacks() string {
	if r.p.Voice == nil || r.own != nil {
		return ""
	}
	return r.p.Voice.Name
}

// talkerOf is what texts call whoever talks; v are the variables, which it changes.
func (r *Runner) talkerOf(v map[string]any) {
	if _, drawn := v["drawn."+model.TalkerName]; drawn && r.p.Voice != nil {
		v["drawn."+model.TalkerName] = ownTalker
	}
}
