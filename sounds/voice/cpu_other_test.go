//go:build !unix

package voice

// cpuSeconds is not known here.
func cpuSeconds() float64 { return 0 }
