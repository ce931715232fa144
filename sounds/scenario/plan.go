package scenario

import (
	"slices"
	"strings"

	"gainwright/sounds/scenario/plain"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"

	"gainwright/sim/plan"
)

// A Plan is what a scenario assumes about the conversation, and what is acceptable:
// the section plan. It has no part in a take.
type Plan struct {
	Model  plan.Model
	Limits plan.Limits
}

// planLeaf is one key of the section.
type planLeaf struct {
	plan.Param
	set   func(*Plan, float64) error
	value func(*Plan) float64
}

// presetKey names a plan.Preset, from which the other keys then depart.
const presetKey = "preset"

var (
	planLeaves = map[string]planLeaf{} // by path below plan
	planGroups = map[string][]string{} // the keys of each group
	planKeys   []string                // what may stand below plan
	planOrder  []string                // all paths, as they are written
)

func init() {
	add := func(key string, l planLeaf) {
		planLeaves[key] = l
		planOrder = append(planOrder, key)
		g, k, ok := strings.Cut(key, ".")
		if !ok || len(planGroups[g]) == 0 {
			planKeys = append(planKeys, g)
		}
		if ok {
			planGroups[g] = append(planGroups[g], k)
		}
	}
	planKeys = append(planKeys, presetKey)
	for i, p := range plan.DefaultLimits().Params() {
		add(p.Key, planLeaf{p, func(s *Plan, v float64) error { return s.Limits.Set(p.Key, v) }, func(s *Plan) float64 { return s.Limits.Params()[i].Value }})
	}
	for i, p := range plan.Default().Params() {
		add(p.Key, planLeaf{p, func(s *Plan, v float64) error { return s.Model.Set(p.Key, v) }, func(s *Plan) float64 { return s.Model.Params()[i].Value }})
	}
}

// plan reads the section.
func (d *decoder) plan(n ast.Node) { d.planGroup(n, "plan", "", planKeys) }

// planGroup reads a mapping of the section; below is "" or the group and a dot.
func (d *decoder) planGroup(n ast.Node, at, below string, known []string) {
	all, ok := d.mapping(n, at, "assumptions ("+plain.Listed(known, "and")+")")
	if !ok {
		return
	}
	// A preset comes first, wherever it stands: what else is said has the last word.
	if i := slices.IndexFunc(all, func(p pair) bool { return below+p.key == presetKey }); i > 0 {
		p := all[i]
		copy(all[1:i+1], all[:i])
		all[0] = p
	}
	for _, p := range all {
		if !slices.Contains(known, p.key) || !d.planAt(below+p.key, p.node, plain.Join(at, p.key)) {
			d.unknown(p, at, known)
		}
	}
}

// planAt sets a key or a group of the section by its path below plan; false if
// there is none.
func (d *decoder) planAt(key string, n ast.Node, at string) bool {
	if key == presetKey {
		if name, ok := d.word(n, at, plan.PresetNames()); ok {
			_ = d.s.Plan.Model.SetPreset(name) // it is one of them
		}
		return true
	}
	if l, ok := planLeaves[key]; ok {
		if v, ok := d.ranged(n, at, l.Unit, l.Min, l.Max); ok {
			if err := l.set(&d.s.Plan, v); err != nil {
				d.fault(n.GetToken(), at, "%s", plain.OneLine(err.Error()))
			}
		}
		return true
	}
	if keys, ok := planGroups[key]; ok {
		d.planGroup(n, at, key+".", keys)
		return true
	}
	return false
}

// planItems writes the section.
func planItems(p *Plan) yaml.MapSlice {
	var out yaml.MapSlice
	for _, key := range planOrder {
		v := tidy(planLeaves[key].value(p))
		g, k, ok := strings.Cut(key, ".")
		if !ok {
			out = append(out, yaml.MapItem{Key: key, Value: v})
			continue
		}
		i := slices.IndexFunc(out, func(m yaml.MapItem) bool { return m.Key == g })
		if i < 0 {
			i = len(out)
			out = append(out, yaml.MapItem{Key: g, Value: yaml.MapSlice{}})
		}
		out[i].Value = append(out[i].Value.(yaml.MapSlice), yaml.MapItem{Key: k, Value: v})
	}
	return out
}
