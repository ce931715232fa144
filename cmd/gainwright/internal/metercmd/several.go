package metercmd

import (
	"context"
	"errors"
	"fmt"
	"os"
	"slices"
	"sync"

	"gainwright/cmd/gainwright/internal/cli"
)

// one is a recording that was measured, or why not.
type one struct {
	m   *Measured
	err error
}

// each measures files, jobs at a time, and hands them to take in their order, each as
// soon as it and all before it are there. It stops when ctx ends, or at an error of take.
// What is measured does not depend on jobs.
func each(ctx context.Context, files []string, picture bool, jobs int, w *cli.Watch, take func(one) error) error {
	ctx, stop := context.WithCancel(ctx)
	watches := []*cli.Watch{w}
	if len(files) > 1 {
		w.Begin(fmt.Sprintf("measuring %d recordings", len(files)))
		watches = w.Split(sizes(files))
	}
	done := make([]chan one, len(files))
	for i := range done {
		done[i] = make(chan one, 1)
	}
	measure := func(i int) {
		m, err := Measure(ctx, files[i], picture, watches[i])
		watches[i].Done()
		done[i] <- one{m, err}
	}
	// The standard input is the first's that asks for it, whoever comes first.
	var next, later []int
	for i, path := range files {
		if path == "-" && slices.Contains(files[:i], "-") {
			later = append(later, i)
		} else {
			next = append(next, i)
		}
	}
	var mu sync.Mutex
	var work sync.WaitGroup
	defer func() {
		stop()
		work.Wait()
	}()
	for range min(jobs, len(next)) {
		work.Go(func() {
			for {
				mu.Lock()
				if len(next) == 0 || ctx.Err() != nil {
					mu.Unlock()
					return
				}
				i := next[0]
				next = next[1:]
				mu.Unlock()
				measure(i)
			}
		})
	}
	for i := range files {
		if slices.Contains(later, i) {
			measure(i)
		}
		select {
		case o := <-done[i]:
			if errors.Is(o.err, context.Canceled) {
				return o.err
			}
			if err := take(o); err != nil {
				return err
			}
		case <-ctx.Done():
			return ctx.Err()
		}
	}
	return nil
}

// sizes are those of files, in bytes; a megabyte where nobody knows.
func sizes(files []string) []float64 {
	list := make([]float64, len(files))
	for i, path := range files {
		list[i] = 1 << 20
		if st, err := os.Stat(path); err == nil && st.Mode().IsRegular() {
			list[i] = float64(st.Size())
		}
	}
	return list
}
