//go:build linux

// Command usage runs a command, throws its output away, and prints how much
// processor time and memory it took.
package main

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"syscall"
)

func main() {
	cmd := exec.Command(os.Args[1], os.Args[2:]...)
	cmd.Stderr = os.Stderr
	if err := cmd.Run(); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	s := cmd.ProcessState
	line := fmt.Sprintf("%s: %.1f s of processor time", filepath.Base(os.Args[len(os.Args)-1]), (s.UserTime() + s.SystemTime()).Seconds())
	if u, ok := s.SysUsage().(*syscall.Rusage); ok {
		line += fmt.Sprintf(", %d MB at most", u.Maxrss/1024)
	}
	fmt.Println(line)
}
