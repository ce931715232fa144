package format

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"maps"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"

	"gainwright/lessons/model"
	"gainwright/lessons/rules"
	"gainwright/sounds/scenario"
	"gainwright/sounds/scenario/plain"
	"gainwright/sounds/voice"

	"github.com/goccy/go-yaml/ast"
)

var idPattern = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`^[a-z][a-z0-9]*(-[a-z0-9]+)*$`) })

// reserved words of the rules.
var reserved = []string{"drawn", "answers", "abs", "min", "max", "between", "true", "false", "nil", "in", "not", "and", "or", "let", "if", "else", "matches", "contains", "startsWith", "endsWith", model.Spoken}

func (d *decoder) lesson(root ast.Node) {
	o := d.object(root, "", "keys, as in \"title: …\"")
	if o == nil {
		return
	}
	l := d.l
	need := func(key, what string) (pair, bool) {
		p, ok := o.get(key)
		if !ok {
			d.fault(o.start, key, "is missing: want %s", what)
		}
		return p, ok
	}
	d.header(o, need)
	named := ""
	if p, ok := need("scenario", "the bench: a built-in scenario's name, or settings"); ok {
		named = d.scenario(p)
	} else {
		d.failed = true
	}
	if p, ok := o.get("takes"); ok {
		d.scripts(p)
	}
	if p, ok := o.get("vary"); ok && l.Base != nil {
		d.vary(p)
	}
	d.checkStrips(o)
	if p, ok := need("steps", "the list of steps"); ok {
		d.steps(p.node)
	}
	if p, ok := o.get("sources"); ok {
		d.sources(p)
	}
	o.rest()
	if l.Base != nil && len(d.faults) == 0 {
		d.lengths(o)
		if l.OwnVoice {
			p, _ := o.get(keyOwnVoice)
			d.ownVoiceFits(p)
		}
	}
	h := sha256.New()
	fmt.Fprintf(h, "lesson 1\n%s\n%s", l.File, named)
	if d.recorder != nil {
		text, _ := d.recorder.Write() // it was read
		fmt.Fprintf(h, "\n%s", text)
	}
	l.Hash = hex.EncodeToString(h.Sum(nil))
}

// header reads what a lesson says of itself before its bench and its steps.
func (d *decoder) header(o *object, need func(key, what string) (pair, bool)) {
	l := d.l
	if p, ok := o.get("id"); ok {
		l.ID = d.line(p.node, "id", 60)
		if !idPattern().MatchString(l.ID) {
			d.fault(p.node.GetToken(), "id", "%s: want lower-case words joined by \"-\", as in gain-and-headroom", plain.Quote(l.ID))
		}
	} else {
		l.ID = idFrom(d.name)
	}
	if p, ok := need("title", "a line that names the lesson"); ok {
		if l.Title = d.line(p.node, "title", 100); l.Title == "" {
			d.fault(p.node.GetToken(), "title", "is empty")
		}
	}
	if p, ok := need("for", "for whom the lesson is, as in \"for: hosts who set the gain themselves\""); ok {
		l.For = d.line(p.node, "for", 200)
	}
	if p, ok := need("minutes", "how long it takes"); ok {
		l.Minutes, _ = d.number(p.node, "minutes", "min", 1, 240)
	}
	if p, ok := o.get("about"); ok {
		l.About = d.mark(p.node, "about", &rules.Scope{}).Raw()
	}
	if p, ok := o.get("needs"); ok {
		l.Needs = d.needs(p)
	}
	if p, ok := o.get("pass"); ok {
		if v, err := strconv.ParseFloat(p.node.GetToken().Value, 64); err == nil && v > 1 && v <= 100 {
			d.fault(p.node.GetToken(), "pass", "%v is out of range: it is a share of the points, 0 to 1: did you mean %v?", v, v/100)
		} else {
			l.Pass, _ = d.number(p.node, "pass", "", 0, 1)
		}
	}
	if p, ok := o.get(keyOwnVoice); ok {
		d.ownVoice(p)
	}
	if p, ok := o.get("locked"); ok {
		l.Locked = d.line(p.node, "locked", 200)
	}
}

// idFrom makes an id of a file's name.
func idFrom(name string) string {
	base := strings.ToLower(strings.TrimSuffix(strings.TrimSuffix(filepath.Base(name), ".yaml"), ".yml"))
	id := strings.Trim(regexp.MustCompile(`[^a-z0-9]+`).ReplaceAllString(base, "-"), "-")
	if !idPattern().MatchString(id) {
		return "lesson"
	}
	return id
}

// scenario reads the bench; for a built-in one it returns its settings in full,
// which belong to what the lesson says.
func (d *decoder) scenario(p pair) string {
	if name, ok := plain.Scalar(p.node); ok {
		s, err := scenario.LoadBuiltinOn(d.recorder, name)
		if err != nil {
			d.failed = true
			d.fault(p.node.GetToken(), "scenario", "%s", plain.OneLine(err.Error()))
			return ""
		}
		d.l.Base = s
		full, _ := s.Marshal()
		return string(full)
	}
	if _, ok := p.node.(ast.MapNode); !ok {
		d.failed = true
		d.fault(p.node.GetToken(), "scenario", "want a built-in scenario's name, or settings, not %s", plain.Kind(p.node))
		return ""
	}
	s, err := scenario.ParseOn(d.recorder, d.name, []byte(strings.Join(d.blanked(p.node), "\n")))
	if err != nil {
		d.failed = true
		d.scenarioFaults(err, "scenario")
		return ""
	}
	if s.Source.File != "" {
		d.failed = true
		d.fault(p.at, "scenario.source.file", "a lesson's source is a talker, not a file: anyone has to be able to run it again")
		return ""
	}
	d.l.Base = s
	return ""
}

// script reads a take's script with the scenario's own reader, at its place.
func (d *decoder) script(n ast.Node, at string) voice.Script {
	if _, ok := n.(*ast.SequenceNode); !ok {
		d.fault(n.GetToken(), at, "want a list of events, as in \"- {do: laugh, effort: loud}\", not %s", plain.Kind(n))
		return nil
	}
	lines := d.blanked(n)
	if n.GetToken().Position.Line < 3 {
		d.fault(n.GetToken(), at, "a script stands below the title: move it down")
		return nil
	}
	lines[0], lines[1] = "source:", " script:"
	s, err := scenario.Parse(d.name, []byte(strings.Join(lines, "\n")))
	if err != nil {
		before := len(d.faults)
		d.scenarioFaults(err, "")
		for i := range d.faults[before:] {
			f := &d.faults[before+i]
			f.Key = at + strings.TrimPrefix(f.Key, "source.script")
		}
		return nil
	}
	return s.Source.Script
}

func (d *decoder) scripts(p pair) {
	o := d.object(p.node, "takes", "named scripts, as in \"takes: {check: […]}\"")
	if o == nil {
		return
	}
	for _, q := range o.pairs {
		o.taken[q.key] = true
		at := plain.Join("takes", plain.Shorten(q.key))
		if !stepID().MatchString(q.key) {
			d.fault(q.at, at, "want a lower-case word (letters, digits, _)")
		}
		if _, twice := d.l.Takes[q.key]; twice {
			d.fault(q.at, at, "stands twice")
		}
		d.l.Takes[q.key] = d.script(q.node, at)
	}
}

// checkStrips sees to it that rules can name the strips.
func (d *decoder) checkStrips(o *object) {
	if d.l.Base == nil {
		return
	}
	p, _ := o.get("scenario")
	for _, n := range d.l.Base.StripNames() {
		if strings.Contains(n, "-") || slices.Contains(reserved, n) || n[0] >= '0' && n[0] <= '9' {
			d.fault(p.at, "scenario.strips."+n, "a rule cannot name this strip: want letters, digits and _, beginning with a letter, and not a word of the rules")
		}
	}
}

func (d *decoder) sources(p pair) {
	sc := d.before(len(d.l.Steps), false)
	for i, v := range d.list(p.node, "sources", "values with their sources, as in {says: …, source: …}") {
		at := fmt.Sprintf("sources[%d]", i+1)
		o := d.object(v, at, "a value with its source, as in {says: …, source: …}")
		if o == nil {
			continue
		}
		var s model.Source
		for _, k := range []struct {
			key string
			dst *string
		}{{"says", &s.Says}, {"source", &s.Source}} {
			if q, ok := o.get(k.key); ok {
				*k.dst = d.line(q.node, plain.Join(at, k.key), 400)
			} else {
				d.fault(o.start, plain.Join(at, k.key), "is missing")
			}
		}
		if q, ok := o.get("holds"); ok {
			s.Holds = d.expr(q.node, at+".holds", sc, rules.Bool)
		}
		o.rest()
		d.l.Sources = append(d.l.Sources, s)
	}
}

// lengths plans every take once, to see that it can be performed and is short.
func (d *decoder) lengths(o *object) {
	check := func(name string, script voice.Script) {
		key := "scenario.source.script"
		p, _ := o.get("scenario")
		if name != "" {
			key = "takes." + name
			p, _ = o.get("takes")
		}
		v, err := voice.New(script, d.l.Base.Source.Talker, 1)
		switch {
		case err != nil:
			d.fault(p.at, key, "%s", plain.OneLine(err.Error()))
		case v.Seconds() > model.MaxTakeSeconds:
			d.fault(p.at, key, "lasts %.0f s, the most is %d s: a student waits for it and a trainer's computer runs it again", v.Seconds(), model.MaxTakeSeconds)
		}
	}
	if slices.ContainsFunc(d.l.Steps, func(s *model.Step) bool { return s.IsTake() && s.Take == "" }) {
		check("", d.l.Base.Source.Script)
	}
	for _, name := range slices.Sorted(maps.Keys(d.l.Takes)) {
		check(name, d.l.Takes[name])
	}
}
