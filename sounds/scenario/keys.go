package scenario

import (
	"math"
	"slices"
	"strings"

	"github.com/goccy/go-yaml/ast"

	"gainwright/sim"
)

// What may stand in a chain, from the table of settings.
var (
	leafOrder []string                // every setting's path below the strip, as they are written
	groups    = map[string][]string{} // the keys of each group
	stripKeys []string                // what may stand below a strip
)

// sharedKeys stand above the strips.
var sharedKeys = []string{"room", "distance_m", "microphone"}

// Shared tells whether a setting stands above the strips: there is one room, one
// talker and one microphone.
func Shared(key string) bool {
	group, _, _ := strings.Cut(key, ".")
	return slices.Contains(sharedKeys, group)
}

func init() {
	for _, s := range sim.Settings() {
		leafOrder = append(leafOrder, s.Key)
		g, k, ok := strings.Cut(s.Key, ".")
		if !ok {
			stripKeys = append(stripKeys, s.Key)
			continue
		}
		if _, ok := groups[g]; !ok {
			stripKeys = append(stripKeys, g)
		}
		groups[g] = append(groups[g], k)
	}
}

// setting reads the value of one setting.
func (d *decoder) setting(s *sim.Setting, c *sim.Chain, n ast.Node, at string) {
	switch s.Kind {
	case sim.Flag:
		if v, ok := d.flag(n, at); ok {
			s.Set(c, 0)
			if v {
				s.Set(c, 1)
			}
		}
	case sim.Choice:
		if w, ok := d.word(n, at, s.WordList()); ok {
			s.Set(c, float64(s.WordIndex(w)))
		}
	default:
		v, ok := d.ranged(n, at, s.Unit, s.Min, s.Max)
		if ok && s.Whole && v != math.Trunc(v) {
			d.fault(n.GetToken(), at, "%v %s: want a whole number, %v to %v", v, s.Unit, s.Min, s.Max)
			ok = false
		}
		if ok {
			s.Set(c, v)
		}
	}
}

// written is the value of a setting as a file has it.
func written(s *sim.Setting, c *sim.Chain) any {
	v, ok := s.Value(c).(float64)
	switch {
	case !ok:
		return s.Value(c)
	case math.IsInf(v, 1):
		return "inf"
	}
	return tidy(v)
}

// homeOf says where a key belongs that was written in the wrong place, "" if
// nowhere or in several places.
func homeOf(key string) string {
	if _, ok := groups[key]; ok {
		return "strips, as in \"strips: {A: {" + key + ": …}}\""
	}
	if _, ok := planLeaves[key]; ok || planGroups[key] != nil {
		return "plan"
	}
	home := ""
	for g, keys := range groups {
		for _, k := range keys {
			if k == key {
				if home != "" {
					return ""
				}
				home = g
			}
		}
	}
	return home
}
