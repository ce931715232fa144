package sounds

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Shown is a file's name as it may be printed: what would move the cursor, colour the
// terminal, break the line or turn the direction of writing is written as an escape
// (\n, \x1b, \u202e), and so is what is no text.
func Shown(name string) string {
	bad := func(r rune) bool {
		return unicode.IsControl(r) || unicode.Is(unicode.Cf, r) || r == '\u2028' || r == '\u2029'
	}
	if utf8.ValidString(name) && strings.IndexFunc(name, bad) < 0 {
		return name
	}
	var b strings.Builder
	for len(name) > 0 {
		r, n := utf8.DecodeRuneInString(name)
		switch {
		case r == utf8.RuneError && n == 1:
			fmt.Fprintf(&b, `\x%02x`, name[0])
		case r == '\n':
			b.WriteString(`\n`)
		case r == '\r':
			b.WriteString(`\r`)
		case r == '\t':
			b.WriteString(`\t`)
		case !bad(r):
			b.WriteString(name[:n])
		case r < 0x80:
			fmt.Fprintf(&b, `\x%02x`, r)
		case r <= 0xffff:
			fmt.Fprintf(&b, `\u%04x`, r)
		default:
			fmt.Fprintf(&b, `\U%08x`, r)
		}
		name = name[n:]
	}
	return b.String()
}
