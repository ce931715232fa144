package markup

import (
	"regexp"
	"strings"
)

// Gap is a blank to be filled in by hand, as a text has it: three underscores or more,
// whether a lesson's author wrote them or they stand for a value not known yet.
var Gap = regexp.MustCompile("_{3,}")

// Words gives Markdown as one line of words: without its marks, for where nothing
// draws them. A link is its text, and a gap to be filled in is an ellipsis.
func Words(markdown string) string {
	var out []string
	for _, line := range strings.Split(markdown, "\n") {
		line = strings.TrimSpace(line)
		line = strings.TrimSpace(strings.TrimLeft(line, "#>"))
		if strings.Trim(line, "|-: ") == "" {
			continue // the rule below a table's head, or between blocks
		}
		for _, mark := range []string{"- ", "* ", "+ "} {
			line = strings.TrimPrefix(line, mark)
		}
		if strings.HasPrefix(line, "|") {
			line = strings.Trim(line, "|")
			line = strings.ReplaceAll(line, "|", " ")
		}
		out = append(out, strings.Fields(Gap.ReplaceAllString(unmarked(line), "…"))...)
	}
	return strings.Join(out, " ")
}

// unmarked takes the inline marks out of a line.
func unmarked(s string) string {
	var b strings.Builder
	for i := 0; i < len(s); i++ {
		c := s[i]
		switch {
		case c == '\\' && i+1 < len(s) && strings.IndexByte("!\"#$%&'()*+,-./:;<=>?@[\\]^_`{|}~", s[i+1]) >= 0:
			i++
			b.WriteByte(s[i])
		case c == '`':
			k := strings.IndexByte(s[i+1:], '`')
			if k < 0 {
				b.WriteByte(c)
				continue
			}
			b.WriteString(s[i+1 : i+1+k])
			i += k + 1
		case c == '*' && (touches(s, i-1) || touches(s, i+1)):
		case c == '_' && !strings.HasPrefix(s[i:], "___") && (i == 0 || s[i-1] != '_') && !(wordAt(s, i-1) && wordAt(s, i+1)) && (touches(s, i-1) || touches(s, i+1)):
		case c == '[':
			text, rest, ok := strings.Cut(s[i+1:], "](")
			addr, _, closed := strings.Cut(rest, ")")
			if !ok || !closed || strings.Contains(text, "[") {
				b.WriteByte(c)
				continue
			}
			b.WriteString(unmarked(text))
			i += len(text) + len(addr) + 3
		default:
			b.WriteByte(c)
		}
	}
	return b.String()
}

// touches tells whether something that is no blank stands at i.
func touches(s string, i int) bool { return i >= 0 && i < len(s) && s[i] != ' ' }

func wordAt(s string, i int) bool {
	return i >= 0 && i < len(s) && (s[i] >= 0x80 || s[i] == '_' || s[i] >= '0' && s[i] <= '9' || s[i]|0x20 >= 'a' && s[i]|0x20 <= 'z')
}
