// Package cli_test runs the real program: bad input of every kind, a full disk, an
// interrupt, and the exit statuses a script sees.
package cli_test

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"gainwright/sounds/codec"
)

var program string

func TestMain(m *testing.M) {
	os.Exit(func() int {
		dir, err := os.MkdirTemp("", "gainwright-cli")
		if err != nil {
			fmt.Fprintln(os.Stderr, err)
			return 1
		}
		defer os.RemoveAll(dir)
		program = filepath.Join(dir, "gainwright")
		if runtime.GOOS == "windows" {
			program += ".exe"
		}
		ctx, cancel := context.WithTimeout(context.Background(), 10*time.Minute)
		defer cancel()
		build := exec.CommandContext(ctx, "go", "build", "-o", program, "gainwright/cmd/gainwright")
		build.Stderr = os.Stderr
		build.Env = append(os.Environ(), "CGO_ENABLED=0")
		if err := build.Run(); err != nil {
			fmt.Fprintln(os.Stderr, "building the program:", err)
			return 1
		}
		return m.Run()
	}())
}

// call runs the program in dir.
func call(t *testing.T, dir string, args ...string) (status int, stdout, stderr string) {
	t.Helper()
	ctx, stop := context.WithTimeout(t.Context(), 2*time.Minute)
	defer stop()
	cmd := exec.CommandContext(ctx, program, args...)
	cmd.Dir = dir
	var out, errs bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &errs
	err := cmd.Run()
	var exit *exec.ExitError
	if err != nil && !errors.As(err, &exit) {
		t.Fatal(err)
	}
	return cmd.ProcessState.ExitCode(), out.String(), errs.String()
}

// tree lists everything below dir, hidden files too.
func tree(t *testing.T, dir string) string {
	t.Helper()
	var out []string
	err := filepath.WalkDir(dir, func(p string, d os.DirEntry, err error) error {
		if err == nil && p != dir {
			rel, _ := filepath.Rel(dir, p)
			out = append(out, rel)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return strings.Join(out, " ")
}

// oneLine checks that a failure told itself in one clear line.
func oneLine(t *testing.T, stderr, want string) {
	t.Helper()
	if strings.Count(stderr, "\n") != 1 || !strings.HasPrefix(stderr, "gainwright: ") || !strings.Contains(stderr, want) {
		t.Errorf("told %q, want one line with %q", stderr, want)
	}
	if len(stderr) > 400 || strings.Contains(stderr, "goroutine ") || strings.Contains(stderr, "%!") {
		t.Errorf("not clear: %q", stderr)
	}
}

func wav(t *testing.T, seconds float64, channels int) []byte {
	t.Helper()
	x := make([][]float64, channels)
	for c := range x {
		x[c] = make([]float64, int(seconds*48000))
		for i := range x[c] {
			x[c][i] = 0.1 * math.Sin(float64(i)*0.05)
		}
	}
	data, err := codec.WAVBytes(48000, x, codec.Float32)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// Each bad input, given to every command that reads recordings: one clear line,
// the right status, nothing left behind.
func TestBadInput(t *testing.T) {
	good := wav(t, 1, 1)
	nan := bytes.Clone(good)
	binary.LittleEndian.PutUint32(nan[len(nan)-4000:], math.Float32bits(float32(math.NaN())))
	told := map[string]string{
		"truncated.wav": "Note: the data ends at 0.500 s of the 1.000 s that the header promises",
		"nan.wav":       "Note: values that are not finite were read as 0",
	}
	for _, c := range []struct {
		name string
		data []byte
		want string
	}{
		{"truncated.wav", good[:len(good)/2], "truncated.wav: "},
		{"cut-in-header.wav", good[:20], "cut-in-header.wav: "},
		{"text.wav", []byte("This is a letter, not a recording.\n"), "text.wav: "},
		{"empty.wav", nil, "empty.wav: "},
		{"nan.wav", nan, "nan.wav: "},
		{"seven.wav", wav(t, 0.1, 7), "7 channels"},
		{"silent.wav", silent(t), "silent"},
		{"none.wav", nil, "no such file"},
		{"nothing-in-it.wav", wav(t, 0, 1), "no samples"},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			if c.name != "none.wav" {
				if err := os.WriteFile(filepath.Join(dir, c.name), c.data, 0o666); err != nil {
					t.Fatal(err)
				}
			}
			before := tree(t, dir)
			for _, args := range [][]string{
				{"take", c.name}, {"take", c.name, "--out", "o"}, {"compare", "--recording", c.name}, {"meter", c.name},
			} {
				if c.name == "silent.wav" && args[0] == "meter" {
					continue // which is a finding, not a fault
				}
				status, stdout, stderr := call(t, dir, args...)
				if told := told[c.name]; told != "" && args[0] == "meter" { // what is there is measured, and the fault told
					if status != 0 || stderr != "" || !strings.Contains(stdout, told) {
						t.Errorf("%v: status %d, %q, %q", args, status, stdout, stderr)
					}
					continue
				}
				oneLine(t, stderr, c.want)
				if status != 2 || stdout != "" {
					t.Errorf("%v: status %d, stdout %q", args, status, stdout)
				}
				if got := tree(t, dir); got != before {
					t.Errorf("%v left %s", args, got)
				}
			}
		})
	}
}

func silent(t *testing.T) []byte {
	t.Helper()
	data, err := codec.WAVBytes(48000, [][]float64{make([]float64, 48000)}, codec.PCM16)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

func TestBadUse(t *testing.T) {
	dir := t.TempDir()
	write := func(name, text string) {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	write("key.yaml", "title: x\nstrips:\n  A:\n    preamp:\n      gian_db: 40\n")
	write("gain.yaml", "strips: {A: {preamp: {gain_db: 900}}}\n")
	write("syntax.yaml", "strips: {A: \n")
	write("short.yaml", "source: {script: [{do: clap}]}\n")
	if status, _, stderr := call(t, dir, "take", "--scenario", "short.yaml", "--out", "there", "--quiet"); status != 0 || stderr != "" {
		t.Fatalf("status %d, %q", status, stderr)
	}
	before := tree(t, dir)
	for _, c := range []struct {
		args   []string
		status int
		want   string
	}{
		{[]string{"compare", "key.yaml"}, 2, "key.yaml:5:7: strips.A.preamp.gian_db: unknown key: did you mean gain_db?"},
		{[]string{"compare", "gain.yaml"}, 2, "gain.yaml:1:32: strips.A.preamp.gain_db: 900 dB is out of range: -20 to 80 dB"},
		{[]string{"compare", "syntax.yaml"}, 2, "syntax.yaml:1:"},
		{[]string{"compare", "none.yaml"}, 2, "none.yaml: no such file"},
		{[]string{"compare", "."}, 2, "built-in"},
		{[]string{"take", "--gain", "900"}, 2, "--gain: 900 dB is out of range"},
		{[]string{"take", "--talker", "nobody"}, 2, `--talker: there is no "nobody": there are captain`},
		{[]string{"take", "--set", "strips.A.preamp.gian_db=52"}, 2, "did you mean strips.A.preamp.gain_db?"},
		{[]string{"take", "--set", "gain"}, 2, "want PATH=VALUE"},
		{[]string{"take", "--scenario", "short.yaml", "--out", "there"}, 2, "there/A.wav: already exists"},
		{[]string{"take", "--out", "no/such"}, 2, "there is no directory no"},
		{[]string{"take", "--out", "key.yaml"}, 1, "key.yaml: is a file"},
		{[]string{"nonsense"}, 2, `there is no command "nonsense"`},
	} {
		status, stdout, stderr := call(t, dir, c.args...)
		oneLine(t, stderr, c.want)
		if status != c.status || stdout != "" {
			t.Errorf("%v: status %d, stdout %q", c.args, status, stdout)
		}
		if got := tree(t, dir); got != before {
			t.Errorf("%v left %s", c.args, got)
		}
	}
	// With --force it replaces.
	if status, _, stderr := call(t, dir, "take", "--scenario", "short.yaml", "--out", "there", "--quiet", "--force"); status != 0 {
		t.Errorf("--force: status %d, %q", status, stderr)
	}
}

// The same scenario and seed, two processes: the same bytes.
func TestSameBytes(t *testing.T) {
	dir := t.TempDir()
	var files [2][]byte
	for i := range files {
		out := fmt.Sprintf("o%d", i)
		if status, _, stderr := call(t, dir, "take", "--scenario", "limiter-first", "--strip", "before", "--out", out, "--quiet"); status != 0 {
			t.Fatalf("status %d, %q", status, stderr)
		}
		b, err := os.ReadFile(filepath.Join(dir, out, "before.wav"))
		if err != nil {
			t.Fatal(err)
		}
		files[i] = b
	}
	if !bytes.Equal(files[0], files[1]) {
		t.Error("the files differ")
	}
}
