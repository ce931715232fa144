package bench

import (
	"math"
	"strings"
	"testing"
)

// tone is a microphone that hears a sine.
type tone struct {
	amp float64
	at  int
}

func (p *tone) Pull(dst []float64) {
	for i := range dst {
		dst[i] = p.amp * math.Sin(2*math.Pi*997*float64(p.at)/Rate)
		p.at++
	}
}

// TestLive: what the microphone hears is what the strips get, as it is pulled, at the
// pressure told; it is not heard before headphones are; its take is said to be live.
func TestLive(t *testing.T) {
	s := newSession(t)
	s.Run(Rate)
	mic := &tone{amp: .1}
	if err := s.GoLive(mic, 2); err != nil {
		t.Fatal(err)
	}
	s.Run(Rate)
	if d := s.View().Dropout; mic.at != Rate || d != 0 {
		t.Errorf("%d samples pulled in a second, %d missed", mic.at, d)
	}
	heard := func() (top float64) {
		var buf [4800][2]float64
		s.Tick()
		s.Stream(buf[:])
		s.Tick()
		s.Stream(buf[:])
		for _, v := range buf {
			top = max(top, math.Abs(v[0]))
		}
		return top
	}
	if v := heard(); v > 1e-6 {
		t.Errorf("%g is heard without headphones", v)
	}
	s.Monitor(true)
	if v := heard(); v < 1e-3 {
		t.Errorf("%g is heard with them", v)
	}
	s.Monitor(false)
	take := record(t, s, false, 2)
	for i := Rate; i < Rate+100; i++ {
		// A sine of 0.2 Pa, whatever its phase: x[i-1] + x[i+1] = 2 cos ω x[i].
		got, want := float64(take.Spoken[i-1]+take.Spoken[i+1]), 2*math.Cos(2*math.Pi*997/Rate)*float64(take.Spoken[i])
		if math.Abs(got-want) > 1e-6 {
			t.Fatalf("sample %d breaks the wave", i)
		}
	}
	var top float32
	for _, v := range take.Spoken {
		top = max(top, v)
	}
	if math.Abs(float64(top)-.2) > .001 {
		t.Errorf("a peak of %g Pa, want 0.2", top)
	}
	r := s.Recipes()[0]
	if err := s.Remake(r); err == nil || !strings.Contains(err.Error(), "live") {
		t.Errorf("made again: %v", err)
	}
	// The same again is the take's, not the microphone's.
	at := mic.at
	again := record(t, s, true, 3)
	for i := range again.Spoken {
		if again.Spoken[i] != take.Spoken[i] {
			t.Fatalf("sample %d of the repeated take differs", i)
		}
	}
	if mic.at-at > 2*4800 {
		t.Errorf("%d samples pulled meanwhile", mic.at-at)
	}
	s.StartCheck()
	if err := s.Trigger("laugh"); err == nil {
		t.Error("a microphone is asked to laugh")
	}
	if check, _ := s.Heard(); check.Any() {
		t.Errorf("heard %+v", check)
	}
	// A talker ends it, and is heard.
	if err := s.SetTalker("pip"); err != nil || s.Live() {
		t.Fatalf("still live: %v", err)
	}
	at = mic.at
	s.Run(Rate)
	if mic.at != at || s.View().Strip[0].Held[0] == 0 {
		t.Error("the microphone is still pulled, or nobody talks")
	}
	if v := heard(); v < 1e-6 {
		t.Error("the talker is not heard")
	}
	if s.GoLive(mic, math.NaN()) == nil {
		t.Error("no scale")
	}
	if err := s.GoLive(mic, 2); err != nil {
		t.Fatal(err)
	}
	l := s.Lend()
	if s.Live() {
		t.Error("lent live")
	}
	s.Return(l)
}

// A live take that the microphone's end breaks off is whole up to there.
func TestLiveEnds(t *testing.T) {
	s := newSession(t)
	if err := s.GoLive(&tone{amp: .1}, 1); err != nil {
		t.Fatal(err)
	}
	if err := s.Record(false); err != nil {
		t.Fatal(err)
	}
	s.Run(Rate)
	s.EndLive()
	s.Run(4800)
	if tk := s.Take(); !tk.Done || tk.Frames() < Rate*9/10 {
		t.Errorf("done %v, %d frames", tk.Done, tk.Frames())
	}
}
