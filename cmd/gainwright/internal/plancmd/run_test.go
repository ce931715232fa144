package plancmd

import (
	"testing"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/cmd/gainwright/internal/clitest"
)

// call runs the commands of this package in the given directory.
func call(t *testing.T, dir string, args ...string) (status int, stdout, stderr string) {
	t.Helper()
	return clitest.Call(t, cli.Program(New()), dir, args...)
}

// must runs the commands of this package and wants success.
func must(t *testing.T, dir string, args ...string) string {
	t.Helper()
	return clitest.Must(t, cli.Program(New()), dir, args...)
}
