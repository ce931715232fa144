//go:build full

package browser

import (
	"encoding/json"
	"fmt"
	"regexp"
	"strings"
	"testing"
	"time"
)

// step does what the present step of a lesson asks for, with the first answer and
// the settings that stand there, and goes on to the next one; false means that the
// lesson is at its end.
func (p *page) step() bool {
	p.t.Helper()
	where := func() string {
		return eval[string](p, `(n => n ? n.name : "")(gainwright.nodes().find(n => n.id == "lesson.where"))`)
	}
	was := where()
	for range 60 {
		var first, text, give bool
		var can = map[string]bool{}
		for _, n := range p.nodes() {
			switch {
			case n.Disabled:
			case strings.HasPrefix(n.ID, "lesson.answer.") && !n.Checked:
				if !first {
					first = true
					if !anyChecked(p.nodes(), "lesson.answer.") {
						p.use(n.ID)
					}
				}
			case n.ID == "lesson.text":
				text = n.Value == ""
			case n.ID == "lesson.give_up":
				give = true
			}
			if !n.Disabled {
				can[n.ID] = true
			}
		}
		if can["lesson.save"] {
			return false
		}
		if text {
			answer := "7"
			if eval[bool](p, `document.querySelector("#gainwright-controls").textContent.includes("In your own words")`) {
				answer = "It was the laugh, and nobody could have known before that it would be so loud."
			}
			p.write("lesson.text", answer)
			p.wait("what was written", fmt.Sprintf(`gainwright.nodes().find(n => n.id == "lesson.text").value == %q`, answer), 20*time.Second)
		}
		switch {
		case first || text || can["lesson.commit"]:
			p.until("lesson.commit", 20*time.Second)
			p.use("lesson.commit")
			p.wait("the answer committed", `(n => !n || n.disabled)(gainwright.nodes().find(n => n.id == "lesson.commit")) || (n => n && !n.disabled)(gainwright.nodes().find(n => n.id == "lesson.next"))`, 20*time.Second)
		case can["lesson.next"]:
			p.use("lesson.next")
		case give:
			p.use("lesson.give_up")
		case can["lesson.hear.trial"]:
			p.use("lesson.hear.trial")
			for _, n := range p.nodes() {
				if n.ID == "lesson.play" && n.Name == "Play" && !n.Disabled {
					p.use(n.ID)
				}
			}
			for _, id := range []string{"lesson.caution.play", "sound.yes"} {
				if p.has(id) {
					p.use(id)
				}
			}
			p.wait("the trial heard", `gainwright.nodes().some(n => n.id.startsWith("lesson.trial.") && !n.disabled)`, 30*time.Second)
			for _, n := range p.nodes() {
				if strings.HasPrefix(n.ID, "lesson.trial.") && !n.Disabled {
					p.use(n.ID)
					break
				}
			}
		case can["lesson.record"]:
			p.use("lesson.record")
			p.wait("the take", `(g => (n => n && !n.disabled)(g("lesson.next")) || (n => n && !n.disabled)(g("lesson.give_up")))(id => gainwright.nodes().find(n => n.id == id))`, 8*time.Minute)
		}
		for range 20 {
			if w := where(); w != was || p.has("lesson.save") {
				return true
			}
			time.Sleep(50 * time.Millisecond)
		}
	}
	p.shot("timeout")
	p.t.Fatalf("the lesson does not go on from %q; the page says %q", was, p.live())
	return false
}

func anyChecked(ns []node, prefix string) bool {
	for _, n := range ns {
		if strings.HasPrefix(n.ID, prefix) && n.Checked {
			return true
		}
	}
	return false
}

// write writes into a text field as assistive technology does.
func (p *page) write(id, text string) {
	p.t.Helper()
	p.js(fmt.Sprintf(`{const e = document.querySelector('#gainwright-controls [data-id="%s"]'); e.value = %q; e.dispatchEvent(new Event("input", {bubbles: true}));}`, id, text))
}

// TestLessons walks two whole lessons in the browser, and reads the result that
// comes out of it.
func TestLessons(t *testing.T) {
	p := newPage(t, 1024, 640)
	p.calm()
	// What the page hands out is kept instead of downloaded.
	p.first(`window.handed = []; const make = URL.createObjectURL; URL.createObjectURL = b => { b.text && b.text().then(t => handed.push(t)); return make.call(URL, b); };`)
	p.open(serveScene(t))
	p.tab("lessons")
	for _, name := range []string{"what-the-numbers-mean", "distance-beats-gain"} {
		began := time.Now()
		p.until("lesson.begin."+name, 20*time.Second)
		p.use("lesson.begin." + name)
		p.wait("the first step", `gainwright.nodes().some(n => n.id == "lesson.where")`, 30*time.Second)
		steps := 1
		for p.step() {
			steps++
			if steps > 60 {
				t.Fatalf("%s has no end", name)
			}
		}
		p.same(name + " at its end")
		p.shot("lesson-end-" + name)
		outcome := p.node("lesson.outcome")
		t.Logf("%s: %d steps in %.0f s; %s", name, steps, time.Since(began).Seconds(), outcome.Name+" "+outcome.Value)
		p.use("lesson.save")
		p.wait("the result", `handed.length > 0`, 30*time.Second)
		var result struct {
			Lesson struct {
				ID string `json:"id"`
			} `json:"lesson"`
			Signature json.RawMessage `json:"signature"`
		}
		if err := json.Unmarshal([]byte(eval[string](p, `handed.pop()`)), &result); err != nil || result.Lesson.ID != name {
			t.Errorf("the result of %s: %+v, %v", name, result, err)
		}
		p.use("lesson.list")
	}
	p.noErrors()
}

// TestPracticeRound walks one round of Practice to its score: the gain by the sound
// check, the conversation, the score, the next guest.
func TestPracticeRound(t *testing.T) {
	p := newPage(t, 1024, 640)
	p.calm()
	p.open(serveScene(t))
	p.listen()
	p.tab("practice")
	p.until("practice.talk", 2*time.Minute)
	p.hears(`^Guest 1, level 1 of \d+`, time.Minute)
	p.use("A.gain_db", 34)
	p.wait("the gain", `gainwright.nodes().find(n => n.id == "A.gain_db").now == 34`, 20*time.Second)
	p.says("practice.live", `Talk peaks at .* dBFS`, 2*time.Minute)
	p.use("practice.talk")
	p.hears(`^The conversation rolls`, 2*time.Minute)
	score := p.hears(`^\d+ of 100\. `, 5*time.Minute)
	t.Logf("score: %s", score)
	if n := p.node("practice.score"); !regexp.MustCompile(`^\d+ of 100`).MatchString(n.Value) {
		t.Errorf("the score says %q", n.Value)
	}
	p.same("after the conversation")
	p.shot("practice-score")
	p.use("practice.next")
	p.hears(`^Guest 2, `, 2*time.Minute)
	// The history is there after a reload.
	p.reload()
	p.tab("practice")
	p.until("practice.talk", 2*time.Minute)
	if n := p.node("practice.history"); !strings.Contains(n.Value, "1 guest so far") {
		t.Errorf("after a reload the history says %q", n.Value)
	}
	p.noErrors()
}
