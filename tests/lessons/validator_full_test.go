//go:build full

package lessons

import (
	"bytes"
	"strings"
	"testing"

	validator "gainwright/tests/statements"
)

// An independent validator of xAPI statements accepts all of them, and refuses a broken
// one.
func TestIndependentValidator(t *testing.T) {
	ask := validator.Validator(t)
	all := append(statements(t), launched(t)...)
	out, err := ask(all)
	if err != nil {
		t.Errorf("%v\n%s", err, out)
	}
	t.Log(strings.TrimSpace(out))
	broken := bytes.Replace(all[1], []byte(`"duration":"PT`), []byte(`"duration":"five minutes PT`), 1)
	if out, err := ask([][]byte{broken}); err == nil {
		t.Errorf("a broken statement was accepted:\n%s", out)
	}
}
