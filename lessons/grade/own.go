package grade

import (
	"fmt"

	"gainwright/lessons/run"
	"gainwright/sounds/own"
	"gainwright/sounds/scenario/plain"
)

// A Voice is a student's own voice as a file that was handed in.
type Voice struct {
	Path  string
	Guest *own.Guest
}

// voiceOf finds the voice that a result was taken with; why says what is missing else. A
// voice is known by what is heard of it, not by its name.
func (g *Grader) voiceOf(ref *run.VoiceRef) (v *Voice, why string) {
	for i := range g.Voices {
		if g.Voices[i].Guest.Sum == ref.Sum {
			return &g.Voices[i], ""
		}
	}
	taken := fmt.Sprintf("was taken with the student's own voice %s (SHA-256 %s)", plain.Quote(ref.Name), brief(ref.Sum))
	switch len(g.Voices) {
	case 0:
		return nil, taken + ", whose file is needed: without it the result cannot be verified (--voice FILE, the WAV that “Your voice” saves)"
	case 1:
		o := g.Voices[0]
		return nil, fmt.Sprintf("%s, and %s holds another recording or another level (%s): the result cannot be verified with it", taken, plain.Shorten(o.Path), brief(o.Guest.Sum))
	}
	return nil, fmt.Sprintf("%s, and none of the %d voices given is that recording: without its file the result cannot be verified", taken, len(g.Voices))
}

// brief is enough of a checksum to tell voices apart by eye.
func brief(sum string) string { return plain.Shorten(sum[:min(len(sum), 12)]) }

// Unused are the voices that no result of the grades was taken with, each told in a sentence.
func (g *Grader) Unused(grades []*Grade) (out []string) {
	for _, v := range g.Voices {
		used := false
		for _, x := range grades {
			used = used || x.OwnVoice != nil && x.OwnVoice.Sum == v.Guest.Sum
		}
		if !used {
			out = append(out, fmt.Sprintf("%s: no result here was taken with this voice (%s, SHA-256 %s)", v.Path, plain.Quote(v.Guest.Perf.Name), brief(v.Guest.Sum)))
		}
	}
	return out
}
