package model

import (
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"gainwright/lessons/names"
	"gainwright/lessons/rules"
	"gainwright/sounds/scenario"
	"gainwright/sounds/voice"
)

// Pick gives a whole number from 0 to n−1 that depends on the seed and the words
// only, so that a quantity added to a lesson leaves the others as they were.
func Pick(seed uint64, n int, words ...string) int {
	h := sha256.New()
	fmt.Fprintf(h, "%d", seed)
	for _, w := range words {
		fmt.Fprintf(h, "\x00%s", w)
	}
	sum := h.Sum(nil)
	// 64 bits over a small n: the bias is below 1e-17.
	return int(binary.BigEndian.Uint64(sum) % uint64(n))
}

// Drawn gives the quantities that a student with this seed gets.
func (l *Lesson) Drawn(seed uint64) map[string]any {
	out := map[string]any{}
	for _, d := range l.Vary {
		out[d.Key] = d.Values[Pick(seed, len(d.Values), l.ID, d.Key)]
	}
	return out
}

// ApplyDraw puts one drawn quantity into the bench.
func ApplyDraw(s *scenario.Scenario, takes map[string]voice.Script, key string, v any) error {
	x, num := v.(float64)
	switch key {
	case DrawTalker:
		w, _ := v.(string)
		if _, err := voice.Find(w); err != nil {
			return err
		}
		s.Source.Talker = w
		return nil
	case DrawPerformance:
		if !num || x < 1 || x > 1000 || x != math.Trunc(x) {
			return fmt.Errorf("%v: performances are counted from 1", v)
		}
		s.Seed = (s.Seed + uint64(x) - 1) % scenario.MaxSeed
		return nil
	case DrawEffort:
		if !num || math.Abs(x) > 0.5 {
			return fmt.Errorf("%v is out of range: -0.5 to 0.5", v)
		}
		return eachEvent(s, takes, func(e *voice.Event) {
			e.Effort = shiftEffort(e.Effort, x)
			if !e.EffortTo.IsZero() {
				e.EffortTo = shiftEffort(e.EffortTo, x)
			}
		})
	case DrawLevel:
		if !num || math.Abs(x) > 12 {
			return fmt.Errorf("%v dB is out of range: -12 to 12 dB", v)
		}
		return eachEvent(s, takes, func(e *voice.Event) { e.LevelDB += x })
	}
	return names.Put(s, key, v)
}

// eachEvent changes what the talker says, in the scenario's script and the takes'.
func eachEvent(s *scenario.Scenario, takes map[string]voice.Script, change func(*voice.Event)) error {
	scripts := []voice.Script{s.Source.Script}
	for _, t := range takes {
		scripts = append(scripts, t)
	}
	for _, sc := range scripts {
		for i := range sc {
			if e := &sc[i]; e.Talker == "" || strings.EqualFold(e.Talker, s.Source.Talker) {
				change(e)
			}
		}
		if err := sc.Validate(); err != nil {
			return err
		}
	}
	return nil
}

// shiftEffort moves a vocal effort along its scale, to a thousandth.
func shiftEffort(e voice.Effort, by float64) voice.Effort {
	if e.IsZero() {
		e = voice.Normal
	}
	return voice.At(math.Round((e.Value()+by)*1000) / 1000)
}

// SetUp gives the bench and the takes as a student finds them who drew these
// quantities.
func (l *Lesson) SetUp(drawn map[string]any) (*scenario.Scenario, map[string]voice.Script, error) {
	s := l.Base.Clone()
	takes := maps.Clone(l.Takes)
	for k := range takes {
		takes[k] = slices.Clone(takes[k])
	}
	for _, d := range l.Vary {
		v, ok := drawn[d.Key]
		if !ok {
			return nil, nil, fmt.Errorf("%s was not drawn", d.Key)
		}
		if err := ApplyDraw(s, takes, d.Key, v); err != nil {
			return nil, nil, fmt.Errorf("%s: %s", d.Key, names.FaultText(err))
		}
	}
	return s, takes, nil
}

// A Draw is a quantity that differs from student to student.
type Draw struct {
	Key    string
	Unit   string
	Values []any // float64 or string; one of them is drawn
}

// The special quantities that a lesson may draw beside the settings.
const (
	DrawTalker      = "talker"
	DrawPerformance = "performance"
	DrawEffort      = "effort_shift"
	DrawLevel       = "level_db"
	// talkerName is what rules and texts call the drawn talker in full.
	TalkerName = "talker_name"
)

// Combinations tells how many different benches students can get.
func (l *Lesson) Combinations() int {
	n := 1
	for _, d := range l.Vary {
		n = min(n*len(d.Values), 1<<30)
	}
	return n
}

// Seeds gives for every combination of drawn quantities the lowest seed that draws
// it, in ascending order, at most so many. Where that is not all, no value of a quantity is
// drawn more often than the others, as far as that can be: what does on many of the
// benches tried then does on about as large a part of all.
func (l *Lesson) Seeds(most int) []uint64 {
	want := min(l.Combinations(), most)
	seen, drawn := map[string]bool{}, map[string]int{}
	var out, rest []uint64
	// All n come up within n (ln n + 5) draws but once in 150; the bound is far above.
	for seed := uint64(0); len(out) < want && seed < uint64(200*want+1000) && seed <= scenario.MaxSeed; seed++ {
		d := l.Drawn(seed)
		if k := DrawnText(d); seen[k] {
			continue
		} else if seen[k] = true; l.often(d, drawn, want) {
			rest = append(rest, seed)
			continue
		}
		for k, v := range d {
			drawn[k+" "+names.ValueText(v)]++
		}
		out = append(out, seed)
	}
	out = append(out, rest[:min(want-len(out), len(rest))]...)
	slices.Sort(out)
	return out
}

// often tells that one of the values has had its share of so many benches.
func (l *Lesson) often(d map[string]any, drawn map[string]int, benches int) bool {
	for _, v := range l.Vary {
		n := len(v.Values)
		if n > 0 && drawn[v.Key+" "+names.ValueText(d[v.Key])] >= (benches+n-1)/n {
			return true
		}
	}
	return false
}

// DrawnText names what was drawn for people: "distance_m 0.1, talker joss".
func DrawnText(drawn map[string]any) string {
	var out []string
	for _, k := range slices.Sorted(maps.Keys(drawn)) {
		out = append(out, k+" "+names.ValueText(drawn[k]))
	}
	return strings.Join(out, ", ")
}

// DrawnValues gives the variables of what was drawn.
func DrawnValues(drawn map[string]any) rules.Values {
	v := rules.Values{}
	for k, x := range drawn {
		v["drawn."+k] = x
		if w, ok := x.(string); ok && k == DrawTalker {
			if t, err := voice.Find(w); err == nil {
				v["drawn."+TalkerName] = t.Title
			}
		}
	}
	return v
}

// DrawnNames are the drawn quantities as rules know them.
func (l *Lesson) DrawnNames() map[string]names.Name {
	out := map[string]names.Name{}
	for _, v := range l.Vary {
		n := names.Name{Key: v.Key, Unit: v.Unit}
		if len(v.Values) > 0 {
			if _, ok := v.Values[0].(string); ok {
				n.Type = names.Word
				for _, x := range v.Values {
					n.Words = append(n.Words, fmt.Sprint(x))
				}
			}
		}
		out[v.Key] = n
		if v.Key == DrawTalker {
			out[TalkerName] = names.Name{Key: TalkerName, Type: names.Word}
		}
	}
	return out
}
