package lesson

import (
	"slices"
	"strings"

	"gainwright/lessons/model"
	"gainwright/lessons/names"
	"gainwright/scenes/bench"
	"gainwright/scenes/kit"
	"gainwright/sim"
)

// setBench shows the lesson's settings on the bench: of three strips and more those
// that the step is about.
func (s *Scene) setBench() {
	s.scn = s.r.Bench()
	want := func(n string) bool {
		if s.v.Step == nil {
			return false
		}
		for _, c := range s.v.Step.Controls {
			if strings.HasPrefix(c.Key, n+".") {
				return true
			}
		}
		return slices.Contains(s.v.Step.Strips, n)
	}
	s.onBench = s.onBench[:0]
	for _, first := range []bool{true, false} {
		for _, st := range s.scn.Strips {
			if want(st.Name) == first && len(s.onBench) < bench.MaxStrips {
				s.onBench = append(s.onBench, st.Name)
			}
		}
	}
	// In the lesson's own order.
	names := s.onBench
	s.onBench = nil
	for _, st := range s.scn.Strips {
		if slices.Contains(names, st.Name) {
			s.onBench = append(s.onBench, st.Name)
		}
	}
	var own [bench.MaxStrips]string
	for i, n := range s.onBench {
		if n != bench.StripNames[i] {
			own[i] = n
		}
	}
	s.g.NameStrips(own)
	s.putChains()
}

// putChains brings the strips of the bench up to the lesson's settings.
func (s *Scene) putChains() {
	var chains []sim.Chain
	for _, n := range s.onBench {
		chains = append(chains, s.scn.Strip(n).Chain)
	}
	err := s.stage.Put(chains, s.scn.Source.Talker)
	if err == nil {
		err = s.checkBy()
	}
	if err != nil {
		s.shell.Fail(err)
	}
}

// showStrip brings the strip that the step is about into the pictures.
func (s *Scene) showStrip() {
	if s.v.Step == nil {
		return
	}
	for _, c := range s.v.Step.Controls {
		for i, n := range s.onBench {
			if strings.HasPrefix(c.Key, n+".") {
				s.g.ShowStrip(i)
				return
			}
		}
	}
}

// benchWords tells which strip is which, where their names differ.
func (s *Scene) benchWords() string {
	var out []string
	differ := false
	for i, n := range s.onBench {
		differ = differ || n != bench.StripNames[i]
		out = append(out, "strip "+bench.StripNames[i]+" is *"+n+"*")
	}
	if !differ {
		return ""
	}
	return "On the bench " + strings.Join(out, ", ") + "."
}

// lessonKey translates a control of the bench into the lesson's setting; value is
// nil for a number.
func (s *Scene) lessonKey(id string) (key string, value any, ok bool) {
	if id == "distance_m" || strings.HasPrefix(id, "room.") {
		return id, nil, true
	}
	for i, n := range bench.StripNames {
		rest, of := strings.CutPrefix(id, n+".")
		if !of || i >= len(s.onBench) {
			continue
		}
		strip := s.onBench[i] + "."
		if w, of := strings.CutPrefix(rest, kit.IDStripLimiter); of && slices.Contains(kit.Places[:], sim.LimiterPlace(w)) {
			return strip + "limiter_place", w, true
		}
		if rest == kit.IDStripGain {
			rest = "preamp.gain_db"
		}
		f, w, of := kit.SettingOf(rest)
		switch {
		case !of:
		case w != "":
			return strip + f.Key, w, true
		case f.Kind == sim.Number:
			return strip + f.Key, nil, true
		default:
			at := s.scn.Strip(s.onBench[i])
			if at == nil {
				return strip + f.Key, nil, true
			}
			v := kit.Turned(f, &at.Chain)
			if f.Kind == sim.Choice {
				return strip + f.Key, f.Words[int(v)].Word, true
			}
			return strip + f.Key, v != 0, true
		}
	}
	return "", nil, false
}

// valueOf is how a setting of the lesson stands: float64, bool or string.
func (s *Scene) valueOf(key string) any {
	strip, rest, ok := strings.Cut(key, ".")
	at := s.scn.Strip(strip)
	if !ok || at == nil {
		at, rest = &s.scn.Strips[0], key
	}
	if rest == "limiter_place" {
		return string(at.Chain.Place())
	}
	if f, ok := sim.SettingByKey(rest); ok {
		return f.Value(&at.Chain)
	}
	return nil
}

// takeWords says what came of the last take.
func (s *Scene) takeWords() string {
	if s.v.Step == nil {
		return ""
	}
	if s.v.Step.Kind == model.Do {
		if s.v.Met {
			return "The task is met. Next goes on."
		}
		out := "Not yet."
		for _, c := range s.v.Checks {
			if !c.OK {
				out += " " + kit.Capital(c.GotSaid) + "; wanted: " + c.Said + "."
			}
		}
		for _, f := range s.v.Feedback {
			out += " " + kit.PlainWords(f)
		}
		return out
	}
	return "Recorded. The readings are below; Next goes on."
}

// lastReadings are those of the last take of the lesson, by strip; nil before the
// first.
func (s *Scene) lastReadings() map[string]names.Measured {
	p := s.r.Progress()
	for i := min(p.At, len(p.Steps)-1); i >= 0; i-- {
		if t := p.Steps[i].Take; t != nil {
			return t.Readings
		}
	}
	return nil
}
