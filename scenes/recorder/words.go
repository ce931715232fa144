package recorder

import (
	"fmt"
	"slices"
	"strings"

	"gainwright/scenes/curves"
	"gainwright/scenes/kit"
	"gainwright/sim/identify"
	"gainwright/sounds/series"
)

// partState is how a part of the series stands.
type partState struct {
	done  bool
	state string // in a word or two
	next  string // what there is, and what to record next
}

// said is all that is told of it.
func (st partState) said(p series.Part) string {
	s := kit.Capital(st.state) + "."
	if st.next != "" {
		s += " " + kit.Capital(st.next) + dot(st.next)
	}
	if !st.done {
		s += " " + p.Do
	}
	return s
}

func marksWords(marks []float64) string {
	var s []string
	for _, m := range marks {
		s = append(s, series.Mark(m))
	}
	return strings.Join(s, ", ")
}

// standing is what the states of the parts are told from.
type standing struct {
	found  *series.Found // nil: nothing is known
	wanted string        // marks of the knob
	anchor bool          // a level is said to be known
}

// state tells how part p stands.
func (s standing) state(p series.Part) partState {
	if s.found == nil {
		if p.Name == "anchor" {
			return partState{state: "missing", next: "choose it beside the curves"}
		}
		return partState{state: "missing"}
	}
	f := s.found
	marks, each := f.Known(p)
	at := "recorded at " + marksWords(marks)
	if len(marks) == 0 {
		at = ""
	}
	switch p.Name {
	case "quiet":
		return quietState(f, marks, at)
	case "steps":
		return stepsState(f, marks, at, s.wanted)
	case "loud":
		switch {
		case f.Clip != nil:
			return partState{true, "done", "clips at " + f.ClipRow().Value}
		case len(marks) > 0:
			return partState{false, "not loud enough", "nothing is clipped: record it louder, or at a higher mark"}
		}
	case "pair":
		return pairState(f, each)
	case "anchor":
		switch {
		case f.FullAt.Known():
			return partState{true, "done", "full scale at the lowest mark: " + series.Within(f.FullAt, "dB SPL")}
		case s.anchor:
			return partState{false, "not heard", "record it, and name it anchor, by hand"}
		}
		return partState{state: "missing", next: "choose it beside the curves"}
	}
	return partState{state: "missing"}
}

func quietState(f *series.Found, marks []float64, at string) partState {
	switch {
	case f.Noises.In.Known() && f.Noises.Out.Known(), len(marks) > 2 && f.HasNoise():
		return partState{true, "done", at}
	case len(marks) == 0:
		return partState{state: "missing"}
	case len(f.Gains.Marks) < 2:
		return partState{false, "not enough", at + "; record the steps, too: noise is told against the gain"}
	}
	return partState{false, "not enough", at + "; record quiet at the lowest and the highest mark, too"}
}

func stepsState(f *series.Found, marks []float64, at, wanted string) partState {
	if len(marks) == 0 {
		return partState{state: "missing"}
	}
	want, err := series.ParseMarks(wanted)
	var left []float64
	for _, m := range want {
		if err == nil && !slices.Contains(marks, m) {
			left = append(left, m)
		}
	}
	switch {
	case len(f.Gains.Marks) < 2:
		return partState{false, "not enough", at + "; record the tone at another mark"}
	case len(left) > 0:
		return partState{true, fmt.Sprintf("done at %d", len(f.Gains.Marks)), at + "; you could add " + marksWords(left)}
	}
	return partState{true, "done", at}
}

func pairState(f *series.Found, each []int) partState {
	off, on := each[0], each[1]
	switch {
	case f.Limiter != nil && f.Limiter.Place != identify.Undecided:
		return partState{true, "done", series.TellLimiter(f.Limiter).Title}
	case f.Limiter != nil:
		return partState{false, "cannot tell", series.TellLimiter(f.Limiter).Why}
	case off > 0 && on > 0:
		return partState{false, "cannot tell", "see the notes"}
	case off > 0:
		return partState{false, "half", "limiter off is there; record it with the limiter on"}
	case on > 0:
		return partState{false, "half", "limiter on is there; record it with the limiter off"}
	}
	return partState{state: "missing"}
}

// missing says in a sentence what is still missing.
func (s standing) missing() string {
	var out []string
	for _, p := range series.Parts {
		if !s.state(p).done {
			out = append(out, map[string]string{"quiet": "noise", "steps": "the gain between marks", "loud": "where it clips", "pair": "the limiter", "anchor": "a level in dB SPL"}[p.Name])
		}
	}
	switch len(out) {
	case 0:
		return "Nothing is missing."
	case len(series.Parts):
		return ""
	case 1:
		return "Still open: " + out[0] + "."
	}
	return "Still open: " + strings.Join(out[:len(out)-1], ", ") + " and " + out[len(out)-1] + "."
}

// curveMissing is what stands in place of a curve that is not known yet.
func curveMissing(c curves.Curve) string {
	switch c.Title {
	case curves.Gain.Title:
		return "not known: record the tone at several marks"
	case curves.Noise.Title:
		return "not known: record quiet at several marks, and the tone"
	}
	return "not known: record the pair"
}

// dot ends a sentence that has no end.
func dot(s string) string {
	if s[len(s)-1] == '.' {
		return ""
	}
	return "."
}

func counted(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// gainRows are the gains, and the levels that reach full scale where those are known.
func gainRows(found *series.Found) (out [][2]string) {
	for _, m := range found.Gains.Marks {
		v := series.Within(m.Gain, "dB")
		if full := found.FullScale(m); full.Known() {
			v += "; full scale at " + series.Within(full, "dB SPL")
		}
		out = append(out, [2]string{"mark " + series.Mark(m.Mark), v})
	}
	return out
}

func rowsOf(list []series.Row) (out [][2]string) {
	for _, r := range list {
		v := r.Value
		if v == "not known" && r.From != "" {
			v += ": " + r.From
		}
		out = append(out, [2]string{r.Name, v})
	}
	return out
}

func isAre(n int) string {
	if n == 1 {
		return "is"
	}
	return "are"
}
