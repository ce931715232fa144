//go:build full

package browser

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"

	"gainwright/lessons/builtin"
	"gainwright/lessons/grade"
	"gainwright/lessons/model"
	"gainwright/lessons/run"
)

// scholar is a way of taking a lesson: hands that write, too.
type scholar interface {
	hands
	write(name, text string)
}

// write types into a field: reached by Tab, and key by key.
func (k *keyboard) write(name, text string) {
	k.t.Helper()
	k.reach("TEXTAREA", name)
	for _, c := range text {
		k.key(string(c))
	}
}

// write sets what stands in a field, as assistive technology does.
func (r *reader) write(name, text string) {
	r.t.Helper()
	r.act(r.find("textbox", name), fmt.Sprintf(`function() { this.value = %q; this.dispatchEvent(new Event("input", {bubbles: true})); }`, text))
}

// pupil is somebody with a phone: taps and drags, swipes for what is not to be seen, and
// writes by the phone's keyboard.
type pupil struct{ finger }

// seek swipes until the control can be seen whole enough for a thumb: down the page, then
// back up.
func (f pupil) seek(role, name string) {
	f.t.Helper()
	f.paints(2) // what is touched is what is seen
	seen := func() bool {
		for _, n := range f.nodes() {
			if n.Role == role && called(n.Name, name) && !n.Disabled && n.Bounds.W >= 44 && n.Bounds.H >= 44 {
				return true
			}
		}
		return false
	}
	for try := 0; try < 40 && !seen(); try++ {
		y, dy := 430.0, -180.0
		if try >= 20 {
			y, dy = 250, 180
		}
		f.touch(input.DispatchTouchEventTypeTouchStart, &input.TouchPoint{X: 60, Y: y})
		for i := 1.0; i <= 6; i++ {
			time.Sleep(20 * time.Millisecond)
			f.touch(input.DispatchTouchEventTypeTouchMove, &input.TouchPoint{X: 60, Y: y + dy*i/6})
		}
		f.touch(input.DispatchTouchEventTypeTouchEnd)
		f.paints(2)
	}
}

func (f pupil) press(role, name string) {
	f.t.Helper()
	f.seek(role, name)
	f.finger.press(role, name)
	f.wait("no finger left", `gainwright.stats().pressed == 0`, 20*time.Second)
	f.paints(1)
}

func (f pupil) set(name string, v float64) {
	f.t.Helper()
	f.seek("slider", name)
	f.finger.set(name, v)
}

func (f pupil) write(name, text string) {
	f.t.Helper()
	f.press("textbox", name)
	f.wait("the field", `document.activeElement.tagName == "TEXTAREA"`, 20*time.Second)
	if _, err := chromedp.Call(f.ctx, input.InsertText, input.InsertTextParams{Text: text}); err != nil {
		f.t.Fatal(err)
	}
}

// does presses the control of that id, found by its role and name.
func (p *page) does(h hands, id string) {
	p.t.Helper()
	p.until(id, 30*time.Second)
	// The page's element follows some frames later.
	p.wait("the element of "+id, fmt.Sprintf(`(e => e && e.getAttribute("aria-disabled") != "true")(document.querySelector('#gainwright-controls [data-id="%s"]'))`, id), 30*time.Second)
	n := p.node(id)
	h.press(n.Role, n.Name)
}

func (p *page) where() string {
	p.t.Helper()
	return eval[string](p, `(n => n ? n.name : "")(gainwright.nodes().find(n => n.id == "lesson.where"))`)
}

// takes goes through a lesson and hands in what comes of it.
func (p *page) takes(h scholar, id string) *run.Result {
	p.t.Helper()
	p.until("lesson.begin."+id, time.Minute)
	p.does(h, "lesson.begin."+id)
	p.wait("the first step", `gainwright.nodes().some(n => n.id == "lesson.where")`, time.Minute)
	for step := 0; !p.has("lesson.save"); step++ {
		if step > 60 {
			p.t.Fatalf("%s has no end", id)
		}
		was := p.where()
		p.studies(h)
		p.until("lesson.next", 2*time.Minute)
		p.does(h, "lesson.next")
		p.wait("the step after "+was, fmt.Sprintf(`gainwright.nodes().some(n => n.id == "lesson.where" && n.name != %q)`, was), time.Minute)
	}
	p.shot("student-" + id)
	p.does(h, "lesson.save")
	p.wait("the result", `handed.length > 0`, time.Minute)
	res, err := run.ParseResult([]byte(eval[string](p, `handed.pop()`)))
	if err != nil {
		p.t.Fatal(err)
	}
	p.does(h, "lesson.list")
	return res
}

// studies does what the step asks for, until it can be left.
func (p *page) studies(h scholar) {
	p.t.Helper()
	for range 40 {
		if p.has("lesson.next") {
			return
		}
		switch {
		case p.some("lesson.answer."):
			p.does(h, p.firstOf("lesson.answer."))
			p.wait("an answer marked", `gainwright.nodes().some(n => n.id.startsWith("lesson.answer.") && n.checked)`, time.Minute)
			p.commits(h)
		case p.has("lesson.text"):
			n, words := p.node("lesson.text"), "7"
			if p.node("lesson.step").Name == model.KindTitle(model.Explain) {
				words = "The laugh comes later, and is far louder."
			}
			h.write(n.Name, words)
			p.wait("what was written", fmt.Sprintf(`gainwright.nodes().find(n => n.id == "lesson.text").value == %q`, words), time.Minute)
			p.commits(h)
		case p.has("lesson.hear.trial"):
			p.trial(h)
		case p.has("lesson.record"):
			p.records(h)
		default:
			time.Sleep(200 * time.Millisecond) // sounds are being made
		}
	}
	p.shot("timeout")
	p.t.Fatalf("the step is not done: %s; the page says %q", p.where(), p.live())
}

// some tells whether a control of that prefix can be used.
func (p *page) some(prefix string) bool { p.t.Helper(); return p.firstOf(prefix) != "" }

func (p *page) firstOf(prefix string) string {
	p.t.Helper()
	for _, n := range p.nodes() {
		if strings.HasPrefix(n.ID, prefix) && !n.Disabled {
			return n.ID
		}
	}
	return ""
}

func (p *page) commits(h scholar) {
	p.t.Helper()
	p.until("lesson.commit", time.Minute)
	p.does(h, "lesson.commit")
	p.wait("the answer committed", `(g => !g("lesson.commit") || g("lesson.commit").disabled || g("lesson.text") && g("lesson.text").value == "")(id => gainwright.nodes().find(n => n.id == id))`, time.Minute)
}

var headroom = regexp.MustCompile(`A ([−-]?[0-9.]+)`)

// records makes the take; in a task it turns the gain by what the last one read.
func (p *page) records(h scholar) {
	p.t.Helper()
	if p.has("A.gain_db") {
		for _, n := range p.nodes() {
			if m := headroom.FindStringSubmatch(n.Value); n.ID == "lesson.reading.headroom_db" && m != nil {
				left, err := strconv.ParseFloat(strings.ReplaceAll(m[1], "−", "-"), 64)
				if err != nil {
					p.t.Fatal(err)
				}
				g := p.node("A.gain_db")
				h.set(g.Name, float64(int(min(max(g.Now+left-9, g.Min), g.Max))))
			}
		}
	}
	p.does(h, "lesson.record")
	p.wait("the take under way", `gainwright.nodes().some(n => n.id == "lesson.blocked" && /take rolls|gets ready/.test(n.value))`, 2*time.Minute)
	p.wait("the take", `(b => !b || !/take rolls|gets ready|readings are taken|picture is drawn/.test(b.value))(gainwright.nodes().find(n => n.id == "lesson.blocked"))`, 8*time.Minute)
	p.wait("what came of the take", `(g => (n => n && !n.disabled)(g("lesson.next")) || (n => n && !n.disabled)(g("lesson.give_up")))(id => gainwright.nodes().find(n => n.id == id))`, 2*time.Minute)
}

// trial hears a blind trial for long enough, and answers it.
func (p *page) trial(h scholar) {
	p.t.Helper()
	if !p.node("lesson.hear.trial").Checked {
		p.does(h, "lesson.hear.trial")
		p.wait("the trial chosen", `gainwright.nodes().find(n => n.id == "lesson.hear.trial").checked`, time.Minute)
	}
	if p.has("lesson.play") && p.node("lesson.play").Name == "Play" {
		p.does(h, "lesson.play")
	}
	for end := time.Now().Add(time.Minute); !p.some("lesson.trial.") && time.Now().Before(end); time.Sleep(200 * time.Millisecond) {
		p.paints(2) // being asked for sound takes the place of the caution
		for _, id := range []string{"sound.yes", "lesson.caution.play"} {
			if p.has(id) {
				p.does(h, id)
				p.wait(id+" answered", fmt.Sprintf(`!gainwright.nodes().some(n => n.id == %q)`, id), time.Minute)
				break
			}
		}
	}
	if id := p.firstOf("lesson.trial."); id != "" {
		p.does(h, id)
		p.paints(1)
	}
}

// TestStudents: a student by the keyboard alone, one by the accessibility tree alone and one
// on a phone each go through two lessons, one about the gain and one heard blind, and the
// results that they hand in reproduce: every take is run again, here and not in the browser.
func TestStudents(t *testing.T) {
	url := serveScene(t)
	kinds := []struct {
		name string
		as   func(t *testing.T) (*page, scholar)
	}{
		{"keyboard", func(t *testing.T) (*page, scholar) {
			p := newPage(t, 1280, 720)
			p.calm()
			return p, byKeys(p)
		}},
		{"tree", func(t *testing.T) (*page, scholar) {
			p := newPage(t, 1280, 720)
			p.calm()
			return p, &reader{p}
		}},
		{"phone", func(t *testing.T) (*page, scholar) {
			p := newPhone(t, 390, 844)
			p.calm()
			return p, pupil{finger{p}}
		}},
	}
	for _, k := range kinds {
		t.Run(k.name, func(t *testing.T) {
			p, h := k.as(t)
			p.first(`window.handed = []; const make = URL.createObjectURL; URL.createObjectURL = b => { b.text && b.text().then(t => handed.push(t)); return make.call(URL, b); };`)
			p.open(url)
			p.listen()
			p.until("tab.lessons", time.Minute)
			h.press("tab", "Lessons")
			for _, id := range []string{"gain-and-headroom", "blind-listening"} {
				began := time.Now()
				res := p.takes(h, id)
				l, err := builtin.Load(id)
				if err != nil {
					t.Fatal(err)
				}
				g, err := grade.NewGrader(l).Grade(t.Context(), id, res)
				if err != nil {
					t.Fatal(err)
				}
				if !g.OK() {
					t.Errorf("%s does not reproduce: %v", id, g.Flags)
				}
				for _, s := range res.Steps {
					switch {
					case s.Kind == model.Do && s.Verdict != run.Right:
						t.Errorf("%s: the task %s is not met", id, s.ID)
					case s.Kind == model.Listen && id == "blind-listening" && len(s.Answers) != 8:
						t.Errorf("%s: %d trials are answered", id, len(s.Answers))
					}
				}
				t.Logf("%s: %d steps in %.0f s, %v of %v points, passed: %v", id, len(res.Steps), time.Since(began).Seconds(), g.Points, g.Of, g.Passed)
			}
			p.noErrors()
			p.close()
		})
	}
}
