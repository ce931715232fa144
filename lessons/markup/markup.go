// Package markup is the Markdown of lessons: as HTML, as plain text, and what may not
// stand in it.
package markup

import (
	"strings"
)

// A Slip is something that is wrong in a text: near which piece of it, and so many
// characters after that piece begins.
type Slip struct {
	Near string
	Col  int
	Msg  string
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
