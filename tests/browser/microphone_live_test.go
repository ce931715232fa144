//go:build full

package browser

import (
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"testing"
	"time"
)

// TestMicrophoneLive: a microphone drives the strips of the bench, over minutes when long
// runs are asked for, and less than a thousandth of the time is lost in breaks; its meters move and it can be recorded.
func TestMicrophoneLive(t *testing.T) {
	last := 20 * time.Second
	if long() {
		last = 5 * time.Minute
	}
	wav, _ := talk(44100, int(last/time.Second)+60)
	file := filepath.Join(t.TempDir(), "talk.wav")
	if err := os.WriteFile(file, wav, 0o644); err != nil {
		t.Fatal(err)
	}
	url := serveScene(t)
	p := newPage(t, 1024, 640, heardFrom(file)...)
	p.open(url)
	p.soundOn()
	time.Sleep(5 * time.Second) // the browser compiles what it runs often
	p.use("live")
	p.wait("what for", `document.body.innerText.includes("Nothing is sent") || JSON.stringify(gainwright.nodes()).includes("Nothing is sent")`, patience)
	p.wait("the question", `document.querySelector('#gainwright-controls [data-id="sound.yes"]')`, patience)
	p.use("sound.yes")
	p.says("live.state", "you, live", patience)
	time.Sleep(10 * time.Second)
	first := p.counters()
	state := p.node("live.state").Value
	t.Logf("at first: %s; %s", state, machine())
	p.use("record")
	time.Sleep(5 * time.Second)
	p.use("record")
	time.Sleep(time.Second)
	if r := p.node("A.result").Value; !regexp.MustCompile(`[0-9]`).MatchString(r) {
		t.Errorf("the take tells %q", r)
	}
	p.use("check")
	for began := time.Now(); time.Since(began) < last; time.Sleep(2 * time.Second) {
		p.use("A.gain_db", float64(40+int(time.Since(began).Seconds())%8))
	}
	after := p.node("live.state").Value
	c := p.counters()
	t.Logf("after %v: %s; %.0f breaks of the sound, %.0f ms; %s", last, after, c.Sound_Breaks-first.Sound_Breaks, c.Sound_Lost_MS-first.Sound_Lost_MS, machine())
	if m := p.node("A.meter"); m.Now <= m.Min && m.Value == "" {
		t.Errorf("the meter stands still: %+v", m)
	}
	// Where processors draw the picture, as here, they are now and then late for the sound. Beside
	// other work a short run proves nothing.
	told := regexp.MustCompile(`([0-9]+) breaks, ([0-9]+) ms`).FindStringSubmatch(after)
	lost := 0.0
	if told != nil {
		lost, _ = strconv.ParseFloat(told[2], 64)
	}
	if share := (lost + c.Sound_Lost_MS - first.Sound_Lost_MS) / float64(last.Milliseconds()); long() && share > 1e-3 {
		t.Errorf("%.2f %% of the time is lost: %s", 100*share, after)
	}
	p.use("live")
	p.wait("the microphone let go", `!gainwright.nodes().some(n => (n.id || n.ID) == "live.state")`, patience)
	p.noErrors()
}
