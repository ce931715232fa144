//go:build full

package browser

import (
	"encoding/base64"
	"encoding/binary"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp/kb"

	"gainwright/sounds/own"
)

// patient is a microphone that speaks when it is told to: whoever reaches the controls slowly
// has all the time that they need. What is to be said is put into "said" by step.
const patient = `window.said = [];
	navigator.mediaDevices.getUserMedia = async () => {
		const c = new AudioContext(), to = c.createMediaStreamDestination();
		const play = (x, loop) => {
			const b = c.createBuffer(1, x.length, 48000), s = c.createBufferSource();
			b.copyToChannel(x, 0); s.buffer = b; s.loop = loop; s.connect(to); s.start();
		};
		await c.resume();
		play(Float32Array.from({length: 96000}, () => 3e-4 * (Math.random() + Math.random() + Math.random() - 1.5)), true);
		window.speak = k => play(said[k], false);
		return to.stream;
	};`

// lends goes the whole way by some hands: asked, six steps, one of them again, a name, kept, the
// guest on the bench, deleted. Each step is told by the live region when it begins and when it
// has ended.
func lends(t *testing.T, p *page, h scholar) {
	t.Helper()
	parts, want := spoken(t)
	p.calm()
	p.first(patient)
	p.open(serveScene(t))
	p.listen()
	for k, x := range parts {
		b := make([]byte, 4*len(x))
		for i, v := range x {
			binary.LittleEndian.PutUint32(b[4*i:], math.Float32bits(float32(v)))
		}
		p.js(fmt.Sprintf(`said[%d] = new Float32Array(Uint8Array.from(atob(%q), c => c.charCodeAt(0)).buffer)`, k+1, base64.StdEncoding.EncodeToString(b)))
	}
	p.does(h, "tab.voice")
	p.does(h, "voice.ask")
	p.hears(`The microphone is open\. Step 1 of 6: `, time.Minute)
	// record does the step shown, and gives what was told at its end.
	record := func(k int, end string) {
		t.Helper()
		p.does(h, "voice.begin")
		p.hears(`^Recording: `, time.Minute)
		if k > 0 {
			p.js(fmt.Sprintf("speak(%d)", k))
		}
		t.Logf("step %d: %s", k+1, p.hears(end, time.Minute))
	}
	got := func(k int) string { return fmt.Sprintf(`^Got it\. Step %d of 6: `, k+2) }
	for k := range own.NumParts - 1 {
		record(int(k), got(int(k)))
		if k == own.Again {
			p.does(h, "voice.back")
			p.hears(`^Step 3 of 6 again: `, time.Minute)
			record(int(k), got(int(k)))
		}
	}
	record(int(own.Hey), `^Your laugh peaks`)
	if d := p.distance(); math.Abs(d-want) > .8 {
		t.Errorf("the distance is told as %.0f dB, and is %.1f dB", d, want)
	}
	p.until("voice.name", time.Minute)
	if k, ok := h.(*keyboard); ok { // what stands there is taken away key by key
		k.reach("TEXTAREA", p.node("voice.name").Name)
		k.key(kb.End)
		for range p.node("voice.name").Value {
			k.key(kb.Backspace)
		}
	}
	h.write(p.node("voice.name").Name, "Ines")
	p.wait("the name", `gainwright.nodes().find(n => n.id == "voice.name").value.endsWith("Ines")`, time.Minute)
	name := p.node("voice.name").Value
	p.does(h, "voice.keep")
	p.hears(`^`+name+` is kept in this browser`, time.Minute)
	p.does(h, "voice.perform")
	p.wait("the bench", `gainwright.nodes().find(n => n.id == "tab.gain").checked`, time.Minute)
	p.performs(2 * time.Second)
	if _, ok := h.(pupil); !ok { // on a phone what to ask for lies on another card
		p.does(h, "event.laugh")
		p.performs(2 * time.Second)
	}
	p.does(h, "tab.voice")
	p.does(h, "voice.delete")
	p.hears(`Press again to do so`, time.Minute)
	p.does(h, "voice.delete")
	p.hears(`^`+name+` is deleted from this browser`, time.Minute)
	p.shot("voice-" + strings.TrimPrefix(t.Name(), "TestMicrophone"))
	p.same("after all")
	p.noErrors()
}

// TestMicrophoneVoiceByKeyboard: the whole way by the keyboard alone; each stop has its ring.
func TestMicrophoneVoiceByKeyboard(t *testing.T) {
	p := newPage(t, 1280, 720)
	k := byKeys(p)
	lends(t, p, k)
	t.Logf("%d stops, each with its ring", k.stops)
}

// TestMicrophoneVoiceByTree: by the accessibility tree alone.
func TestMicrophoneVoiceByTree(t *testing.T) {
	p := newPage(t, 1280, 720)
	lends(t, p, &reader{p})
}

// TestMicrophoneVoiceByTouch: by a thumb on a phone.
func TestMicrophoneVoiceByTouch(t *testing.T) {
	p := newPhone(t, 390, 844)
	lends(t, p, pupil{finger{p}})
}
