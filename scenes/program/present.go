package program

import "gainwright/scenes/kit"

// presentScale is how much larger text is in a presentation.
const presentScale = 1.5

// setPresent begins or ends a presentation.
func (p *Program) setPresent(on bool) {
	pr, ok := p.scenes[p.now].(kit.Presented)
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
	n := pr.Ideas()
	p.ideaAt = (p.ideaAt + d + n) % n
	pr.ShowIdea(p.ideaAt)
	p.laid = false
}
