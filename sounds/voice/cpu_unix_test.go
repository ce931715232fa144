//go:build unix

package voice

import "syscall"

// cpuSeconds is the processor time this process has used: on a shared machine
// a better clock for a benchmark than the one on the wall.
func cpuSeconds() float64 {
	var u syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &u) != nil {
		return 0
	}
	return float64(u.Utime.Sec+u.Stime.Sec) + float64(u.Utime.Usec+u.Stime.Usec)/1e6
}
