// Package say writes numbers for people.
package say

import (
	"fmt"
	"strings"
)

// Number writes v by a verb of fmt, as "%.1f", with a true minus sign (U+2212), and
// none before what reads as zero.
func Number(verb string, v float64) string {
	s := fmt.Sprintf(verb, v)
	if !strings.ContainsAny(s, "123456789I") { // of Inf
		return strings.Replace(s, "-", "", 1)
	}
	return strings.Replace(s, "-", "−", 1)
}
