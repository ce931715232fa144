package rules

import (
	"slices"
	"strings"

	"gainwright/lessons/markup"
	"gainwright/lessons/names"
)

// A Text is Markdown with places for values: "{{A.headroom_db}}".
type Text struct {
	raw   string
	parts []textPart
}

type textPart struct {
	plain string
	expr  *Expr
}

// Raw is the Markdown as it was written.
func (t *Text) Raw() string {
	if t == nil {
		return ""
	}
	return t.raw
}

// Verbatim is a text without places for values.
func Verbatim(s string) *Text { return &Text{raw: s, parts: []textPart{{plain: s}}} }

// CompileText finds the places in a text. The faults' columns are offsets in
// characters of the place's expression from its "{{".
func CompileText(raw string, sc *Scope) (*Text, []markup.Slip) {
	t := &Text{raw: raw}
	var faults []markup.Slip
	rest := raw
	for {
		i := strings.Index(rest, "{{")
		if i < 0 {
			t.parts = append(t.parts, textPart{plain: rest})
			return t, faults
		}
		t.parts = append(t.parts, textPart{plain: rest[:i]})
		j := strings.Index(rest[i:], "}}")
		if j < 0 {
			near, _, _ := strings.Cut(rest[i:], "\n")
			return t, append(faults, markup.Slip{Near: near, Col: 0, Msg: "\"{{\" without \"}}\""})
		}
		whole := rest[i : i+j+2]
		code := whole[2 : len(whole)-2]
		e, bad := Compile(code, sc, Any)
		for _, b := range bad {
			faults = append(faults, markup.Slip{Near: whole, Col: 2 + b.Col, Msg: b.Msg})
		}
		t.parts = append(t.parts, textPart{expr: e})
		rest = rest[i+j+2:]
	}
}

// Fill puts the values in and gives Markdown, in which readings are named as people do.
func (t *Text) Fill(v Values) string {
	if t == nil {
		return ""
	}
	var b strings.Builder
	for _, p := range t.parts {
		if p.expr != nil {
			b.WriteString(markup.Escape(p.expr.Say(v)))
			continue
		}
		b.WriteString(names.InWords(p.plain))
	}
	return b.String()
}

// Blank fills in what is known and leaves gaps for the rest, to be filled in by hand.
func (t *Text) Blank(known Values) string {
	if t == nil {
		return ""
	}
	var b strings.Builder
	for _, p := range t.parts {
		if p.expr != nil {
			if slices.ContainsFunc(p.expr.Names, func(n string) bool { return known[n] == nil }) {
				b.WriteString(`\_\_\_\_\_\_`)
			} else {
				b.WriteString(markup.Escape(p.expr.Say(known)))
			}
			continue
		}
		b.WriteString(names.InWords(p.plain))
	}
	return b.String()
}
