package lessons

import (
	"slices"
	"strings"
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

// compileText finds the places in a text. The faults' columns are offsets in
// characters of the place's expression from its "{{".
func compileText(raw string, sc *scope) (*Text, []placeFault) {
	t := &Text{raw: raw}
	var faults []placeFault
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
			return t, append(faults, placeFault{near, 0, "\"{{\" without \"}}\""})
		}
		whole := rest[i : i+j+2]
		code := whole[2 : len(whole)-2]
		e, bad := compile(code, sc, wantAny)
		for _, b := range bad {
			faults = append(faults, placeFault{whole, 2 + b.col, b.msg})
		}
		t.parts = append(t.parts, textPart{expr: e})
		rest = rest[i+j+2:]
	}
}

type placeFault struct {
	near string
	col  int
	msg  string
}

// fill puts the values in and gives Markdown.
func (t *Text) fill(v values) string {
	if t == nil {
		return ""
	}
	var b strings.Builder
	for _, p := range t.parts {
		if p.expr != nil {
			b.WriteString(escape(p.expr.text(v)))
			continue
		}
		b.WriteString(p.plain)
	}
	return b.String()
}

// blank fills in what is known and leaves gaps for the rest, to be filled in by hand.
func (t *Text) blank(known values) string {
	if t == nil {
		return ""
	}
	var b strings.Builder
	for _, p := range t.parts {
		if p.expr != nil {
			if slices.ContainsFunc(p.expr.names, func(n string) bool { return known[n] == nil }) {
				b.WriteString(`\_\_\_\_\_\_`)
			} else {
				b.WriteString(escape(p.expr.text(known)))
			}
			continue
		}
		b.WriteString(p.plain)
	}
	return b.String()
}

// escape keeps what students wrote from being read as Markdown.
func escape(s string) string {
	var b strings.Builder
	for _, r := range s {
		if strings.ContainsRune("\\`*_{}[]<>()#+-!|~&", r) {
			b.WriteByte('\\')
		}
		b.WriteRune(r)
	}
	return b.String()
}
