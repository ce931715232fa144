//go:build unix

package cli_test

import (
	"bytes"
	"os"
	"os/exec"
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

// What cannot be read twice: the standard input, a named pipe and the shell's
// <(command) give what the file itself gives.
func TestPipes(t *testing.T) {
	bash, err := exec.LookPath("bash")
	if err != nil {
		t.Skip("no bash")
	}
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "in.wav"), wav(t, 3, 1), 0o666); err != nil {
		t.Fatal(err)
	}
	run := func(script string) string {
		t.Helper()
		cmd := limited.Command(t, time.Minute, bash, "-c", script)
		cmd.Dir = dir
		cmd.Env = append(os.Environ(), "G="+program)
		out, err := cmd.CombinedOutput()
		if err != nil {
			t.Fatalf("%s: %v: %s", script, err, out)
		}
		return string(out)
	}
	same := func(a, b string) {
		t.Helper()
		x, errX := os.ReadFile(filepath.Join(dir, a))
		y, errY := os.ReadFile(filepath.Join(dir, b))
		if errX != nil || errY != nil || len(x) == 0 || !bytes.Equal(x, y) {
			t.Errorf("%s and %s differ (%v, %v)", a, b, errX, errY)
		}
	}
	run(`"$G" repair --quiet --method limiter in.wav want.wav`)
	for name, script := range map[string]string{
		"stdin":  `cat in.wav | "$G" repair --quiet --method limiter - stdin.wav`,
		"direct": `"$G" repair --quiet --method limiter - direct.wav < in.wav`,
		"subst":  `"$G" repair --quiet --method limiter <(cat in.wav) subst.wav`,
		"fifo":   `mkfifo p; cat in.wav > p & "$G" repair --quiet --method limiter p fifo.wav`,
		"truth":  `"$G" repair --quiet --method limiter --report r.html --truth <(cat in.wav) <(cat in.wav) truth.wav`,
	} {
		run(script)
		same("want.wav", name+".wav")
	}
	want := run(`"$G" meter in.wav`)
	if got := run(`cat in.wav | "$G" meter -`); strings.ReplaceAll(got, "standard input", "in.wav") != want {
		t.Errorf("meter - prints\n%s", got)
	}
	run(`"$G" meter --report file.html in.wav`)
	run(`"$G" meter --report pipe.html <(cat in.wav)`)
	x, _ := os.ReadFile(filepath.Join(dir, "file.html"))
	y, _ := os.ReadFile(filepath.Join(dir, "pipe.html"))
	if a, b := bytes.Count(x, []byte("data:audio")), bytes.Count(y, []byte("data:audio")); a == 0 || a != b {
		t.Errorf("%d excerpts from a file, %d from a pipe", a, b)
	}
	run(`"$G" take --quiet --out t1 in.wav; cat in.wav | "$G" take --quiet --out t2 -`)
	same("t1/A.wav", "t2/A.wav")
	run(`"$G" compare --quiet --out c1 --recording in.wav; "$G" compare --quiet --out c2 --recording - < in.wav`)
	same("c1/A.wav", "c2/A.wav")
	cmd := limited.Command(t, time.Minute, bash, "-c", `"$G" meter - - < in.wav`)
	cmd.Dir, cmd.Env = dir, append(os.Environ(), "G="+program)
	if out, err := cmd.CombinedOutput(); err == nil || !strings.Contains(string(out), "was read already") {
		t.Errorf("the standard input twice: %v %s", err, out)
	}
}

// The first signal ends whatever a command waits for: with 130 after Ctrl-C and 143
// after a request to terminate, as shells have it. Nothing is left.
func TestSignalsEndWaiting(t *testing.T) {
	dir := t.TempDir()
	if err := syscall.Mkfifo(filepath.Join(dir, "p"), 0o666); err != nil {
		t.Fatal(err)
	}
	// Both ends, so that opening does not wait and reading does.
	full := filepath.Join(dir, "q")
	if err := syscall.Mkfifo(full, 0o666); err != nil {
		t.Fatal(err)
	}
	w, err := os.OpenFile(full, os.O_RDWR, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer w.Close()
	tmp := t.TempDir()
	for i, args := range [][]string{
		{"meter", "p"}, {"meter", "-"}, {"repair", "--method", "limiter", "q", "out.wav"}, {"repair", "--method", "limiter", "p", "out.wav"},
		{"take", "p"}, {"compare", "--recording", "q"}, {"compare", "p"}, {"plan", "q"}, {"lesson", "run", "./p"}, {"lesson", "run", "whole-session"},
		{"lesson", "check", "./p"}, {"lesson", "grade", "--lesson", "./p", "q"}, {"lesson", "practice"},
	} {
		cmd := limited.Command(t, time.Minute, program, args...)
		cmd.Dir, cmd.Env = dir, append(os.Environ(), "TMPDIR="+tmp)
		stdin, err := cmd.StdinPipe()
		if err != nil {
			t.Fatal(err)
		}
		var errs bytes.Buffer
		cmd.Stderr = &errs
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		time.Sleep(400 * time.Millisecond)
		sig, status := syscall.SIGINT, 130
		if i%2 == 1 {
			sig, status = syscall.SIGTERM, 143
		}
		_ = cmd.Process.Signal(sig)
		began := time.Now()
		_ = cmd.Wait() // killed after a minute
		if time.Since(began) > 20*time.Second {
			t.Errorf("%v: the first signal did not end it", args)
		}
		stdin.Close()
		if got := cmd.ProcessState.ExitCode(); got != status {
			t.Errorf("%v after %v: status %d, want %d: %s", args, sig, got, status, errs.String())
		}
		if a, b := tree(t, dir), tree(t, tmp); a != "p q" || b != "" {
			t.Errorf("%v left %q and %q", args, a, b)
		}
	}
}

// What a killed run left, the next one in the same place clears; what a living one has
// begun stays.
func TestKilledRunsAreClearedAway(t *testing.T) {
	dir, tmp := t.TempDir(), t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "long.wav"), wav(t, 600, 1), 0o666); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(filepath.Join(dir, ".unfinished-not-ours"), 0o777); err != nil {
		t.Fatal(err)
	}
	start := func(args ...string) *exec.Cmd {
		cmd := limited.Command(t, time.Minute, program, args...)
		cmd.Dir, cmd.Env = dir, append(os.Environ(), "TMPDIR="+tmp)
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		return cmd
	}
	stages := func() int { return strings.Count(tree(t, dir), stageLockSuffix) }
	await := func(n int) {
		t.Helper()
		for range 400 {
			if stages() == n {
				return
			}
			time.Sleep(25 * time.Millisecond)
		}
		t.Fatalf("%d stages in %s, want %d", stages(), tree(t, dir), n)
	}
	killed := []*exec.Cmd{start("take", "long.wav")}
	await(1)
	killed = append(killed, start("repair", "--method", "high-pass", "--method", "limiter", "long.wav", "out.wav"))
	await(2)
	time.Sleep(500 * time.Millisecond) // it has tapes by now
	for _, c := range killed {
		_ = c.Process.Kill()
		_ = c.Wait()
	}
	if stages() != 2 {
		t.Fatalf("killed runs left %s", tree(t, dir))
	}
	alive := start("repair", "--method", "high-pass", "long.wav", "alive.wav")
	await(2) // its own, and take's: repair has cleared what lay beside its output
	if status, _, stderr := call(t, dir, "take", "--quiet", "--set", "source.script=[{do: cough}]"); status != 0 {
		t.Fatal(stderr)
	}
	if got := tree(t, dir); strings.Count(got, stageLockSuffix) != 1 || !strings.Contains(got, "take-1/A.wav") || strings.Contains(got, "take-2") || !strings.Contains(got, ".unfinished-not-ours") {
		t.Errorf("left: %s", got)
	}
	_ = alive.Process.Signal(syscall.SIGINT)
	_ = alive.Wait()
	if got := tree(t, tmp); got != "" {
		t.Errorf("temporary files left: %s", got)
	}
}

const stageLockSuffix = "/.lock"
