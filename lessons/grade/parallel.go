package grade

import (
	"context"
	"fmt"
	"runtime"
	"slices"
	"strings"
	"sync"

	"gainwright/lessons/model"
)

// performanceKey is the same for those whose takes are of the same performance.
func performanceKey(drawn map[string]any) string {
	return fmt.Sprint(drawn[model.DrawTalker], drawn[model.DrawPerformance], drawn["distance_m"], drawn[model.DrawEffort])
}

// eachOf does work for every key's index on all processors, equal keys one after
// the other, and returns the first error, after which nothing new is begun. progress
// may be nil; it is called by one goroutine at a time.
func eachOf(ctx context.Context, keys []string, work func(ctx context.Context, i int) error, progress func(done, of int)) error {
	order := make([]int, len(keys))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return strings.Compare(keys[a], keys[b]) })
	var (
		wg         sync.WaitGroup
		mu         sync.Mutex
		next, done int
		first      error
	)
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	for range max(1, runtime.GOMAXPROCS(0)) {
		wg.Go(func() {
			for {
				mu.Lock()
				if next == len(order) || first != nil {
					mu.Unlock()
					return
				}
				i := order[next]
				next++
				mu.Unlock()
				err := work(ctx, i)
				mu.Lock()
				if err != nil && first == nil {
					first = err
					cancel()
				}
				done++
				if progress != nil {
					progress(done, len(order))
				}
				mu.Unlock()
			}
		})
	}
	wg.Wait()
	return first
}
