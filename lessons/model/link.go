package model

import (
	"net/url"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"gainwright/sounds/scenario"
)

// MaxName is how many characters a student's name has at most.
const MaxName = 60

// A Link opens a lesson where a scene's address has it behind "#".
type Link struct {
	Lesson string
	Seed   *uint64 // draws the student's quantities; nil: a random one
	Name   string  // of the student; "": whoever takes it says
	Key    string  // of the student, that signs the result (keys.Key.Code); "": none
}

// String writes the link as it stands behind the address:
// "#lesson=ID&seed=N&name=NAME&key=KEY".
func (l Link) String() string {
	out := "#lesson=" + quoted(l.Lesson)
	if l.Seed != nil {
		out += "&seed=" + strconv.FormatUint(*l.Seed, 10)
	}
	if l.Name != "" {
		out += "&name=" + quoted(l.Name)
	}
	if l.Key != "" {
		out += "&key=" + quoted(l.Key)
	}
	return out
}

func quoted(s string) string { return strings.ReplaceAll(url.QueryEscape(s), "+", "%20") }

// ReadLink reads what String writes, with or without its "#", and takes what else
// stands there for somebody else's. What is no seed or no name is left out: a link
// that somebody has cut short still opens its lesson. ok is false where no lesson is
// named.
func ReadLink(fragment string) (l Link, ok bool) {
	for part := range strings.SplitSeq(strings.TrimPrefix(fragment, "#"), "&") {
		key, value, _ := strings.Cut(part, "=")
		text, err := url.QueryUnescape(value)
		if err != nil {
			continue
		}
		switch key {
		case "lesson":
			l.Lesson = strings.TrimSpace(text)
		case "seed":
			if n, err := strconv.ParseUint(text, 10, 64); err == nil && n <= scenario.MaxSeed {
				l.Seed = &n
			}
		case "name":
			l.Name = ReadName(text)
		case "key":
			l.Key = strings.TrimSpace(text)
		}
	}
	return l, l.Lesson != ""
}

// ReadName brings a name into its kept form: one line of what can be printed, of at
// most MaxName characters.
func ReadName(s string) string {
	s = strings.Map(func(r rune) rune {
		if r == utf8.RuneError || !unicode.IsPrint(r) && !unicode.IsSpace(r) {
			return -1
		}
		return r
	}, s)
	s = strings.Join(strings.Fields(s), " ")
	if r := []rune(s); len(r) > MaxName {
		s = strings.TrimSpace(string(r[:MaxName]))
	}
	return s
}

// FileName is a name as a part of a file's name on every system: letters and digits,
// and hyphens for the rest; "" if nothing is left.
func FileName(s string) string {
	return strings.Join(strings.FieldsFunc(s, func(r rune) bool {
		return !unicode.IsLetter(r) && !unicode.IsDigit(r) && !unicode.IsMark(r)
	}), "-")
}
