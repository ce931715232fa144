package program

import "gainwright/scenes/kit"

// Several tabs of one browser share its memory. Each keeps its own set-up and takes,
// and a new visit begins with those used last. A lesson's progress and the practice are
// one for all tabs: a tab takes over what another one has stored, and never writes
// over it.

const tabsWords = "Gainwright is open in another tab, too. Each tab keeps its own set-up and takes; a new visit begins with those used last."

// hearOthers hands on what other tabs have stored, of which scene now is shown. It
// reports whether there was anything, and whether settings or takes were among it.
func hearOthers(h kit.Host, scenes []kit.Scene, now int) (heard, settings bool) {
	t, ok := h.(kit.Tabbed)
	if !ok {
		return false, false
	}
	for {
		key, ok := t.Elsewhere()
		if !ok {
			break
		}
		heard = true
		settings = settings || key == "setup" || key == "takes"
		for _, sc := range scenes {
			if s, ok := sc.(kit.Sharer); ok {
				s.Elsewhere(key)
			}
		}
	}
	for i, sc := range scenes {
		if s, ok := sc.(kit.Sharer); ok {
			s.Agree(i == now)
		}
	}
	return heard, settings
}
