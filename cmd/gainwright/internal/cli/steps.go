package cli

import (
	"fmt"
	"io"
)

// Steps shows how far the making of the scene is: one line that changes on a terminal,
// and elsewhere one line for each step.
type Steps struct {
	w    io.Writer
	live bool
	step string
}

// NewSteps shows them on w.
func NewSteps(w io.Writer) *Steps { return &Steps{w: w, live: IsTerminal(w)} }

// Say tells the step, how many packages are compiled and how long it has taken.
func (p *Steps) Say(step string, done int, seconds float64) {
	if !p.live {
		if step != p.step {
			fmt.Fprintf(p.w, "%s ...\n", step)
		}
		p.step = step
		return
	}
	if p.step != "" && p.step != step {
		fmt.Fprintln(p.w)
	}
	p.step = step
	line := fmt.Sprintf("%s: %.0f s", step, seconds)
	if done > 0 {
		line += fmt.Sprintf(", %d packages", done)
	}
	fmt.Fprintf(p.w, "\r%s\x1b[K", line)
}

// End ends the line.
func (p *Steps) End() {
	if p.live && p.step != "" {
		fmt.Fprintln(p.w)
	}
}
