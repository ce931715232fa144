// Package markup is the Markdown of lessons: as HTML, as plain text, and what may not
// stand in it.
package markup

import (
	"fmt"
	"strings"

	"gainwright/lessons/glossary"
	"gainwright/sounds/scenario/plain"
)

// A Slip is something that is wrong in a text: near which piece of it, and so many
// characters after that piece begins.
type Slip struct {
	Near string
	Col  int
	Msg  string
}

// badLink says what is wrong with where a link goes, "" if nothing is.
func badLink(d string) string {
	switch {
	case strings.HasPrefix(d, glossary.Scheme):
		return glossary.Unlinked(d)
	case !strings.HasPrefix(d, "https://") && !strings.HasPrefix(d, "http://"):
		return fmt.Sprintf("%s: a link goes to https:// or http://, or to a word of the glossary (explain:dbfs)", plain.Shorten(d))
	}
	return ""
}

// Escape keeps what students wrote from being read as Markdown.
func Escape(s string) string {
	var b strings.Builder
	for _, r := range s {
		if strings.ContainsRune("\\`*_{}[]<>()#+-!|~&", r) {
			b.WriteByte('\\')
		}
		b.WriteRune(r)
	}
	return b.String()
}
