// Package limited starts programs from tests, each with a deadline of its own: a
// program that hangs fails the test that started it and names itself, and does not
// take the time of all others with it.
package limited

import (
	"context"
	"errors"
	"os/exec"
	"testing"
	"time"
)

// Command is exec.Command for a program that is killed unless it ends within the
// given time, or with the test. Its working directory and environment are the
// caller's to set.
func Command(t testing.TB, within time.Duration, name string, args ...string) *exec.Cmd {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), within)
	t.Cleanup(cancel)
	cmd := exec.CommandContext(ctx, name, args...)
	cmd.Cancel = func() error {
		if errors.Is(ctx.Err(), context.DeadlineExceeded) {
			t.Errorf("%s %q had not ended after %v and was killed", name, args, within)
		}
		return cmd.Process.Kill()
	}
	cmd.WaitDelay = 10 * time.Second // what it started may keep its output open
	return cmd
}
