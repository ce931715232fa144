package opencmd

import (
	"fmt"
	"io"
)

// progress shows one line that changes on a terminal, and elsewhere one line for
// each step.
type progress struct {
	w    io.Writer
	live bool
	step string
}

func (p *progress) say(step string, done int, seconds float64) {
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

func (p *progress) end() {
	if p.live && p.step != "" {
		fmt.Fprintln(p.w)
	}
}
