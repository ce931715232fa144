//go:build full

package browser

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/chromedp/chromedp"
)

// tick is the unit in which Linux counts processor time for its users, s.
const tick = 0.01

// busy is how long processors have worked for the browser so far, s, all of its processes
// together: other than a clock it hardly knows what else the machine does. Where there is
// no /proc it is 0.
func (p *page) busy() (seconds float64) {
	pids := []string{fmt.Sprint(chromedp.FromContext(p.ctx).Browser.Process().Pid)}
	for i := 0; i < len(pids); i++ {
		dir := filepath.Join("/proc", pids[i])
		stat, _ := os.ReadFile(filepath.Join(dir, "stat"))
		// The second field, the name, may hold anything; user and system time are the
		// 14th and 15th (proc(5)).
		if at := strings.LastIndexByte(string(stat), ')'); at >= 0 {
			var user, system float64
			if f := strings.Fields(string(stat[at+1:])); len(f) > 12 {
				fmt.Sscan(f[11], &user)
				fmt.Sscan(f[12], &system)
			}
			seconds += (user + system) * tick
		}
		threads, _ := filepath.Glob(filepath.Join(dir, "task/*/children"))
		for _, t := range threads {
			children, _ := os.ReadFile(t)
			pids = append(pids, strings.Fields(string(children))...)
		}
	}
	return seconds
}

// rest waits until the browser does nothing of its own any more, as after its start, or
// for a minute.
func (p *page) rest() {
	const span = 500 * time.Millisecond
	last := p.busy()
	for end := time.Now().Add(time.Minute); time.Now().Before(end); {
		time.Sleep(span)
		now := p.busy()
		if now-last < 0.05*span.Seconds() {
			return
		}
		last = now
	}
}
