package metercmd

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/sounds/codec"
)

// hissing writes n samples of noise.
func hissing(t *testing.T, path string, rms float64, n int) {
	t.Helper()
	r := rand.New(rand.NewPCG(uint64(n), 1))
	x := make([]float64, n)
	for i := range x {
		x[i] = rms * r.NormFloat64()
	}
	data, err := codec.WAVBytes(48000, [][]float64{x}, codec.PCM24)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, data, 0o666); err != nil {
		t.Fatal(err)
	}
}

// TestMeterJobs: however many are measured at once, the same bytes come out in the
// order of the arguments, and files that cannot be read hide no others.
func TestMeterJobs(t *testing.T) {
	dir := t.TempDir()
	args := []string{}
	for i := range 5 {
		name := fmt.Sprintf("%d.wav", i)
		hissing(t, filepath.Join(dir, name), 0.05*float64(i+1), 48000*(5-i)/4)
		args = append(args, name)
		if i == 0 || i == 3 {
			args = append(args, fmt.Sprintf("bad-%d.wav", i))
		}
	}
	if err := os.WriteFile(filepath.Join(dir, "bad-3.wav"), []byte("no sound"), 0o666); err != nil {
		t.Fatal(err)
	}
	for _, form := range []string{"--quiet", "--json"} {
		var want [2]string
		for _, jobs := range []string{"1", "3", ""} {
			call := func(a ...string) (int, string, string) { return call(t, dir, append([]string{"meter", form}, a...)...) }
			list := args
			if jobs != "" {
				list = append([]string{"--jobs", jobs}, args...)
			}
			status, out, errs := call(list...)
			if status != 2 || strings.Count(errs, "\n") != 2 || strings.Index(errs, "bad-0.wav") > strings.Index(errs, "bad-3.wav") {
				t.Fatalf("--jobs %s: status %d, %q", jobs, status, errs)
			}
			last := -1
			for i := range 5 {
				at := strings.Index(out, fmt.Sprintf("%d.wav", i))
				if at <= last {
					t.Fatalf("--jobs %s: %d.wav is told at %d, after %d", jobs, i, at, last)
				}
				last = at
			}
			if want == [2]string{} {
				want = [2]string{out, errs}
			}
			if got := [2]string{out, errs}; got != want {
				t.Errorf("%s --jobs %s: not what one after the other gives", form, jobs)
			}
		}
	}
	for _, n := range []string{"0", "-1"} {
		if status, _, errs := call(t, dir, "meter", "--jobs", n, "0.wav"); status != 2 || !strings.Contains(errs, "--jobs") {
			t.Errorf("--jobs %s: %d, %s", n, status, errs)
		}
	}
}

// TestMeterJobsStop: who interrupts, and a reader that has gone, end all that is under
// way.
func TestMeterJobsStop(t *testing.T) {
	path := filepath.Join(t.TempDir(), "x.wav")
	hissing(t, path, 0.1, 48000)
	files := strings.Fields(strings.Repeat(path+" ", 40))
	w := cli.NewWatch(io.Discard, true)
	ctx, stop := context.WithCancel(t.Context())
	n := 0
	err := each(ctx, files, false, 3, w, func(o one) error {
		if n++; n == 2 {
			stop()
		}
		return nil
	})
	if !errors.Is(err, context.Canceled) || n > 10 {
		t.Errorf("%v after %d", err, n)
	}
	gone := errors.New("gone")
	n = 0
	if err := each(t.Context(), files, false, 3, w, func(one) error { n++; return gone }); err != gone || n != 1 {
		t.Errorf("%v after %d", err, n)
	}
}
