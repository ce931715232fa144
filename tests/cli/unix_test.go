//go:build unix

package cli_test

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"gainwright/tests/limited"
)

// Where nothing may be written: one clear line, status 1.
func TestReadOnlyDirectory(t *testing.T) {
	dir := t.TempDir()
	locked := filepath.Join(dir, "locked")
	if err := os.Mkdir(locked, 0o555); err != nil {
		t.Fatal(err)
	}
	places := []string{locked, filepath.Join(locked, "new")}
	if os.Geteuid() == 0 {
		// Permissions do not bind root; no directory can be made in /proc by anyone.
		if _, err := os.Stat("/proc/self"); err != nil {
			t.Skip("running as root and without /proc")
		}
		places = []string{"/proc/gainwright", "/proc/self"}
	}
	for _, p := range places {
		for _, args := range [][]string{{"take", "--out", p}, {"compare", "--out", p}} {
			status, stdout, stderr := call(t, dir, args...)
			oneLine(t, stderr, p)
			if status != 1 || stdout != "" {
				t.Errorf("%v: status %d, stdout %q", args, status, stdout)
			}
		}
	}
}

// A disk that fills up in the middle of a take.
func TestFullDisk(t *testing.T) {
	dir := t.TempDir()
	disk := filepath.Join(dir, "disk")
	if err := os.Mkdir(disk, 0o777); err != nil {
		t.Fatal(err)
	}
	if out, err := limited.Command(t, 5*time.Minute, "mount", "-t", "tmpfs", "-o", "size=600k", "tmpfs", disk).CombinedOutput(); err != nil {
		t.Logf("no small disk can be mounted (%s), so a limit on the size of files stands in", strings.TrimSpace(string(out)))
		fileSizeLimit(t, dir)
		return
	}
	defer func() {
		if out, err := limited.Command(t, 5*time.Minute, "umount", disk).CombinedOutput(); err != nil {
			t.Errorf("%v %s", err, out)
		}
	}()
	for _, args := range [][]string{
		{"take", "--out", filepath.Join(disk, "o")}, {"take", "--out", disk}, {"compare", "--out", filepath.Join(disk, "c")},
	} {
		status, stdout, stderr := call(t, dir, args...)
		oneLine(t, stderr, "A.wav: cannot be written: no space left on device")
		if status != 1 || stdout != "" {
			t.Errorf("%v: status %d, stdout %q", args, status, stdout)
		}
		if got := tree(t, disk); got != "" {
			t.Errorf("%v left %s", args, got)
		}
	}
}

// fileSizeLimit runs take under a shell's limit on the size of files, with its
// signal ignored, so that writing fails as on a full disk.
func fileSizeLimit(t *testing.T, dir string) {
	t.Helper()
	cmd := limited.Command(t, 5*time.Minute, "sh", "-c", `trap '' XFSZ; ulimit -f 600; exec "$0" take --out o`, program)
	cmd.Dir = dir
	var out, errs bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &errs
	_ = cmd.Run()
	oneLine(t, errs.String(), "o/A.wav: cannot be written: file too large")
	if got := tree(t, dir); cmd.ProcessState.ExitCode() != 1 || out.Len() > 0 || got != "disk" {
		t.Errorf("status %d, stdout %q, left %s", cmd.ProcessState.ExitCode(), out.String(), got)
	}
}

// Ctrl-C in the middle: status 130, one line, nothing half written.
func TestInterrupt(t *testing.T) {
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "long.wav"), wav(t, 600, 1), 0o666); err != nil {
		t.Fatal(err)
	}
	for _, args := range [][]string{{"take", "long.wav"}, {"compare", "--recording", "long.wav"}} {
		cmd := limited.Command(t, 5*time.Minute, program, args...)
		cmd.Dir = dir
		var out, errs bytes.Buffer
		cmd.Stdout, cmd.Stderr = &out, &errs
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		// Once its staging directory is there, it is at work.
		for range 400 {
			if strings.Contains(tree(t, dir), ".unfinished-") {
				break
			}
			time.Sleep(25 * time.Millisecond)
		}
		time.Sleep(100 * time.Millisecond)
		if err := cmd.Process.Signal(syscall.SIGINT); err != nil {
			t.Fatal(err)
		}
		_ = cmd.Wait()
		oneLine(t, errs.String(), "stopped; nothing was written")
		if got := tree(t, dir); cmd.ProcessState.ExitCode() != 130 || out.Len() > 0 || got != "long.wav" {
			t.Errorf("%v: status %d, stdout %q, left %s", args, cmd.ProcessState.ExitCode(), out.String(), got)
		}
	}
}
