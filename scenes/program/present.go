package program

import "gainwright/scenes/kit"

// presentScale is how much larger text is in a presentation.
const presentScale = 1.5

// setPresent begins or ends a presentation.
func (p *Program) setPresent(on bool) {
	pr, ok := p.scenes[p.now].(kit.Presented)
	p.explain.set(false)
	p.present = on
	p.sheetOn = false
	p.router.SetFocus("")
	if ok {
		p.ideaAt = 0
		if on {
			pr.ShowIdea(0)
		} else {
			pr.ShowIdea(-1)
		}
	}
	p.setTheme(p.th.Dark)
}

// goIdea shows the next idea, or the one before.
func (p *Program) goIdea(d int) {
	pr, ok := p.scenes[p.now].(kit.Presented)
	if !ok || !p.present {
		return
	}
	n := p.placeIdea()
	p.ideaAt = (p.ideaAt + d + n) % n
	pr.ShowIdea(p.ideaAt)
	p.laid = false
}

// placeIdea asks the scene which idea it shows, where it may have gone on by itself, and
// of how many.
func (p *Program) placeIdea() (of int) {
	if pl, ok := p.scene().(kit.Placed); ok {
		p.ideaAt = max(0, pl.Idea())
	}
	if pr, ok := p.scene().(kit.Presented); ok {
		of = pr.Ideas()
	}
	return of
}
