package glossary

import (
	"fmt"
	"regexp"
	"strings"
	"sync"
)

// Scheme begins the address of a link to a term, as Markdown in lessons has it:
// [dBFS](explain:dbfs).
const Scheme = "explain:"

var link = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`\]\(\s*` + Scheme + `([^)\s]*)\s*\)`) })

// Linked lists the terms that a Markdown text links to, each once, in their order.
func Linked(markdown string) (out []Term) {
	if !strings.Contains(markdown, Scheme) {
		return nil
	}
	seen := map[string]bool{}
	for _, m := range link().FindAllStringSubmatch(markdown, -1) {
		if t, ok := ByID(m[1]); ok && !seen[t.ID] {
			seen[t.ID] = true
			out = append(out, t)
		}
	}
	return out
}

// Unlinked says what is wrong with an address that begins with Scheme, "" if nothing is.
func Unlinked(address string) string {
	id := strings.TrimPrefix(address, Scheme)
	if _, ok := ByID(id); ok {
		return ""
	}
	why := fmt.Sprintf("there is no term %q in the glossary: gainwright explain lists them", id)
	if t, ok := Find(id); ok {
		why = fmt.Sprintf("the term %q is linked to as %s%s", id, Scheme, t.ID)
	}
	return why
}
