//go:build full

package browser

import (
	"bytes"
	"fmt"
	"image"
	"image/png"
	"math"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/accessibility"
	"github.com/chromedp/cdproto/dom"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// hands is a way of using the page for someone who does not see it, or uses no
// pointer. Controls go by their role and their name.
type hands interface {
	press(role, name string)
	set(name string, v float64)
	// value is what the control tells of itself.
	value(role, name string) string
}

// listen keeps everything that the live region says from now on.
func (p *page) listen() {
	p.t.Helper()
	p.js(`{
		const live = document.querySelector("#gainwright-live");
		window.heard = [];
		window.pressed = [];
		for (const kind of ["keydown", "focusin"]) addEventListener(kind, e => {
			pressed.push(kind + " " + (e.key || "") + " at " + (e.target.getAttribute && e.target.getAttribute("data-id") || e.target.tagName) + ", the picture's focus " + gainwright.focused());
		}, true);
		new MutationObserver(() => heard.push(live.textContent)).observe(live, {childList: true, characterData: true, subtree: true});
	}`)
}

// hears waits until the live region has said something that matches, and forgets
// what came before.
func (p *page) hears(pattern string, within time.Duration) string {
	p.t.Helper()
	re := regexp.MustCompile(pattern)
	end := time.Now().Add(within)
	for {
		said := eval[[]string](p, "heard")
		for i, s := range said {
			if re.MatchString(s) {
				p.js(fmt.Sprintf("heard.splice(0, %d)", i+1))
				return s
			}
		}
		if time.Now().After(end) {
			p.shot("timeout")
			p.noErrors()
			p.t.Logf("pressed %q", eval[[]string](p, "pressed.slice(-400).filter(x => !/Tab|focusin/.test(x))"))
			p.t.Fatalf("the live region said %q, and after %v nothing like %q", said, within, pattern)
		}
		time.Sleep(100 * time.Millisecond)
	}
}

// keyboard is a person with a keyboard alone: Tab, arrows, Enter, the space bar.
type keyboard struct {
	*page
	stops int
}

// focusAt is the element with the keyboard focus: its data-id, role and name.
type focusAt struct{ ID, Role, Name string }

func (k *keyboard) at() focusAt {
	k.t.Helper()
	return eval[focusAt](k.page, `(e => ({ID: e.getAttribute("data-id") || "", Role: e.getAttribute("role") || {range: "slider", radio: "radio", checkbox: "checkbox", button: "button"}[e.type] || e.tagName, Name: e.getAttribute("aria-label") || ""}))(document.activeElement)`)
}

func is(f focusAt, role, name string) bool { return f.Role == role && called(f.Name, name) }

// called tells whether a control that may tell its value after its name is meant.
func called(full, name string) bool { return full == name || strings.HasPrefix(full, name+", ") }

// reach presses Tab until the control has the focus, and sees that this shows. Of
// radio buttons and tabs one can be reached, the others from there by arrows.
func (k *keyboard) reach(role, name string) {
	k.t.Helper()
	var seen []string
	for i := range 160 {
		if i%20 == 19 {
			k.paints(1) // nobody is so quick that no picture comes in between
		}
		f := k.at()
		if is(f, role, name) {
			k.shows(f)
			return
		}
		if f.ID != "" && (role == "radio" || role == "tab") && f.Role == role && k.arrow(f, role, name) {
			k.shows(k.at())
			return
		}
		seen = append(seen, f.Name)
		k.key(kb.Tab)
	}
	k.shot("timeout")
	k.t.Logf("pressed %q", eval[[]string](k.page, "pressed.slice(0,-170).slice(-60)"))
	k.t.Logf("the live region said %q", eval[[]string](k.page, "heard"))
	k.t.Fatalf("Tab does not reach the %s %q; it was at %q", role, name, seen)
}

// arrow goes from one of a group to another, if it is there.
func (k *keyboard) arrow(from focusAt, role, name string) bool {
	k.t.Helper()
	if !eval[bool](k.page, fmt.Sprintf(`(e => {
		const mine = s => s.replace(/[^.]*$/, "");
		return [...document.querySelectorAll("#gainwright-controls [data-id]")].some(o => ((o.getAttribute("aria-label") || "") + ", ").startsWith(%q + ", ") &&
			(e.role == "tab" ? o.role == "tab" : o.type == "radio" && mine(o.getAttribute("data-id")) == mine(e.getAttribute("data-id"))));
	})(document.activeElement)`, name)) {
		return false
	}
	first := from.Name
	for range 20 {
		was := k.at().ID
		// On a slow machine the picture comes after the page.
		k.wait("the focus at "+was, fmt.Sprintf(`gainwright.focused() == %q`, was), 20*time.Second)
		k.key(kb.ArrowRight)
		k.wait("the arrow key", fmt.Sprintf(`document.activeElement.getAttribute("data-id") != %q`, was), 20*time.Second)
		f := k.at()
		if is(f, role, name) {
			return true
		}
		if f.Name == first {
			return false
		}
	}
	return false
}

// byKeys is a hand on the keyboard, whose eye needs every pixel, from the first picture on:
// rings are thin.
func byKeys(p *page) *keyboard {
	p.t.Helper()
	size := eval[[]int64](p, "[innerWidth, innerHeight]")
	p.do(chromedp.EmulateViewport(size[0], size[1]))
	return &keyboard{page: p}
}

// shows checks that the picture has a ring around what has the focus.
func (k *keyboard) shows(f focusAt) {
	k.t.Helper()
	k.stops++
	k.wait("the focus in the picture at "+f.ID, fmt.Sprintf(`gainwright.focused() == %q`, f.ID), 20*time.Second)
	fit := eval[float64](k.page, "gainwright.size().fit")
	share := 0.0
	for range 20 {
		// Where it is may have changed with what was done before.
		if share = k.ring(k.node(f.ID), fit); share > 0.6 {
			return
		}
		time.Sleep(100 * time.Millisecond) // until it is painted
	}
	k.shot("no-ring")
	k.t.Errorf("%s has the focus, and of the ring around it %.0f %% are seen", f.ID, 100*share)
}

// ring is the share of a control's outline that is drawn in the colour of the
// focus, the yellow (or, in the light picture, dark blue) of the theme.
func (k *keyboard) ring(n node, fit float64) float64 {
	k.t.Helper()
	b, err := chromedp.Run(k.ctx, chromedp.CaptureScreenshot())
	if err != nil {
		k.t.Fatal(err)
	}
	img, err := png.Decode(bytes.NewReader(b))
	if err != nil {
		k.t.Fatal(err)
	}
	yellow := func(x, y float64) bool {
		for d := -2.0; d <= 2; d++ {
			for e := -2.0; e <= 2; e++ {
				at := image.Pt(int(math.Round(x+d)), int(math.Round(y+e)))
				if !at.In(img.Bounds()) {
					continue
				}
				r, g, bl, _ := img.At(at.X, at.Y).RGBA()
				if r>>8 > 190 && g>>8 > 180 && bl>>8 < 140 {
					return true
				}
			}
		}
		return false
	}
	x0, y0 := (n.Bounds.X-2)*fit, (n.Bounds.Y-2)*fit
	x1, y1 := (n.Bounds.X+n.Bounds.W+2)*fit, (n.Bounds.Y+n.Bounds.H+2)*fit
	hit, all := 0, 0
	for i := range 40 {
		u := (float64(i) + 0.5) / 40
		for _, q := range [][2]float64{{x0 + u*(x1-x0), y0}, {x0 + u*(x1-x0), y1}, {x0, y0 + u*(y1-y0)}, {x1, y0 + u*(y1-y0)}} {
			all++
			if yellow(q[0], q[1]) {
				hit++
			}
		}
	}
	return float64(hit) / float64(all)
}

func (k *keyboard) press(role, name string) {
	k.t.Helper()
	k.reach(role, name)
	f := k.at()
	if role == "radio" && k.node(f.ID).Checked {
		return // the arrow has chosen it
	}
	k.key(kb.Enter)
}

// set types the number, as after Enter on a knob; it ends with Enter.
func (k *keyboard) set(name string, v float64) {
	k.t.Helper()
	k.reach("slider", name)
	k.key(kb.Enter)
	for _, c := range trim(v) {
		k.key(string(c))
	}
	k.key(kb.Enter)
	f := k.at()
	k.wait(name+" at the number typed", fmt.Sprintf(`Math.abs(gainwright.nodes().find(n => n.id == %q).now - %g) < 1e-6`, f.ID, v), 20*time.Second)
}

func (k *keyboard) value(role, name string) string {
	k.t.Helper()
	for _, n := range k.nodes() {
		if n.Role == role && called(n.Name, name) {
			return n.Value
		}
	}
	k.t.Fatalf("there is no %s %q", role, name)
	return ""
}

// reader is assistive technology: it knows the browser's accessibility tree and
// nothing else, moves the focus, asks for the default action and sets values.
type reader struct{ *page }

func text(v *accessibility.Value) string {
	if v == nil {
		return ""
	}
	return strings.Trim(string(v.Value), `"`)
}

// find looks a role and a name up in the tree.
func (r *reader) find(role, name string) *accessibility.Node {
	r.t.Helper()
	var names []string
	for range 40 {
		names = names[:0]
		tree, err := chromedp.Call(r.ctx, accessibility.GetFullAXTree, accessibility.GetFullAXTreeParams{})
		if err != nil {
			r.t.Fatal(err)
		}
		for _, n := range tree.Nodes {
			if n.Ignored || text(n.Role) != role {
				continue
			}
			if called(text(n.Name), name) {
				return n
			}
			names = append(names, text(n.Name))
		}
		time.Sleep(150 * time.Millisecond)
	}
	r.t.Fatalf("the accessibility tree has no %s %q; of that role it has %q", role, name, names)
	return nil
}

// act focuses the node's element and runs a function on it.
func (r *reader) act(n *accessibility.Node, function string) {
	r.t.Helper()
	if _, err := chromedp.Call(r.ctx, dom.Focus, dom.FocusParams{BackendNodeID: n.BackendDOMNodeID}); err != nil {
		r.t.Fatalf("%s %s cannot take the focus: %v", text(n.Role), text(n.Name), err)
	}
	o, err := chromedp.Call(r.ctx, dom.ResolveNode, dom.ResolveNodeParams{BackendNodeID: n.BackendDOMNodeID})
	if err != nil {
		r.t.Fatal(err)
	}
	yes := true
	res, err := chromedp.Call(r.ctx, runtime.CallFunctionOn, runtime.CallFunctionOnParams{FunctionDeclaration: function, ObjectID: o.Object.ObjectID, UserGesture: &yes})
	if err != nil {
		r.t.Fatal(err)
	}
	if res.ExceptionDetails != nil {
		r.t.Fatal(res.ExceptionDetails)
	}
}

func property(n *accessibility.Node, name string) string {
	for _, p := range n.Properties {
		if string(p.Name) == name {
			return text(p.Value)
		}
	}
	return ""
}

func (r *reader) press(role, name string) {
	r.t.Helper()
	n := r.find(role, name)
	for end := time.Now().Add(10 * time.Second); property(n, "disabled") == "true" && time.Now().Before(end); n = r.find(role, name) {
		time.Sleep(200 * time.Millisecond) // the tree follows what the program says
	}
	if property(n, "disabled") == "true" {
		r.t.Fatalf("%s %q is disabled: %s", role, name, text(n.Description))
	}
	r.act(n, `function() { this.click(); }`)
}

func (r *reader) set(name string, v float64) {
	r.t.Helper()
	n := r.find("slider", name)
	r.act(n, fmt.Sprintf(`function() { this.value = %g; this.dispatchEvent(new Event("input", {bubbles: true})); this.dispatchEvent(new Event("change", {bubbles: true})); }`, v))
	for range 60 {
		if text(r.find("slider", name).Value) == trim(v) {
			return
		}
		time.Sleep(100 * time.Millisecond)
	}
	r.t.Fatalf("%s stands at %s, want %g", name, text(r.find("slider", name).Value), v)
}

func (r *reader) value(role, name string) string {
	r.t.Helper()
	// The tree that DevTools give has the number; the words that go with it are an
	// attribute, which browsers hand to assistive technology beside it.
	n := r.find(role, name)
	o, err := chromedp.Call(r.ctx, dom.ResolveNode, dom.ResolveNodeParams{BackendNodeID: n.BackendDOMNodeID})
	if err != nil {
		r.t.Fatal(err)
	}
	res, err := chromedp.Call(r.ctx, runtime.CallFunctionOn, runtime.CallFunctionOnParams{FunctionDeclaration: `function() { return this.getAttribute("aria-valuetext") || ""; }`, ObjectID: o.Object.ObjectID})
	if err != nil {
		r.t.Fatal(err)
	}
	return strings.Trim(string(res.Result.Value), `"`)
}

// visit is a whole visit of "Set the gain": the gain, a laugh that goes over, the
// take, what can be heard of it, a blind comparison, undoing, another scene. Whoever
// has hands only learns what happens from the live region and from the controls.
func visit(t *testing.T, p *page, h hands, laugh func()) {
	t.Helper()
	p.listen()
	h.press("radio", "Strip A, limiter off")
	h.set("Strip B, preamp gain", 25)
	h.set("Strip A, preamp gain", 54)
	said := ""
	for range 30 { // the page follows ten times a second
		if said = h.value("slider", "Strip A, preamp gain"); said == "54.0 dB" {
			break
		}
		time.Sleep(100 * time.Millisecond)
	}
	if said != "54.0 dB" {
		t.Errorf("the gain says %q", said)
	}
	h.press("button", "Record")
	p.hears(`^Recording take 1\.`, 20*time.Second)
	p.performs(2 * time.Second)
	laugh()
	p.performs(4 * time.Second)
	h.press("button", "Stop recording")
	result := p.hears(`^Take 1, .*: strip A \d+ overs?, .*; strip B no overs`, time.Minute)
	t.Logf("result: %s", result)
	// Where the mending is quick it is told in one breath with the result.
	mended := result
	if !strings.Contains(result, "Strip A can") {
		mended = p.hears(`Strip A can(not)? be( heard)? mended`, 2*time.Minute)
	}
	if strings.Contains(mended, "cannot") {
		t.Fatal(mended)
	}

	// What can be heard, in step; the clipped strip comes after a caution.
	h.press("radio", "Listen to strip B")
	h.press("button", "Play the take")
	p.hears(`^The sound is off\. Start low\.`, 20*time.Second)
	h.press("button", "Turn the sound on")
	p.wait("the take playing", `gainwright.nodes().find(n => n.id == "play").name == "Pause the take"`, time.Minute)
	h.press("radio", "Listen to what was spoken")
	h.press("radio", "Listen to strip A mended")
	p.wait("the mended strip heard", `(g => g("listen.mended").checked)(id => gainwright.nodes().find(n => n.id == id))`, 20*time.Second)
	h.press("checkbox", "Matched in loudness")
	h.press("checkbox", "Matched in loudness")
	h.press("radio", "Listen to strip A")
	// The take may have ended meanwhile; then playing it asks.
	if strings.HasPrefix(p.node("play").Name, "Play") && !p.has("caution.play") {
		h.press("button", "Play the take")
	}
	p.hears(`^Caution: strip A is clipped`, 20*time.Second)
	h.press("button", "Do not play it")
	p.wait("the caution answered", `!gainwright.nodes().some(n => n.id == "caution.play")`, 20*time.Second)

	h.press("button", "Compare blind")
	p.until("blind.trials", 20*time.Second)
	for i := 0; i <= 8 && !strings.Contains(p.label("blind.trials"), " 8 "); i++ {
		before := p.label("blind.trials")
		h.press("button", "Number of trials")
		p.wait("another number of trials", fmt.Sprintf(`document.querySelector('#gainwright-controls [data-id="blind.trials"]').getAttribute("aria-label") != %q`, before), 20*time.Second)
	}
	if l := p.label("blind.trials"); !strings.Contains(l, " 8 ") {
		t.Fatalf("the number of trials says %q", l)
	}
	h.press("button", "Compare blind")
	p.hears(`^Caution: `, 20*time.Second)
	h.press("button", "Play the clipped sound")
	const trials = 8
	p.hears(fmt.Sprintf(`^Trial 1 of %d`, trials), 20*time.Second)
	for i := range trials {
		if i > 0 {
			p.hears(fmt.Sprintf(`^Trial %d of %d`, i+1, trials), 20*time.Second)
		}
		h.press("radio", "Listen to X")
		h.press("button", "X is A")
	}
	t.Logf("blind: %s", p.hears(fmt.Sprintf(`^\d+ of %d right, strip A against strip B\. .*p = `, trials), 20*time.Second))

	h.press("button", "Undo")
	p.wait("the gain as it was", `gainwright.nodes().find(n => n.id == "A.gain_db").now == 52`, 20*time.Second)
	h.press("button", "Do again")
	p.wait("the gain again", `gainwright.nodes().find(n => n.id == "A.gain_db").now == 54`, 20*time.Second)
	h.press("tab", "One file, two talkers")
	p.hears(`Two performances, one file|(?i)equal|being made|performance`, 2*time.Minute)
	p.wait("the other scene", `gainwright.nodes().some(n => n.id == "twin.files")`, time.Minute)
}

// label is what a control's element is called. The page's elements follow the scene's
// nodes some frames later: one that is not there yet is waited for, or whoever waits
// for another name would take the first one for it.
func (p *page) label(id string) string {
	p.t.Helper()
	element := fmt.Sprintf(`document.querySelector('#gainwright-controls [data-id="%s"]')`, id)
	p.wait("the element of "+id, element, 20*time.Second)
	return eval[string](p, element+`.getAttribute("aria-label")`)
}

func TestVisitByKeyboard(t *testing.T) {
	p := newPage(t, 1280, 720)
	k := byKeys(p)
	p.open(serveScene(t))
	visit(t, p, k, func() { k.key("h") })
	// The keys that stand for something where no control wants them.
	k.press("tab", "Set the gain")
	k.key(kb.Escape)
	for key, id := range map[string]string{"2": "listen.B", "0": "listen.spoken", "9": "listen.mended", "1": "listen.A"} {
		k.key(key)
		k.wait("what "+key+" stands for", fmt.Sprintf(`gainwright.nodes().find(n => n.id == %q).checked`, id), 20*time.Second)
	}
	// Presenting, by keys alone.
	k.press("button", "Hand out and present")
	k.press("button", "Present")
	k.wait("the first idea", `gainwright.nodes().length > 0 && !gainwright.nodes().some(n => n.id == "tab.gain")`, 20*time.Second)
	for range 2 {
		k.key(kb.ArrowRight)
	}
	k.paints(2)
	p.shot("presented")
	k.key(kb.Escape)
	k.wait("the whole bench", `gainwright.nodes().some(n => n.id == "tab.gain")`, 20*time.Second)
	t.Logf("%d stops of the focus, each with its ring", k.stops)
	p.noErrors()
}

func TestVisitByAccessibilityTree(t *testing.T) {
	p := newPage(t, 1280, 720)
	p.calm()
	p.open(serveScene(t))
	r := &reader{p}
	visit(t, p, r, func() { r.press("button", "Laugh") })
	p.noErrors()
}
