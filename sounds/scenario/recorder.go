package scenario

import (
	"slices"

	"github.com/goccy/go-yaml/ast"

	"gainwright/sim"
	"gainwright/sounds/equipment"
	"gainwright/sounds/scenario/plain"
)

// recorder reads the section, or the file that it names, and lets it fill in.
func (d *decoder) recorder(n ast.Node) {
	if d.given {
		return
	}
	var r *equipment.Recorder
	if name, ok := plain.Scalar(n); ok {
		if r = d.recorderFile(n, name); r == nil {
			return
		}
	} else {
		if _, ok := n.(ast.MapNode); !ok {
			d.fault(n.GetToken(), recorderKey, "want the name of an equipment file, or what stands in one, not %s", plain.Kind(n))
			return
		}
		var faults []Fault
		if r, faults = equipment.Section(d.name, n); len(faults) > 0 {
			d.faults = append(d.faults, faults...)
			return
		}
	}
	if err := d.runOn(r); err != nil {
		d.fault(n.GetToken(), recorderKey, "%s", err.Error())
	}
}

// runOn lets a recorder fill in, before anything else is read.
func (d *decoder) runOn(r *equipment.Recorder) error {
	f, err := r.On(d.s.Base)
	if err == nil {
		d.s.Base, d.s.Recorder, d.s.Fit = f.Chain, r, f
	}
	return err
}

func (d *decoder) recorderFile(n ast.Node, name string) *equipment.Recorder {
	if d.open == nil {
		d.fault(n.GetToken(), recorderKey, "names a file, which is not read from here: write what stands in %s below recorder", plain.Quote(name))
		return nil
	}
	text, path, err := d.open(name)
	var r *equipment.Recorder
	if err == nil {
		r, err = equipment.Read(path, text)
	}
	if err != nil {
		d.fault(n.GetToken(), recorderKey, "%s", plain.OneLine(err.Error()))
		return nil
	}
	return r
}

// mark sets a strip's gain by a mark of the recorder.
func (d *decoder) mark(c *sim.Chain, all []pair, at string) {
	i := slices.IndexFunc(all, func(p pair) bool { return p.key == markKey })
	if i < 0 {
		return
	}
	n, key := all[i].node, plain.Join(at, markKey)
	v, ok := d.number(n, key, "a mark of the recorder's knob")
	if !ok {
		return
	}
	if has(all, "preamp", "gain_db") {
		d.fault(n.GetToken(), key, "sets the gain, and so does preamp.gain_db: either of them")
		return
	}
	g, err := gainAt(d.s.Fit, *c, v)
	if err != "" {
		d.fault(n.GetToken(), key, "%s", err)
		return
	}
	c.Preamp.GainDB = g
}

// has tells whether a mapping of settings says one of a group.
func has(all []pair, group, leaf string) bool {
	for _, p := range all {
		if p.key == group+"."+leaf {
			return true
		}
		m, ok := p.node.(ast.MapNode)
		if !ok || p.key != group {
			continue
		}
		for it := m.MapRange(); it.Next(); {
			if w, ok := plain.Scalar(it.Key()); ok && w == leaf {
				return true
			}
		}
	}
	return false
}
