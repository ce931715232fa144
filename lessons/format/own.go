package format

import (
	"maps"
	"slices"
	"strings"

	"gainwright/lessons/model"
	"gainwright/sounds/scenario/plain"
	"gainwright/sounds/voice"
)

const keyOwnVoice = "own_voice"

// ownVoice reads whether students may take the lesson with a voice of their own.
func (d *decoder) ownVoice(p pair) {
	if w, _ := plain.Scalar(p.node); w != "allowed" {
		d.fault(p.node.GetToken(), keyOwnVoice, "want allowed, or leave the key out: then the lesson is taken with its talker")
		return
	}
	d.l.OwnVoice = true
}

// deaf are what a script may hold and a voice of one's own leaves out.
var deaf = []string{"cough", "pop", "clap", "chair"}

// ownVoiceFits looks whether a voice of one's own can give the lesson's takes.
func (d *decoder) ownVoiceFits(p pair) {
	l, at := d.l, p.at
	used, what := map[string]voice.Script{}, map[string]bool{}
	for _, s := range l.Steps {
		switch {
		case s.IsTake() && s.Take == "":
			used["the scenario's script"] = l.Base.Source.Script
		case s.IsTake():
			used["the script "+s.Take] = l.Takes[s.Take]
		}
	}
	if len(used) == 0 {
		d.note(at, keyOwnVoice, "nothing is recorded in this lesson: a voice of one's own changes nothing")
	}
	for _, name := range slices.Sorted(maps.Keys(used)) {
		other := false
		for _, e := range used[name] {
			other = other || e.Talker != ""
			what[e.Do] = true
		}
		if other {
			d.fault(at, keyOwnVoice, "in %s somebody else talks, too: a voice of one's own cannot be both", name)
		}
	}
	var out []string
	for _, w := range deaf {
		if what[w] {
			out = append(out, w)
		}
	}
	if len(out) > 0 {
		d.note(at, keyOwnVoice, "a voice of one's own talks, laughs and calls: %s in the scripts is left out", plain.Listed(out, "and"))
	}
	for i, s := range l.Steps {
		named := slices.Contains(s.Names(), "drawn."+model.DrawTalker)
		if s.Text != nil {
			named = named || strings.Contains(s.Text.Raw(), "drawn."+model.DrawTalker+"}}")
		}
		if named {
			d.note(at, keyOwnVoice, "step %d (%s) names drawn.talker, which is not who talks where a student's own voice does", i+1, s.ID)
		}
	}
}
