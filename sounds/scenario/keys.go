package scenario

import (
	"math"
	"strings"

	"github.com/goccy/go-yaml/ast"

	"gainwright/sim"
)

// A leaf is one setting of a chain: how it is read and how it is written.
type leaf struct {
	decode func(d *decoder, c *sim.Chain, n ast.Node, at string)
	value  func(c *sim.Chain) any
}

var (
	leaves    = map[string]leaf{}     // by path below the strip
	leafOrder []string                // as they are written
	groups    = map[string][]string{} // the keys of each group
	stripKeys []string                // what may stand below a strip
)

// sharedKeys stand above the strips.
var sharedKeys = []string{"room", "distance_m", "microphone"}

func init() {
	for _, f := range sim.Fields() {
		whole := f.Unit == "bit"
		add(f.Key, leaf{
			func(d *decoder, c *sim.Chain, n ast.Node, at string) {
				v, ok := d.ranged(n, at, f.Unit, f.Min, f.Max)
				if ok && whole && v != math.Trunc(v) {
					d.fault(n.GetToken(), at, "%v %s: want a whole number, %v to %v", v, f.Unit, f.Min, f.Max)
					ok = false
				}
				if ok {
					f.Set(c, v)
				}
			},
			func(c *sim.Chain) any {
				v := f.Get(c)
				switch {
				case math.IsInf(v, 1):
					return "inf"
				case v == math.Trunc(v) && math.Abs(v) < 1e15:
					return int64(v)
				}
				return v
			},
		})
		// The settings without a range stand behind the last number of their group.
		switch f.Key {
		case "microphone.max_spl_db":
			flag("microphone.proximity", func(c *sim.Chain) *bool { return &c.Microphone.Proximity })
		case "preamp.rail_dbu":
			choice("preamp.rail_knee", func(c *sim.Chain) *sim.Knee { return &c.Preamp.RailKnee }, sim.HardKnee, sim.RoundKnee)
			flag("input_limiter.on", func(c *sim.Chain) *bool { return &c.InputLimiter.On })
		case "converter.dynamic_range_dba":
			choice("converter.dither", func(c *sim.Chain) *sim.Dither { return &c.Converter.Dither }, sim.TPDF, sim.NoDither)
		case "converter.mismatch_samples":
			flag("limiter.on", func(c *sim.Chain) *bool { return &c.Limiter.On })
		}
	}
	choice("file.format", func(c *sim.Chain) *sim.Format { return &c.File.Format }, sim.PCM16, sim.PCM24, sim.Float32)
	choice("file.dither", func(c *sim.Chain) *sim.Dither { return &c.File.Dither }, sim.TPDF, sim.NoDither)
}

func add(key string, l leaf) {
	leaves[key] = l
	leafOrder = append(leafOrder, key)
	g, k, ok := strings.Cut(key, ".")
	if !ok {
		stripKeys = append(stripKeys, key)
		return
	}
	if _, ok := groups[g]; !ok {
		stripKeys = append(stripKeys, g)
	}
	groups[g] = append(groups[g], k)
}

func flag(key string, p func(*sim.Chain) *bool) {
	add(key, leaf{
		func(d *decoder, c *sim.Chain, n ast.Node, at string) {
			if v, ok := d.flag(n, at); ok {
				*p(c) = v
			}
		},
		func(c *sim.Chain) any { return *p(c) },
	})
}

func choice[T ~string](key string, p func(*sim.Chain) *T, allowed ...T) {
	words := make([]string, len(allowed))
	for i, a := range allowed {
		words[i] = string(a)
	}
	add(key, leaf{
		func(d *decoder, c *sim.Chain, n ast.Node, at string) {
			if v, ok := d.word(n, at, words); ok {
				*p(c) = T(v)
			}
		},
		func(c *sim.Chain) any { return string(*p(c)) },
	})
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
