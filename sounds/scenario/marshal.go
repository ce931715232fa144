package scenario

import (
	"math"
	"reflect"

	"github.com/goccy/go-yaml"

	"gainwright/sim"
	"gainwright/sounds/voice"
)

// Marshal writes s as a scenario file with every setting spelled out, so that it
// means the same when a default changes. Parse gives the same scenario back.
func (s *Scenario) Marshal() ([]byte, error) {
	out := yaml.MapSlice{{Key: "title", Value: s.Title}}
	if s.About != "" {
		out = append(out, yaml.MapItem{Key: "about", Value: s.About})
	}
	out = append(out, yaml.MapItem{Key: "seed", Value: s.Seed})
	if s.Recorder != nil {
		out = append(out, yaml.MapItem{Key: recorderKey, Value: s.Recorder})
	}
	out = append(out, chainItems(&s.Base, nil, sharedKeys)...)
	var src yaml.MapSlice
	if s.Source.File != "" {
		src = yaml.MapSlice{{Key: "file", Value: s.Source.File}, {Key: "level_db_spl", Value: s.Source.LevelDBSPL}}
	} else if c := s.Source.Conversation; c.Minutes > 0 {
		src = yaml.MapSlice{{Key: "talker", Value: s.Source.Talker}, {Key: "conversation", Value: yaml.MapSlice{{Key: "minutes", Value: c.Minutes}, {Key: "with", Value: append([]string{}, c.With...)}}}}
	} else {
		events := make([]yaml.MapSlice, len(s.Source.Script))
		for i := range s.Source.Script {
			events[i] = eventItems(&s.Source.Script[i])
		}
		src = yaml.MapSlice{{Key: "talker", Value: s.Source.Talker}, {Key: "script", Value: events}}
	}
	out = append(out, yaml.MapItem{Key: "source", Value: src})
	out = append(out, yaml.MapItem{Key: "plan", Value: planItems(&s.Plan)})
	var strips yaml.MapSlice
	for i := range s.Strips {
		c := &s.Strips[i].Chain
		// What all share is written once, above; a strip writes what is its own.
		strips = append(strips, yaml.MapItem{Key: s.Strips[i].Name, Value: chainItems(c, &s.Base, stripKeys)})
	}
	out = append(out, yaml.MapItem{Key: "strips", Value: strips})
	return yaml.Marshal(out)
}

// chainItems lists the settings of c under the given keys. Of the shared groups
// only what differs from base is listed, if there is a base.
func chainItems(c, base *sim.Chain, keys []string) yaml.MapSlice {
	var out yaml.MapSlice
	for _, k := range keys {
		shared := base != nil && Shared(k)
		if l, ok := sim.SettingByKey(k); ok {
			if v := written(l, c); !shared || v != written(l, base) {
				out = append(out, yaml.MapItem{Key: k, Value: v})
			}
			continue
		}
		var group yaml.MapSlice
		for _, sub := range groups[k] {
			l, _ := sim.SettingByKey(k + "." + sub)
			if v := written(l, c); !shared || v != written(l, base) {
				group = append(group, yaml.MapItem{Key: sub, Value: v})
			}
		}
		if len(group) > 0 {
			out = append(out, yaml.MapItem{Key: k, Value: group})
		}
	}
	return out
}

func eventItems(e *voice.Event) yaml.MapSlice {
	var out yaml.MapSlice
	v := reflect.ValueOf(e).Elem()
	for i := range v.NumField() {
		f := v.Field(i)
		if f.IsZero() {
			continue
		}
		x := f.Interface()
		switch t := x.(type) {
		case *float64:
			x = tidy(*t)
		case float64:
			x = tidy(t)
		case voice.Effort:
			x = t.String()
		}
		out = append(out, yaml.MapItem{Key: yamlName(v.Type().Field(i)), Value: x})
	}
	return out
}

// tidy writes 3, not 3.0.
func tidy(v float64) any {
	if v == math.Trunc(v) && math.Abs(v) < 1e15 {
		return int64(v)
	}
	return v
}
