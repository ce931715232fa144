package markup

import (
	"strings"
)

// In a browser lessons are shown by the scene, which needs no HTML of them, and
// the Markdown library would be a twentieth of the download. So this file does the
// two things that the rest of the package needs, by itself.

// Slips finds what a lesson's text may not hold: HTML, pictures, and
// links to anything but the web.
func Slips(s string) []Slip {
	var out []Slip
	eachPlain(s, func(rest string) {
		switch {
		case rest[0] == '<' && len(rest) > 1 && (letter(rest[1]) || rest[1] == '/' || rest[1] == '!' || rest[1] == '?'):
			near, _, ok := strings.Cut(rest, ">")
			if ok && !strings.Contains(near, "://") && !strings.Contains(near, "@") {
				out = append(out, Slip{near + ">", 0, "HTML is not used in a lesson: write Markdown"})
			}
		case strings.HasPrefix(rest, "![") && strings.Contains(rest, "]("):
			out = append(out, Slip{"![", 0, "pictures are not part of a lesson: it is one text file"})
		case strings.HasPrefix(rest, "]("):
			d, _, ok := strings.Cut(rest[2:], ")")
			d, _, _ = strings.Cut(strings.TrimSpace(d), " ")
			if msg := badLink(d); ok && msg != "" {
				out = append(out, Slip{d, 0, msg})
			}
		}
	})
	return out
}

func letter(c byte) bool { return c|0x20 >= 'a' && c|0x20 <= 'z' }

// eachPlain calls f with what begins at each byte that is neither escaped nor in
// code.
func eachPlain(s string, f func(rest string)) {
	for i := 0; i < len(s); i++ {
		switch s[i] {
		case '\\':
			i++
			continue
		case '`':
			n := 1
			for i+n < len(s) && s[i+n] == '`' {
				n++
			}
			if k := strings.Index(s[i+n:], s[i:i+n]); k >= 0 {
				i += k + 2*n - 1
				continue
			}
			i += n - 1
			continue
		}
		f(s[i:])
	}
}
