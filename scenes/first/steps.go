package first

import (
	"embed"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"gainwright/sounds/scenario"
	"gainwright/sounds/scenario/plain"

	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/token"
)

//go:embed steps.yaml take.yaml
var files embed.FS

// Band is where the highest bar belongs, dBFS.
type Band struct {
	From, To float64
	Label    string
}

// Step is one step of the first visit.
type Step struct {
	ID    string
	Shows []string // of parts
	Band  *Band    // nil for none
	// Say and Note are what to do and to know; After is said instead of Say by what
	// became of strip A, Other of the one below.
	Say, Note, Next string
	After, Other    map[string]string
	Press           []string // of presses
}

// shows reports whether the step has a part.
func (s *Step) shows(part string) bool { return slices.Contains(s.Shows, part) }

// What a step may show, press and tell apart.
var (
	parts   = []string{"gain", "wave", "other", "levels", "scenes"}
	presses = []string{"record", "hear", "other", "again", "next", "voice", "all"}
	ends    = []string{"lost", "close", "low", "whole"}
	others  = []string{"other_lost", "other_whole", "other_too"}
)

const maxSteps = 16 << 10 // bytes

// reader gathers what is wrong with the steps.
type reader struct {
	name   string
	faults []plain.Fault
}

func (r *reader) fault(t *token.Token, format string, args ...any) {
	f := plain.Fault{Name: r.name, Msg: fmt.Sprintf(format, args...)}
	if t != nil && t.Position != nil {
		f.Line, f.Column = t.Position.Line, t.Position.Column
	}
	r.faults = append(r.faults, f)
}

// mapping calls do for each entry.
func (r *reader) mapping(n ast.Node, do func(key string, v ast.Node)) {
	m, ok := n.(ast.MapNode)
	if !ok {
		r.fault(n.GetToken(), "want a mapping, not %s", plain.Kind(n))
		return
	}
	for it := m.MapRange(); it.Next(); {
		key, _ := plain.Scalar(it.Key())
		do(key, it.Value())
	}
}

func (r *reader) text(n ast.Node) string {
	s, ok := plain.Scalar(n)
	if !ok {
		r.fault(n.GetToken(), "want a text, not %s", plain.Kind(n))
	}
	return plain.OneLine(s)
}

func (r *reader) number(n ast.Node) float64 {
	v, err := strconv.ParseFloat(strings.TrimSpace(n.String()), 64)
	if err != nil {
		r.fault(n.GetToken(), "want a number, not %s", plain.Kind(n))
	}
	return v
}

// words reads a list of words that there are.
func (r *reader) words(n ast.Node, of []string) (out []string) {
	l, ok := n.(*ast.SequenceNode)
	if !ok {
		r.fault(n.GetToken(), "want a list, not %s", plain.Kind(n))
		return nil
	}
	for _, v := range l.Values {
		w := r.text(v)
		if !slices.Contains(of, w) {
			r.fault(v.GetToken(), "%s: unknown%s", plain.Quote(w), plain.DidYouMean(w, of))
		}
		out = append(out, w)
	}
	return out
}

func (r *reader) band(n ast.Node) (b Band) {
	r.mapping(n, func(key string, v ast.Node) {
		switch key {
		case "from_dbfs":
			b.From = r.number(v)
		case "to_dbfs":
			b.To = r.number(v)
		case "label":
			b.Label = r.text(v)
		default:
			r.fault(v.GetToken(), "%s: unknown key", plain.Quote(key))
		}
	})
	if b.From < -60 || b.To <= b.From || b.To > 0 || b.Label == "" {
		r.fault(n.GetToken(), "a band lies between -60 and 0 dBFS and has a label")
	}
	return b
}

func (r *reader) step(n ast.Node, bands map[string]Band) (s Step) {
	s.After, s.Other = map[string]string{}, map[string]string{}
	r.mapping(n, func(key string, v ast.Node) {
		switch {
		case key == "step":
			s.ID = r.text(v)
		case key == "shows":
			s.Shows = r.words(v, parts)
		case key == "press":
			s.Press = r.words(v, presses)
		case key == "say":
			s.Say = r.text(v)
		case key == "note":
			s.Note = r.text(v)
		case key == "next":
			s.Next = r.text(v)
		case slices.Contains(ends, key):
			s.After[key] = r.text(v)
		case slices.Contains(others, key):
			s.Other[key] = r.text(v)
		case key == "band":
			b, ok := bands[r.text(v)]
			if !ok {
				r.fault(v.GetToken(), "there is no such band")
			}
			s.Band = &b
		default:
			r.fault(v.GetToken(), "%s: unknown key", plain.Quote(key))
		}
	})
	return s
}

// Read reads a file of steps.
func Read(name string, data []byte) ([]Step, error) {
	r := &reader{name: name}
	var steps []Step
	if doc := plain.Parse(plain.Text(data), "file of steps", maxSteps, r.fault); doc != nil {
		bands := map[string]Band{}
		r.mapping(doc, func(key string, v ast.Node) {
			switch key {
			case "bands":
				r.mapping(v, func(key string, v ast.Node) { bands[key] = r.band(v) })
			case "steps":
				l, ok := v.(*ast.SequenceNode)
				if !ok {
					r.fault(v.GetToken(), "want a list, not %s", plain.Kind(v))
					return
				}
				for _, n := range l.Values {
					steps = append(steps, r.step(n, bands))
				}
			default:
				r.fault(v.GetToken(), "%s: unknown key", plain.Quote(key))
			}
		})
		r.order(steps)
	}
	return steps, plain.Gather(name, r.faults, 20)
}

// order refuses steps that nobody gets through.
func (r *reader) order(steps []Step) {
	if at(steps, "again") < 0 {
		r.fault(nil, "there is no step called again")
	}
	for i, s := range steps {
		last := i == len(steps)-1
		switch {
		case s.ID == "" || at(steps, s.ID) != i:
			r.fault(nil, "step %d has no name of its own", i+1)
		case s.Say == "" && len(s.After) < len(ends):
			r.fault(nil, "step %s: say is missing, or one of %s", s.ID, plain.Listed(ends, "and"))
		case len(s.Press) == 0:
			r.fault(nil, "step %s: nothing can be pressed", s.ID)
		case last != slices.Contains(s.Press, "all"):
			r.fault(nil, "step %s: the last step, and no other, has the button all", s.ID)
		case slices.Contains(s.Press, "next") != (s.Next != ""):
			r.fault(nil, "step %s: next has a word on its button", s.ID)
		}
	}
}

// at is the place of the step called id, −1 if there is none.
func at(steps []Step, id string) int {
	return slices.IndexFunc(steps, func(s Step) bool { return s.ID == id })
}

// load reads what is embedded; tests hold that it can be read.
func load() (steps []Step, sc *scenario.Scenario, err error) {
	data, err := files.ReadFile("steps.yaml")
	if err != nil {
		return nil, nil, err
	}
	if steps, err = Read("steps.yaml", data); err != nil {
		return nil, nil, err
	}
	if data, err = files.ReadFile("take.yaml"); err != nil {
		return nil, nil, err
	}
	sc, err = scenario.Parse("take.yaml", data)
	return steps, sc, err
}
