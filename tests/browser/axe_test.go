//go:build full

package browser

import (
	"fmt"
	"strings"
	"testing"
	"time"
)

// The axe-core that judges: one version, so that a verdict changes with the page and
// not with the week, and its hash as the registry states it.
const (
	axeVersion = "4.14.1"
	axeSHA512  = "FHfa+lmNjQZfJz1q8wKqIDwC6DExcHt/pkjNQb09a3NPjCKg2rhu5qb2S4r76ASyFNNtuFooJpZe37OgudVGtQ=="
)

// axe is axe-core's script.
func axe(t *testing.T) string {
	t.Helper()
	return fromNPM(t, "axe-core", axeVersion, axeSHA512, "package/axe.min.js")
}

// violation is what axe-core found to be wrong.
type violation struct {
	ID, Impact, Help string
	Nodes            []string
}

// judge asks axe-core, which the page has loaded, and reports what it finds, but for the
// colours of the mirror, which nobody sees.
func (p *page) judge(state string) {
	p.t.Helper()
	p.paints(2)
	time.Sleep(300 * time.Millisecond) // the page follows ten times a second
	p.judgeBy(state, `{"color-contrast": {enabled: false}}`)
}

// judgeBy is judge of the page as it stands, with axe-core's rules changed so.
func (p *page) judgeBy(state, rules string) {
	t := p.t
	t.Helper()
	p.js(`window.verdict = null; axe.run(document, {rules: ` + rules + `}).then(
		r => window.verdict = {checked: r.passes.length, violations: r.violations.map(v => ({id: v.id, impact: v.impact, help: v.help, nodes: v.nodes.map(n => n.html.slice(0, 240) + " " + n.failureSummary)}))},
		e => window.verdict = {checked: 0, violations: [{id: "axe", impact: "", help: String(e), nodes: []}]})`)
	p.wait("axe-core's verdict", "verdict", 2*time.Minute)
	v := eval[struct {
		Checked    int
		Violations []violation
	}](p, "verdict")
	if v.Checked < 10 {
		t.Errorf("%s: only %d rules had something to look at", state, v.Checked)
	}
	for _, x := range v.Violations {
		t.Errorf("%s: %s (%s): %s\n  %s", state, x.ID, x.Impact, x.Help, strings.Join(x.Nodes, "\n  "))
	}
	t.Logf("%s: %d rules passed, %d broken", state, v.Checked, len(v.Violations))
}

// TestAxe lets axe-core look at the page in every scene: no rule is broken. All its
// rules are asked, those of WCAG 2.2 and its own good practice, but for the colours
// of the mirror, which nobody sees: those of the picture are tested in scenes/ui.
func TestAxe(t *testing.T) {
	source := axe(t)
	p := newPage(t, 1024, 640)
	p.calm()
	p.open(serveScene(t))
	p.js(source)
	if v := eval[string](p, "axe.version"); v != axeVersion {
		t.Fatalf("axe-core says it is %s, not %s", v, axeVersion)
	}
	look := p.judge
	look("Set the gain")
	p.use("station.converter")
	look("Set the gain, a station open")
	p.use("drawer.close")
	p.use("A.gain_db", 62)
	p.use("record")
	p.performs(2 * time.Second)
	look("Set the gain, recording")
	p.use("event.laugh")
	p.says("A.overs", `[1-9]\d* overs?`, 2*time.Minute) // without them nothing is cautioned against
	p.use("record")
	p.says("status", `Take 1, `, time.Minute)
	p.use("view.result")
	p.use("play")
	p.until("caution.play", 20*time.Second)
	look("Set the gain, the result and a caution")
	p.use("caution.cancel")
	p.use("more")
	look("the page for handing out")
	p.use("more")
	for _, sc := range []struct {
		tab, ready string
	}{{"twin", "twin.answer.first"}, {"mend", "mend.save"}, {"plan", "plan.use"}, {"lessons", "lesson.begin.before-or-after"}, {"practice", "practice.talk"}, {"recorder", "recorder.sheet"}, {"voice", "voice.ask"}} {
		p.tab(sc.tab)
		p.until(sc.ready, 3*time.Minute)
		look(sc.tab)
		if sc.tab != "lessons" {
			continue
		}
		p.use("lesson.begin.gain-and-headroom")
		for i := range 3 {
			p.until("lesson.list", 20*time.Second)
			look(fmt.Sprintf("a lesson, step %d", i+1))
			p.step()
		}
	}
	p.noErrors()
}
