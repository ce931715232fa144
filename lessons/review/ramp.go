package review

import (
	"slices"

	"gainwright/lessons/model"
)

// A Place is where a lesson stands on the way: by their ids, what it builds on and what
// builds on it.
type Place struct {
	Needs   []string `json:"needs,omitempty"`
	LeadsTo []string `json:"leads_to,omitempty"`
}

// Places tells it of each of the lessons; what is needed and not among them is left out.
func Places(ls []*model.Lesson) map[string]Place {
	out := map[string]Place{}
	for _, l := range ls {
		out[l.ID] = Place{}
	}
	for _, l := range ls {
		for _, n := range l.Needs {
			of, known := out[n]
			if !known || n == l.ID {
				continue
			}
			if !slices.Contains(of.LeadsTo, l.ID) {
				of.LeadsTo = append(of.LeadsTo, l.ID)
				out[n] = of
			}
			p := out[l.ID]
			if !slices.Contains(p.Needs, n) {
				p.Needs = append(p.Needs, n)
				out[l.ID] = p
			}
		}
	}
	return out
}

// Next is the lesson to take next: the first one not passed that builds on none that is
// not; "" if all are. ls is in the order to take them in.
func Next(ls []*model.Lesson, passed func(id string) bool) string {
	places := Places(ls)
	for _, l := range ls {
		if !passed(l.ID) && !slices.ContainsFunc(places[l.ID].Needs, func(n string) bool { return !passed(n) }) {
			return l.ID
		}
	}
	return ""
}
