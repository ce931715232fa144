package program

import (
	"testing"

	"gainwright/scenes/ui"
)

// TestAskedTwice: only the same way out, pressed again while its words stand and with
// nothing else done between, goes ahead, and it has to be asked anew after that.
func TestAskedTwice(t *testing.T) {
	const shown = 10 // seconds that words stand (noticeSeconds)
	press := ui.Intent{ID: "A.gain_db", Do: ui.DoPress}
	for _, tc := range []struct {
		name    string
		between func(p *Program)
		second  string
		sure    bool
	}{
		{"at once", func(*Program) {}, "close", true},
		{"another way out", func(*Program) {}, "tab.plan", false},
		{"just in time", func(p *Program) { p.last += shown }, "close", true},
		{"too late", func(p *Program) { p.last += shown + 0.1 }, "close", false},
		{"something else done", func(p *Program) { p.asks(press) }, "close", false},
		{"looked elsewhere", func(p *Program) { p.asks(ui.Intent{ID: "A.gain_db", Do: ui.DoFocus}) }, "close", true},
		{"listened", func(p *Program) { p.asks(ui.Intent{ID: "listen.B", Do: ui.DoPress}) }, "close", true},
		{"the press itself", func(p *Program) { p.asks(ui.Intent{ID: "close", Do: ui.DoPress}) }, "close", true},
	} {
		p := &Program{last: 100}
		if p.Sure("close", "It would be lost.") {
			t.Errorf("%s: sure at the first press", tc.name)
		}
		tc.between(p)
		if got := p.Sure(tc.second, "It would be lost."); got != tc.sure {
			t.Errorf("%s: sure %v, want %v", tc.name, got, tc.sure)
		}
		if tc.sure && p.Sure(tc.second, "It would be lost.") {
			t.Errorf("%s: sure at a third press, without having been asked again", tc.name)
		}
	}
}
