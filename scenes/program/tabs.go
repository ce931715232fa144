package program

import "gainwright/scenes/kit"

// Several tabs of one browser share its memory. Each keeps its own set-up and takes,
// and a new visit begins with those used last. A lesson's progress and the practice are
// one for all tabs: a tab takes over what another one has stored, and never writes
// over it.

const tabsWords = "Gainwright is open in another tab, too. Each tab keeps its own set-up and takes; a new visit begins with those used last."

// hearOthers takes notice of what other tabs have stored.
func (p *Program) hearOthers() {
	t, ok := p.host.(kit.Tabbed)
	if !ok {
		return
	}
	for {
		key, ok := t.Elsewhere()
		if !ok {
			break
		}
		p.changed = true
		if (key == "setup" || key == "takes") && !p.notifiedTabs {
			p.notifiedTabs = true
			p.Notify(tabsWords)
		}
		for _, sc := range p.scenes {
			if s, ok := sc.(kit.Sharer); ok {
				s.Elsewhere(key)
			}
		}
	}
	for i, sc := range p.scenes {
		if s, ok := sc.(kit.Sharer); ok {
			s.Agree(i == p.now)
		}
	}
}
