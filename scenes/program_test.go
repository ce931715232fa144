package scenes

import "testing"

func newProgram(t testing.TB) *Program {
	t.Helper()
	p, err := NewProgram(nil)
	if err != nil {
		t.Fatal(err)
	}
	return p
}
