package voice

import (
	"strings"
	"testing"
)

// Numbers with several points are said point by point; they once fell over.
func TestNumbersWithPoints(t *testing.T) {
	for in, want := range map[string]string{
		"1.2.3": "one point two point three", "3.5": "three point five", ".5": "point five", "1,204": "one thousand two hundred and four",
		"2.50": "two point five zero", "1962": "nineteen sixty two",
	} {
		if got := strings.ReplaceAll(strings.Join(numberWords(in), " "), "-", " "); got != want {
			t.Errorf("%s is said %q, want %q", in, got, want)
		}
	}
}
