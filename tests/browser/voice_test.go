//go:build full

package browser

import (
	"fmt"
	"math"
	"math/rand/v2"
	"net/url"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"

	"gainwright/sounds"
	"gainwright/sounds/codec"
	"gainwright/sounds/own"
	"gainwright/sounds/voice"
)

// spoken is what somebody says who does what the steps after the quiet one ask for, at 48 kHz,
// and by how much the laugh's peak lies over that of talk.
func spoken(t *testing.T) (parts [own.NumParts - 1][]float64, distanceDB float64) {
	t.Helper()
	say := func(e ...voice.Event) []float64 {
		v, err := voice.New(e, "maren", 3)
		if err != nil {
			t.Fatal(err)
		}
		x := make([]float64, 30*own.Rate)
		n, _ := v.Read(x)
		return x[:n]
	}
	line := voice.Event{Do: "say", Text: "The ferry crosses the river every half hour, and it has never once been late."}
	parts = [...][]float64{say(line), say(line),
		say(line, voice.Event{Do: "say", Text: "My grandfather rang the bell whenever the fog came down."}), say(voice.Event{Do: "laugh"}), say(voice.Event{Do: "say", Text: "Hey!", Effort: voice.Shout})}
	var peak [len(parts)]float64
	for i, p := range parts {
		for j, v := range p {
			peak[i] = max(peak[i], v, -v)
			p[j] *= .12
		}
	}
	return parts, 20 * math.Log10(peak[3]/max(peak[0], peak[1], peak[2]))
}

// visitor is somebody who does that as a file for Chromium's microphone: the steps one after the
// other, with room between them for a press.
func visitor(t *testing.T) (file string, distanceDB float64) {
	t.Helper()
	parts, distanceDB := spoken(t)
	x := make([]float64, 9*own.Rate) // the quiet step, and the presses before it
	for _, p := range parts {
		x = append(append(x, p...), make([]float64, 6*own.Rate)...)
	}
	rng := rand.New(rand.NewPCG(1, 1))
	for i := range x {
		x[i] += 3e-4 * rng.NormFloat64()
	}
	// Chromium's made device runs at 44.1 kHz.
	y := sounds.ResampleAll([][]float64{x}, own.Rate, 44100, sounds.Standard)
	data, err := codec.WAVBytes(44100, y, codec.PCM16)
	if err != nil {
		t.Fatal(err)
	}
	file = filepath.Join(t.TempDir(), "visitor.wav")
	if err := os.WriteFile(file, data, 0o644); err != nil {
		t.Fatal(err)
	}
	return file, distanceDB
}

// requests notes where a page asks for anything.
type requests struct {
	mu  sync.Mutex
	all []string
}

func (r *requests) hear(ev any) {
	if e, ok := ev.(*network.EventRequestWillBeSent); ok {
		r.mu.Lock()
		defer r.mu.Unlock()
		r.all = append(r.all, e.Request.Method+" "+e.Request.URL)
	}
}

// placed waits until a control lies where it is drawn.
func (p *page) placed(id string) {
	p.t.Helper()
	for end := time.Now().Add(20 * time.Second); p.node(id).Bounds.W == 0; time.Sleep(50 * time.Millisecond) {
		if time.Now().After(end) {
			p.t.Fatalf("%s is nowhere", id)
		}
	}
}

// steps records all steps; press is how a control is pressed.
func (p *page) steps(press func(id string)) {
	p.t.Helper()
	p.placed("voice.ask")
	press("voice.ask")
	p.until("voice.begin", 30*time.Second)
	for k := range own.NumParts {
		p.wait(fmt.Sprintf("step %d", k+1), fmt.Sprintf(`gainwright.nodes().some(n => n.id == "voice.step" && n.name.startsWith("Step %d of"))`, k+1), 40*time.Second)
		p.paints(2) // what is told of a place is where it was drawn last
		p.placed("voice.begin")
		press("voice.begin")
	}
	p.wait("the card", `gainwright.nodes().some(n => n.id == "voice.card")`, time.Minute)
}

// told reads the distance that the scene tells.
func (p *page) distance() float64 {
	p.t.Helper()
	s := p.node("voice.distance").Value
	_, rest, ok := strings.Cut(s, "Your laugh peaks ")
	text, _, _ := strings.Cut(rest, " dB over")
	v, err := strconv.ParseFloat(text, 64)
	if !ok || err != nil {
		p.t.Fatalf("the distance is told as %q", s)
	}
	return v
}

// TestMicrophoneWholeVoice: somebody lends the bench their voice in a real browser, step by step. It
// is kept, is there after a reload, is the guest on the bench, is deleted; and the log of the whole
// visit shows nothing but the scene's own files.
func TestMicrophoneWholeVoice(t *testing.T) {
	file, want := visitor(t)
	at := serveScene(t)
	p := newPage(t, 1280, 720, heardFrom(file)...)
	var asked requests
	if err := chromedp.Listen(p.ctx, asked.hear); err != nil {
		t.Fatal(err)
	}
	if _, err := chromedp.Call(p.ctx, network.Enable, network.EnableParams{}); err != nil {
		t.Fatal(err)
	}
	p.open(at)
	p.tab("voice")
	p.steps(p.click)
	got := p.distance()
	card := p.node("voice.card")
	t.Logf("told %.0f dB, made %.1f dB; %s %s", got, want, card.Name, card.Value)
	if math.Abs(got-want) > .8 { // told in whole decibels
		t.Errorf("the distance is told as %.0f dB, and is %.1f dB", got, want)
	}
	if !strings.HasPrefix(card.Name, "Good to go") {
		t.Errorf("an untouched voice: %s %s", card.Name, card.Value)
	}
	p.shot("voice-card")
	p.same("voice")
	p.write("voice.name", "Ines")
	p.use("voice.keep")
	p.says("status", "Ines is kept", 20*time.Second)
	p.reload()
	p.tab("voice")
	p.wait("the voice that is kept", `document.querySelector('#gainwright-controls [data-id="voice.kept.1"]')`, 20*time.Second)
	p.use("voice.kept.1")
	p.wait("the voice again", `gainwright.nodes().some(n => n.id == "voice.card")`, time.Minute)
	if again := p.distance(); again != got {
		t.Errorf("after a reload the distance is %.0f dB", again)
	}
	p.use("voice.perform")
	p.wait("the bench", `gainwright.nodes().find(n => n.id == "tab.gain").checked`, 20*time.Second)
	p.performs(2 * time.Second)
	p.use("event.laugh")
	p.performs(4 * time.Second)
	p.shot("voice-bench")
	p.tab("voice")
	p.use("voice.delete")
	p.use("voice.delete")
	p.says("status", "Ines is deleted", 20*time.Second)
	p.noErrors()
	asked.mu.Lock()
	defer asked.mu.Unlock()
	home, err := url.Parse(at)
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range asked.all {
		method, to, _ := strings.Cut(r, " ")
		u, err := url.Parse(to)
		if method != "GET" || err != nil || u.Scheme != "data" && u.Scheme != "blob" && u.Host != home.Host {
			t.Errorf("the page asks for %.120s", r)
		}
	}
	t.Logf("%d requests, all GET, of the scene's own files", len(asked.all))
	if len(asked.all) < 3 {
		t.Error("the log holds nothing")
	}
}

// TestMicrophoneOnAPhone: the same under a thumb, and by the keyboard alone.
func TestMicrophoneOnAPhone(t *testing.T) {
	file, want := visitor(t)
	at := serveScene(t)
	p := newPage(t, 390, 844, heardFrom(file)...)
	p.do(chromedp.EmulateViewport(390, 844, coarse(), chromedp.EmulateMobile, chromedp.EmulateTouch))
	p.open(at)
	p.tab("voice")
	p.steps(func(id string) {
		n := p.node(id)
		if n.Bounds.H < 44 || n.Bounds.W < 44 {
			t.Errorf("%s is %v for a thumb", id, n.Bounds)
		}
		p.click(id)
	})
	if got := p.distance(); math.Abs(got-want) > .8 {
		t.Errorf("the distance is told as %.0f dB, and is %.1f dB", got, want)
	}
	p.shot("voice-phone")
	p.noErrors()
}
